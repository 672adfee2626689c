//! Which path a place in the text belongs to, and where the value of a path stands.

use super::tree::{Holds, Pair, Tree, below};
use super::{EditError, written};
use std::ops::Range;

/// Where the keys and values of a text stand.
///
/// ```
/// use voltwright_job::edit::Places;
/// let text = "[rail]\np5 = { nominal = \"5 X\" }\n";
/// let places = Places::of(text)?;
/// let nominal = places.span("rail.p5.nominal").unwrap_or_default();
/// assert_eq!(&text[nominal.clone()], "\"5 X\"");
/// assert_eq!(places.path(&(nominal.start + 1..nominal.end - 1)), Some("rail.p5.nominal"));
/// # Ok::<(), voltwright_job::edit::EditError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Places {
    values: Vec<(String, Range<usize>)>,
    /// Keys, headers and keys with their values: where a place is not within a value, what it is about.
    around: Vec<(String, Range<usize>)>,
}

impl Places {
    /// Of a text.
    ///
    /// # Errors
    /// The text is not TOML as it stands.
    pub fn of(text: &str) -> Result<Self, EditError> {
        let tree = Tree::of(text)?;
        let spots = tree.spots();
        let values = spots.iter().map(|s| (written(&s.path), s.node.span.clone())).collect();
        let mut around = Vec::new();
        for block in &tree.blocks {
            around.push((written(&block.path), block.span.clone()));
            pairs(&block.path, &block.pairs, &mut around);
        }
        for spot in &spots {
            if let Holds::Pairs(inner) = &spot.node.holds {
                pairs(&spot.path, inner, &mut around);
            }
        }
        Ok(Self { values, around })
    }

    /// Where the value at a path stands; nothing if there is none, or if it is a table that is written in several pieces.
    pub fn span(&self, path: &str) -> Option<Range<usize>> {
        self.values.iter().find(|(at, _)| at == path).map(|(_, span)| span.clone())
    }

    /// The path of the smallest thing that a place lies in: a value, a key, or a header for the table below it.
    pub fn path(&self, place: &Range<usize>) -> Option<&str> {
        let holds = |span: &Range<usize>| span.start <= place.start && place.end <= span.end;
        let all = self.values.iter().chain(&self.around).filter(|(_, span)| holds(span));
        all.min_by_key(|(_, span)| span.len()).map(|(path, _)| path.as_str()).filter(|path| !path.is_empty())
    }
}

/// Each key of dotted ones by itself, and each pair as a whole.
fn pairs(path: &[super::tree::Step], pairs: &[Pair], into: &mut Vec<(String, Range<usize>)>) {
    for pair in pairs {
        for (i, key) in pair.keys.iter().enumerate() {
            into.push((written(&below(path, &pair.keys[..=i])), key.span.clone()));
        }
        if let Some(first) = pair.keys.first() {
            into.push((written(&below(path, &pair.keys)), first.span.start..pair.value.span.end));
        }
    }
}

#[cfg(test)]
mod tests;
