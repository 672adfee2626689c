//! A job from nothing: what it is, where it will be plugged in, what its label says. What does not read comes back in the same
//! form, told at its field.

use super::{countries, created};
use crate::command::new;
use crate::web::edit::sentence;
use crate::web::form::{FIELD, Sent};
use crate::web::frame;
use crate::web::problem::Problem;
use crate::web::site::Shared;
use crate::web::visitor::Visitor;
use axum::Extension;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use serde::Deserialize;
use std::collections::BTreeMap;
use voltwright_job::Severity;
use voltwright_job::edit::{self, Places};
use voltwright_tables::mains;

/// What a nameplate says, with an example.
const LABEL: [(&str, &str, &str); 4] = [
    ("voltage", "Voltage", "100 V"),
    ("frequency", "Frequency", "50..60 Hz"),
    ("power", "Power", "95 W"),
    ("current", "Current", "0.8 A"),
];
const NAMEPLATE: &str = "machine.nameplate";

/// What the form says.
#[derive(Default, Deserialize)]
pub struct Fresh {
    title: String,
    country: String,
    #[serde(flatten)]
    label: BTreeMap<String, String>,
}

/// What is wrong, by the field's name; by none if it is the form as a whole.
type Wrong = BTreeMap<String, String>;

impl Fresh {
    fn said(&self, key: &str) -> &str {
        self.label.get(key).map_or("", |value| value.trim())
    }

    /// The text of the job, or what is wrong.
    fn text(&self) -> Result<String, Wrong> {
        let mut wrong = Wrong::new();
        let mut tell = |field: &str, says: String| {
            wrong.entry(field.to_owned()).or_insert(says);
        };
        if self.title.trim().is_empty() {
            tell("title", "A job needs a title: what the machine is.".into());
        }
        let country = mains::of(&self.country);
        if country.is_none() && !self.country.is_empty() {
            tell("country", "There is no such country in the table.".into());
        }
        let mut text = new::draft(self.title.trim(), country.map(|m| m.code));
        for (key, ..) in LABEL.iter().filter(|(key, ..)| !self.said(key).is_empty()) {
            match edit::set(&text, &format!("{NAMEPLATE}.{key}"), self.said(key)) {
                Ok(with) => text = with,
                Err(e) => tell(key, e.to_string()),
            }
        }
        let places = Places::of(&text).ok();
        for d in voltwright_job::read(&text).diagnostics.iter().filter(|d| d.severity == Severity::Error) {
            let path = places.as_ref().and_then(|places| places.path(&d.span)).unwrap_or_default();
            let key = path.strip_prefix(NAMEPLATE).and_then(|key| key.strip_prefix('.')).unwrap_or_default();
            tell(key, sentence(d));
        }
        if wrong.is_empty() { Ok(text) } else { Err(wrong) }
    }
}

/// The form; what is wrong stands at its field, and the first that is has the focus.
pub fn form(token: &str, typed: &Fresh, wrong: &Wrong) -> Markup {
    let fields = ["title", "country"].into_iter().chain(LABEL.map(|(key, ..)| key));
    let first = fields.into_iter().find(|key| wrong.contains_key(*key));
    let told = |key: &str| Told { says: wrong.get(key).map(String::as_str), has_focus: first == Some(key) };
    html! {
        form method="post" action="/new/empty" {
            h3 { "From nothing" }
            input type="hidden" name=(FIELD) value=(token);
            @if let Some(says) = wrong.get("") { p.problem role="alert" { (says) } }
            (field("title", "What it is", &told("title"), |id, told| html! {
                input id=(id) name="title" value=(typed.title) required maxlength="200" placeholder="Larkfield 2100 desk computer"
                    aria-describedby=[told.about(id)] aria-invalid=[told.invalid()] autofocus[told.has_focus];
            }))
            (field("country", "Where it will be plugged in", &told("country"), |id, told| html! {
                select id=(id) name="country" aria-describedby=[told.about(id)] aria-invalid=[told.invalid()] autofocus[told.has_focus] {
                    option value="" { "not known yet" }
                    @for place in countries() { option value=(place.code) selected[place.code == typed.country] { (place.country) } }
                }
            }))
            fieldset {
                legend { "What its label says, as far as it can be read" }
                @for (key, says, example) in LABEL {
                    (field(key, says, &told(key), |id, told| html! {
                        input id=(id) name=(key) value=(typed.said(key)) placeholder=(example) maxlength="60"
                            aria-describedby=[told.about(id)] aria-invalid=[told.invalid()] autofocus[told.has_focus];
                    }))
                }
            }
            button type="submit" { "Begin" }
        }
    }
}

/// What is told at a field.
struct Told<'w> {
    says: Option<&'w str>,
    has_focus: bool,
}

impl Told<'_> {
    fn about(&self, id: &str) -> Option<String> {
        self.says.map(|_| format!("about-{id}"))
    }

    fn invalid(&self) -> Option<&'static str> {
        self.says.map(|_| "true")
    }
}

fn field(
    key: &str,
    called: &str,
    told: &Told<'_>,
    control: impl FnOnce(&str, &Told<'_>) -> Markup,
) -> Markup {
    let id = format!("new-{key}");
    html! {
        label for=(id) { (called) }
        (control(&id, told))
        @if let Some(says) = told.says { p.problem.error id=[told.about(&id)] { (says) } }
    }
}

/// A job from nothing; the form again where something in it does not read.
pub async fn empty(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Sent(typed): Sent<Fresh>,
) -> Result<Response, Problem> {
    match typed.text() {
        Ok(text) => created(&site, text, "begun", "/survey").await,
        Err(wrong) => {
            let body = html! {
                p.crumbs { a href="/" { "Workshop" } }
                h1 { "New job" }
                section.beginnings { (form(&site.token(&visitor), &typed, &wrong)) }
            };
            let page = Html(frame::page("New job: something does not read", &body).into_string());
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(title: &str, label: &[(&str, &str)]) -> Fresh {
        let label = label.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
        Fresh { title: title.into(), country: "IE".into(), label }
    }

    #[test]
    fn everything_that_does_not_read_is_told_at_its_own_field() {
        let wrong =
            typed(" ", &[("voltage", "100 volt"), ("power", "95"), ("current", "0.8 A")]).text().unwrap_err();
        let told: Vec<(&str, &str)> =
            wrong.iter().map(|(field, says)| (field.as_str(), says.as_str())).collect();
        assert!(
            matches!(told[..], [("power", power), ("title", _), ("voltage", volts)]
                if power.contains("did you mean 95 W?") && volts.contains("did you mean V?")),
            "{told:?}"
        );
        let shown = form("", &typed("Brindle 7", &[("voltage", "100 volt")]), &wrong).into_string();
        assert!(shown.contains("value=\"Brindle 7\"") && shown.contains("value=\"100 volt\""), "{shown}");
        assert_eq!(shown.matches("aria-invalid").count(), 3);
        assert_eq!(shown.matches("autofocus").count(), 1);
    }

    #[test]
    fn what_reads_becomes_a_text() {
        let text = typed("Brindle 7", &[("voltage", "100 V"), ("power", " ")]).text().unwrap();
        let reading = voltwright_job::read(&text);
        assert!(reading.is_usable() && text.contains("\"100 V\""), "{text}");
    }
}
