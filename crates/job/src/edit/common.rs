//! What two texts of a job have in common, path by path: whether a change that was made upon the older one can be made upon
//! the newer one.

use super::layout::form;
use super::tree::{Step, Tree};
use super::value::Value;
use super::{EditError, steps, written};
use crate::changes::marks;
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

    /// The path of an entry of a list, and where it stands now, if the list on the way to a path was changed since: found by
    /// what entries of its kind are known by, as a wire is by its ends. The place is behind the last if it is there no more.
    pub fn moved(&self, path: &str) -> Option<Moved> {
        let steps = steps(path).ok()?;
        let n = steps.iter().position(|s| matches!(s, Step::Entry(_)))?;
        let (list, Step::Entry(i)) = (&steps[..n], &steps[n]) else { return None };
        let (before, after) = (entries(self.old.at(list)), entries(self.new.at(list)));
        if *i >= before.len() || before.get(..=*i) == after.get(..=*i) {
            return None;
        }
        let section = match form(list) {
            Some(Form::Tables(section)) => Some(section),
            _ => None,
        };
        let known = &marks(section, before)[*i];
        let same: Vec<usize> =
            marks(section, after).iter().enumerate().filter(|(_, m)| *m == known).map(|(j, _)| j).collect();
        let to = if let [one] = same[..] { Some(one) } else { None };
        let at = |j: usize| {
            let mut path = list.to_vec();
            path.push(Step::Entry(j));
            written(&path)
        };
        Some(Moved { from: at(*i), to: at(to.unwrap_or(after.len())), is_there: to.is_some() })
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

/// An entry of a list that stands elsewhere now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moved {
    /// Its path before.
    pub from: String,
    /// Its path now; one behind the last if it is there no more.
    pub to: String,
    /// Whether it is still there.
    pub is_there: bool,
}

fn inner<'v>(value: &'v Value, step: &Step) -> Option<&'v Value> {
    value.at(std::slice::from_ref(step))
}

fn entries(value: Option<&Value>) -> &[Value] {
    if let Some(Value::List(list)) = value { list } else { &[] }
}

#[cfg(test)]
mod tests;
