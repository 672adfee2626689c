//! Keys as fields: a field's name says where its value goes and in what form it is written there.

use super::last::Last;
use super::written::Written;
use crate::web::workshop::countries;
use maud::{Markup, html};
use toml::{Table, Value};
use voltwright_job::keys::{Form, Key, Section};

/// Where a field is: the form that was sent last, the group of fields within its form, and the path of its table.
#[derive(Clone, Copy)]
pub struct Seat<'s> {
    /// What was typed, where the form was refused.
    pub last: Option<&'s Last>,
    /// The group within the form; labels that are the same in several groups are told apart by it.
    pub group: &'s str,
    /// The path of the table that the fields are of.
    pub path: &'s str,
}

/// A field: its label, its help, and what it shows.
struct Field<'f> {
    name: String,
    label: &'f str,
    about: &'f str,
    shown: String,
    group: &'f str,
    wrong: Option<&'f str>,
}

impl<'s> Seat<'s> {
    /// The fields of a table, those of the tables in it included.
    pub fn table(self, section: &'static Section, held: Option<&Table>) -> Markup {
        let kind = held.and_then(|t| t.get("kind")).and_then(Value::as_str);
        html! { @for key in section.all(kind) { (self.one(section, key, held.and_then(|t| t.get(key.name)))) } }
    }

    fn one(self, section: &'static Section, key: &'static Key, held: Option<&Value>) -> Markup {
        let at = format!("{}.{}", self.path, key.name);
        let field = |written| self.field(written, &at, key.name, key.about, held);
        match key.form {
            Form::Text if at == "job.country" => country(&field(Written::Text)),
            Form::Text | Form::Whole | Form::Value(_) => {
                field(Written::of_form(key.form)).line(example(key), None)
            }
            Form::Flag => field(Written::Flag).choice(&["true", "false"]),
            Form::OneOf(all) if !section.kinds.is_empty() && key.name == "kind" => {
                let help = format!("{} Saved, it brings the fields of its kind.", key.about);
                self.field(Written::Text, &at, key.name, &help, held).choice(all)
            }
            Form::OneOf(all) => field(Written::Text).choice(all),
            Form::Values(_) | Form::Texts => field(Written::of_form(key.form)).lines(example(key)),
            Form::Table(section) => {
                let is_there = held.is_some();
                self.inner(key, key.name, &at, is_there, |seat| {
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
                (self.inner(key, &format!("{} {}", key.name, i + 1), &format!("{at}[{i}]"), true, |seat| seat.table(section, value.as_table())))
            }
            (self.inner(key, &format!("{}: one more", key.name), &format!("{at}[{count}]"), false, |seat| seat.table(section, None)))
        }
    }

    fn named(self, key: &'static Key, at: &str, section: &'static Section, held: Option<&Table>) -> Markup {
        html! {
            @for (own, value) in held.into_iter().flatten() {
                (self.inner(key, &format!("{} {own}", key.name), &format!("{at}.{own}"), true, |seat| seat.table(section, value.as_table())))
            }
            (self.inner(key, &format!("{}: one more", key.name), &format!("{at}.*"), false, |seat| html! {
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
        let more = format!("{}: one more", key.name);
        html! {
            @for (own, value) in held.into_iter().flatten() {
                (self.field(written, &format!("{at}.{own}"), &format!("{} {own}", key.name), key.about, Some(value)).line(example, None))
            }
            (self.inner(key, &more, &fresh, false, |seat| html! {
                (seat.name(at, owner))
                (seat.field(written, &fresh, key.name, key.about, None).line(example, None))
            }))
        }
    }

    /// The name of a new table.
    pub fn name(self, at: &str, (label, help): (&'static str, &'static str)) -> Markup {
        let name = format!("new:{at}");
        let field = Field {
            shown: self.typed(&name).unwrap_or_default(),
            wrong: self.wrong(&name),
            name,
            label,
            about: help,
            group: self.group,
        };
        field.framed(|name, shown, about| html! {
            input id=(name) name=(name) value=(shown) maxlength="40" aria-describedby=(about) aria-invalid=[field.wrong.map(|_| "true")];
        })
    }

    /// A field of one line, without its help, as wires have it.
    pub fn plain(self, key: &'static Key, held: Option<&Value>, list: Option<&str>) -> Markup {
        let (at, written) = (format!("{}.{}", self.path, key.name), Written::of_form(key.form));
        self.field(written, &at, key.name, "", held).line(example(key), list)
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
                p.help { (key.about) }
                (fields(Seat { group: &group, path: at, ..self }))
            }
        }
    }

    fn field<'f>(
        &self,
        written: Written,
        at: &str,
        label: &'f str,
        about: &'f str,
        held: Option<&Value>,
    ) -> Field<'f>
    where
        's: 'f,
    {
        let name = written.field(at);
        let shown = self.typed(&name).unwrap_or_else(|| written.shown(held));
        Field { wrong: self.wrong(&name), name, label, about, shown, group: self.group }
    }

    fn typed(&self, name: &str) -> Option<String> {
        self.last?.typed(name).map(str::to_owned)
    }

    fn wrong(&self, name: &str) -> Option<&'s str> {
        self.last?.wrong(name)
    }
}

/// What the name of a new table is called, and what it should be.
pub const OWN: (&str, &str) = (
    "Short name",
    "Of your own choosing, as wires and other entries will call it: letters, digits, hyphens.",
);
const RAIL: (&str, &str) = ("Rail", "The short name of one of the machine's rails.");

impl Field<'_> {
    fn framed(&self, control: impl FnOnce(&str, &str, &str) -> Markup) -> Markup {
        // An id that others refer to has no spaces; a name in the file may.
        let about = format!("about:{}", self.name).replace(char::is_whitespace, "_");
        html! {
            div.field {
                label for=(self.name) { @if !self.group.is_empty() { span.hidden { (self.group) ": " } } (self.label) }
                (control(&self.name, &self.shown, &about))
                div id=(about) {
                    @if let Some(wrong) = self.wrong { p.problem { (wrong) } }
                    @if !self.about.is_empty() { p.help { (self.about) } }
                }
            }
        }
    }

    fn line(&self, example: &str, list: Option<&str>) -> Markup {
        self.framed(|name, shown, about| html! {
            input id=(name) name=(name) value=(shown) placeholder=(example) list=[list] aria-describedby=(about) aria-invalid=[self.wrong.map(|_| "true")];
        })
    }

    fn lines(&self, example: &str) -> Markup {
        let rows = self.shown.lines().count().max(2);
        // A browser takes the first line end away.
        let control = |name: &str, shown: &str, about: &str| {
            html! { textarea id=(name) name=(name) rows=(rows) placeholder=(example) aria-describedby=(about) { "\n" (shown) } }
        };
        let about = format!("{} One a line.", self.about);
        Field { about: &about, name: self.name.clone(), shown: self.shown.clone(), ..*self }.framed(control)
    }

    fn choice(&self, all: &[&str]) -> Markup {
        self.options(all.iter().map(|one| (*one, spoken(one))))
    }

    fn options<'o>(&self, all: impl Iterator<Item = (&'o str, &'o str)>) -> Markup {
        let all: Vec<(&str, &str)> = all.collect();
        self.framed(|name, shown, about| html! {
            select id=(name) name=(name) aria-describedby=(about) {
                option value="" { "–" }
                @for (value, says) in &all { option value=(value) selected[*value == shown] { (says) } }
                // What the file holds and no choice knows is kept in sight.
                @if !shown.is_empty() && all.iter().all(|(value, _)| *value != shown) { option value=(shown) selected { (shown) } }
            }
        })
    }
}

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

fn spoken(choice: &str) -> &str {
    match choice {
        "true" => "yes",
        "false" => "no",
        other => other,
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
