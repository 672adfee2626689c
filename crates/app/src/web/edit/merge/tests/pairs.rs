//! Pairs of values of a whole job, each changed by another tab.

use super::super::super::apply::apply;
use super::*;

/// Every text of the main example by its path, the entries of plain lists left out.
fn leaves(value: &toml::Value, path: &str, into: &mut Vec<(String, String)>) {
    match value {
        toml::Value::String(text) => into.push((path.to_owned(), text.clone())),
        toml::Value::Table(table) => {
            table.iter().for_each(|(key, inner)| leaves(inner, &format!("{path}.{key}"), into));
        }
        toml::Value::Array(list) => {
            let tables = list.iter().enumerate().filter(|(_, entry)| entry.is_table());
            tables.for_each(|(n, entry)| leaves(entry, &format!("{path}[{n}]"), into));
        }
        _ => {}
    }
}

/// Whether a change of `first` since makes a change of `second` a question: the same key, the kind of its table, or an entry
/// of the same list that does not stand behind it.
fn must_ask(first: &str, second: &str) -> bool {
    let entry = |path: &str| {
        let (list, rest) = path.split_once('[')?;
        Some((list.to_owned(), rest.split_once(']')?.0.parse::<usize>().ok()?))
    };
    let same_list = match (entry(first), entry(second)) {
        (Some((a, i)), Some((b, j))) => a == b && i <= j,
        _ => false,
    };
    let table = |path: &str| path.rsplit_once('.').map(|(table, _)| table.to_owned());
    let of_kind = first.starts_with("part.") && first.matches('.').count() == 2 && first.ends_with(".kind");
    first == second || same_list || of_kind && table(first) == table(second)
}

#[test]
fn any_two_values_of_the_main_example_are_both_kept_or_asked_for() {
    const EXAMPLE: &str = include_str!("../../../../../../../examples/desk-computer/finished.toml");
    let whole: toml::Value = toml::Value::Table(EXAMPLE.parse().unwrap());
    let mut all = Vec::new();
    whole.as_table().unwrap().iter().for_each(|(key, value)| leaves(value, key, &mut all));
    assert!(all.len() > 200, "{}", all.len());
    let edit = |path: &str, was: &str, more: &str| {
        fields(&[("at", path.rsplit_once('.').unwrap().0), (&format!("t:{path}"), &format!("{was}{more}"))])
    };
    // Any pairs, the same each time: by a walk with a step that meets all.
    let (mut asked, mut kept) = (0, 0);
    for i in 0..120 {
        let (first, was) = &all[(i * 89) % all.len()];
        let (second, is) = &all[(i * 37 + i % 3) % all.len()];
        let (a, b) = (edit(first, was, "1"), edit(second, is, "2"));
        let upon =
            |one: &Fields, other: &Fields| merge(EXAMPLE, &apply(EXAMPLE, one).unwrap(), other).unwrap();
        match upon(&a, &b) {
            Merged::Ask(ask) => {
                assert!(must_ask(first, second), "{first}, then {second}: {ask:?}");
                assert_eq!(ask.questions.len(), 1);
                assert!(
                    ask.kept.contains(&(format!("t:{second}"), format!("{is}2"))),
                    "what was typed is lost"
                );
                asked += 1;
            }
            Merged::Text(done, _) => {
                assert!(!must_ask(first, second), "{first}, then {second}: one was lost");
                let table: Table = done.text.parse().unwrap();
                for (path, value) in [(first, format!("{was}1")), (second, format!("{is}2"))] {
                    assert_eq!(
                        at(&table, path).and_then(toml::Value::as_str),
                        Some(value.as_str()),
                        "{path}"
                    );
                }
                if let Merged::Text(other, _) = upon(&b, &a) {
                    assert_eq!(other.text, done.text, "{first} and {second} do not commute");
                }
                kept += 1;
            }
            other => panic!("{other:?}"),
        }
    }
    assert!(asked > 10 && kept > 50, "{asked} asked, {kept} kept");
}
