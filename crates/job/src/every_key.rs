//! Tests over every declared key: each is read, judged by itself, and never hides a mistake beside it.

use crate::keys::{Form, JOB, Section};
use crate::{Diagnostic, Reading, read};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;

const EVERY_KEY: &str = include_str!("../../../suite/every-key.toml");

/// A key that was read and was there.
#[derive(Debug, Clone)]
struct Seen {
    section: &'static str,
    kind: Option<String>,
    key: &'static str,
    form: Form,
    /// Bytes of its value.
    span: Range<usize>,
}

thread_local! {
    static SEEN: RefCell<Vec<Seen>> = const { RefCell::new(Vec::new()) };
}

/// Called by the reader for every value it takes from the file.
pub(crate) fn note(section: &Section, kind: Option<&str>, key: &str, span: Range<usize>) {
    let Some(declared) = section.key(key, kind) else { return };
    let seen = Seen {
        section: section.what,
        kind: kind.map(str::to_owned),
        key: declared.name,
        form: declared.form,
        span,
    };
    SEEN.with_borrow_mut(|all| all.push(seen));
}

/// The keys that are read from the file of every key, once each, in file order.
fn seen() -> Vec<Seen> {
    SEEN.take();
    let reading = read(EVERY_KEY);
    assert_eq!(reading.diagnostics, [], "the file of every key has mistakes");
    let mut seen = SEEN.take();
    seen.sort_by_key(|s| (s.span.start, s.span.end));
    seen.dedup_by_key(|s| s.span.clone());
    seen
}

fn with(span: &Range<usize>, literal: &str) -> String {
    format!("{}{literal}{}", &EVERY_KEY[..span.start], &EVERY_KEY[span.end..])
}

/// Section, kind where the key is one kind's own, and key.
type Name = (&'static str, Option<String>, &'static str);

fn declare(section: &'static Section, into: &mut BTreeSet<Name>) {
    let common = section.keys.iter().map(|k| (None, k));
    let own =
        section.kinds.iter().flat_map(|(kind, keys)| keys.iter().map(move |k| (Some((*kind).to_owned()), k)));
    for (kind, key) in common.chain(own) {
        into.insert((section.what, kind, key.name));
        if let Form::Table(of) | Form::Tables(of) | Form::Named(of) = key.form {
            declare(of, into);
        }
    }
}

fn section_of(what: &str, from: &'static Section) -> Option<&'static Section> {
    if from.what == what {
        return Some(from);
    }
    let own = from.kinds.iter().flat_map(|(_, keys)| keys.iter());
    from.keys.iter().chain(own).find_map(|k| match k.form {
        Form::Table(of) | Form::Tables(of) | Form::Named(of) => section_of(what, of),
        _ => None,
    })
}

#[test]
fn every_declared_key_is_read() {
    let mut declared = BTreeSet::new();
    declare(&JOB, &mut declared);
    let read: BTreeSet<Name> = seen()
        .into_iter()
        .map(|s| {
            let section = section_of(s.section, &JOB).unwrap();
            let common = section.keys.iter().any(|k| k.name == s.key);
            (s.section, if common { None } else { s.kind }, s.key)
        })
        .collect();
    assert!(declared.len() > 150, "only {} keys are declared", declared.len());
    let unread: Vec<_> = declared.difference(&read).collect();
    assert!(unread.is_empty(), "declared but never read, or not in the file of every key: {unread:#?}");
    let undeclared: Vec<_> = read.difference(&declared).collect();
    assert!(undeclared.is_empty(), "{undeclared:#?}");
}

#[test]
fn every_declared_example_is_read_in_its_place() {
    for s in seen() {
        let (Form::Value(example) | Form::Values(example)) = s.form else { continue };
        let reading = read(&with(&s.span, &format!("\"{example}\"")));
        // Another value of the file may contradict the example; the example itself must be understood.
        let odd = |d: &&Diagnostic| d.message.starts_with("expected") || d.message.contains("above zero");
        let wrong: Vec<_> = reading.diagnostics.iter().filter(odd).collect();
        assert!(wrong.is_empty(), "{} of {}: \"{example}\": {wrong:?}", s.key, s.section);
    }
}

/// What can stand behind no key of this form, or nothing for tables.
fn wrong(form: Form) -> &'static str {
    match form {
        Form::Value(_) | Form::Values(_) | Form::OneOf(_) => "\"7 parsec\"",
        Form::Text | Form::Texts => "1980-01-01",
        Form::Flag | Form::Whole => "\"7\"",
        Form::Table(_) | Form::Tables(_) | Form::Named(_) | Form::NamedTexts | Form::NamedValues(_) => "7",
    }
}

/// The errors of a reading within some bytes.
fn within(reading: &Reading, bytes: &Range<usize>) -> usize {
    let inside = |d: &&Diagnostic| bytes.start <= d.span.start && d.span.end <= bytes.end;
    reading.diagnostics.iter().filter(inside).count()
}

#[test]
fn a_mistake_in_any_value_is_told_once_and_nothing_else_is_blamed() {
    // What is written under a header or with dotted keys has no bytes of its own to be exchanged.
    let whole =
        |s: &Seen| !matches!(s.form, Form::Table(_) | Form::Tables(_) | Form::Named(_) | Form::NamedTexts);
    for s in seen().into_iter().filter(whole) {
        let literal = wrong(s.form);
        let reading = read(&with(&s.span, literal));
        let place = s.span.start..s.span.start + literal.len();
        let (inside, all) = (within(&reading, &place), &reading.diagnostics);
        assert_eq!((inside, all.len()), (1, 1), "{} of {} ({:?}): {all:#?}", s.key, s.section, s.kind);
        assert!(!reading.is_usable());
    }
}

#[test]
fn mistakes_in_all_values_are_told_at_once() {
    let broken: Vec<Seen> = seen()
        .into_iter()
        .filter(|s| matches!(s.form, Form::Value(_) | Form::Values(_) | Form::OneOf(_) | Form::Flag))
        .filter(|s| s.key != "kind")
        .collect();
    let mut text = EVERY_KEY.to_owned();
    for s in broken.iter().rev() {
        text.replace_range(s.span.clone(), wrong(s.form));
    }
    let reading = read(&text);
    let mut moved = 0isize;
    for s in &broken {
        let literal = wrong(s.form);
        let start = s.span.start.strict_add_signed(moved);
        moved += literal.len() as isize - s.span.len() as isize;
        let place = start..start + literal.len();
        assert_eq!(within(&reading, &place), 1, "{} of {} ({:?})", s.key, s.section, s.kind);
    }
    let all: Vec<_> = reading.diagnostics.iter().map(|d| (&text[d.span.clone()], &d.message)).collect();
    assert_eq!(all.len(), broken.len(), "{all:#?}");
}
