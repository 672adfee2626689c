//! Pictures of a job: added from a phone or a PC, shown on the Survey page, kept by the hash of their content.

use super::form::{FIELD, SentFiles};
use super::frame;
use super::pages::{Of, Page};
use super::problem::Problem;
use super::site::Shared;
use super::visitor::Visitor;
use crate::clock;
use axum::Extension;
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use voltwright_workshop::{Hash, Listed, Picture};

/// What a form with a picture may send: the largest that the store takes, and its fields.
pub const SENT: usize = 24 << 20;
/// What a picture can show.
const VIEWS: [&str; 5] = ["mating face", "wire side", "component side", "label", "other"];
/// The most letters that say where pin 1 is.
const PIN_1: usize = 60;
/// The most letters that are kept of a file's name.
const NAME: usize = 100;

/// The pictures of a job, and the form that adds one.
pub fn shown(of: &Of, pictures: &[Picture]) -> Markup {
    html! {
        section.pictures #pictures {
            h2 { "Pictures" }
            @if pictures.is_empty() {
                p { "None yet. Take one before a plug is pulled or a wire is unsoldered: how it was is then kept." }
            }
            ul.gallery { @for picture in pictures { li { (one(picture)) } } }
            details.entry { summary { "Add a picture" } (form(&of.name, &of.token, &Words::none())) }
        }
    }
}

fn one(picture: &Picture) -> Markup {
    let at = format!("/picture/{}", picture.hash);
    let alt = match (picture.note.as_str(), picture.view.as_str()) {
        ("", "other") => "picture without a note",
        ("", view) => view,
        (note, _) => note,
    };
    html! {
        a href=(at) { img src=(at) alt=(alt) loading="lazy" decoding="async"; }
        @if !picture.note.is_empty() { p { (picture.note) } }
        p.facts { @if picture.note.is_empty() && picture.view == "other" { "picture without a note" } @else { (picture.view) } }
        p.facts { (picture.name) ", " (clock::shown(picture.added)) }
    }
}

fn form(job: &str, token: &str, words: &Words) -> Markup {
    html! {
        form.picture method="post" action=(format!("/job/{job}/picture")) enctype="multipart/form-data" {
            // The token stands first, the files last: so all is known that was typed when a file is refused.
            input type="hidden" name=(FIELD) value=(token);
            div.field {
                label for="picture-note" { "Note" }
                input id="picture-note" name="note" value=(words.note) maxlength="500" placeholder="Supply plug before it was pulled";
                p.help { "What is to be seen; it is read aloud in place of the picture." }
            }
            div.field {
                label for="picture-view" { "View" }
                select id="picture-view" name="view" {
                    @for view in VIEWS { option value=(view) selected[view == words.view] { (view) } }
                }
            }
            div.field {
                label for="picture-pin1" { "Where pin 1 is" }
                input id="picture-pin1" name="pin1" value=(words.pin1) maxlength=(PIN_1) placeholder="at upper left";
                p.help { "As it is seen in the picture. A face seen from the other side is its mirror image." }
            }
            div.field {
                label for="picture-camera" { "Take a picture" }
                input id="picture-camera" name="file" type="file" accept="image/*" capture="environment" aria-describedby="picture-place";
            }
            div.field {
                label for="picture-file" { "… or choose one" }
                input id="picture-file" name="file" type="file" accept="image/*" aria-describedby="picture-place";
                p.help { "JPEG, PNG or WebP, 20 MB at most." }
            }
            p.help #picture-place {
                "A phone may write into a picture where and when it was taken. A picture is kept as it comes, with all that is in it, and goes "
                "along when the job is exported. If nobody is to know the place, switch that off in the camera first."
            }
            div.buttons { button type="submit" { "Add the picture" } }
        }
    }
}

/// What a person wrote to a picture.
struct Words {
    note: String,
    view: String,
    pin1: String,
}

impl Words {
    /// Nothing is claimed of a picture that nobody said: a face taken for its mirror image does harm.
    fn none() -> Self {
        Self { note: String::new(), view: "other".into(), pin1: String::new() }
    }

    fn of(sent: &SentFiles) -> Self {
        let field = |name| sent.field(name).trim().to_owned();
        Self { note: field("note"), view: field("view"), pin1: field("pin1") }
    }

    /// The view with the place of pin 1, as the store keeps it and a page shows it.
    fn view(&self) -> Result<String, Problem> {
        if !VIEWS.contains(&self.view.as_str()) {
            return Err(Problem::unclear("The form does not say what the picture shows: choose its view."));
        }
        if self.pin1.chars().count() > PIN_1 {
            let why = format!("Where pin 1 is must be said in {PIN_1} letters at most.");
            return Err(Problem::unclear(why));
        }
        let place = self.pin1.strip_prefix("pin 1").unwrap_or(&self.pin1).trim_start();
        Ok(if place.is_empty() { self.view.clone() } else { format!("{}, pin 1 {place}", self.view) })
    }
}

/// Adds a picture to a job. Where it is refused, the form comes back with why, and with what was written.
pub async fn add(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
    sent: SentFiles,
) -> Result<Response, Problem> {
    let job = site.job(&name).await?;
    let words = Words::of(&sent);
    match keep(&site, &job, &words, sent).await {
        Ok(()) => {
            site.changes.tell(&name);
            Ok(Redirect::to(&format!("/job/{name}/{}#pictures", Page::Survey.key())).into_response())
        }
        Err(problem) => Ok(again(&job, &site.token(&visitor), &words, &problem)),
    }
}

async fn keep(site: &Shared, job: &Listed, words: &Words, mut sent: SentFiles) -> Result<(), Problem> {
    match sent.broken_off {
        Some(problem) if problem.status() == StatusCode::PAYLOAD_TOO_LARGE => {
            let why = "The picture is too large: nothing was changed. Save it with fewer pixels.";
            return Err(Problem::new(StatusCode::PAYLOAD_TOO_LARGE, why, None));
        }
        Some(problem) => return Err(problem),
        None => {}
    }
    let Some(file) = sent.files.pop() else {
        return Err(Problem::unclear("No picture was chosen: take one, or choose a file."));
    };
    if !sent.files.is_empty() {
        return Err(Problem::unclear(
            "More than one picture was chosen: nothing was kept. Add one after the other.",
        ));
    }
    let (id, note, view) = (job.job, words.note.clone(), words.view()?);
    site.store(move |store| {
        store.add_picture(id, &file.bytes, &plain(&file.name), &note, &view, clock::now())
    })
    .await
    .map(|_| ())
}

/// A file's name as a person reads it: without folders, on one line, not too long.
fn plain(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    last.chars().filter(|c| !c.is_control()).take(NAME).collect()
}

fn again(job: &Listed, token: &str, words: &Words, problem: &Problem) -> Response {
    let survey = format!("/job/{}/{}#pictures", job.name, Page::Survey.key());
    let body = html! {
        p.crumbs { a href=(survey) { (job.title) } }
        h1 { "The picture was not added" }
        p.problem role="alert" { (problem.words()) }
        p { "What you wrote stands below. A page cannot choose a file for you: choose the picture anew." }
        (form(&job.name, token, words))
    };
    let page = frame::page("The picture was not added", &body);
    (problem.status(), Html(page.into_string())).into_response()
}

/// The content of a picture by its hash. A hash never means another content, so a browser may keep it.
pub async fn show(State(site): State<Shared>, Path(hash): Path<String>) -> Result<Response, Problem> {
    let missing = || Problem::missing("picture of this name");
    let hash = Hash::parse(&hash).ok_or_else(missing)?;
    let image = site.store(move |store| store.picture(hash)).await?.ok_or_else(missing)?;
    let headers = [
        (header::CONTENT_TYPE, image.media.name()),
        (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
    ];
    Ok((headers, image.bytes).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_place_of_pin_1_is_part_of_the_view() {
        let said = |view: &str, pin1: &str| {
            Words { note: String::new(), view: view.into(), pin1: pin1.into() }.view().ok()
        };
        assert_eq!(said("label", "").as_deref(), Some("label"));
        assert_eq!(said("wire side", "upper left").as_deref(), Some("wire side, pin 1 upper left"));
        assert_eq!(
            said("wire side", "pin 1 at upper left").as_deref(),
            Some("wire side, pin 1 at upper left")
        );
        assert_eq!(said("from above", "upper left"), None);
        assert_eq!(said("label", &"x".repeat(PIN_1 + 1)), None);
    }

    #[test]
    fn a_name_is_one_line_without_folders() {
        assert_eq!(plain("C:\\fakepath\\IMG_1.jpg"), "IMG_1.jpg");
        assert_eq!(plain("../../etc/pass\r\nwd"), "passwd");
        assert_eq!(plain(&"n".repeat(1000)).len(), NAME);
    }
}
