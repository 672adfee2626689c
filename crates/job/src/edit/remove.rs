//! Takes things out of a text, and with them what they alone kept alive; comments of others stay.

use super::EditError;
use super::blocks::block_end;
use super::bytes::start;
use super::bytes::{comma, comments_above, line_after, line_start, splice};
use super::layout::form;
use super::tree::{Holds, Node, Seat, Step, Tree, below};
use crate::keys::Form;
use std::ops::Range;

/// What becomes of comments directly above what is taken out.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Above {
    /// They may be about more than that.
    Stays,
    /// Somebody takes the very thing away that they are about.
    Goes,
}

/// Takes out what stands at a path, and tables and lists that are empty without it.
pub(super) fn remove(text: &str, path: &[Step]) -> Result<String, EditError> {
    let before = text;
    let mut text = cut_out(text, path, Above::Goes)?;
    if text == before {
        return Ok(text);
    }
    for n in (1..path.len()).rev() {
        let tree = Tree::of(&text)?;
        let left = &path[..n];
        if is_rubbish(&tree, left) {
            text = cut_out(&text, left, Above::Stays)?;
        } else if tree.find(left).is_some() || tree.is_spread(left) {
            break;
        }
    }
    Ok(text)
}

/// Takes out what stands at a path, and nothing else.
pub(super) fn cut_out(text: &str, path: &[Step], above: Above) -> Result<String, EditError> {
    let mut text = text.to_owned();
    loop {
        let tree = Tree::of(&text)?;
        if tree.find(path).is_some() {
            let cuts = cuts_of(&tree, path, above);
            return Ok(without(&text, cuts));
        }
        let pieces = pieces(&tree, path, above);
        if !pieces.is_empty() {
            return Ok(without(&text, pieces));
        }
        // Dotted keys in braces go one by one.
        let inner = tree.spots().into_iter().find(|s| s.path.len() > path.len() && s.path.starts_with(path));
        match inner {
            Some(spot) => text = without(&text, cuts_of(&tree, &spot.path, above)),
            None => return Ok(text),
        }
    }
}

fn without(text: &str, mut cuts: Vec<Range<usize>>) -> String {
    cuts.sort_by_key(|c| std::cmp::Reverse(c.start));
    cuts.iter().fold(text.to_owned(), |text, cut| splice(&text, cut, ""))
}

fn cuts_of(tree: &Tree<'_>, path: &[Step], above: Above) -> Vec<Range<usize>> {
    let Some(spot) = tree.find(path) else { return Vec::new() };
    match spot.seat {
        Seat::Line(pair) => {
            let lines = lines_of(tree.text, pair.keys[0].span.start..spot.node.span.end);
            let home = tree.blocks.iter().rfind(|b| b.span.start <= lines.start);
            let from = home.map_or(lines.start, |b| line_after(tree.text, b.span.end));
            // A comment above a plain value may be about more than that.
            let goes = above == Above::Goes && is_entry(path);
            let head = if goes { comments_above(tree.text, lines.start, from) } else { lines.start };
            one(head..lines.end)
        }
        Seat::Within(outer, i) => {
            let spans: Vec<Range<usize>> = match &outer.holds {
                Holds::Pairs(pairs) => pairs.iter().map(|p| p.keys[0].span.start..p.value.span.end).collect(),
                Holds::Items(items) => items.iter().map(|n| n.span.clone()).collect(),
                Holds::Plain => Vec::new(),
            };
            within(tree.text, outer, &spans, i, above)
        }
    }
}

/// Whether what stands at a path is one of its like, which comes and goes as a whole.
fn is_entry(path: &[Step]) -> bool {
    let table = path.split_last().map_or(path, |(_, table)| table);
    matches!(form(table), Some(Form::Named(_) | Form::NamedTexts | Form::NamedValues(_)))
}

fn lines_of(text: &str, span: Range<usize>) -> Range<usize> {
    line_start(text, span.start)..line_after(text, span.end)
}

/// The headers, and lines of other blocks, that make up a table or an entry with headers.
fn pieces(tree: &Tree<'_>, path: &[Step], above: Above) -> Vec<Range<usize>> {
    let mut pieces = Vec::new();
    for (i, block) in tree.blocks.iter().enumerate() {
        if block.path.starts_with(path) {
            pieces.push(block_cut(tree, i, above));
            continue;
        }
        let of_it = block.pairs.iter().filter(|p| below(&block.path, &p.keys).starts_with(path));
        pieces.extend(of_it.map(|p| lines_of(tree.text, p.keys[0].span.start..p.value.span.end)));
    }
    pieces
}

/// A block with the comments directly above it, and the blank line above these, where there is another below.
fn block_cut(tree: &Tree<'_>, block: usize, above: Above) -> Range<usize> {
    let text = tree.text;
    let (head, end) = (line_start(text, tree.blocks[block].span.start), block_end(tree, block));
    // What heads the file is not about its first block.
    let head = if above == Above::Goes { comments_above(text, head, start(text)) } else { head };
    let blank = |line: &str| line.trim().is_empty();
    let below = &text[end..];
    let apart = below.is_empty() || below.split_inclusive('\n').next().is_some_and(blank);
    if head == start(text) {
        let more = if apart { line_after(text, end) } else { end };
        return head..more;
    }
    let before = line_start(text, head - 1);
    if apart && blank(&text[before..head]) { before..end } else { head..end }
}

/// Cuts an entry out of what stands in brackets or braces.
fn within(text: &str, outer: &Node, spans: &[Range<usize>], i: usize, above: Above) -> Vec<Range<usize>> {
    let own = spans[i].clone();
    let inner = outer.span.start + 1..outer.span.end - 1;
    let comma = comma(text, own.end, inner.end);
    let until = comma.map_or(own.end, |c| c + 1);
    if spans.len() == 1
        && text[inner.start..own.start].trim().is_empty()
        && text[until..inner.end].trim().is_empty()
    {
        return vec![inner];
    }
    let head = line_start(text, own.start);
    let tail = line_after(text, until);
    let rest = text[until..tail.min(inner.end)].trim();
    if head >= inner.start
        && text[head..own.start].trim().is_empty()
        && tail <= inner.end
        && (rest.is_empty() || rest.starts_with('#'))
    {
        // Comments that begin the list may be about all of it.
        let from = line_after(text, outer.span.start).max(inner.start);
        let head = if above == Above::Goes { comments_above(text, head, from) } else { head };
        return one(head..tail);
    }
    let next = spans.get(i + 1);
    let plain = |range: Range<usize>| text[range].chars().all(|c| c == ',' || c == ' ' || c == '\t');
    match (next, i.checked_sub(1).map(|p| &spans[p])) {
        (Some(next), _) if plain(own.end..next.start) => one(own.start..next.start),
        // The last of a line that others stand on.
        (Some(_), _) => {
            let before = text[..own.start].trim_end_matches([' ', '\t']);
            let from = if before.ends_with(',') { before.len() } else { own.start };
            vec![from..own.end, until - usize::from(comma.is_some())..until]
        }
        (None, Some(prior)) if plain(prior.end..own.start) => one(prior.end..own.end),
        // The comma above may stay; one of its own may not follow it.
        (None, _) => one(own.start..until),
    }
}

fn one(cut: Range<usize>) -> Vec<Range<usize>> {
    vec![cut]
}

/// Whether what stands at a path is empty, says nothing by being there, and holds no comment.
fn is_rubbish(tree: &Tree<'_>, path: &[Step]) -> bool {
    if is_meant(path) {
        return false;
    }
    if let Some(spot) = tree.find(path) {
        let empty = match &spot.node.holds {
            Holds::Pairs(pairs) => pairs.is_empty(),
            Holds::Items(items) => items.is_empty() && matches!(form(path), Some(Form::Tables(_))),
            Holds::Plain => false,
        };
        return empty && !tree.text[spot.node.span.clone()].contains('#');
    }
    let mut blocks = tree.blocks.iter().enumerate().filter(|(_, b)| b.path.starts_with(path));
    let (Some((i, block)), None) = (blocks.next(), blocks.next()) else { return false };
    block.path == path
        && block.pairs.is_empty()
        && !tree.text[block.span.end..block_end(tree, i)].contains('#')
}

/// A named table that needs no key is something without any: a load is there once it has a name.
fn is_meant(path: &[Step]) -> bool {
    let Some((_, table)) = path.split_last() else { return true };
    matches!(form(table), Some(Form::Named(section)) if section.keys.iter().all(|k| !k.required))
}
