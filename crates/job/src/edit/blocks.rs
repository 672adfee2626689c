//! Blocks of lines under a header: how they are written, where they belong, where they end.

use super::EditError;
use super::bytes::{line_after, splice, start};
use super::layout;
use super::lines::{given_pairs, lines};
use super::tree::{Step, Tree};

/// Adds a header for the first steps of a path, and under it the lines for the rest of it, or for the table given.
pub(super) fn add_block(
    tree: &Tree<'_>,
    path: &[Step],
    steps: usize,
    literal: &str,
) -> Result<String, EditError> {
    let (text, nl) = (tree.text, tree.line_end());
    let header = &path[..steps];
    let lines = match (steps == path.len(), given_pairs(literal)) {
        (false, _) => lines(text, path, steps, layout::keys(path, steps), literal)?,
        (true, None) => Vec::new(),
        (true, Some(pairs)) => {
            let below = |(names, value): (Vec<String>, String)| {
                let path: Vec<Step> = path.iter().cloned().chain(names.into_iter().map(Step::Key)).collect();
                lines(text, &path, steps, path.len() - steps, &value)
            };
            pairs.into_iter().map(below).collect::<Result<Vec<_>, _>>()?.concat()
        }
    };
    let head = written(header);
    let at = block_end(tree, place(tree, header));
    let rest = &text[at..];
    let above = if at == start(text) { "" } else { nl };
    let below =
        if rest.is_empty() || rest.trim_start_matches([' ', '\t', '\r']).starts_with('\n') { "" } else { nl };
    let body: String = std::iter::once(&head).chain(&lines).map(|line| format!("{line}{nl}")).collect();
    let ready = if at > start(text) && !text[..at].ends_with('\n') { nl } else { "" };
    Ok(splice(text, &(at..at), &format!("{ready}{above}{body}{below}")))
}

fn written(header: &[Step]) -> String {
    let key = |step: &Step| match step {
        Step::Key(key) => Some(super::quoted_key(key)),
        Step::Entry(_) => None,
    };
    let name = header.iter().filter_map(key).collect::<Vec<_>>().join(".");
    let list = matches!(header.last(), Some(Step::Entry(_)));
    if list { format!("[[{name}]]") } else { format!("[{name}]") }
}

/// The block behind which a new header belongs: the last of its like, or of what stands before it in a job file.
fn place(tree: &Tree<'_>, header: &[Step]) -> usize {
    let blocks = || tree.blocks.iter().enumerate().skip(1);
    if let Some((i, _)) = blocks().find(|(_, b)| b.path.starts_with(header)) {
        return i - 1;
    }
    let like =
        (1..header.len()).rev().find_map(|n| blocks().rfind(|(_, b)| b.path.starts_with(&header[..n])));
    if let Some((i, _)) = like {
        return i;
    }
    let rank = |step: Option<&Step>| match step {
        Some(Step::Key(key)) => layout::rank(tree, &[], key),
        _ => 0,
    };
    let own = rank(header.first());
    blocks().rfind(|(_, b)| rank(b.path.first()) <= own).map_or(0, |(i, _)| i)
}

/// Where a block ends: behind its last line, and behind comments that follow it and nothing else.
pub(super) fn block_end(tree: &Tree<'_>, block: usize) -> usize {
    let block = &tree.blocks[block];
    let last = block.pairs.last().map(|p| p.value.span.end);
    match last {
        None if block.keys.is_empty() => head_end(tree.text),
        _ => behind_comments(tree.text, line_after(tree.text, last.unwrap_or(block.span.end))),
    }
}

/// Where keys without a header may begin: behind the comments that head the file.
pub(super) fn head_end(text: &str) -> usize {
    behind_comments(text, start(text))
}

/// Comments belong to what stands above them if nothing follows them at once.
fn behind_comments(text: &str, at: usize) -> usize {
    let mut end = at;
    for line in text[at..].split_inclusive('\n') {
        match line.trim() {
            "" => return end,
            comment if comment.starts_with('#') => end += line.len(),
            _ => return at,
        }
    }
    end
}
