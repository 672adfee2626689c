//! A form as changes of the job's text: what a field shows now and what was sent are compared, and only what differs is
//! written.

use super::fields::Written;
use crate::command::new::quoted;
use toml::{Table, Value};
use voltwright_job::edit;

/// The fields of a form, in order.
pub type Fields = Vec<(String, String)>;

/// The text with what the form says.
///
/// # Errors
/// What cannot be written, for a person.
pub fn apply(text: &str, fields: &Fields) -> Result<String, String> {
    let field = |name: &str| fields.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.trim());
    if field("do") == "remove" {
        return edit::remove(text, field("at")).map_err(|e| e.to_string());
    }
    let held: Table =
        text.parse().map_err(|_| "The text has an error that hides its structure: mend it first.")?;
    let mut text = text.to_owned();
    for (name, value) in fields {
        let Some((written, path)) = Written::of(name) else { continue };
        let Some(path) = named(path, fields)? else { continue };
        let value = value.replace("\r\n", "\n");
        let value = value.trim();
        let is = at(&held, &path);
        if written.shown(is) == value {
            continue;
        }
        let changed = match literal(written, value)? {
            Some(literal) => edit::put(&text, &path, &literal),
            None => edit::remove(&text, &path),
        };
        text = changed.map_err(|e| e.to_string())?;
    }
    Ok(text)
}

/// A path with the names that were chosen for what is new; nothing where no name was chosen.
fn named(path: &str, fields: &Fields) -> Result<Option<String>, String> {
    let mut path = path.to_owned();
    while let Some(star) = path.find(".*") {
        let owner = &path[..star];
        let chosen =
            fields.iter().find(|(n, _)| n.strip_prefix("new:") == Some(owner)).map_or("", |(_, v)| v.trim());
        if chosen.is_empty() {
            return Ok(None);
        }
        if !chosen.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_') {
            return Err(format!("`{chosen}` is no name: use letters, digits and hyphens."));
        }
        path = format!("{owner}.{chosen}{}", &path[star + 2..]);
    }
    Ok(Some(path))
}

/// A value as a job file writes it; nothing where the field is empty.
fn literal(written: Written, value: &str) -> Result<Option<String>, String> {
    if value.is_empty() {
        return Ok(None);
    }
    let list =
        |parts: Vec<&str>| format!("[{}]", parts.into_iter().map(quoted).collect::<Vec<_>>().join(", "));
    let lines = || value.lines().map(str::trim).filter(|l| !l.is_empty()).collect::<Vec<_>>();
    Ok(Some(match written {
        Written::Text => quoted(value),
        Written::Lines if !value.contains('\n') => quoted(value),
        Written::Lines | Written::List => list(lines()),
        Written::Words => list(value.split_whitespace().collect()),
        Written::Flag if matches!(value, "true" | "false") => value.to_owned(),
        Written::Whole if value.parse::<i64>().is_ok() => value.to_owned(),
        Written::Flag => return Err(format!("`{value}` is neither yes nor no.")),
        Written::Whole => return Err(format!("`{value}` is no whole number.")),
    }))
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
