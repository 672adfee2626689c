//! A form as changes of the job's text: what a field shows now and what was sent are compared, and only what differs is
//! written.

use super::last::{Fields, Refusal, value};
use super::written::Written;
use toml::{Table, Value};
use voltwright_job::edit::{self, EditError};
use voltwright_job::keys::{Form, JOB, Section};

/// The text with what the form says.
///
/// # Errors
/// What cannot be written, for a person.
pub fn apply(text: &str, fields: &Fields) -> Result<String, Refusal> {
    let whole = |e: EditError| Refusal::of("", e.to_string());
    let at = value(fields, "at").unwrap_or_default();
    if value(fields, "do") == Some("remove") {
        return edit::remove(text, at).map_err(whole);
    }
    let unreadable = "The text has an error that hides its structure: mend it on the Text page first.";
    let held: Table = text.parse().map_err(|_| Refusal::of("", unreadable))?;
    new_names(&held, fields)?;
    let mut text = text.to_owned();
    let mut gone = Vec::new();
    for (name, value) in fields {
        let Some((written, path)) = Written::of(name) else { continue };
        let Some(path) =
            real(path, fields).ok().filter(|p| !written.is_same(&written.shown(self::at(&held, p)), value))
        else {
            continue;
        };
        match written.literal(value).map_err(|says| Refusal::of(name, says))? {
            Some(literal) => {
                text = edit::put(&text, &path, &literal).map_err(|e| Refusal::of(name, e.to_string()))?;
                gone.extend(strangers(&path, value));
            }
            None => gone.push(path),
        }
    }
    // The last entry of a list goes first: so the others keep their numbers.
    gone.iter().rev().try_fold(text, |text, path| edit::remove(&text, path)).map_err(whole)
}

/// The path that a form is about, with the name that was chosen for what is new.
pub fn about(fields: &Fields) -> String {
    let at = value(fields, "at").unwrap_or_default();
    real(at, fields).unwrap_or_else(|_| at.to_owned())
}

/// A path with the names that were chosen for what is new; the field of a name that is missing.
fn real(path: &str, fields: &Fields) -> Result<String, String> {
    path.match_indices(".*").try_fold(path.to_owned(), |real, (star, _)| {
        let field = format!("new:{}", &path[..star]);
        match value(fields, &field).map(str::trim) {
            Some(chosen) if !chosen.is_empty() => Ok(real.replacen('*', chosen, 1)),
            _ => Err(field),
        }
    })
}

/// Whatever is new has a name of its own, and a name is given to something.
fn new_names(held: &Table, fields: &Fields) -> Result<(), Refusal> {
    let typed = |name: &str, value: &str| {
        Written::of(name).filter(|_| !value.trim().is_empty()).map(|(_, path)| path.to_owned())
    };
    let typed: Vec<String> = fields.iter().filter_map(|(name, value)| typed(name, value)).collect();
    if let Some(field) = typed.iter().find_map(|path| real(path, fields).err()) {
        let says = "What is entered here needs a short name, so that the file can hold it.";
        return Err(Refusal::of(&field, says));
    }
    let names =
        fields.iter().filter(|(field, chosen)| field.starts_with("new:") && !chosen.trim().is_empty());
    for (field, chosen) in names {
        let fresh = format!("{}.*", &field["new:".len()..]);
        let is_there = real(&fresh, fields).is_ok_and(|path| at(held, &path).is_some());
        let is_filled = typed.iter().any(|path| path.starts_with(&fresh));
        if let Some(says) = wrong_name(chosen.trim(), is_there, is_filled) {
            return Err(Refusal::of(field, says));
        }
    }
    Ok(())
}

fn wrong_name(chosen: &str, is_there: bool, is_filled: bool) -> Option<String> {
    if !chosen.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_') {
        Some(format!("“{chosen}” is no name: use letters, digits and hyphens."))
    } else if is_there {
        Some(format!("“{chosen}” is there already: change it there, or choose another name."))
    } else if !is_filled {
        Some(format!("Nothing is entered for “{chosen}” yet: fill in a field below."))
    } else {
        None
    }
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
fn section(path: &str) -> Option<&'static Section> {
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
