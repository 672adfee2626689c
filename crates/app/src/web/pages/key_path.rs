//! Paths of keys for people: in words, and where on the pages the very field is.

use super::{Of, Page};
use maud::{Markup, html};
use toml::{Table, Value};
use voltwright_job::keys::{Form, JOB, Key, Section};

/// A path of keys, `part.psu.input.voltage`, as it leads through what a job file may hold.
pub struct KeyPath<'p> {
    path: &'p str,
    /// The keys, each with the names and numbers behind it.
    steps: Vec<Step<'p>>,
}

struct Step<'p> {
    key: &'static Key,
    name: Option<&'p str>,
    entry: Option<usize>,
}

impl<'p> KeyPath<'p> {
    /// Nothing for what is no path of keys.
    pub fn of(path: &'p str) -> Option<Self> {
        let parts: Vec<&str> = path.split('.').collect();
        walk(&JOB, &parts).map(|steps| Self { path, steps })
    }

    /// In words: "the tolerance of rail p5". A wire is named by its ends, as the file has them.
    pub fn words(&self, file: &Table) -> String {
        let leaf = self.steps.last().filter(|step| step.name.is_none() && step.entry.is_none());
        let owners = &self.steps[..self.steps.len() - usize::from(leaf.is_some())];
        let Some(leaf) = leaf.map(|step| step.key) else { return owned(owners, file) };
        match owners {
            [] if matches!(leaf.form, Form::Named(_)) => format!("a {}", leaf.name),
            [head] if head.key.name == "assume" => lowered(leaf.about),
            [head] if head.key.name == "job" => format!("the {}", noun(leaf.name)),
            [head] if head.key.name == "wiring" => format!("the {}", noun(leaf.name)),
            [load, Step { key, name: Some(rail), .. }] if key.name == "draws" => {
                drawn(leaf.name, rail, &owned(std::slice::from_ref(load), file))
            }
            [rest @ .., inner] if inner.key.name == "input" => {
                format!("the input {} of {}", noun(leaf.name), owned(rest, file))
            }
            [] => noun(leaf.name),
            _ => format!("the {} of {}", noun(leaf.name), owned(owners, file)),
        }
    }

    /// The page that has it.
    pub fn page(&self) -> Option<Page> {
        page_of(self.steps.first()?.key.name)
    }

    /// The address of its field, with the form that it is in standing open.
    pub fn href(&self, of: &Of, file: &Table) -> Option<String> {
        let head = self.steps.first()?;
        let (entry, at) = match (head.key.form, head.name) {
            _ if head.key.name == "wiring" => (String::new(), "add-wire".to_owned()),
            (Form::Named(_), None) => (format!("{}.*", head.key.name), format!("{}.*", head.key.name)),
            (Form::Named(_), Some(name)) => {
                let is_there = file.get(head.key.name).and_then(|all| all.get(name)).is_some();
                let entry = format!("{}.{}", head.key.name, if is_there { name } else { "*" });
                let field = self.field().filter(|_| is_there);
                (entry.clone(), field.unwrap_or(entry))
            }
            (Form::Table(_), _) => {
                let entry = head.key.name.to_owned();
                (entry.clone(), self.field().unwrap_or(entry))
            }
            _ => (String::new(), head.key.name.to_owned()),
        };
        let query = if entry.is_empty() { String::new() } else { format!("?at={}", encoded(&entry)) };
        Some(format!("{}{query}#{}", of.at(self.page()?), encoded(&at)))
    }

    /// The name of its field, as the forms give it: the letter says how the value is written there.
    fn field(&self) -> Option<String> {
        let last = self.steps.last().filter(|step| step.name.is_none() && step.entry.is_none())?;
        let letter = match last.key.form {
            Form::Text | Form::Value(_) | Form::OneOf(_) => 't',
            Form::Whole => 'n',
            Form::Flag => 'f',
            Form::Values(_) => 'v',
            Form::Texts => 'l',
            _ => return None,
        };
        Some(format!("{letter}:{}", self.path))
    }
}

/// A path of keys in words; what is none stays as it is.
pub fn in_words(path: &str, file: &Table) -> String {
    KeyPath::of(path).map_or_else(|| path.to_owned(), |path| path.words(file))
}

/// What is to be entered, in words, each a link to its field: one path, or several with commas between them. What is written
/// as the head of a table is a path as well, `[wiring] wires`, or the form of something new, `[load.…] with draws`. Anything
/// else stays as it is.
pub fn to_enter(enter: &str, of: &Of, file: &Table) -> Markup {
    let all: Option<Vec<KeyPath<'_>>> = enter.split(", ").map(KeyPath::of).collect();
    if let Some(all) = all {
        return html! {
            @for (i, path) in all.iter().enumerate() {
                @if i > 0 { @if i + 1 == all.len() { " and " } @else { ", " } }
                (link(path, of, file))
            }
        };
    }
    let Some((head, rest)) = enter.strip_prefix('[').and_then(|headed| headed.split_once("] ")) else {
        return html! { (enter) };
    };
    let (path, rest) = match head.strip_suffix(".…") {
        Some(new) => (new.to_owned(), rest),
        None => (format!("{head}.{rest}"), ""),
    };
    match KeyPath::of(&path) {
        Some(path) => html! { (link(&path, of, file)) @if !rest.is_empty() { " " (rest) } },
        None => html! { (enter) },
    }
}

fn link(path: &KeyPath<'_>, of: &Of, file: &Table) -> Markup {
    let words = path.words(file);
    match path.href(of, file) {
        Some(href) => html! { a href=(href) { (words) } },
        None => html! { (words) },
    }
}

/// The page that has the forms of a part of the job file.
pub fn page_of(section: &str) -> Option<Page> {
    match section {
        "job" | "machine" | "found" | "old-supply" | "battery" => Some(Page::Survey),
        "rail" | "load" => Some(Page::Needs),
        "part" | "assume" => Some(Page::Options),
        "plug" | "wiring" => Some(Page::Wiring),
        "first-power" | "meter" => Some(Page::Proof),
        _ => None,
    }
}

/// Keys of one name may stand for several things, by the kind of their table: that one counts through which the path leads on.
fn walk<'p>(section: &'static Section, parts: &[&'p str]) -> Option<Vec<Step<'p>>> {
    let (first, rest) = parts.split_first()?;
    let (called, entry) = match first.strip_suffix(']').and_then(|part| part.split_once('[')) {
        Some((called, number)) => (called, Some(number.parse().ok()?)),
        None => (*first, None),
    };
    let all = section.keys.iter().chain(section.kinds.iter().flat_map(|(_, keys)| *keys));
    all.filter(|key| key.name == called).find_map(|key| {
        let step = |name| Step { key, name, entry };
        let (name, inner, rest) = match (key.form, rest) {
            (_, []) => (None, None, rest),
            (Form::Table(inner) | Form::Tables(inner), _) => (None, Some(inner), rest),
            (Form::Named(inner), [name, rest @ ..]) => (Some(*name), Some(inner), rest),
            (Form::NamedTexts | Form::NamedValues(_), [name]) => (Some(*name), None, &[][..]),
            _ => return None,
        };
        let on = match (inner, rest) {
            (_, []) => Vec::new(),
            (Some(inner), _) => walk(inner, rest)?,
            (None, _) => return None,
        };
        Some(std::iter::once(step(name)).chain(on).collect())
    })
}

/// What owns a key, from the inside outwards: "output v1 of part psu".
fn owned(owners: &[Step<'_>], file: &Table) -> String {
    let is_inner = |step: &Step<'_>| step.name.is_none() && step.entry.is_none();
    // The machine's label and its case are named by themselves.
    let from = usize::from(owners.len() > 1 && owners[0].key.name == "machine");
    let one = |step: &Step<'_>| match (step.name, step.entry) {
        (Some(name), _) => format!("{} {name}", noun(step.key.name)),
        (None, Some(n)) if step.key.name == "wires" => wire(n, file),
        (None, Some(n)) => format!("{} {}", noun(step.key.name), n + 1),
        (None, None) => format!("the {}", noun(step.key.name)),
    };
    let all: Vec<String> = owners[from..]
        .iter()
        .rev()
        .filter(|step| !(is_inner(step) && step.key.name == "wiring"))
        .map(one)
        .collect();
    all.join(" of ")
}

fn wire(n: usize, file: &Table) -> String {
    let wire = file.get("wiring").and_then(|w| w.get("wires")).and_then(|all| all.get(n));
    let end = |key: &str| wire.and_then(|w| w.get(key)).and_then(Value::as_str);
    match (end("from"), end("to")) {
        (Some(from), Some(to)) => format!("wire {from} to {to}"),
        _ => format!("wire {}", n + 1),
    }
}

/// A figure of what a load draws from a rail.
fn drawn(key: &str, rail: &str, load: &str) -> String {
    match key {
        "run" => format!("what {load} draws from {rail} when it runs"),
        "start" => format!("what {load} draws from {rail} when it starts"),
        "idle" => format!("the least that {load} draws from {rail}"),
        "cold" => format!("the cold resistance of {load} from {rail} to com"),
        other => format!("the {} of {load} on {rail}", noun(other)),
    }
}

/// A key as a noun, where its own name is none.
pub fn noun(key: &str) -> String {
    match key {
        "harm" => "limits of harm".into(),
        "rated" => "rating".into(),
        "reservoir-rated" => "voltage rating of the reservoir".into(),
        "breaks" => "breaking capacity".into(),
        "heat" => "heat resistance to the air".into(),
        "inrush" => "inrush current".into(),
        "limit" => "current rating".into(),
        "contact" => "current rating of a contact".into(),
        "full-to" => "temperature for full use".into(),
        "nothing-at" => "temperature for no use".into(),
        "set-to" => "voltage that is set".into(),
        "inside" => "measure inside".into(),
        "series" => "series resistance".into(),
        "through" => "resistance in the charging path".into(),
        "volts" => "voltage".into(),
        "ready" => "time to be ready".into(),
        "made" => "year".into(),
        other => other.replace('-', " "),
    }
}

/// A sentence of help as words within another.
fn lowered(about: &str) -> String {
    let mut letters = about.trim_end_matches('.').chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// As an address takes it.
fn encoded(text: &str) -> String {
    let form = serde_urlencoded::to_string([("", text)]).unwrap_or_default();
    form.trim_start_matches('=').replace('+', "%20")
}

#[cfg(test)]
mod tests;
