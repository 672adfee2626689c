//! Changing a job through forms: every key that a job file may hold has its field, made from the same list that the reader
//! uses, and a form changes the text in place.
//!
//! - [`fields`]: keys as fields, each a [`field`] with its [`label`], [`written`] as the file has them; [`wires`]: wires by their
//!   two ends; [`names`]: names of one's own choosing; [`notes`]: what is said of the values;
//! - [`last`]: the form that was sent last; [`apply`]: that as changes of the text; [`merge`]: those upon a newer text, and
//!   [`ask`]: where two have changed the same; [`save`], [`attempt`]: saving and trying.

mod apply;
mod ask;
mod attempt;
mod field;
mod fields;
mod label;
mod last;
mod merge;
mod names;
mod notes;
mod save;
mod wires;
mod written;

pub use attempt::attempt;
pub use last::Last;
pub use notes::{Notes, sentence};
pub use save::{back, edit};
pub use wires::wires;

use super::frame::marked;
use super::pages::Of;
use fields::Seat;
use maud::{Markup, html};
use names::{NO_FORM, in_forms};
use toml::{Table, Value};
use voltwright_job::keys::{Form, JOB, Section};

/// A part of the job file that a page shows as forms.
pub struct Place {
    key: &'static str,
    title: &'static str,
    one: &'static str,
}

impl Place {
    /// A table.
    pub fn table(key: &'static str, title: &'static str) -> Self {
        Self { key, title, one: "" }
    }

    /// Tables by name; `one` is what one of them is called.
    pub fn named(key: &'static str, title: &'static str, one: &'static str) -> Self {
        Self { key, title, one }
    }

    /// A list of tables.
    pub fn list(key: &'static str, title: &'static str, one: &'static str) -> Self {
        Self { key, title, one }
    }
}

/// The forms of a part of the job file.
pub fn section(text: &str, of: &Of, place: Place) -> Markup {
    let Ok(whole) = text.parse::<Table>() else { return unreadable(of, place.title) };
    let Some(key) = JOB.key(place.key, None) else { return html! {} };
    let held = whole.get(place.key);
    html! {
        section.forms id=(place.key) {
            h2 { (place.title) }
            p.faint { (marked(key.about)) }
            @match key.form {
                Form::Table(section) => (table(of, &place, section, held.and_then(Value::as_table))),
                Form::Named(section) => (named(of, &place, section, held.and_then(Value::as_table))),
                Form::Tables(section) => (list(of, &place, section, held.and_then(Value::as_array))),
                _ => {}
            }
        }
    }
}

fn unreadable(of: &Of, title: &str) -> Markup {
    html! {
        h2 { (title) }
        p.problem { "The text has an error that hides its structure: mend it on the " a href=(format!("/job/{}/text", of.name)) { "Text" } " page first." }
    }
}

fn table(of: &Of, place: &Place, section: &'static Section, held: Option<&Table>) -> Markup {
    form(of, place.key, place.title, |seat| html! { (seat.table(section, held)) (fields::save(false)) })
}

/// One form a table, and one for a new table.
fn named(of: &Of, place: &Place, section: &'static Section, held: Option<&Table>) -> Markup {
    let fresh = format!("{}.*", place.key);
    let add = format!("Add {}", place.one);
    html! {
        @for (name, value) in held.into_iter().flatten() {
            ({
                let (path, called) = (format!("{}.{name}", place.key), format!("{} {name}", place.key));
                let inner = if in_forms(name) {
                    form(of, &path, &called, |seat| html! { (seat.table(section, value.as_table())) (seat.renaming(&path)) (fields::save(true)) })
                } else {
                    html! { p.help { (NO_FORM) } }
                };
                entry(of, &path, &html! { (name) span.faint { (fields::summary(value)) } }, inner)
            })
        }
        (entry(of, &fresh, &html! { (add) }, form(of, &fresh, &add, |seat| html! {
            (seat.name(place.key, fields::OWN)) (seat.table(section, None)) (fields::save(false))
        })))
    }
}

fn list(of: &Of, place: &Place, section: &'static Section, held: Option<&Vec<Value>>) -> Markup {
    let fresh = format!("{}[{}]", place.key, held.map_or(0, Vec::len));
    html! {
        @for (i, value) in held.into_iter().flatten().enumerate() {
            ({
                let (path, called) = (format!("{}[{i}]", place.key), format!("{} {}", place.one, i + 1));
                entry(of, &path, &html! { (called) span.faint { (fields::summary(value)) } }, form(of, &path, &called, |seat| html! {
                    (seat.table(section, value.as_table())) (fields::save(true))
                }))
            })
        }
        (entry(of, &fresh, &html! { "Add one" }, form(of, &fresh, &format!("{}: add one", place.one), |seat| html! {
            (seat.table(section, None)) (fields::save(false))
        })))
    }
}

/// A form behind its summary; the one that was sent last stands open.
fn entry(of: &Of, path: &str, summary: &Markup, form: Markup) -> Markup {
    html! {
        details.entry id=(path) open[of.last.at == path] {
            summary { (summary) @if of.notes.is_wrong(path) { strong.stops { " – error" } } }
            (form)
        }
    }
}

/// A form that changes what stands at a path, and below it.
fn form(of: &Of, path: &str, called: &str, inner: impl FnOnce(Seat<'_>) -> Markup) -> Markup {
    let last = Some(&of.last).filter(|last| last.at == path);
    let refusal = last.and_then(|last| last.refusal.as_ref());
    html! {
        form.edit method="post" action=(format!("/job/{}/edit?page={}", of.name, of.page.key())) autocomplete="off" aria-label=(called) {
            input type="hidden" name="token" value=(of.token);
            input type="hidden" name="upon" value=(of.revision);
            input type="hidden" name="at" value=(path);
            @if let Some(refusal) = refusal {
                // The field that is wrong has the focus, where there is one.
                p.problem role="alert" tabindex="-1" autofocus[refusal.field.is_empty()] { "Not saved. " (refusal.says) }
            }
            (inner(Seat { last, notes: &of.notes, group: "", path }))
            output.foot { (of.notes.foot(path, refusal.as_slice())) }
        }
    }
}
