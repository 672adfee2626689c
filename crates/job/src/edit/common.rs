//! What two texts of a job have in common, path by path: whether a change that was made upon the older one can be made upon
//! the newer one.

use super::layout::form;
use super::tree::{Step, Tree};
use super::value::Value;
use super::{EditError, steps, written};
use crate::changes::{Pairing, marks, paired};
use crate::keys::Form;

/// An older text and a newer one.
///
/// ```
/// use voltwright_job::edit::Common;
/// let common = Common::of("a = 1\nb = 1\nw = [{ c = 1 }]\n", "a = 2\nb = 1\nw = [{ c = 1 }, { c = 2 }]\n")?;
/// assert_eq!(common.now("b").as_deref(), Some("b"));
/// assert_eq!(common.now("a"), None, "changed since");
/// assert_eq!(common.now("w[1].c").as_deref(), Some("w[2].c"), "what is added goes behind what was added");
/// # Ok::<(), voltwright_job::edit::EditError>(())
/// ```
#[derive(Debug)]
pub struct Common {
    old: Value,
    new: Value,
}

impl Common {
    /// Of an older and a newer text.
    ///
    /// # Errors
    /// One of them is not TOML as it stands.
    pub fn of(old: &str, new: &str) -> Result<Self, EditError> {
        Ok(Self { old: Value::of(&Tree::of(old)?), new: Value::of(&Tree::of(new)?) })
    }

    /// Whether the values are the same throughout, however they are written.
    pub fn is_same(&self) -> bool {
        self.old == self.new
    }

    /// The path in the newer text of what stands at a path of the older one, or would be put there; nothing if it was changed
    /// since. An entry of a list counts as changed with whatever stands before it; one behind the last stays behind the last.
    pub fn now(&self, path: &str) -> Option<String> {
        let mut steps = steps(path).ok()?;
        let (mut old, mut new) = (Some(&self.old), Some(&self.new));
        for step in &mut steps {
            let (was, is) = (old.and_then(|v| inner(v, step)), new.and_then(|v| inner(v, step)));
            if let Step::Entry(n) = step {
                let (before, after) = (entries(old), entries(new));
                if *n == before.len() {
                    // It is to be added: whatever was added since is another.
                    *n = after.len();
                    return Some(written(&steps));
                }
                if before.get(..=*n) != after.get(..=*n) {
                    return None;
                }
            }
            if was.is_some() && is.is_none() {
                return None;
            }
            (old, new) = (was, is);
        }
        (old == new).then(|| written(&steps))
    }

    /// Where in the newer text is what stands at a path of the older one, or would be put there. An entry of a list is looked for
    /// by what it is known by, and what has a name among the names that are new; where one is gone and others came, it is the
    /// one most like it, so that nobody takes "called otherwise" for "gone".
    pub fn place(&self, path: &str) -> Place {
        let Ok(steps) = steps(path) else { return Place { path: path.to_owned(), ..Place::default() } };
        let (mut old, mut new) = (Some(&self.old), Some(&self.new));
        let (mut was, mut is, mut moved) = (Vec::new(), Vec::new(), Vec::new());
        for step in steps {
            let (now, has_moved) = partner(&was, &step, old, new);
            (old, new) = (old.and_then(|v| inner(v, &step)), new.and_then(|v| inner(v, &now)));
            was.push(step);
            is.push(now);
            if has_moved {
                moved.push((written(&was), written(&is)));
            }
        }
        Place { path: written(&is), moved, is_gone: old.is_some() && new.is_none() }
    }

    /// Whether something stands at a path of the newer text.
    pub fn has(&self, path: &str) -> bool {
        steps(path).is_ok_and(|path| self.new.at(&path).is_some())
    }

    /// Whether something stands at a path of the older text and nothing at it in the newer one.
    pub fn is_gone(&self, path: &str) -> bool {
        steps(path).is_ok_and(|path| self.old.at(&path).is_some() && self.new.at(&path).is_none())
    }

    /// Whether a value, as written in a file, stands at a path of the newer text; nothing for none.
    pub fn stands(&self, path: &str, literal: Option<&str>) -> bool {
        steps(path).is_ok_and(|path| self.new.at(&path) == literal.and_then(Value::of_literal).as_ref())
    }
}

/// Where something is in a newer text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Place {
    /// Its path there; for an entry that is in its list no more, one behind the last.
    pub path: String,
    /// What on the way may stand elsewhere or be called otherwise, or stands behind what was changed: its path before, and now.
    pub moved: Vec<(String, String)>,
    /// Whether it was there and is there no more.
    pub is_gone: bool,
}

/// The step in the newer value that leads to what `step` led to in the older one, and whether it had to be looked for.
fn partner(path: &[Step], step: &Step, old: Option<&Value>, new: Option<&Value>) -> (Step, bool) {
    match step {
        Step::Entry(n) => {
            let (before, after) = (entries(old), entries(new));
            match n.checked_sub(before.len()) {
                Some(more) => (Step::Entry(after.len() + more), false),
                None if before.get(..=*n) == after.get(..=*n) => (step.clone(), false),
                None => match entry(path, before, after, *n) {
                    Some(n) => (Step::Entry(n), true),
                    None => (Step::Entry(after.len()), false),
                },
            }
        }
        Step::Key(name) => match named(path, name, old, new) {
            Some(name) => (Step::Key(name), true),
            None => (step.clone(), false),
        },
    }
}

/// The number of an entry in the newer list.
fn entry(list: &[Step], before: &[Value], after: &[Value], n: usize) -> Option<usize> {
    let section = if let Some(Form::Tables(section)) = form(list) { Some(section) } else { None };
    let (mut gone, mut came) = (Vec::new(), Vec::new());
    for pairing in paired(section, before, after) {
        match pairing {
            Pairing::Both(a, b) if a == n => return Some(b),
            Pairing::Both(..) => {}
            Pairing::Old(a) => gone.push(a),
            Pairing::New(b) => came.push(b),
        }
    }
    let (was, is) = (marks(section, before), marks(section, after));
    let same = came.iter().find(|b| after[**b] == before[n]).or(came.iter().find(|b| is[**b] == was[n]));
    let by_place = || {
        let place = gone.iter().position(|a| *a == n)?;
        came.get(place).or(came.last())
    };
    same.or_else(by_place).copied()
}

/// The name that something in a table of named things may have now, if its own is gone and others came.
fn named(table: &[Step], name: &str, old: Option<&Value>, new: Option<&Value>) -> Option<String> {
    if !matches!(form(table), Some(Form::Named(_) | Form::NamedTexts | Form::NamedValues(_))) {
        return None;
    }
    let (old, new) = (old?, new?);
    let (thing, None) = (old.get(name)?, new.get(name)) else { return None };
    let came = new.keys().iter().filter(|key| old.get(key).is_none());
    let mut best: Option<(usize, &String)> = None;
    for key in came {
        let alike = new.get(key).map_or(0, |other| shared(thing, other));
        if best.is_none_or(|(most, _)| alike > most) {
            best = Some((alike, key));
        }
    }
    best.map(|(_, key)| key.clone())
}

/// How many plain values two things have in the same places.
fn shared(a: &Value, b: &Value) -> usize {
    match (a, b) {
        (Value::Table(_), Value::Table(_)) => {
            a.keys().iter().filter_map(|key| Some(shared(a.get(key)?, b.get(key)?))).sum()
        }
        (Value::List(a), Value::List(b)) => a.iter().zip(b).map(|(a, b)| shared(a, b)).sum(),
        _ => usize::from(a == b),
    }
}

fn inner<'v>(value: &'v Value, step: &Step) -> Option<&'v Value> {
    value.at(std::slice::from_ref(step))
}

fn entries(value: Option<&Value>) -> &[Value] {
    if let Some(Value::List(list)) = value { list } else { &[] }
}

#[cfg(test)]
mod tests;
