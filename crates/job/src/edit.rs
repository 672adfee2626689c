//! Changes of a job's text that keep comments, order and spacing.
//!
//! A path is written as keys joined by points, with the number of an entry from 0: `part.fuse.rating`,
//! `wiring.wires[3].length`. Every change is one of bytes: what it is not about stays as it was written, line ends and
//! byte-order mark included. What is new is laid out as a person would, by the forms of [`crate::keys`].

mod blocks;
mod bytes;
mod common;
mod insert;
mod items;
pub(crate) mod layout;
mod lines;
mod places;
mod remove;
mod rename;
#[cfg(test)]
mod tests;
pub(crate) mod tree;
pub(crate) mod value;

pub use common::{Common, Place};
pub use places::Places;

use toml_edit::Value;
use tree::{Step, Tree};

/// Why a change could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The text is not TOML as it stands.
    #[error("the text cannot be edited as long as it does not read: {0}; mend that first")]
    Unreadable(String),
    /// The path leads through something that is no table or list.
    #[error("`{0}` is not a table, so `{1}` cannot be set in it; remove it first, or set it as a whole")]
    NoTable(String, String),
    /// The path names an entry of a list that is not there.
    #[error("`{0}` has no entry {1}; entries count from 0, and a new one comes right behind the last")]
    NoEntry(String, usize),
    /// The path is none.
    #[error(
        "`{0}` leads nowhere; write keys joined by points, as in part.fuse.rating or wiring.wires[3].length"
    )]
    NoPath(String),
    /// What was to be put there is no single value.
    #[error(
        "`{0}` is not a value; write it as in the file: \"2 A\" in quotes, 1983, true, a list in [ ], a table in {{ }}"
    )]
    NoValue(String),
    /// The new name cannot be one.
    #[error(
        "\"{0}\" cannot be a name here; use the letters a to z, digits, - and _; com, chassis, cold, source and - itself mean something already"
    )]
    NoName(String),
    /// The new name is in use.
    #[error("`{0}` is the name of something else already; choose another, or rename that first")]
    Taken(String),
    /// What was to be renamed is not there, or its name is not its own.
    #[error(
        "`{0}` has no name of its own to be changed; rename a load, part, plug, rail, battery, socket or output that is there"
    )]
    NoNamed(String),
    /// The text would not read afterwards.
    #[error("`{0}` cannot be changed so that the text still reads; edit the text itself there")]
    NotHere(String),
}

/// Sets the text value at `path` and gives the whole text back; tables that are missing on the way are added.
///
/// ```
/// let text = voltwright_job::edit::set("format = 1\n\n[job]\ntitle = \"x\" # so far\n", "part.fuse.rating", "2 A")?;
/// assert_eq!(text, "format = 1\n\n[job]\ntitle = \"x\" # so far\n\n[part.fuse]\nrating = \"2 A\"\n");
/// # Ok::<(), voltwright_job::edit::EditError>(())
/// ```
///
/// # Errors
/// See [`EditError`].
pub fn set(text: &str, path: &str, value: &str) -> Result<String, EditError> {
    // The same text may be quoted in another way; it is left so.
    if Tree::of(text)?.string(&steps(path)?).as_deref() == Some(value) {
        return Ok(text.to_owned());
    }
    put(text, path, &quoted(value))
}

/// The same for a flag.
///
/// # Errors
/// See [`EditError`].
pub fn set_flag(text: &str, path: &str, value: bool) -> Result<String, EditError> {
    put(text, path, if value { "true" } else { "false" })
}

/// Puts any value there, written as in a file: `1983`, `["com", "p5"]`, `{ voltage = "100 V" }`.
///
/// A table for which a person would write a header, or a line for each of its names, is laid out so.
///
/// # Errors
/// See [`EditError`].
pub fn put(text: &str, path: &str, literal: &str) -> Result<String, EditError> {
    let steps = steps(path)?;
    let literal = literal.trim();
    if tree::value(literal).is_none() {
        return Err(EditError::NoValue(literal.to_owned()));
    }
    let literal = literal.replace("\r\n", "\n").replace('\n', bytes::line_end(text));
    sound(insert::put(text, &steps, &literal)?, path)
}

/// Adds an entry to a list, written as in a file: `{ from = "a.1", to = "b.2" }`. The list may be written either way.
///
/// # Errors
/// See [`EditError`].
pub fn append(text: &str, path: &str, entry: &str) -> Result<String, EditError> {
    let entries = Tree::of(text)?.entries(&steps(path)?);
    put(text, &format!("{path}[{entries}]"), entry)
}

/// Removes what stands at `path`, an entry of a list too; nothing happens if it is not there.
///
/// A table or list that is empty without it goes as well, unless a comment stands in it or being there says something.
///
/// # Errors
/// See [`EditError`].
pub fn remove(text: &str, path: &str) -> Result<String, EditError> {
    sound(remove::remove(text, &steps(path)?)?, path)
}

/// A text in which something has another name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Renamed {
    /// The whole text.
    pub text: String,
    /// In how many places the name was written, its own included.
    pub places: usize,
}

/// Gives what is named at `path` (`load.board`, `rail.p5`, `part.supply.output.v1`) another name, wherever it is written.
///
/// # Errors
/// See [`EditError`]; among others if the name is taken or is none.
pub fn rename(text: &str, path: &str, name: &str) -> Result<Renamed, EditError> {
    let renamed = rename::rename(text, path, &steps(path)?, name)?;
    let renamed = Renamed { text: sound(renamed.text, path)?, ..renamed };
    // A name may stand in the way of another where the parts of both are joined: output `in` of a converter.
    let taken = crate::read(text).is_usable() && !crate::read(&renamed.text).is_usable();
    if taken { Err(EditError::Taken(name.to_owned())) } else { Ok(renamed) }
}

/// Whether what stands at a path may have this name, were it there or not.
///
/// # Errors
/// [`EditError::NoName`], as [`rename`] says it.
pub fn can_be(path: &str, name: &str) -> Result<(), EditError> {
    rename::can_be(&steps(path)?, name)
}

/// Whether what stands at a path has a name of its own, by which others may refer to it.
pub fn is_named(path: &str) -> bool {
    steps(path).is_ok_and(|steps| rename::is_named(&steps))
}

/// The paths of what a value, as written in a file, would refer to by name at a path of a text: a rail, what a wire goes to, and
/// over a plug the socket that it mates with.
///
/// ```
/// let text = "[rail]\np5 = { nominal = \"5 V\" }\n";
/// let referred = voltwright_job::edit::referred(text, "load.board.sockets.j1", "[\"com\", \"p5\"]");
/// assert_eq!(referred, ["rail.p5"]);
/// ```
pub fn referred(text: &str, path: &str, literal: &str) -> Vec<String> {
    let (Ok(tree), Ok(steps)) = (Tree::of(text), steps(path)) else { return Vec::new() };
    rename::referred(&tree, &steps, literal).iter().map(|path| written(path)).collect()
}

/// The text, if it reads.
fn sound(text: String, path: &str) -> Result<String, EditError> {
    let reads = Tree::of(&text).is_ok();
    if reads { Ok(text) } else { Err(EditError::NotHere(path.to_owned())) }
}

pub(crate) fn quoted(text: &str) -> String {
    Value::from(text).to_string()
}

pub(crate) fn quoted_key(key: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !key.is_empty() && key.chars().all(bare) { key.to_owned() } else { quoted(key) }
}

/// A path as it is written.
pub(crate) fn written(path: &[Step]) -> String {
    path.iter().enumerate().fold(String::new(), |path, (i, step)| match step {
        Step::Key(key) if i > 0 => format!("{path}.{key}"),
        Step::Key(key) => key.clone(),
        Step::Entry(n) => format!("{path}[{n}]"),
    })
}

fn steps(path: &str) -> Result<Vec<Step>, EditError> {
    let nowhere = || EditError::NoPath(path.to_owned());
    let mut steps = Vec::new();
    for part in path.split('.') {
        let (key, entries) = part.split_at(part.find('[').unwrap_or(part.len()));
        if key.is_empty() {
            return Err(nowhere());
        }
        steps.push(Step::Key(key.to_owned()));
        for entry in entries.split_inclusive(']') {
            let n = entry.strip_prefix('[').and_then(|e| e.strip_suffix(']')).and_then(|n| n.parse().ok());
            steps.push(Step::Entry(n.ok_or_else(nowhere)?));
        }
    }
    Ok(steps)
}
