//! Changes of a job's text that keep comments, order and spacing.

use std::ops::Range;
use toml_edit::{Document, Item, Table, TableLike, Value};

#[cfg(test)]
mod tests;

/// Why a change could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The text is not TOML as it stands.
    #[error("the text cannot be edited as long as it does not read: {0}")]
    Unreadable(String),
    /// The path leads through something that is no table or list.
    #[error("`{0}` is not a table, so `{1}` cannot be set in it")]
    NoTable(String, String),
    /// The path names an entry of a list that is not there.
    #[error("`{0}` has no entry {1}")]
    NoEntry(String, usize),
}

/// Sets the text value at `path` (keys joined by points, `wiring.wires[3].length` for an entry of a list) and
/// gives the whole text back; tables that are missing on the way are added.
pub fn set(text: &str, path: &str, value: &str) -> Result<String, EditError> {
    set_to(text, path, Value::from(value))
}

/// The same for a flag.
pub fn set_flag(text: &str, path: &str, value: bool) -> Result<String, EditError> {
    set_to(text, path, Value::from(value))
}

fn set_to(text: &str, path: &str, value: Value) -> Result<String, EditError> {
    let document = parse(text)?;
    let steps = steps(path);
    let same = |old: &Value| old.as_str().zip(value.as_str()).is_some_and(|(a, b)| a == b);
    match walk(document.as_item(), &steps) {
        // What is there is replaced byte for byte, so that nothing else can change, line ends included.
        Some(At::Item(Item::Value(old)) | At::Value(old)) if same(old) => Ok(text.to_owned()),
        Some(At::Item(Item::Value(old)) | At::Value(old)) if old.span().is_some() => {
            Ok(splice(text, old.span().unwrap_or(0..0), &value.to_string()))
        }
        _ => change(text, path, &steps, Some(value)),
    }
}

/// Adds a table to a list of them, written as in a file: `{ from = "a.1", to = "b.2" }`. The list may be written either way.
pub fn append(text: &str, path: &str, entry: &str) -> Result<String, EditError> {
    let entry: Value = entry.parse().map_err(|_| EditError::Unreadable(entry.to_owned()))?;
    let mut document = parse(text)?.into_mut();
    let mut at: &mut dyn TableLike = document.as_table_mut();
    let (last, way) = path.rsplit_once('.').map_or((path, ""), |(way, last)| (last, way));
    for key in way.split('.').filter(|k| !k.is_empty()) {
        at = descend(at, key, None, path)?;
    }
    let item = at.entry(last).or_insert(Item::Value(Value::Array(toml_edit::Array::new())));
    match item {
        Item::Value(Value::Array(list)) => {
            let before = list.iter().last().and_then(|v| v.decor().prefix()).and_then(|p| p.as_str());
            let before = before.filter(|p| p.contains('\n')).unwrap_or("\n  ").to_owned();
            let indent = before.rsplit('\n').next().unwrap_or_default();
            // A comment behind the last entry stays behind it.
            let behind = list.trailing().as_str().unwrap_or_default().trim_end().to_owned();
            list.push_formatted(entry.decorated(format!("{behind}\n{indent}"), ""));
            list.set_trailing_comma(true);
            list.set_trailing("\n");
        }
        Item::ArrayOfTables(list) => {
            let inline = entry.as_inline_table().cloned().unwrap_or_default();
            list.push(inline.into_table());
        }
        _ => return Err(EditError::NoTable(last.into(), path.into())),
    }
    Ok(as_before(text, document.to_string()))
}

/// Removes what stands at `path`; nothing happens if it is not there.
pub fn remove(text: &str, path: &str) -> Result<String, EditError> {
    let document = parse(text)?;
    let steps = steps(path);
    match walk(document.as_item(), &steps) {
        Some(_) => change(text, path, &steps, None),
        None => Ok(text.to_owned()),
    }
}

fn parse(text: &str) -> Result<Document<&str>, EditError> {
    Document::parse(text).map_err(|e| EditError::Unreadable(e.message().into()))
}

fn splice(text: &str, span: Range<usize>, with: &str) -> String {
    format!("{}{with}{}", &text[..span.start], &text[span.end..])
}

/// What stands at a path.
enum At<'a> {
    Item(&'a Item),
    Value(&'a Value),
    Table(&'a Table),
}

fn walk<'a>(root: &'a Item, steps: &[Step<'_>]) -> Option<At<'a>> {
    let mut at = At::Item(root);
    for step in steps {
        at = match (at, step) {
            (At::Item(item), Step::Key(key)) => At::Item(item.as_table_like()?.get(key)?),
            (At::Table(table), Step::Key(key)) => At::Item(table.get(key)?),
            (At::Value(value), Step::Key(key)) => {
                At::Item(value.as_inline_table().and_then(|t| TableLike::get(t, key))?)
            }
            (At::Item(Item::ArrayOfTables(list)), Step::Entry(n)) => At::Table(list.get(*n)?),
            (At::Item(Item::Value(value)) | At::Value(value), Step::Entry(n)) => {
                At::Value(value.as_array()?.get(*n)?)
            }
            (At::Item(_) | At::Table(_), Step::Entry(_)) => return None,
        };
    }
    Some(at)
}

/// Adds or removes a key; the byte-order mark and the line ends of the text are kept.
fn change(text: &str, path: &str, steps: &[Step<'_>], value: Option<Value>) -> Result<String, EditError> {
    let mut document = parse(text)?.into_mut();
    let (last, way) = match steps.split_last() {
        Some((Step::Key(last), way)) => (last, way),
        Some((Step::Entry(n), _)) => return Err(EditError::NoEntry(path.into(), *n)),
        None => return Ok(text.to_owned()),
    };
    let mut table: &mut dyn TableLike = document.as_table_mut();
    for (i, step) in way.iter().enumerate() {
        let Step::Key(key) = step else { continue };
        let entry = match way.get(i + 1) {
            Some(Step::Entry(n)) => Some(*n),
            _ => None,
        };
        table = descend(table, key, entry, path)?;
    }
    match value {
        None => {
            table.remove(last);
        }
        Some(value) => {
            table.insert(last, Item::Value(value));
        }
    }
    Ok(as_before(text, document.to_string()))
}

/// With the byte-order mark and the Windows line ends of the text before.
fn as_before(before: &str, after: String) -> String {
    let windows = before.contains("\r\n") && !before.replace("\r\n", "").contains('\n');
    let after = if windows { after.replace("\r\n", "\n").replace('\n', "\r\n") } else { after };
    let marked = before.starts_with('\u{feff}') && !after.starts_with('\u{feff}');
    if marked { format!("\u{feff}{after}") } else { after }
}

fn descend<'a>(
    table: &'a mut dyn TableLike,
    key: &str,
    entry: Option<usize>,
    path: &str,
) -> Result<&'a mut dyn TableLike, EditError> {
    let no_table = || EditError::NoTable(key.into(), path.into());
    if !table.contains_key(key) {
        let mut fresh = Table::new();
        fresh.set_implicit(true);
        table.insert(key, Item::Table(fresh));
    }
    let item = table.get_mut(key).ok_or_else(no_table)?;
    let Some(n) = entry else { return item.as_table_like_mut().ok_or_else(no_table) };
    let missing = || EditError::NoEntry(key.into(), n);
    match item {
        Item::ArrayOfTables(list) => list.get_mut(n).map(|t| t as &mut dyn TableLike).ok_or_else(missing),
        Item::Value(Value::Array(list)) => list
            .get_mut(n)
            .ok_or_else(missing)?
            .as_inline_table_mut()
            .map(|t| t as &mut dyn TableLike)
            .ok_or_else(no_table),
        _ => Err(no_table()),
    }
}

enum Step<'a> {
    Key(&'a str),
    Entry(usize),
}

fn steps(path: &str) -> Vec<Step<'_>> {
    path.split('.')
        .flat_map(|part| match part.split_once('[') {
            Some((key, n)) => {
                let entry = n.trim_end_matches(']').parse().map_or(Step::Key(n), Step::Entry);
                vec![Step::Key(key), entry]
            }
            None => vec![Step::Key(part)],
        })
        .collect()
}
