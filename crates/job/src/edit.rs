//! Changes of a job's text that keep comments, order and spacing.

use toml_edit::{DocumentMut, Item, Table, TableLike, Value};

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

/// Sets the text value at `path` (keys joined by points, `wires[3].length` for an entry of a list) and gives
/// the whole text back; tables that are missing on the way are added.
pub fn set(text: &str, path: &str, value: &str) -> Result<String, EditError> {
    change(text, path, Some(Value::from(value)))
}

/// Removes what stands at `path`; nothing happens if it is not there.
pub fn remove(text: &str, path: &str) -> Result<String, EditError> {
    change(text, path, None)
}

fn change(text: &str, path: &str, value: Option<Value>) -> Result<String, EditError> {
    let mut document: DocumentMut = text.parse().map_err(|e: toml_edit::TomlError| EditError::Unreadable(e.message().into()))?;
    let steps = steps(path);
    let Some((Step::Key(last), way)) = steps.split_last() else { return Ok(text.to_owned()) };
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
        Some(value) => put(table, last, value),
    }
    Ok(document.to_string())
}

/// Replaces a value and keeps what stands around it.
fn put(table: &mut dyn TableLike, key: &str, mut value: Value) {
    match table.get_mut(key) {
        Some(Item::Value(old)) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        _ => {
            table.insert(key, Item::Value(value));
        }
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "format = 1 # form\n\n[job]\ntitle = \"x\" # the title\n\n[load.board]\ndraws.p5 = { run = \"2.3 A\", basis = \"typical\" } # logic\n\nwires = [\n  { from = \"a.1\", length = \"80 mm\" }, # first\n]\n";

    #[test]
    fn an_edit_touches_nothing_but_its_value() {
        let out = set(TEXT, "load.board.draws.p5.run", "3 A").unwrap();
        assert_eq!(out, TEXT.replace("2.3 A", "3 A"));
        let out = set(TEXT, "load.board.wires[0].length", "1 m").unwrap();
        assert_eq!(out, TEXT.replace("80 mm", "1 m"));
        let out = set(TEXT, "job.title", "y").unwrap();
        assert_eq!(out, TEXT.replace("\"x\"", "\"y\""));
    }

    #[test]
    fn a_missing_table_is_added() {
        let out = set(TEXT, "assume.contact", "10 mΩ").unwrap();
        assert!(out.starts_with(TEXT) && out.contains("[assume]\ncontact = \"10 mΩ\""), "{out}");
    }

    #[test]
    fn what_cannot_be_set_is_said() {
        assert!(matches!(set("a = [", "a", "b"), Err(EditError::Unreadable(_))));
        assert!(matches!(set(TEXT, "format.x", "b"), Err(EditError::NoTable(..))));
        assert_eq!(set(TEXT, "load.board.wires[7].length", "b"), Err(EditError::NoEntry("wires".into(), 7)));
        assert_eq!(remove(TEXT, "job.nothing").unwrap(), TEXT);
    }
}
