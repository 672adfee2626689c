//! Any edits of the examples: the value is as set, all else as it was, and no comment of others is lost.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use proptest::prelude::*;
use std::sync::OnceLock;
use toml::{Table, Value};
use voltwright_job::changes::changes;
use voltwright_job::edit::{self, EditError};
use voltwright_job::keys::{Form, JOB, Section};

const TEXTS: [&str; 6] = [
    include_str!("../../../examples/desk-computer/finished.toml"),
    include_str!("../../../examples/desk-computer/first-draft.toml"),
    include_str!("../../../examples/synthesizer-rack/finished.toml"),
    include_str!("../../../examples/nameplate-only/job.toml"),
    include_str!("../../../suite/every-key.toml"),
    WRITTEN_OTHERWISE,
];

/// Every way to write a table or list that TOML has and the examples do not.
const WRITTEN_OTHERWISE: &str = r#"# heads the file

format = 1
# of the rails
rail.p5 = { nominal = "5 V" } # five
rail.'p12'.nominal = """12 V"""
load = { board = { draws.p5 = { run = "1 A" }, draws.p12.run = "2 A", order = [ ] } }

[ job ] # the head
title = '''a "title" # no comment'''

# of the fuse
[part."fuse"] # a fuse
# its kind
kind = "fuse" # it is one
# none below

[part.supply.output.v1]
volts = "5 V"
[part.supply.output.v2]
volts = "12 V"
[part.other]
[machine]
nameplate.voltage = ["100 V", # first
  "115 V"]
[machine.case]
fan = "1 m³/h"

[[wiring.wires]]
from = "a.1" # one end
to = "b.1"

[[wiring.wires]] # the second
from = "a.2"
[[found]]
what = "dust" # much
[first-power]
stages = [
  # first of all
  "cold", # cold
  "source" # warm
  # last of all
]
[old-supply]
primaries = [ "115 V", "115 V", ]
[meter]
# nothing yet

[assume] # ours
# the last line has no end
contact = "5 mΩ" # contact"#;

/// One step of a path, as the model goes it.
#[derive(Debug, Clone)]
enum Step {
    Key(String),
    Entry(usize),
}

#[derive(Debug, Clone)]
enum Edit {
    Put(Vec<Step>, String),
    Append(Vec<Step>, String),
    Remove(Vec<Step>),
}

fn written(path: &[Step]) -> String {
    let part = |step: &Step| match step {
        Step::Key(key) => format!(".{key}"),
        Step::Entry(n) => format!("[{n}]"),
    };
    path.iter().map(part).collect::<String>().trim_start_matches('.').to_owned()
}

/// Sets a value in the model; tells whether that can be.
fn put(at: &mut Value, path: &[Step], value: Value) -> bool {
    let Some((step, rest)) = path.split_first() else {
        *at = value;
        return true;
    };
    let fresh = || match rest.first() {
        Some(Step::Entry(_)) => Value::Array(Vec::new()),
        _ => Value::Table(Table::new()),
    };
    match (at, step) {
        (Value::Table(table), Step::Key(key)) => {
            put(table.entry(key.clone()).or_insert_with(fresh), rest, value)
        }
        (Value::Array(list), Step::Entry(n)) if *n < list.len() => put(&mut list[*n], rest, value),
        (Value::Array(list), Step::Entry(n)) if *n == list.len() => {
            list.push(fresh());
            put(list.last_mut().unwrap(), rest, value)
        }
        _ => false,
    }
}

fn remove(at: &mut Value, path: &[Step]) {
    match (at, path) {
        (Value::Table(table), [Step::Key(key)]) => _ = table.remove(key),
        (Value::Array(list), [Step::Entry(n)]) if *n < list.len() => _ = list.remove(*n),
        (Value::Table(table), [Step::Key(key), rest @ ..]) => {
            table.get_mut(key).into_iter().for_each(|inner| remove(inner, rest));
        }
        (Value::Array(list), [Step::Entry(n), rest @ ..]) => {
            list.get_mut(*n).into_iter().for_each(|inner| remove(inner, rest));
        }
        _ => {}
    }
}

fn length(at: &Value, path: &[Step]) -> usize {
    let found = path.iter().try_fold(at, |at, step| match step {
        Step::Key(key) => at.get(key),
        Step::Entry(n) => at.get(*n),
    });
    found.and_then(Value::as_array).map_or(0, Vec::len)
}

/// Without tables and lists that hold nothing: they may go with the last that was in them.
fn bare(value: Value) -> Value {
    let holds =
        |v: &Value| !(v.as_table().is_some_and(Table::is_empty) || v.as_array().is_some_and(Vec::is_empty));
    match value {
        Value::Table(table) => {
            Value::Table(table.into_iter().map(|(k, v)| (k, bare(v))).filter(|(_, v)| holds(v)).collect())
        }
        Value::Array(list) => Value::Array(list.into_iter().map(bare).filter(holds).collect()),
        other => other,
    }
}

fn parsed(text: &str) -> Value {
    Value::Table(text.trim_start_matches('\u{feff}').parse().unwrap_or_else(|e| panic!("{e}\n{text}")))
}

/// The comments of a text, in order; each with whether it has its line for itself.
fn comments(text: &str) -> Vec<(String, bool)> {
    let mut found = Vec::new();
    for line in text.trim_start_matches('\u{feff}').lines() {
        let mut quote = None;
        let mut before = ' ';
        for (at, c) in line.char_indices() {
            match (quote, c) {
                (None, '"' | '\'') => quote = Some(c),
                (Some(q), c) if c == q && before != '\\' => quote = None,
                (None, '#') => {
                    found.push((line[at..].trim_end().to_owned(), line[..at].trim().is_empty()));
                    break;
                }
                _ => {}
            }
            before = if before == '\\' && c == '\\' { ' ' } else { c };
        }
    }
    found
}

/// What of the old list is not in the new one, if the rest is there in the same order.
fn lost<T: PartialEq + Clone>(old: &[T], new: &[T]) -> Option<Vec<T>> {
    let (mut lost, mut left) = (Vec::new(), new.iter().peekable());
    for item in old {
        if left.next_if(|n| *n == item).is_none() {
            lost.push(item.clone());
        }
    }
    left.next().is_none().then_some(lost)
}

/// How many lines of the old text are between the first and the last change.
fn unlike_lines(old: &str, new: &str) -> usize {
    let (old, new): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let head = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let tail = old.iter().rev().zip(new.iter().rev()).take_while(|(a, b)| a == b).count();
    old.len().saturating_sub(head + tail)
}

/// Makes an edit and the same of the model; both can, or neither.
fn tried(text: &str, edit: &Edit) -> Result<String, TestCaseError> {
    let mut model = parsed(text);
    let given = |literal: &str| format!("x = {literal}").parse::<Table>().unwrap()["x"].clone();
    let (made, can, path) = match edit {
        Edit::Put(path, literal) => {
            let can = put(&mut model, path, given(literal));
            (edit::put(text, &written(path), literal), can, path)
        }
        Edit::Append(path, literal) => {
            let entry = Step::Entry(length(&model, path));
            let whole: Vec<Step> = path.iter().cloned().chain([entry]).collect();
            let can = put(&mut model, &whole, given(literal));
            (edit::append(text, &written(path), literal), can, path)
        }
        Edit::Remove(path) => {
            remove(&mut model, path);
            (edit::remove(text, &written(path)), true, path)
        }
    };
    if !can {
        let refused = matches!(made, Err(EditError::NoTable(..) | EditError::NoEntry(..)));
        prop_assert!(refused, "{made:?} for {edit:?} of\n{text}");
        return Ok(text.to_owned());
    }
    let made = match made {
        Ok(made) => made,
        // A list with a header for each entry has tables only.
        Err(EditError::NotHere(_)) if is_headed(text, path) && !puts_table(edit) => {
            return Ok(text.to_owned());
        }
        Err(e) => return Err(TestCaseError::fail(format!("{e}: {edit:?} of\n{text}"))),
    };
    let is = parsed(&made);
    let (old, new) = (comments(text), comments(&made));
    if let Edit::Remove(_) = edit {
        prop_assert_eq!(bare(is), bare(model), "{:?} of\n{}\ngives\n{}", edit, text, made);
    } else {
        prop_assert_eq!(is, model, "{:?} of\n{}\ngives\n{}", edit, text, made);
    }
    let Some(lost) = lost(&old, &new) else {
        return Err(TestCaseError::fail(format!("comments are moved by {edit:?} of\n{text}\nto\n{made}")));
    };
    // What stands beside and in a table goes with it; a key alone takes no line that is a comment's.
    let alone = lost.iter().filter(|(_, alone)| *alone).count();
    let leaf = matches!(edit, Edit::Remove(_)) && !is_table(text, path);
    prop_assert!(
        !leaf || (alone == 0 && lost.len() <= 1),
        "{lost:?} lost by {edit:?} of\n{text}\nto\n{made}"
    );
    let over = matches!(edit, Edit::Put(..)) && holds(text, path);
    prop_assert!(over || matches!(edit, Edit::Remove(_)) || lost.is_empty(), "{lost:?} lost by {edit:?}");
    let added = !over && !matches!(edit, Edit::Remove(_));
    prop_assert!(!added || unlike_lines(text, &made) <= 1, "{edit:?} of\n{text}\nchanges lines in\n{made}");
    let windows = |t: &str| t.contains("\r\n");
    prop_assert!(!windows(text) || !made.replace("\r\n", "").contains('\n'), "line ends: {edit:?}");
    prop_assert_eq!(text.starts_with('\u{feff}'), made.starts_with('\u{feff}'));
    Ok(made)
}

fn found<'v>(value: &'v Value, path: &[Step]) -> Option<&'v Value> {
    path.iter().try_fold(value, |at, step| match step {
        Step::Key(key) => at.get(key),
        Step::Entry(n) => at.get(*n),
    })
}

fn is_headed(text: &str, path: &[Step]) -> bool {
    let list = written(path);
    text.contains(&format!("[[{}]]", list.split('[').next().unwrap()))
}

fn puts_table(edit: &Edit) -> bool {
    match edit {
        Edit::Put(_, literal) => literal.starts_with('{'),
        Edit::Append(list, literal) => literal.starts_with('{') && matches!(list.last(), Some(Step::Key(_))),
        Edit::Remove(_) => false,
    }
}

fn is_table(text: &str, path: &[Step]) -> bool {
    found(&parsed(text), path).is_some_and(|v| v.is_table() || v.is_array())
}

fn holds(text: &str, path: &[Step]) -> bool {
    found(&parsed(text), path).is_some()
}

/// Changes are told where there are some, with the values as they are at their paths.
fn told(old: &str, new: &str) -> Result<(), TestCaseError> {
    let told = changes(old, new);
    let (was, is) = (parsed(old), parsed(new));
    let of_values = told.iter().filter(|c| !c.path.is_empty()).count();
    prop_assert_eq!(told.is_empty(), old == new);
    prop_assert_eq!(of_values == 0, was == is, "{:?} for\n{}\nand\n{}", told, old, new);
    prop_assert!(of_values == 0 || of_values == told.len());
    for change in told.iter().filter(|c| !c.path.is_empty()) {
        prop_assert!(change.was.is_some() || change.is.is_some());
        let given = |literal: &Option<String>| {
            literal.as_ref().map(|l| {
                format!("x = {l}").parse::<Table>().unwrap_or_else(|e| panic!("{e}: {l}"))["x"].clone()
            })
        };
        let path = path_of(&change.path);
        let (old, new) = (given(&change.was), given(&change.is));
        // Entries of lists may stand elsewhere in the other text.
        if new.is_some() || !change.path.contains('[') {
            prop_assert_eq!(found(&is, &path), new.as_ref(), "{:?}", change);
        }
        if (new.is_none() && change.path.ends_with(']')) || !change.path.contains('[') {
            prop_assert_eq!(found(&was, &path), old.as_ref(), "{:?}", change);
        }
        let says = change.says();
        prop_assert!(!says.is_empty() && !says.contains('\n') && says.len() > 5, "{:?}", change);
    }
    Ok(())
}

fn path_of(written: &str) -> Vec<Step> {
    let parts = written.split('.').flat_map(|part| part.split('['));
    parts
        .map(|p| match p.strip_suffix(']') {
            Some(n) => Step::Entry(n.parse().unwrap()),
            None => Step::Key(p.to_owned()),
        })
        .collect()
}

/// Every path that a job file may have, with some names.
fn declared(section: &'static Section, path: &[Step], into: &mut Vec<Vec<Step>>) {
    let with = |more: &[Step]| -> Vec<Step> { path.iter().chain(more).cloned().collect() };
    let of_kinds = section.kinds.iter().flat_map(|(_, keys)| keys.iter());
    for key in section.keys.iter().chain(of_kinds) {
        let here = Step::Key(key.name.to_owned());
        into.push(with(std::slice::from_ref(&here)));
        let names = ["p5", "p12", "board", "fuse", "supply", "v1", "new-one", "an ä"];
        let named = names.map(|n| with(&[here.clone(), Step::Key(n.to_owned())]));
        let entries = [0, 1, 2, 27].map(|n| with(&[here.clone(), Step::Entry(n)]));
        match key.form {
            Form::Table(of) => declared(of, &with(&[here]), into),
            Form::Named(of) => named.iter().for_each(|path| declared(of, path, into)),
            Form::Tables(of) => entries.iter().for_each(|path| declared(of, path, into)),
            Form::NamedTexts | Form::NamedValues(_) => into.extend(named.clone()),
            _ => {}
        }
        match key.form {
            Form::Named(_) => into.extend(named),
            Form::Tables(_) | Form::Texts | Form::Values(_) => into.extend(entries),
            _ => {}
        }
    }
}

/// Every path of a text that leads to something.
fn present(value: &Value, path: &mut Vec<Step>, into: &mut Vec<Vec<Step>>) {
    let inner: Vec<(Step, &Value)> = match value {
        Value::Table(table) => table.iter().map(|(k, v)| (Step::Key(k.clone()), v)).collect(),
        Value::Array(list) => list.iter().enumerate().map(|(i, v)| (Step::Entry(i), v)).collect(),
        _ => Vec::new(),
    };
    for (step, value) in inner {
        path.push(step);
        into.push(path.clone());
        present(value, path, into);
        path.pop();
    }
}

fn literal() -> impl Strategy<Value = String> {
    prop::sample::select(vec![
        "\"1 V\"",
        "'# no \"comment\"'",
        "1983",
        "-1.5e3",
        "true",
        "1983-05-27 07:32:00",
        "[]",
        "{}",
        "[\"com\", 'p5',]",
        "[\n  \"com\",\n  \"p5\"\n]",
        "{ voltage = \"100 V\" }",
        "{ p5 = { run = \"1 A\" }, p12.run = \"2 A\" }",
        "[{ first = \"p5\", then = \"p12\" }]",
    ])
    .prop_map(str::to_owned)
}

/// Which text, whose line ends, and what is picked for each edit.
type Pick = (prop::sample::Index, u8, String);

fn edits() -> impl Strategy<Value = (usize, u8, Vec<Pick>)> {
    let pick = (any::<prop::sample::Index>(), 0u8..12, literal());
    (0..TEXTS.len(), 0u8..4, prop::collection::vec(pick, 1..8))
}

fn picked(text: &str, all: &[Vec<Step>], (index, what, literal): &Pick) -> Edit {
    let mut here = Vec::new();
    present(&parsed(text), &mut Vec::new(), &mut here);
    let any = |of: &[Vec<Step>]| of[index.index(of.len())].clone();
    match what {
        _ if here.is_empty() => Edit::Put(any(all), literal.clone()),
        0..4 => Edit::Put(any(all), literal.clone()),
        4 | 5 => Edit::Put(any(&here), literal.clone()),
        6 => Edit::Append(any(&here), literal.clone()),
        7 => Edit::Append(any(all), literal.clone()),
        8 => Edit::Remove(any(all)),
        _ => Edit::Remove(any(&here)),
    }
}

/// The same cases in every run, so that a failure seen once is seen again.
fn seeded(cases: u32) -> ProptestConfig {
    let rng_seed = prop::test_runner::RngSeed::Fixed(2100);
    ProptestConfig { cases, rng_seed, failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(seeded(250))]

    #[test]
    fn any_edits_change_what_they_are_about_and_nothing_else((which, ends, picks) in edits()) {
        let mut text = TEXTS[which].to_owned();
        if ends & 1 > 0 {
            text = text.replace('\n', "\r\n");
        }
        if ends & 2 > 0 {
            text = format!("\u{feff}{text}");
        }
        static ALL: OnceLock<Vec<Vec<Step>>> = OnceLock::new();
        let all = ALL.get_or_init(|| {
            let mut all = Vec::new();
            declared(&JOB, &[], &mut all);
            all
        });
        let before = text.clone();
        for pick in &picks {
            text = tried(&text, &picked(&text, all, pick))?;
        }
        told(&before, &text)?;
    }
}
