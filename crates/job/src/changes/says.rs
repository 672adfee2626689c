//! A difference in words.

use crate::edit::layout::form;
use crate::edit::tree::Step;
use crate::edit::value::Value;
use crate::keys::Form;

/// "part fuse: rating 2 A instead of 1.25 A": of a value in a text.
pub(super) fn sentence(text: &Value, path: &[Step], old: Option<&Value>, new: Option<&Value>) -> String {
    let (thing, key) = subject(text, path, old);
    let lead = match (thing.is_empty(), key.is_empty()) {
        (false, false) => format!("{thing}: {key} "),
        (true, _) => format!("{key}: "),
        (false, true) => format!("{thing}: "),
    };
    let whole = |lead: &str, what: &str| format!("{} {what}", lead.trim_end().trim_end_matches(':'));
    let plain = |value: &Value| !matches!(value, Value::Table(_));
    match (old, new) {
        (Some(old), Some(new)) if old == new => whole(&lead, "moved in the list"),
        (Some(old), Some(new)) if old.shown() == new.shown() => {
            format!("{lead}{} instead of {}", new.literal(), old.literal())
        }
        (Some(old), Some(new)) => format!("{lead}{} instead of {}", said(new), said(old)),
        (None, Some(new)) if plain(new) => format!("{lead}{} added", said(new)),
        (Some(old), None) if plain(old) => format!("{lead}{} removed", said(old)),
        (None, _) => whole(&lead, "added"),
        (_, None) => whole(&lead, "removed"),
    }
}

/// A value in a sentence, where nothing would not be seen.
fn said(value: &Value) -> String {
    let shown = value.shown();
    if shown.trim().is_empty() { value.literal() } else { shown }
}

/// What a path is about, and the key of it: ("part fuse", "rating").
fn subject(text: &Value, path: &[Step], old: Option<&Value>) -> (String, String) {
    let (at, thing) = match path {
        [Step::Key(head), ..] if head == "job" => (1, String::new()),
        [Step::Key(head), Step::Key(name), ..] if matches!(form(&path[..1]), Some(Form::Named(_))) => {
            (2, format!("{head} {name}"))
        }
        [Step::Key(_), Step::Key(list), Step::Entry(n), ..] if list == "wires" => {
            (3, wire(text, path, old).unwrap_or_else(|| format!("wire {}", n + 1)))
        }
        [Step::Key(head), Step::Entry(n), ..] => (2, format!("{head} {}", n + 1)),
        [Step::Key(head), ..] => (1, head.clone()),
        _ => (0, String::new()),
    };
    (thing, words(&path[at..]))
}

/// A wire by its ends, as they were before.
fn wire(text: &Value, path: &[Step], old: Option<&Value>) -> Option<String> {
    let wire = text.at(&path[..3])?;
    let end = |key: &str| match (&path[3..], old) {
        ([Step::Key(changed)], Some(old)) if changed == key => Some(old.shown()),
        _ => wire.get(key).map(Value::shown),
    };
    Some(format!("wire {} to {}", end("from")?, end("to")?))
}

/// Keys as words; entries count from 1, as people do.
fn words(path: &[Step]) -> String {
    let word = |step: &Step| match step {
        Step::Key(key) => key.clone(),
        Step::Entry(n) => (n + 1).to_string(),
    };
    path.iter().map(word).collect::<Vec<_>>().join(" ")
}

/// A line of a text that does not read.
pub(super) fn line(n: usize, old: Option<&str>, new: Option<&str>) -> String {
    let said =
        |line: &str| if line.trim().is_empty() { "an empty line".to_owned() } else { line.trim().to_owned() };
    match (old, new) {
        (Some(old), Some(new)) if old.trim() == new.trim() => format!("line {n}: only spacing differs"),
        (Some(old), Some(new)) => format!("line {n}: {} instead of {}", said(new), said(old)),
        (None, Some(new)) => format!("line {n}: {} added", said(new)),
        (Some(old), None) => format!("line {n}: {} removed", said(old)),
        (None, None) => format!("line {n}"),
    }
}
