//! Keys as fields: a field's name says where its value goes and in what form it is written there.

use maud::{Markup, html};
use toml::{Table, Value};
use voltwright_job::keys::{Form, Key, Section};
use voltwright_tables::mains;

/// In what form a field's text is written into the job file; the letter before the path in its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// A text: `"5 V"`.
    Text,
    /// A whole number.
    Whole,
    /// `true` or `false`.
    Flag,
    /// A text, or a list where there are several lines.
    Lines,
    /// A list, a line an entry.
    List,
    /// A list, a word an entry.
    Words,
}

impl Written {
    const ALL: [Written; 6] =
        [Written::Text, Written::Whole, Written::Flag, Written::Lines, Written::List, Written::Words];

    fn letter(self) -> &'static str {
        match self {
            Written::Text => "t",
            Written::Whole => "n",
            Written::Flag => "f",
            Written::Lines => "v",
            Written::List => "l",
            Written::Words => "w",
        }
    }

    /// The form and the path in a field's name.
    pub fn of(name: &str) -> Option<(Written, &str)> {
        let (letter, path) = name.split_once(':')?;
        Written::ALL.into_iter().find(|w| w.letter() == letter).map(|w| (w, path))
    }

    fn field(self, path: &str) -> String {
        format!("{}:{path}", self.letter())
    }

    /// What a field shows of a value in the file.
    pub fn shown(self, value: Option<&Value>) -> String {
        match value {
            None => String::new(),
            Some(Value::String(text)) => text.clone(),
            Some(Value::Boolean(is)) => if *is { "true" } else { "false" }.into(),
            Some(Value::Array(list)) => {
                let texts: Vec<String> = list.iter().map(|v| self.shown(Some(v))).collect();
                texts.join(if self == Written::Words { " " } else { "\n" })
            }
            Some(Value::Integer(number)) => number.to_string(),
            // No key holds these; what the file has is left alone.
            Some(Value::Float(_) | Value::Datetime(_) | Value::Table(_)) => String::new(),
        }
    }
}

/// The fields of a table, those of the tables in it included.
pub fn table(path: &str, section: &'static Section, held: Option<&Table>) -> Markup {
    let kind = held.and_then(|t| t.get("kind")).and_then(Value::as_str);
    html! { @for key in section.all(kind) { (one(path, key, held.and_then(|t| t.get(key.name)))) } }
}

fn one(path: &str, key: &'static Key, held: Option<&Value>) -> Markup {
    let at = format!("{path}.{}", key.name);
    match key.form {
        Form::Text if at == "job.country" => country(&at, key, held),
        Form::Text => line(Written::Text, &at, key, held, ""),
        Form::Value(example) => line(Written::Text, &at, key, held, example),
        Form::Whole => line(Written::Whole, &at, key, held, ""),
        Form::Flag => choice(Written::Flag, &at, key, held, &["true", "false"]),
        Form::OneOf(all) => choice(Written::Text, &at, key, held, all),
        Form::Values(example) => lines(Written::Lines, &at, key, held, example),
        Form::Texts => lines(Written::List, &at, key, held, ""),
        Form::Table(section) => {
            inner(key.name, key, &table(&at, section, held.and_then(Value::as_table)), held.is_some())
        }
        Form::Tables(section) => {
            let list = held.and_then(Value::as_array);
            let count = list.map_or(0, Vec::len);
            html! {
                @for (i, value) in list.into_iter().flatten().enumerate() {
                    (inner(&format!("{} {}", key.name, i + 1), key, &table(&format!("{at}[{i}]"), section, value.as_table()), true))
                }
                (inner(&format!("{}: one more", key.name), key, &table(&format!("{at}[{count}]"), section, None), false))
            }
        }
        Form::Named(section) => {
            let entries = held.and_then(Value::as_table);
            html! {
                @for (own, value) in entries.into_iter().flatten() {
                    (inner(&format!("{} {own}", key.name), key, &table(&format!("{at}.{own}"), section, value.as_table()), true))
                }
                (inner(&format!("{}: one more", key.name), key, &html! { (name(&at)) (table(&format!("{at}.*"), section, None)) }, false))
            }
        }
        Form::NamedTexts => entries(Written::Words, &at, key, held, "com com p5 p5"),
        Form::NamedValues(example) => entries(Written::Text, &at, key, held, example),
    }
}

/// The name of a new table.
pub fn name(path: &str) -> Markup {
    let id = format!("new:{path}");
    html! {
        div.field {
            label for=(id) { "Name" }
            input id=(id) name=(id) pattern="[A-Za-z0-9_-]+" maxlength="40";
            p.help { "A short name of your own choosing: letters, digits, hyphens." }
        }
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

/// Entries with names of their own, a text each.
fn entries(written: Written, at: &str, key: &'static Key, held: Option<&Value>, example: &str) -> Markup {
    let fresh = format!("{at}.*");
    html! {
        @for (own, value) in held.and_then(Value::as_table).into_iter().flatten() {
            (labelled(written, &format!("{at}.{own}"), &format!("{} {own}", key.name), key.about, Some(value), example))
        }
        fieldset {
            legend { (key.name) ": one more" }
            (name(at))
            (labelled(written, &fresh, key.name, key.about, None, example))
        }
    }
}

fn inner(title: &str, key: &'static Key, fields: &Markup, open: bool) -> Markup {
    html! {
        details.inner open[open] {
            summary { (title) }
            p.help { (key.about) }
            (fields)
        }
    }
}

fn line(written: Written, at: &str, key: &'static Key, held: Option<&Value>, example: &str) -> Markup {
    labelled(written, at, key.name, key.about, held, example)
}

fn labelled(
    written: Written,
    at: &str,
    label: &str,
    about: &str,
    held: Option<&Value>,
    example: &str,
) -> Markup {
    let name = written.field(at);
    html! {
        div.field {
            label for=(name) { (label) }
            input id=(name) name=(name) value=(written.shown(held)) placeholder=(example) aria-describedby=(format!("about {name}"));
            p.help id=(format!("about {name}")) { (about) }
        }
    }
}

fn lines(written: Written, at: &str, key: &'static Key, held: Option<&Value>, example: &str) -> Markup {
    let (name, shown) = (written.field(at), written.shown(held));
    html! {
        div.field {
            label for=(name) { (key.name) }
            textarea id=(name) name=(name) rows=(shown.lines().count().max(2)) placeholder=(example) { "\n" (shown) }
            p.help { (key.about) " One a line." }
        }
    }
}

fn choice(written: Written, at: &str, key: &'static Key, held: Option<&Value>, all: &[&str]) -> Markup {
    let (name, shown) = (written.field(at), written.shown(held));
    html! {
        div.field {
            label for=(name) { (key.name) }
            select id=(name) name=(name) {
                option value="" { "–" }
                @for one in all { option value=(one) selected[*one == shown] { (spoken(one)) } }
                // What the file holds and no choice knows is kept in sight.
                @if !shown.is_empty() && !all.contains(&shown.as_str()) { option value=(shown) selected { (shown) } }
            }
            p.help { (key.about) }
        }
    }
}

fn spoken(choice: &str) -> &str {
    match choice {
        "true" => "yes",
        "false" => "no",
        other => other,
    }
}

fn country(at: &str, key: &'static Key, held: Option<&Value>) -> Markup {
    let (name, shown) = (Written::Text.field(at), Written::Text.shown(held));
    let mut all: Vec<&mains::Mains> = mains::COUNTRIES.iter().collect();
    all.sort_by_key(|m| m.country);
    html! {
        div.field {
            label for=(name) { (key.name) }
            select id=(name) name=(name) {
                option value="" { "–" }
                @for place in &all { option value=(place.code) selected[place.code == shown] { (place.country) } }
                @if !shown.is_empty() && all.iter().all(|m| m.code != shown) { option value=(shown) selected { (shown) } }
            }
            p.help { (key.about) }
        }
    }
}
