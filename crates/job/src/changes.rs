//! What differs between two texts of a job, told for people.

mod lists;
mod says;
#[cfg(test)]
mod tests;

use crate::edit::layout::form;
use crate::edit::tree::{Step, Tree};
use crate::edit::value::Value;
use crate::edit::written;
use crate::keys::{Form, Section};
use lists::kept;
pub(crate) use lists::{Pairing, pair};

/// In how many entries that are new one that is gone is looked for, so that no text takes long.
const MOST_MOVED: usize = 1000;

/// One difference between two texts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Where in the new text, as [`crate::edit`] takes it; for an entry that is gone from a list, where it was in the old
    /// one. `line 12` if a text does not read, and nothing if the values are all the same.
    pub path: String,
    /// The value before, as [`crate::edit::put`] takes it; a line of a text that does not read.
    pub was: Option<String>,
    /// The value now. The same as before for an entry of a list that has moved in it.
    pub is: Option<String>,
    says: String,
}

impl Change {
    /// The difference as a plain sentence: "country: IE instead of GB", "part fuse removed".
    pub fn says(&self) -> &str {
        &self.says
    }

    fn of_text(says: &str) -> Self {
        Self { path: String::new(), was: None, is: None, says: says.to_owned() }
    }
}

/// Tells what differs between two texts: by their values if both read, else line by line. Nothing for the same text.
///
/// ```
/// use voltwright_job::changes::changes;
/// let told = changes("[job]\ncountry = \"GB\"\n", "[job]\ncountry = 'IE' # moved\n");
/// assert_eq!(told[0].says(), "country: IE instead of GB");
/// assert_eq!((told.len(), told[0].path.as_str()), (1, "job.country"));
/// ```
pub fn changes(old: &str, new: &str) -> Vec<Change> {
    if old == new {
        return Vec::new();
    }
    let (Ok(before), Ok(after)) = (Tree::of(old), Tree::of(new)) else { return of_lines(old, new) };
    let (before, after) = (Value::of(&before), Value::of(&after));
    let mut differ = Differ { old: &before, new: &after, found: Vec::new() };
    differ.compare(&mut Vec::new(), Some(&before), Some(&after));
    match differ.found {
        none if none.is_empty() && before == after => {
            vec![Change::of_text("only comments or spacing differ")]
        }
        none if none.is_empty() => {
            vec![Change::of_text("only the order of keys, comments or spacing differ")]
        }
        found => found,
    }
}

struct Differ<'v> {
    old: &'v Value,
    new: &'v Value,
    found: Vec<Change>,
}

impl<'v> Differ<'v> {
    fn compare(&mut self, path: &mut Vec<Step>, old: Option<&'v Value>, new: Option<&'v Value>) {
        match (old, new) {
            (Some(old), Some(new)) if old == new => {}
            (Some(Value::Table(_)), Some(Value::Table(_))) => self.tables(path, old, new),
            (Some(Value::List(old)), Some(Value::List(new))) if has_tables(old) || has_tables(new) => {
                self.lists(path, old, new);
            }
            (Some(table @ Value::Table(_)), None) | (None, Some(table @ Value::Table(_)))
                if !table.keys().is_empty() && !is_thing(path) =>
            {
                self.tables(path, old, new);
            }
            (Some(Value::List(list)), None) if has_tables(list) => self.lists(path, list, &[]),
            (None, Some(Value::List(list))) if has_tables(list) => self.lists(path, &[], list),
            (None, None) => {}
            _ => self.tell(path, old, new),
        }
    }

    fn tables(&mut self, path: &mut Vec<Step>, old: Option<&'v Value>, new: Option<&'v Value>) {
        let keys = |v: Option<&'v Value>| v.into_iter().flat_map(Value::keys).map(String::as_str);
        let fresh = keys(new).filter(|k| old.is_none_or(|old| old.get(k).is_none()));
        for key in keys(old).chain(fresh).collect::<Vec<_>>() {
            path.push(Step::Key(key.to_owned()));
            self.compare(path, old.and_then(|v| v.get(key)), new.and_then(|v| v.get(key)));
            path.pop();
        }
    }

    fn lists(&mut self, path: &mut Vec<Step>, old: &'v [Value], new: &'v [Value]) {
        let section = match form(path) {
            Some(Form::Tables(section)) => Some(section),
            _ => None,
        };
        let pairs = paired(section, old, new);
        let mut added: Vec<usize> = Vec::new();
        let mut removed: Vec<usize> = Vec::new();
        for pairing in &pairs {
            match *pairing {
                Pairing::Both(a, b) => self.entry(path, Some((a, &old[a])), Some((b, &new[b]))),
                Pairing::Old(a) => removed.push(a),
                Pairing::New(b) => added.push(b),
            }
        }
        for a in removed {
            // What is gone here and new there, word for word, has moved.
            let same = added.iter().take(MOST_MOVED).position(|b| new[*b] == old[a]);
            match same {
                Some(i) => {
                    let b = added.remove(i);
                    path.push(Step::Entry(b));
                    self.tell(path, Some(&old[a]), Some(&new[b]));
                    path.pop();
                }
                None => self.entry(path, Some((a, &old[a])), None),
            }
        }
        for b in added {
            self.entry(path, None, Some((b, &new[b])));
        }
    }

    fn entry(
        &mut self,
        path: &mut Vec<Step>,
        old: Option<(usize, &'v Value)>,
        new: Option<(usize, &'v Value)>,
    ) {
        let at = new.or(old).map_or(0, |(i, _)| i);
        path.push(Step::Entry(at));
        match (old, new) {
            (Some((_, old)), Some((_, new))) => self.compare(path, Some(old), Some(new)),
            _ => self.tell(path, old.map(|(_, v)| v), new.map(|(_, v)| v)),
        }
        path.pop();
    }

    fn tell(&mut self, path: &[Step], old: Option<&Value>, new: Option<&Value>) {
        let gone = new.is_none() && matches!(path.last(), Some(Step::Entry(_)));
        let text = if gone { self.old } else { self.new };
        self.found.push(Change {
            path: written(path),
            was: old.map(Value::literal),
            is: new.map(Value::literal),
            says: says::sentence(text, path, old, new),
        });
    }
}

fn has_tables(list: &[Value]) -> bool {
    list.iter().any(|v| matches!(v, Value::Table(_)))
}

/// Whether a path names one thing among its like, which comes and goes as a whole.
fn is_thing(path: &[Step]) -> bool {
    let table = path.split_last().map_or(path, |(_, table)| table);
    matches!(form(table), Some(Form::Named(_)))
}

/// Which entries of two lists are the same ones: those that are equal throughout and in the same order; between these, those
/// that are known by the same; and those in the same place that have at least one mark in common.
pub(crate) fn paired(section: Option<&'static Section>, old: &[Value], new: &[Value]) -> Vec<Pairing> {
    let (was, is) = (marks(section, old), marks(section, new));
    let alike = |a: &Vec<String>, b: &Vec<String>| a.len() < 2 || a.iter().zip(b).any(|(a, b)| a == b);
    let (mut pairs, mut a, mut b) = (Vec::new(), 0, 0);
    for (i, j) in kept(old, new).into_iter().chain([(old.len(), new.len())]) {
        let between = pair(&was[a..i], &is[b..j], alike);
        pairs.extend(between.into_iter().map(|pairing| pairing.behind(a, b)));
        if i < old.len() {
            pairs.push(Pairing::Both(i, j));
        }
        (a, b) = (i + 1, j + 1);
    }
    pairs
}

/// What each entry of a list is known by: a wire by its ends.
pub(crate) fn marks(section: Option<&'static Section>, list: &[Value]) -> Vec<Vec<String>> {
    let known = |entry: &Value| -> Vec<String> {
        let keys = section.into_iter().flat_map(|s| s.keys);
        let texts = keys.filter(|k| k.required && matches!(k.form, Form::Text));
        let marks: Vec<String> =
            texts.map(|k| entry.get(k.name).map_or_else(String::new, Value::literal)).collect();
        if marks.is_empty() { vec![entry.literal()] } else { marks }
    };
    list.iter().map(known).collect()
}

fn of_lines(old: &str, new: &str) -> Vec<Change> {
    let (was, is): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let change = |n: usize, old: Option<&str>, new: Option<&str>| Change {
        path: format!("line {}", n + 1),
        was: old.map(str::to_owned),
        is: new.map(str::to_owned),
        says: says::line(n + 1, old, new),
    };
    let mut found: Vec<Change> = Vec::new();
    for pairing in pair(&was, &is, |_, _| true) {
        match pairing {
            Pairing::Both(a, b) if was[a] == is[b] => {}
            Pairing::Both(a, b) => found.push(change(b, Some(was[a]), Some(is[b]))),
            Pairing::Old(a) => found.push(change(a, Some(was[a]), None)),
            Pairing::New(b) => found.push(change(b, None, Some(is[b]))),
        }
    }
    if found.is_empty() { vec![Change::of_text("only line ends differ")] } else { found }
}
