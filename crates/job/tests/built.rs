//! The main example built from the shortest text by edits alone, as forms would, key by key.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::path::Path;
use toml::de::{DeTable, DeValue};
use voltwright_job::{changes, edit, read};

const EXAMPLE: &str = include_str!("../../../examples/desk-computer/finished.toml");
const SHORTEST: &str = "format = 1\n\n[job]\ntitle = \"A machine\"\n";

/// A value of the example that is no table, by where it stands.
struct Leaf {
    at: usize,
    path: String,
    literal: String,
}

fn leaves(path: &str, value: &toml::Spanned<DeValue<'_>>, into: &mut Vec<Leaf>) {
    let has_tables = |list: &toml::de::DeArray<'_>| list.iter().any(|v| v.get_ref().is_table());
    match value.get_ref() {
        DeValue::Table(table) => leaves_of(path, table, into),
        DeValue::Array(list) if has_tables(list) => {
            list.iter().enumerate().for_each(|(i, v)| leaves(&format!("{path}[{i}]"), v, into));
        }
        _ => {
            let literal = EXAMPLE[value.span()].to_owned();
            into.push(Leaf { at: value.span().start, path: path.to_owned(), literal });
        }
    }
}

fn leaves_of(path: &str, table: &DeTable<'_>, into: &mut Vec<Leaf>) {
    for (key, value) in table.iter() {
        let dot = if path.is_empty() { "" } else { "." };
        leaves(&format!("{path}{dot}{}", key.get_ref()), value, into);
    }
}

fn built() -> String {
    let mut all = Vec::new();
    leaves_of("", DeTable::parse(EXAMPLE).unwrap().get_ref(), &mut all);
    all.sort_by_key(|leaf| leaf.at);
    assert!(all.len() > 250, "only {} values", all.len());
    all.iter().fold(SHORTEST.to_owned(), |text, leaf| edit::put(&text, &leaf.path, &leaf.literal).unwrap())
}

/// A job as the program sees it, without the places in its text.
fn seen(text: &str) -> String {
    let reading = read(text);
    assert_eq!(reading.diagnostics, [], "{text}");
    let job = format!("{:#?}", reading.job);
    let is_place = |line: &&str| {
        let word = line.trim().trim_end_matches(',');
        let word = word.rsplit_once(": ").map_or(word, |(_, last)| last);
        let place = word
            .split_once("..")
            .is_some_and(|(a, b)| a.parse::<usize>().is_ok() && b.parse::<usize>().is_ok());
        place || line.trim().starts_with("line: ")
    };
    job.lines().filter(|l| !is_place(l)).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_example_is_built_by_edits_alone() {
    let built = built();
    assert_eq!(built.parse::<toml::Table>().unwrap(), EXAMPLE.parse::<toml::Table>().unwrap());
    assert_eq!(seen(&built), seen(EXAMPLE));
    let told: Vec<_> = changes::changes(EXAMPLE, &built).iter().map(|c| c.says().to_owned()).collect();
    assert_eq!(told, ["only comments or spacing differ"]);
}

#[test]
fn the_built_text_is_one_that_a_person_would_write() {
    let built = built();
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/snapshots/built.toml");
    if std::env::var_os("VOLTWRIGHT_UPDATE").is_some() {
        std::fs::write(&file, &built).unwrap();
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(built == kept, "built.toml differs; VOLTWRIGHT_UPDATE=1 rewrites it\n{built}");
}

#[test]
fn in_whatever_order_the_keys_come_sections_stand_as_in_the_example() {
    let mut all = Vec::new();
    leaves_of("", DeTable::parse(EXAMPLE).unwrap().get_ref(), &mut all);
    // Sections from the last letter to the first.
    let section = |path: &str| path.split(['.', '[']).next().unwrap_or_default().to_owned();
    all.sort_by_key(|leaf| (std::cmp::Reverse(section(&leaf.path)), leaf.at));
    let text = all.iter().fold(SHORTEST.to_owned(), |text, l| edit::put(&text, &l.path, &l.literal).unwrap());
    assert_eq!(text, built());
}

#[test]
fn the_same_edits_of_windows_text_give_the_same_text_with_its_line_ends() {
    let start = format!("\u{feff}{}", SHORTEST.replace('\n', "\r\n"));
    let mut all = Vec::new();
    leaves_of("", DeTable::parse(EXAMPLE).unwrap().get_ref(), &mut all);
    all.sort_by_key(|leaf| leaf.at);
    let text = all.iter().fold(start, |text, leaf| edit::put(&text, &leaf.path, &leaf.literal).unwrap());
    assert_eq!(text, format!("\u{feff}{}", built().replace('\n', "\r\n")));
}

#[test]
fn what_was_built_is_taken_down_to_where_it_began() {
    let mut all = Vec::new();
    leaves_of("", DeTable::parse(EXAMPLE).unwrap().get_ref(), &mut all);
    all.sort_by_key(|leaf| std::cmp::Reverse(leaf.at));
    let kept = |path: &str| matches!(path, "format" | "job.title") || path.starts_with("load.");
    let text = all
        .iter()
        .filter(|l| !kept(&l.path))
        .fold(built(), |text, leaf| edit::remove(&text, &leaf.path).unwrap());
    // A load is one by its name alone.
    let text = edit::remove(&text, "load").unwrap();
    assert_eq!(edit::set(&text, "job.title", "A machine").unwrap(), SHORTEST);
}
