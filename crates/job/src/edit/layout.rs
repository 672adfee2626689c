//! How a person would lay out what is new: told by the forms of [`JOB`], and where others of its kind stand already, by them.

use super::EditError;
use super::tree::{Block, Holds, Step, Tree, below, value};
use crate::keys::{Form, JOB, Key, Section};

/// Where a value that is not there yet belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// On a line of its own in a block, under this many keys joined by points.
    Line { block: usize, keys: usize },
    /// Under a header of its own, for this many steps of the path.
    Block { steps: usize },
}

/// What may stand at a path.
pub(crate) fn form(path: &[Step]) -> Option<Form> {
    path.iter().try_fold(Form::Table(&JOB), |form, step| {
        Some(match (form, step) {
            (Form::Table(section), Step::Key(key)) => any_kind(section, key)?.form,
            (Form::Named(section), Step::Key(_)) | (Form::Tables(section), Step::Entry(_)) => {
                Form::Table(section)
            }
            (Form::NamedTexts, Step::Key(_)) => Form::Texts,
            (Form::NamedValues(example), Step::Key(_)) => Form::Value(example),
            (Form::Texts | Form::Values(_), Step::Entry(_)) => Form::Text,
            _ => return None,
        })
    })
}

fn any_kind(section: &'static Section, name: &str) -> Option<&'static Key> {
    let of_kinds = section.kinds.iter().flat_map(|(_, keys)| keys.iter());
    section.keys.iter().chain(of_kinds).find(|k| k.name == name)
}

/// Whether a table has so few keys that it is read at a glance on a single line.
pub(super) fn fits_a_line(section: &Section) -> bool {
    section.kinds.is_empty() && section.keys.len() <= 4
}

/// Whether a table of named tables gives a header to each.
fn has_headers(form: Option<Form>) -> bool {
    matches!(form, Some(Form::Named(section)) if !fits_a_line(section))
}

/// Whether the names of its entries are joined to its own by a point: `draws.p5`.
pub(super) fn is_dotted(form: Option<Form>) -> bool {
    matches!(form, Some(Form::Named(_) | Form::NamedTexts))
}

/// Whether a list has an entry a line.
pub(super) fn is_one_a_line(form: Option<Form>) -> bool {
    matches!(form, Some(Form::Tables(section)) if !fits_a_line(section))
}

/// Where a key stands among those of its table: `kind` first, then what that kind has, then what all have.
pub(super) fn rank(tree: &Tree<'_>, table: &[Step], key: &str) -> usize {
    let Some(Form::Table(section)) = form(table) else { return 0 };
    let mut path = table.to_vec();
    path.push(Step::Key("kind".into()));
    let kind = tree.string(&path);
    let known = section.kinds.iter().any(|(k, _)| kind.as_deref() == Some(k));
    // As long as the kind is not known, a key may be any kind's.
    let of_kind = section.kinds.iter().filter(|(k, _)| !known || kind.as_deref() == Some(k));
    let of_kind = of_kind.flat_map(|(_, keys)| *keys);
    let (first, others) = section.keys.split_at(usize::from(!section.kinds.is_empty()));
    let mut order = first.iter().chain(of_kind).chain(others);
    order.position(|k| k.name == key).unwrap_or(usize::MAX)
}

/// The way for a path at which, and on the way to which, no value stands.
pub(super) fn way(tree: &Tree<'_>, path: &[Step], literal: &str) -> Result<Way, EditError> {
    let covers = |b: &Block| b.path.len() < path.len() && path.starts_with(&b.path);
    let covering = tree.blocks.iter().enumerate().filter(|(_, b)| covers(b));
    let Some((block, home)) = covering.max_by_key(|(_, b)| b.path.len()) else {
        return Err(EditError::NoPath(String::new()));
    };
    let base = home.path.len();
    let is_table = matches!(value(literal), Some(node) if matches!(node.holds, Holds::Pairs(_)));
    if let Some(steps) = new_entry(tree, path, base, is_table)? {
        return Ok(Way::Block { steps });
    }
    // A header must leave a key to write below it, or be that of a table that is given as a whole.
    let headed = |steps: usize| {
        let fits = |n: &usize| match path.get(*n) {
            Some(step) => matches!(step, Step::Key(_)),
            None => is_table,
        };
        match (base + 1..=steps).rev().find(fits) {
            Some(steps) => Way::Block { steps },
            None => Way::Line { block, keys: keys(path, base) },
        }
    };
    let implied = |n: &usize| tree.blocks.iter().any(|b| b.path.starts_with(&path[..*n]));
    if let Some(n) = (base + 1..path.len()).rev().find(implied) {
        if let Step::Entry(_) = path[n] {
            return Err(EditError::NoTable(super::written(&path[..n]), super::written(path)));
        }
        return Ok(if is_dotted(form(&path[..n])) { headed(n + 1) } else { headed(n) });
    }
    let shared = shared(home, path);
    if shared > 0 {
        return Ok(Way::Line { block, keys: shared + 1 });
    }
    let here = form(&path[..base + 1]);
    Ok(match base {
        0 if has_headers(here) && path.len() > 1 => headed(2),
        0 if path.len() > 1 || (is_table && is_section(here)) => headed(1),
        1 if has_headers(form(&home.path)) && home.pairs.is_empty() => headed(2),
        _ => Way::Line { block, keys: keys(path, base) },
    })
}

fn is_section(form: Option<Form>) -> bool {
    matches!(form, Some(Form::Table(_) | Form::Named(_)))
}

/// How many keys of a path below a header are joined by points.
pub(super) fn keys(path: &[Step], base: usize) -> usize {
    let named = matches!(path.get(base + 1), Some(Step::Key(_)));
    if named && is_dotted(form(&path[..=base])) { 2 } else { 1 }
}

/// The steps of a header for a new entry of a list, if the path leads into one that has a header for each.
fn new_entry(
    tree: &Tree<'_>,
    path: &[Step],
    base: usize,
    is_table: bool,
) -> Result<Option<usize>, EditError> {
    let entry = path.iter().enumerate().skip(base).find_map(|(i, step)| match step {
        Step::Entry(n) => Some((i, *n)),
        Step::Key(_) => None,
    });
    let Some((i, n)) = entry else { return Ok(None) };
    let count = tree.headed_entries(&path[..i]);
    let fresh = i == 1 && matches!(form(&path[..1]), Some(Form::Tables(_)));
    let fits = path.get(i + 1).map_or(is_table, |next| matches!(next, Step::Key(_)));
    match (n == count, fits) {
        (true, true) if count > 0 || fresh => Ok(Some(i + 1)),
        (true, false) if count > 0 => Err(EditError::NotHere(super::written(path))),
        (true, _) => Ok(None),
        (false, _) => Err(no_entry(&path[..i], n)),
    }
}

/// The error for an entry that is not there.
pub(super) fn no_entry(list: &[Step], n: usize) -> EditError {
    let name = list.iter().rev().find_map(|s| match s {
        Step::Key(key) => Some(key.clone()),
        Step::Entry(_) => None,
    });
    EditError::NoEntry(name.unwrap_or_default(), n)
}

/// How many keys of a path below a block begin dotted keys in it already.
pub(super) fn shared(block: &Block, path: &[Step]) -> usize {
    let common = |keys: &[super::tree::Key]| {
        let at = below(&block.path, keys);
        at.iter().zip(path).skip(block.path.len()).take_while(|(a, b)| a == b).count()
    };
    block.pairs.iter().map(|pair| common(&pair.keys)).max().unwrap_or(0)
}
