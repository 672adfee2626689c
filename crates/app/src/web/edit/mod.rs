//! Changing a job through forms: every key that a job file may hold has its field, made from the same list that the reader
//! uses, and a form changes the text in place.
//!
//! - [`fields`]: keys as fields; [`wires`]: wires by their two ends; [`apply`]: a form as changes of the text; [`save`]: saving
//!   and trying.

mod apply;
mod fields;
mod save;
mod wires;

pub use save::{attempt, edit};
pub use wires::wires;

use super::pages::Of;
use maud::{Markup, html};
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
    let Ok(whole) = text.parse::<Table>() else {
        return html! {
            h2 { (place.title) }
            p.problem { "The text has an error that hides its structure: mend it on the " a href=(format!("/job/{}/text", of.name)) { "Text" } " page first." }
        };
    };
    let Some(key) = JOB.key(place.key, None) else { return html! {} };
    let held = whole.get(place.key);
    html! {
        section.forms id=(place.key) {
            h2 { (place.title) }
            p.faint { (key.about) }
            @match key.form {
                Form::Table(section) => (table(of, place.key, section, held.and_then(Value::as_table))),
                Form::Named(section) => (named(of, &place, section, held.and_then(Value::as_table))),
                Form::Tables(section) => (list(of, &place, section, held.and_then(Value::as_array))),
                _ => {}
            }
        }
    }
}

fn table(of: &Of, path: &str, section: &'static Section, held: Option<&Table>) -> Markup {
    form(of, path, &html! { (fields::table(path, section, held)) (fields::save(false)) })
}

/// One form a table, and one for a new table.
fn named(of: &Of, place: &Place, section: &'static Section, held: Option<&Table>) -> Markup {
    html! {
        @for (name, value) in held.into_iter().flatten() {
            details.entry {
                summary { (name) span.faint { (fields::summary(value)) } }
                ({
                    let path = format!("{}.{name}", place.key);
                    form(of, &path, &html! { (fields::table(&path, section, value.as_table())) (fields::save(true)) })
                })
            }
        }
        details.entry.fresh {
            summary { "Add " (place.one) }
            ({
                let path = format!("{}.*", place.key);
                form(of, place.key, &html! { (fields::name(place.key)) (fields::table(&path, section, None)) (fields::save(false)) })
            })
        }
    }
}

fn list(of: &Of, place: &Place, section: &'static Section, held: Option<&Vec<Value>>) -> Markup {
    let count = held.map_or(0, Vec::len);
    html! {
        @for (i, value) in held.into_iter().flatten().enumerate() {
            details.entry {
                summary { (place.one) " " (i + 1) span.faint { (fields::summary(value)) } }
                ({
                    let path = format!("{}[{i}]", place.key);
                    form(of, &path, &html! { (fields::table(&path, section, value.as_table())) (fields::save(true)) })
                })
            }
        }
        details.entry.fresh {
            summary { "Add one" }
            ({
                let path = format!("{}[{count}]", place.key);
                form(of, &path, &html! { (fields::table(&path, section, None)) (fields::save(false)) })
            })
        }
    }
}

/// A form that changes what stands at a path, and below it.
fn form(of: &Of, path: &str, inner: &Markup) -> Markup {
    html! {
        form.edit method="post" action=(format!("/job/{}/edit", of.name)) autocomplete="off" {
            input type="hidden" name="token" value=(of.token);
            input type="hidden" name="upon" value=(of.revision);
            input type="hidden" name="at" value=(path);
            (inner)
        }
    }
}
