//! Gives something another name, and all that refer to it with it.

use super::bytes::splice;
use super::tree::{Holds, Key, Pair, Step, Tree, below, unquoted};
use super::value::Value;
use super::{EditError, Renamed, quoted, quoted_key};
use std::ops::Range;

/// What it is that has a name, by who may refer to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Named<'a> {
    Rail,
    Load,
    Part,
    Plug,
    /// A socket of a load, or an output of a part.
    Of(&'a str),
    /// Something that nothing refers to.
    Alone,
}

/// Renames what stands at a path of keys.
pub(super) fn rename(text: &str, path: &str, steps: &[Step], name: &str) -> Result<Renamed, EditError> {
    let tree = Tree::of(text)?;
    let names = names(steps);
    let (Some(named), true) = (kind(&names), stands(&tree, steps)) else {
        return Err(EditError::NoNamed(path.to_owned()));
    };
    let old = names.last().copied().unwrap_or_default();
    if old == name {
        return Ok(Renamed { text: text.to_owned(), places: 0 });
    }
    check(&tree, steps, named, name)?;
    let mut edits: Vec<(Range<usize>, String)> = Vec::new();
    for (at, key) in keys(&tree) {
        let is_rail = named == Named::Rail && is_rail_key(&at) && key.name == old;
        if at == steps || is_rail {
            edits.push((key.span.clone(), quoted_key(name)));
        }
    }
    for spot in tree.spots() {
        let literal = &text[spot.node.span.clone()];
        let follows = unquoted(literal).and_then(|value| referring(named, &names, &spot.path, &value, name));
        if let Some(value) = follows {
            edits.push((spot.node.span.clone(), quoted(&value)));
        }
    }
    edits.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
    let renamed = edits.iter().fold(text.to_owned(), |text, (span, with)| splice(&text, span, with));
    Ok(Renamed { text: renamed, places: edits.len() })
}

/// The paths of what a value refers to by name, were it put at a path: a rail, what a wire goes to, and over a plug the socket
/// that it mates with.
pub(super) fn referred(tree: &Tree<'_>, path: &[Step], literal: &str) -> Vec<Vec<Step>> {
    let all = Value::of(tree);
    let mut found = Vec::new();
    let drawn = (1..=path.len()).find(|n| is_rail_key(&path[..*n]));
    if let Some(rail) = drawn.filter(|n| all.at(&path[..*n]).is_none()).and_then(|n| path.get(n - 1)) {
        found.push(vec![Step::Key("rail".into()), rail.clone()]);
    }
    let said = match Value::of_literal(literal) {
        Some(Value::List(list)) => list,
        Some(one) => vec![one],
        None => Vec::new(),
    };
    let in_list = literal.starts_with('[');
    for (i, value) in said.iter().enumerate() {
        let path: Vec<Step> = path.iter().cloned().chain(in_list.then_some(Step::Entry(i))).collect();
        let Value::Plain(written) = value else { continue };
        let Some(value) = unquoted(written) else { continue };
        for target in having_names(&all) {
            let names = names(&target);
            let refers = kind(&names).and_then(|named| referring(named, &names, &path, &value, ""));
            if refers.is_some() && !found.contains(&target) {
                found.push(target);
            }
        }
    }
    let mates = |plug: &Vec<Step>| -> Vec<Vec<Step>> {
        let path: Vec<Step> = plug.iter().cloned().chain([Step::Key("mates".into())]).collect();
        match (names(plug).first(), all.at(&path)) {
            (Some(&"plug"), Some(Value::Plain(mates))) => referred(tree, &path, mates),
            _ => Vec::new(),
        }
    };
    let over: Vec<Vec<Step>> = found.iter().flat_map(mates).collect();
    found.extend(over);
    found
}

/// The paths of all that others may refer to by name.
fn having_names(all: &Value) -> Vec<Vec<Step>> {
    let key = |key: &str| Step::Key(key.to_owned());
    let mut found = Vec::new();
    for table in ["rail", "load", "part", "plug"] {
        for name in all.get(table).into_iter().flat_map(Value::keys) {
            let path = vec![key(table), key(name)];
            for inner in ["sockets", "output"] {
                let at: Vec<Step> = path.iter().cloned().chain([key(inner)]).collect();
                for name in all.at(&at).into_iter().flat_map(Value::keys) {
                    found.push(at.iter().cloned().chain([key(name)]).collect());
                }
            }
            found.push(path);
        }
    }
    found
}

/// Whether what stands at such a path has a name of its own.
pub(super) fn is_named(steps: &[Step]) -> bool {
    steps.iter().all(|s| matches!(s, Step::Key(_))) && kind(&names(steps)).is_some()
}

fn names(steps: &[Step]) -> Vec<&str> {
    steps.iter().map(|s| if let Step::Key(k) = s { k.as_str() } else { "" }).collect()
}

fn kind<'a>(names: &[&'a str]) -> Option<Named<'a>> {
    Some(match names {
        ["rail", _] => Named::Rail,
        ["load", _] => Named::Load,
        ["part", _] => Named::Part,
        ["plug", _] => Named::Plug,
        ["load", owner, "sockets", _] | ["part", owner, "output", _] => Named::Of(owner),
        ["battery", _] | ["old-supply", "part", _] => Named::Alone,
        _ => return None,
    })
}

fn stands(tree: &Tree<'_>, path: &[Step]) -> bool {
    tree.find(path).is_some() || tree.is_spread(path)
}

/// Whether something new at a path, or what stands there, may be called so.
pub(super) fn can_be(path: &[Step], name: &str) -> Result<(), EditError> {
    let named = kind(&names(path));
    // Stages of the first power are called so, where a load's name could stand as well.
    let stage = matches!(named, Some(Named::Load | Named::Part)) && matches!(name, "cold" | "source");
    // Ways of a socket are called so, where a rail's name could stand as well.
    let way = named == Some(Named::Rail) && name == "-";
    let owner = matches!(named, Some(Named::Load | Named::Part | Named::Plug | Named::Rail));
    let reserved = owner && matches!(name, "com" | "chassis");
    let good = |b: u8| b.is_ascii_alphanumeric() || b == b'-' || b == b'_';
    if name.is_empty() || !name.bytes().all(good) || stage || way || reserved {
        return Err(EditError::NoName(name.to_owned()));
    }
    Ok(())
}

fn check(tree: &Tree<'_>, path: &[Step], named: Named<'_>, name: &str) -> Result<(), EditError> {
    can_be(path, name)?;
    let owner = matches!(named, Named::Load | Named::Part | Named::Plug);
    let with =
        |table: &[Step]| -> Vec<Step> { table.iter().cloned().chain([Step::Key(name.to_owned())]).collect() };
    let beside = with(&path[..path.len() - 1]);
    // Loads, parts and plugs are joined to by name, so each has its own.
    let others = ["load", "part", "plug"].map(|table| with(&[Step::Key(table.to_owned())]));
    let taken = std::iter::once(&beside).chain(others.iter().filter(|_| owner)).find(|p| stands(tree, p));
    taken.map_or(Ok(()), |path| Err(EditError::Taken(super::written(path))))
}

/// Every key as it is written anywhere, with the path that it completes.
fn keys<'a>(tree: &'a Tree<'_>) -> Vec<(Vec<Step>, &'a Key)> {
    let mut keys = Vec::new();
    for block in &tree.blocks {
        // Behind the key of a list with headers its entry follows, which is no key.
        let mut written = block.keys.iter();
        for (i, step) in block.path.iter().enumerate() {
            if let Step::Key(_) = step {
                keys.extend(written.next().map(|key| (block.path[..=i].to_vec(), key)));
            }
        }
        keys_of(&block.path, &block.pairs, &mut keys);
    }
    for spot in tree.spots() {
        if let Holds::Pairs(pairs) = &spot.node.holds {
            keys_of(&spot.path, pairs, &mut keys);
        }
    }
    keys
}

fn keys_of<'a>(path: &[Step], pairs: &'a [Pair], into: &mut Vec<(Vec<Step>, &'a Key)>) {
    for pair in pairs {
        into.extend(pair.keys.iter().enumerate().map(|(i, key)| (below(path, &pair.keys[..=i]), key)));
    }
}

/// Whether a key at this place is a rail's name: what a load draws, what the old supply delivered.
fn is_rail_key(path: &[Step]) -> bool {
    use Step::Key as K;
    match path {
        [K(load), K(_), K(draws), K(_)] => load == "load" && draws == "draws",
        [K(old), K(outputs), K(_)] => old == "old-supply" && outputs == "outputs",
        _ => false,
    }
}

/// What a text says with the new name, if it refers to the old one.
fn referring(named: Named<'_>, names: &[&str], path: &[Step], value: &str, new: &str) -> Option<String> {
    let old = *names.last()?;
    let keys: Vec<&str> = path.iter().map(|s| if let Step::Key(k) = s { k.as_str() } else { "" }).collect();
    let whole = || (value == old).then(|| new.to_owned());
    let led = |by: &str, with: &str| {
        let rest = value.strip_prefix(by)?;
        (rest.is_empty() || rest.starts_with('.')).then(|| format!("{with}{rest}"))
    };
    let owner = || led(old, new);
    match (named, &keys[..]) {
        (Named::Load | Named::Part | Named::Plug, ["wiring", "wires", "", "from" | "to"]) => owner(),
        (Named::Load, ["plug", _, "mates"]) => owner(),
        (Named::Plug, ["plug", _, "twin"]) => whole(),
        (Named::Load | Named::Part, ["first-power", "stages", ""]) => stage(named, value, old, new),
        (Named::Of(of), ["wiring", "wires", "", "from" | "to"] | ["plug", _, "mates"]) => {
            led(&format!("{of}.{old}"), &format!("{of}.{new}"))
        }
        (Named::Of(of), ["part", part, "joined", ""]) if *part == of => owner(),
        (Named::Rail, ["load", _, "order", "", "first" | "then"] | ["battery", _, "rail"]) => whole(),
        (Named::Rail, ["load", _, "sockets", _, ""]) => whole(),
        _ => None,
    }
}

/// `cold fuse open`, `cold drive-a`, `drive-a`.
fn stage(named: Named<'_>, value: &str, old: &str, new: &str) -> Option<String> {
    match (named, &value.split(' ').collect::<Vec<_>>()[..]) {
        (Named::Part, ["cold", part, "open"]) if *part == old => Some(format!("cold {new} open")),
        (Named::Load, ["cold", load]) if *load == old => Some(format!("cold {new}")),
        (Named::Load, [load]) if *load == old => Some(new.to_owned()),
        _ => None,
    }
}
