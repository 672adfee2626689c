//! Lines of keys with their values: how they are written, and where in a block they belong.

use super::EditError;
use super::blocks::head_end;
use super::bytes::{line_after, line_end, line_start, splice, start};
use super::layout::{self, form, no_entry};
use super::tree::{Holds, Key, Pair, Step, Tree, value};

/// Keys with their value as one line; the value may be wrapped in what the rest of the path makes.
pub(super) fn line(
    text: &str,
    path: &[Step],
    base: usize,
    keys: usize,
    literal: &str,
) -> Result<String, EditError> {
    let mut names = Vec::new();
    for (i, step) in path.iter().enumerate().skip(base).take(keys) {
        match step {
            Step::Key(key) => names.push(super::quoted_key(key)),
            Step::Entry(_) => {
                return Err(EditError::NoTable(super::written(&path[..i]), super::written(path)));
            }
        }
    }
    Ok(format!("{} = {}", names.join("."), nested(text, path, base + keys, literal)?))
}

/// A value in the tables and lists that the rest of its path makes.
pub(super) fn nested(text: &str, path: &[Step], from: usize, literal: &str) -> Result<String, EditError> {
    let nl = line_end(text);
    (from..path.len()).rev().try_fold(literal.to_owned(), |value, i| match &path[i] {
        Step::Key(key) => Ok(format!("{{ {} = {value} }}", super::quoted_key(key))),
        Step::Entry(0) if layout::is_one_a_line(form(&path[..i])) => Ok(format!("[{nl}  {value},{nl}]")),
        Step::Entry(0) => Ok(format!("[{value}]")),
        Step::Entry(n) => Err(no_entry(&path[..i], *n)),
    })
}

/// A line for a path below a block, or as many as the table given has names: `draws.p5` and `draws.p12`.
pub(super) fn lines(
    text: &str,
    path: &[Step],
    base: usize,
    keys: usize,
    literal: &str,
) -> Result<Vec<String>, EditError> {
    let whole = path.len() == base + keys;
    let pairs = whole.then(|| given_pairs(literal)).flatten();
    let (true, Some(pairs)) = (layout::is_dotted(form(path)), pairs) else {
        return Ok(vec![line(text, path, base, keys, literal)?]);
    };
    pairs
        .into_iter()
        .map(|(names, value)| {
            let path: Vec<Step> = path.iter().cloned().chain(names.into_iter().map(Step::Key)).collect();
            line(text, &path, base, path.len() - base, &value)
        })
        .collect()
}

/// The keys of a table given as a literal, with their values as written; nothing if it has none.
pub(super) fn given_pairs(literal: &str) -> Option<Vec<(Vec<String>, String)>> {
    let Holds::Pairs(pairs) = value(literal)?.holds else { return None };
    let pair = |p: Pair| (p.keys.into_iter().map(|k| k.name).collect(), literal[p.value.span].to_owned());
    Some(pairs.into_iter().map(pair).collect()).filter(|pairs: &Vec<_>| !pairs.is_empty())
}

/// Adds a line to a block, where its key belongs among the others.
pub(super) fn add_line(text: &str, block: usize, line: &str) -> String {
    let (Ok(tree), Some(new)) = (Tree::of(text), first_keys(line)) else { return text.to_owned() };
    let home = &tree.blocks[block];
    let rank = |key: &str| layout::rank(&tree, &home.path, key);
    let shared = |keys: &[Key]| keys.iter().zip(&new).take_while(|(a, b)| a.name == **b).count();
    let most = home.pairs.iter().map(|p| shared(&p.keys)).max().unwrap_or(0);
    let before = |p: &&Pair| match most {
        0 => rank(&p.keys[0].name) <= rank(&new[0]),
        _ => shared(&p.keys) == most,
    };
    let Some((i, prior)) = home.pairs.iter().enumerate().rfind(|(_, p)| before(p)) else {
        let at = if home.keys.is_empty() { head_end(text) } else { line_after(text, home.span.end) };
        return add_at(text, at, line);
    };
    let head = line_start(text, prior.keys[0].span.start);
    let indent = &text[head..prior.keys[0].span.start];
    let near = &home.pairs[i.saturating_sub(1)..(i + 2).min(home.pairs.len())];
    let line = aligned(text, near, prior, line);
    add_at(text, line_after(text, prior.value.span.end), &format!("{indent}{line}"))
}

fn first_keys(line: &str) -> Option<Vec<String>> {
    let tree = Tree::of(line).ok()?;
    let pair = tree.blocks.first()?.pairs.first()?;
    Some(pair.keys.iter().map(|k| k.name.clone()).collect())
}

/// With its equals sign under that of its neighbours, where these are aligned and there is room.
fn aligned(text: &str, near: &[Pair], prior: &Pair, line: &str) -> String {
    let column = |p: &Pair| {
        let (first, last) = (p.keys[0].span.start, p.keys.last().map_or(0, |k| k.span.end));
        let gap = text[last..].find('=').unwrap_or(0);
        (text[first..last].chars().count() + gap, gap > 1)
    };
    let (at, padded) = column(prior);
    let agree = near.iter().filter(|p| p.value.span != prior.value.span).any(|p| {
        let (other, wide) = column(p);
        other == at && (wide || padded)
    });
    match line.split_once(" = ") {
        Some((keys, value)) if agree && keys.chars().count() < at => {
            format!("{keys:<width$}= {value}", width = at)
        }
        _ => line.to_owned(),
    }
}

fn add_at(text: &str, at: usize, line: &str) -> String {
    let nl = line_end(text);
    let whole = at == start(text) || text[..at].ends_with('\n');
    splice(text, &(at..at), &if whole { format!("{line}{nl}") } else { format!("{nl}{line}") })
}
