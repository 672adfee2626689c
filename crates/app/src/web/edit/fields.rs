//! Keys as fields: a field's name says where its value goes and in what form it is written there.

use super::field::{Field, Wrong};
use super::label::label;
use super::last::Last;
use super::names::{NAME, NEW, NO_FORM, in_forms};
use super::notes::{Notes, Weight};
use super::written::Written;
use crate::web::frame::marked;
use crate::web::workshop::countries;
use maud::{Markup, html};
use toml::{Table, Value};
use voltwright_job::edit::is_named;
use voltwright_job::keys::{Form, Key, Section};

/// Where a field is: the form that was sent last, the group of fields within its form, and the path of its table.
#[derive(Clone, Copy)]
pub struct Seat<'s> {
    /// What was typed, where the form was refused.
    pub last: Option<&'s Last>,
    /// What is said of the values.
    pub notes: &'s Notes,
    /// The group within the form; labels that are the same in several groups are told apart by it.
    pub group: &'s str,
    /// The path of the table that the fields are of.
    pub path: &'s str,
}

impl<'s> Seat<'s> {
    /// The fields of a table, those of the tables in it included.
    pub fn table(self, section: &'static Section, held: Option<&Table>) -> Markup {
        let kind = held.and_then(|t| t.get("kind")).and_then(Value::as_str);
        html! { @for key in section.all(kind) { (self.one(section, key, held.and_then(|t| t.get(key.name)))) } }
    }

    fn one(self, section: &'static Section, key: &'static Key, held: Option<&Value>) -> Markup {
        let at = format!("{}.{}", self.path, key.name);
        let called = label(key.name);
        let field = |written| self.field(written, &at, &called, key.about, held);
        match key.form {
            Form::Text if at == "job.country" => country(&field(Written::Text)),
            Form::Text | Form::Whole | Form::Value(_) => {
                field(Written::of_form(key.form)).line(example(key), None)
            }
            Form::Flag => field(Written::Flag).choice(&["true", "false"]),
            Form::OneOf(all) if !section.kinds.is_empty() && key.name == "kind" => {
                let help = format!("{} Saved, it brings the fields of its kind.", key.about);
                self.field(Written::Text, &at, &called, &help, held).choice(all)
            }
            Form::OneOf(all) => field(Written::Text).choice(all),
            Form::Values(_) | Form::Texts => field(Written::of_form(key.form)).lines(example(key)),
            Form::Table(section) => {
                let is_there = held.is_some();
                self.inner(key, &called, &at, is_there, |seat| {
                    seat.table(section, held.and_then(Value::as_table))
                })
            }
            Form::Tables(section) => self.list(key, &at, section, held.and_then(Value::as_array)),
            Form::Named(section) => self.named(key, &at, section, held.and_then(Value::as_table)),
            Form::NamedTexts | Form::NamedValues(_) => self.entries(key, &at, held.and_then(Value::as_table)),
        }
    }

    fn list(
        self,
        key: &'static Key,
        at: &str,
        section: &'static Section,
        held: Option<&Vec<Value>>,
    ) -> Markup {
        let count = held.map_or(0, Vec::len);
        html! {
            @for (i, value) in held.into_iter().flatten().enumerate() {
                (self.inner(key, &format!("{} {}", label(key.name), i + 1), &format!("{at}[{i}]"), true, |seat| seat.table(section, value.as_table())))
            }
            (self.inner(key, &format!("{}: one more", label(key.name)), &format!("{at}[{count}]"), false, |seat| seat.table(section, None)))
        }
    }

    fn named(self, key: &'static Key, at: &str, section: &'static Section, held: Option<&Table>) -> Markup {
        html! {
            @for (own, value) in held.into_iter().flatten() {
                ({
                    let own_path = format!("{at}.{own}");
                    self.inner(key, &format!("{} {own}", label(key.name)), &own_path, true, |seat| html! {
                        @if in_forms(own) { (seat.table(section, value.as_table())) (seat.renaming(&own_path)) }
                        @else { p.help { (NO_FORM) } }
                    })
                })
            }
            (self.inner(key, &format!("{}: one more", label(key.name)), &format!("{at}.*"), false, |seat| html! {
                (seat.name(at, if key.name == "draws" { RAIL } else { OWN }))
                (seat.table(section, None))
            }))
        }
    }

    /// Entries with names of their own, a text each.
    fn entries(self, key: &'static Key, at: &str, held: Option<&Table>) -> Markup {
        let (written, example) = (Written::of_form(key.form), example(key));
        let owner = if matches!(key.form, Form::NamedValues(_)) { RAIL } else { OWN };
        let fresh = format!("{at}.*");
        let called = label(key.name);
        let more = format!("{called}: one more");
        html! {
            @for (own, value) in held.into_iter().flatten() {
                ({
                    let (path, called) = (format!("{at}.{own}"), format!("{called} {own}"));
                    html! {
                        @if in_forms(own) {
                            (self.field(written, &path, &called, key.about, Some(value)).line(example, None))
                            (Seat { group: &called, ..self }.renaming(&path))
                        } @else {
                            p.help { (called) ": " (NO_FORM) }
                        }
                    }
                })
            }
            (self.inner(key, &more, &fresh, false, |seat| html! {
                (seat.name(at, owner))
                (seat.field(written, &fresh, &called, key.about, None).line(example, None))
            }))
        }
    }

    /// The name of a new table.
    pub fn name(self, at: &str, (called, about): (&str, &str)) -> Markup {
        let name = format!("{NEW}{at}");
        let shown = self.typed(&name).unwrap_or_default();
        Field { label: called, code: "", about, shown, group: self.group, wrong: self.refused(&name), name }
            .named()
    }

    /// The name of what is there, to be changed; nothing for what has none of its own.
    pub fn renaming(self, at: &str) -> Markup {
        if !is_named(at) {
            return html! {};
        }
        let name = format!("{NAME}{at}");
        let own = at.rsplit('.').next().unwrap_or_default();
        let shown = self.typed(&name).unwrap_or_else(|| own.to_owned());
        let (label, about) = ("Short name", "Another one goes wherever the file has this one.");
        Field { label, code: "", about, shown, group: self.group, wrong: self.refused(&name), name }.named()
    }

    /// A field of one line, without its help, as wires have it.
    pub fn plain(self, key: &'static Key, held: Option<&Value>, list: Option<&str>) -> Markup {
        let (at, written) = (format!("{}.{}", self.path, key.name), Written::of_form(key.form));
        self.field(written, &at, &label(key.name), "", held).line(example(key), list)
    }

    fn inner(
        self,
        key: &'static Key,
        title: &str,
        at: &str,
        is_there: bool,
        fields: impl FnOnce(Seat<'_>) -> Markup,
    ) -> Markup {
        let group = if self.group.is_empty() { title.to_owned() } else { format!("{}, {title}", self.group) };
        let is_typed = self.last.is_some_and(|last| last.has_below(at));
        html! {
            details.inner open[is_there || is_typed] {
                summary { (title) }
                p.help { (marked(key.about)) " " code.key { (key.name) } }
                (fields(Seat { group: &group, path: at, ..self }))
            }
        }
    }

    fn field<'f>(
        &self,
        written: Written,
        at: &'f str,
        label: &'f str,
        about: &'f str,
        held: Option<&Value>,
    ) -> Field<'f>
    where
        's: 'f,
    {
        let (name, stands) = (written.field(at), written.shown(held));
        let shown = self.typed(&name).unwrap_or_else(|| stands.clone());
        let of_value = || self.notes.at(at).filter(|_| shown == stands);
        let wrong = self.refused(&name).or_else(|| {
            of_value().map(|(weight, says)| Wrong { weight, says: says.to_owned(), is_refused: false })
        });
        Field { wrong, name, label, code: self.key(at), about, shown, group: self.group }
    }

    /// A path as the table that the fields are of has it.
    fn key<'f>(&self, at: &'f str) -> &'f str {
        let below = at.strip_prefix(self.path).and_then(|rest| rest.strip_prefix('.'));
        below.unwrap_or_else(|| at.split('.').rfind(|step| *step != "*").unwrap_or(at))
    }

    fn typed(&self, name: &str) -> Option<String> {
        self.last?.typed(name).map(str::to_owned)
    }

    fn refused(&self, name: &str) -> Option<Wrong> {
        let says = self.last?.wrong(name)?.to_owned();
        Some(Wrong { weight: Weight::Error, says, is_refused: true })
    }
}

/// What the name of a new table is called, and what it should be.
pub const OWN: (&str, &str) = (
    "Short name",
    "Of your own choosing, as wires and other entries will call it: letters, digits, hyphens.",
);
const RAIL: (&str, &str) = ("Rail", "The short name of one of the machine's rails.");

fn country(field: &Field<'_>) -> Markup {
    field.options(countries().iter().map(|m| (m.code, m.country)))
}

/// What may stand behind a key, as its placeholder.
fn example(key: &Key) -> &'static str {
    match key.form {
        Form::Value(example) | Form::Values(example) | Form::NamedValues(example) => example,
        Form::NamedTexts => "com com p5 p5",
        _ => "",
    }
}

/// What a closed entry says of itself.
pub fn summary(value: &Value) -> String {
    let table = value.as_table();
    let told = |key: &str| table.and_then(|t| t.get(key)).and_then(Value::as_str).map(str::to_owned);
    let keys = ["name", "kind", "nominal", "what", "mates", "rating", "volts"];
    let words: Vec<String> = keys.iter().filter_map(|k| told(k)).collect();
    if words.is_empty() { String::new() } else { format!(" – {}", words.join(", ")) }
}

/// The buttons of a form.
pub fn save(may_go: bool) -> Markup {
    html! {
        div.buttons {
            button type="submit" name="do" value="save" { "Save" }
            @if may_go { button type="submit" name="do" value="remove" { "Remove" } }
        }
    }
}
