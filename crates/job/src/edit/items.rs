//! Another list over one that is written on several lines: entry by entry, so that the comments of those that stay are kept.

use super::EditError;
use super::bytes::{line_start, splice};
use super::remove::{Above, cut_out};
use super::tree::{Holds, Node, Spot, Step, Tree, value};
use super::value::Value;
use crate::changes::{Pairing, pair};

/// The text with a list in place of another; nothing where that is not written on several lines, or one of them is empty.
pub(super) fn put(tree: &Tree<'_>, spot: &Spot<'_>, literal: &str) -> Option<String> {
    let text = tree.text;
    let (old, new) = (&spot.node.holds, value(literal)?);
    let (Holds::Items(was), Holds::Items(is)) = (old, &new.holds) else { return None };
    if was.is_empty() || is.is_empty() || !text[spot.node.span.clone()].contains('\n') {
        return None;
    }
    let written = |text: &str, all: &[Node]| -> Vec<String> {
        all.iter().map(|item| text[item.span.clone()].to_owned()).collect()
    };
    let (was, is) = (values(text, was), written(literal, is));
    let pairs = pair(&was, &values_of(&is)?, |_, _| true);
    let done = exchanged(text, &spot.path, &pairs, &is).ok()?;
    // Whatever is written strangely is put there as a whole.
    let stands = Value::of(&Tree::of(&done).ok()?).at(&spot.path).cloned();
    (stands == Value::of_literal(literal)).then_some(done)
}

fn values(text: &str, items: &[Node]) -> Vec<Option<Value>> {
    items.iter().map(|item| Value::of_literal(&text[item.span.clone()])).collect()
}

fn values_of(written: &[String]) -> Option<Vec<Option<Value>>> {
    written.iter().map(|literal| Some(Some(Value::of_literal(literal)?))).collect()
}

/// From the last entry to the first, so that those before it keep their numbers.
fn exchanged(text: &str, list: &[Step], pairs: &[Pairing], is: &[String]) -> Result<String, EditError> {
    let mut text = text.to_owned();
    let count = |upto: usize| pairs[..upto].iter().filter(|p| !matches!(p, Pairing::New(_))).count();
    for (i, pairing) in pairs.iter().enumerate().rev() {
        text = match *pairing {
            Pairing::Both(a, b) => over(&text, list, a, &is[b])?,
            Pairing::New(b) => behind(&text, list, count(i), &is[b])?,
            Pairing::Old(a) => cut_out(
                &text,
                &list.iter().cloned().chain([Step::Entry(a)]).collect::<Vec<_>>(),
                Above::Goes,
            )?,
        };
    }
    Ok(text)
}

fn nodes<T>(text: &str, list: &[Step], with: impl FnOnce(&[Node]) -> T) -> Result<T, EditError> {
    let tree = Tree::of(text)?;
    match tree.find(list).map(|spot| &spot.node.holds) {
        Some(Holds::Items(items)) => Ok(with(items)),
        _ => Err(EditError::NotHere(super::written(list))),
    }
}

fn over(text: &str, list: &[Step], n: usize, literal: &str) -> Result<String, EditError> {
    nodes(text, list, |items| match items.get(n) {
        Some(item) if Value::of_literal(&text[item.span.clone()]) != Value::of_literal(literal) => {
            splice(text, &item.span, literal)
        }
        _ => text.to_owned(),
    })
}

/// A new entry behind so many: on the line of the one before it, or on one of its own as the first.
fn behind(text: &str, list: &[Step], n: usize, literal: &str) -> Result<String, EditError> {
    nodes(text, list, |items| match (n.checked_sub(1).and_then(|prior| items.get(prior)), items.first()) {
        (Some(prior), _) => splice(text, &(prior.span.end..prior.span.end), &format!(", {literal}")),
        (None, Some(first)) => {
            let indent = &text[line_start(text, first.span.start)..first.span.start];
            let apart = if indent.trim().is_empty() {
                format!("{}{indent}", super::bytes::line_end(text))
            } else {
                " ".to_owned()
            };
            splice(text, &(first.span.start..first.span.start), &format!("{literal},{apart}"))
        }
        (None, None) => text.to_owned(),
    })
}
