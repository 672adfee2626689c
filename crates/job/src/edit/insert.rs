//! Puts values into a text: over an old one, into a table or list in brackets, on a line, under a new header.

use super::EditError;
use super::bytes::{comma, line_after, line_start, splice};
use super::layout::{self, Way, form, no_entry};
use super::lines::{add_line, line, lines, nested};
use super::remove::{Above, cut_out};
use super::tree::{Holds, Node, Spot, Step, Tree, below};
use super::value::Value;

/// Puts a value that is known to be one at a path.
pub(super) fn put(text: &str, path: &[Step], literal: &str) -> Result<String, EditError> {
    let tree = Tree::of(text)?;
    if let Some(spot) = tree.find(path) {
        let whole = || splice(text, &spot.node.span, literal);
        return Ok(super::items::put(&tree, &spot, literal).unwrap_or_else(whole));
    }
    if tree.is_spread(path) {
        return over(&tree, path, literal);
    }
    if let Some(spot) = (1..path.len()).rev().find_map(|n| tree.find(&path[..n])) {
        return inside(&tree, &spot, path, literal);
    }
    match layout::way(&tree, path, literal)? {
        Way::Line { block, keys } => {
            let base = tree.blocks[block].path.len();
            let lines = lines(text, path, base, keys, literal)?;
            Ok(lines.into_iter().fold(text.to_owned(), |text, line| add_line(&text, block, &line)))
        }
        Way::Block { steps } => super::blocks::add_block(&tree, path, steps, literal),
    }
}

/// Puts a value over a table or list that is written in several pieces: a table key by key, so that comments and places stay.
fn over(tree: &Tree<'_>, path: &[Step], literal: &str) -> Result<String, EditError> {
    let with = |key: &str| -> Vec<Step> { path.iter().cloned().chain([Step::Key(key.to_owned())]).collect() };
    let values = Value::of(tree);
    let (Some(new @ Value::Table(_)), Some(old @ Value::Table(_))) =
        (Value::of_literal(literal), values.at(path))
    else {
        // A list with headers has tables only.
        if let Some(Step::Entry(_)) = path.last() {
            return Err(EditError::NotHere(super::written(path)));
        }
        return put(&cut_out(tree.text, path, Above::Stays)?, path, literal);
    };
    let mut text = tree.text.to_owned();
    for key in old.keys().iter().filter(|key| new.get(key).is_none()) {
        text = cut_out(&text, &with(key), Above::Stays)?;
    }
    for (key, value) in new.keys().iter().filter_map(|key| Some((key, new.get(key)?))) {
        text = put(&text, &with(key), &value.literal())?;
    }
    // Without keys it stands by its header alone, if it has one.
    let stands = !new.keys().is_empty() || Tree::of(&text)?.is_spread(path);
    if stands { Ok(text) } else { put(&text, path, literal) }
}

/// Puts a value into a table or list that is written in braces or brackets.
fn inside(tree: &Tree<'_>, spot: &Spot<'_>, path: &[Step], literal: &str) -> Result<String, EditError> {
    let base = spot.path.len();
    let no_table = || EditError::NoTable(super::written(&spot.path), super::written(path));
    match (&spot.node.holds, &path[base]) {
        (Holds::Pairs(pairs), Step::Key(_)) => {
            // Dotted keys in braces are gone on with.
            let shared = |keys| {
                let at = below(&spot.path, keys);
                at.iter().zip(path).skip(base).take_while(|(a, b)| a == b).count()
            };
            let keys = pairs.iter().map(|p| shared(&p.keys)).max().unwrap_or(0) + 1;
            let pair = line(tree.text, path, base, keys, literal)?;
            let last = pairs.last().map(|p| p.value.span.end);
            Ok(match last {
                Some(end) => splice(tree.text, &(end..end), &format!(", {pair}")),
                None => splice(tree.text, &spot.node.span, &format!("{{ {pair} }}")),
            })
        }
        (Holds::Items(items), Step::Entry(n)) if *n == items.len() => {
            let item = nested(tree.text, path, base + 1, literal)?;
            Ok(add_item(tree, spot, items, &item))
        }
        (Holds::Items(_), Step::Entry(n)) => Err(no_entry(&spot.path, *n)),
        _ => Err(no_table()),
    }
}

/// A list with one more entry behind its last one.
fn add_item(tree: &Tree<'_>, list: &Spot<'_>, items: &[Node], item: &str) -> String {
    let (text, nl) = (tree.text, tree.line_end());
    let close = list.node.span.end - 1;
    let Some(last) = items.last() else {
        let inner = &text[list.node.span.start + 1..close];
        return match (layout::is_one_a_line(form(&list.path)), inner.contains('\n')) {
            (_, true) => splice(text, &(line_start(text, close)..close), &format!("  {item},{nl}")),
            (true, false) => splice(text, &list.node.span, &format!("[{nl}  {item},{nl}]")),
            (false, false) => splice(text, &list.node.span, &format!("[{item}]")),
        };
    };
    let comma = comma(text, last.span.end, close);
    let indent = &text[line_start(text, last.span.start)..last.span.start];
    let behind = line_after(text, comma.unwrap_or(last.span.end));
    if !indent.trim().is_empty() || behind > close {
        return splice(text, &(last.span.end..last.span.end), &format!(", {item}"));
    }
    // A comment behind the last entry stays behind it.
    let with = splice(text, &(behind..behind), &format!("{indent}{item},{nl}"));
    if comma.is_some() { with } else { splice(&with, &(last.span.end..last.span.end), ",") }
}
