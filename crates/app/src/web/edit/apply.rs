//! A form as changes of the job's text: what a field showed and what was sent are compared, and only what differs is a change.

use super::last::{Fields, Refusal, value};
use super::names::{NAME, chosen, in_forms, new_names, real};
use super::written::Written;
use toml::{Table, Value};
use voltwright_job::edit::{self, EditError};
use voltwright_job::keys::{Form, JOB, Section};

/// One change that a form makes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The name of the field that says so; that of the button for a removal.
    pub field: String,
    /// What it is about.
    pub path: String,
    /// What becomes of it.
    pub what: What,
}

/// What becomes of what stands at a path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// This is written there, as in a file.
    Put(String),
    /// It is taken away.
    Gone,
    /// It is called so, wherever it is written.
    Named(String),
}

/// A text with the changes of a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// The whole text.
    pub text: String,
    /// What was renamed: "rail p5 to plus5; 14 places".
    pub renamed: Vec<String>,
    /// Whether anything was changed but names.
    pub also: bool,
}

/// The changes that a form makes to the text that it showed.
///
/// # Errors
/// What cannot be written, for a person.
pub fn steps(text: &str, fields: &Fields) -> Result<Vec<Step>, Refusal> {
    let about = value(fields, "at").unwrap_or_default();
    if value(fields, "do") == Some("remove") {
        return Ok(vec![Step { field: "do".into(), path: about.to_owned(), what: What::Gone }]);
    }
    let unreadable = "The text has an error that hides its structure: mend it on the Text page first.";
    let held: Table = text.parse().map_err(|_| Refusal::of("", unreadable))?;
    new_names(&held, fields)?;
    let mut steps = Vec::new();
    for (name, value) in fields {
        let step = |path: String, what| Step { field: name.clone(), path, what };
        if let Some(path) = name.strip_prefix(NAME) {
            let new = chosen(path, value)?;
            steps.extend(new.map(|new| step(path.to_owned(), What::Named(new))));
            continue;
        }
        let Some((written, path)) = Written::of(name) else { continue };
        let Ok(path) = real(path, fields) else { continue };
        if written.is_same(&written.shown(at(&held, &path)), value) {
            continue;
        }
        match written.literal(value).map_err(|says| Refusal::of(name, says))? {
            Some(literal) => {
                let strangers = strangers(&path, value);
                steps.push(step(path, What::Put(literal)));
                steps.extend(strangers.into_iter().map(|path| step(path, What::Gone)));
            }
            None => steps.push(step(path, What::Gone)),
        }
    }
    Ok(steps)
}

/// A text with changes, which need not be the one that they were made upon.
///
/// # Errors
/// What cannot be written, for a person.
pub fn write(text: &str, steps: &[Step]) -> Result<Done, Refusal> {
    let also = steps.iter().any(|step| !matches!(step.what, What::Named(_)));
    let mut done = Done { text: text.to_owned(), renamed: Vec::new(), also };
    let wrong = |step: &Step, e: EditError| Refusal::of(&step.field, e.to_string());
    for step in steps {
        if let What::Put(literal) = &step.what {
            done.text = edit::put(&done.text, &step.path, literal).map_err(|e| wrong(step, e))?;
        }
    }
    // The last entry of a list goes first: so the others keep their numbers.
    for step in steps.iter().rev().filter(|step| step.what == What::Gone) {
        done.text = edit::remove(&done.text, &step.path).map_err(|e| wrong(step, e))?;
    }
    // What is within another is renamed before it, while its path is still the old one.
    let mut named: Vec<(&Step, &String)> = steps
        .iter()
        .filter_map(|step| if let What::Named(name) = &step.what { Some((step, name)) } else { None })
        .collect();
    named.sort_by_key(|(step, _)| std::cmp::Reverse(step.path.matches('.').count()));
    for (step, name) in named {
        let renamed = edit::rename(&done.text, &step.path, name).map_err(|e| wrong(step, e))?;
        let places = crate::proof::words::count(renamed.places, "place");
        done.renamed.push(format!("{} to {name}; {places}", step.path.replace('.', " ")));
        done.text = renamed.text;
    }
    Ok(done)
}

/// The text with what a form says.
///
/// # Errors
/// What cannot be written, for a person.
pub fn apply(text: &str, fields: &Fields) -> Result<String, Refusal> {
    write(text, &steps(text, fields)?).map(|done| done.text)
}

/// The paths of what may stand beside other kinds only, when the kind becomes one that is known.
fn strangers(path: &str, kind: &str) -> Vec<String> {
    let section = path.strip_suffix(".kind").and_then(|parent| Some((parent, section(parent)?)));
    let Some((parent, section)) = section else { return Vec::new() };
    if !section.kinds.iter().any(|(known, _)| *known == kind) {
        return Vec::new();
    }
    let others = section.kinds.iter().flat_map(|(_, keys)| *keys).map(|key| key.name);
    let strange = others.filter(|name| section.key(name, Some(kind)).is_none());
    strange.map(|name| format!("{parent}.{name}")).collect()
}

/// The section of the table at a path.
pub fn section(path: &str) -> Option<&'static Section> {
    let mut steps = path.split('.');
    let mut section = &JOB;
    while let Some(step) = steps.next() {
        let key = step.split_once('[').map_or(step, |(key, _)| key);
        section = match section.key(key, None)?.form {
            Form::Table(inner) | Form::Tables(inner) => inner,
            Form::Named(inner) => {
                steps.next()?;
                inner
            }
            _ => return None,
        };
    }
    Some(section)
}

/// Whether a form may be about what stands at a path: a section, an entry of one, a wire. Names with characters of their own
/// meaning in a path would lead elsewhere.
pub fn has_form(path: &str) -> bool {
    let is_entry = |entry: &str, list: &str| {
        let n = entry.strip_prefix(list).and_then(|n| n.strip_prefix('[')?.strip_suffix(']'));
        n.is_some_and(|n| n.parse::<usize>().is_ok())
    };
    let form = |key: &str| JOB.key(key, None).map(|key| key.form);
    match path.split('.').collect::<Vec<_>>()[..] {
        ["wiring", wire] => is_entry(wire, "wires"),
        [table, name] => matches!(form(table), Some(Form::Named(_))) && (name == "*" || in_forms(name)),
        [key] => match key.split_once('[') {
            Some((list, _)) => matches!(form(list), Some(Form::Tables(_))) && is_entry(key, list),
            None => matches!(form(key), Some(Form::Table(_))),
        },
        _ => false,
    }
}

/// What stands at a path.
pub fn at<'v>(table: &'v Table, path: &str) -> Option<&'v Value> {
    let mut steps = path.split('.');
    let mut value = step(table, steps.next()?)?;
    for key in steps {
        value = step(value.as_table()?, key)?;
    }
    Some(value)
}

fn step<'v>(table: &'v Table, key: &str) -> Option<&'v Value> {
    match key.split_once('[') {
        Some((key, number)) => {
            table.get(key)?.as_array()?.get(number.trim_end_matches(']').parse::<usize>().ok()?)
        }
        None => table.get(key),
    }
}

#[cfg(test)]
mod tests;
