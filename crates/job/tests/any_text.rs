//! Whatever is written: no panic, every place lies in the text, and mistakes stand in the file's order.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use proptest::prelude::*;
use voltwright_job::{Lines, nets, read};

const EXAMPLE: &str = include_str!("../../../examples/desk-computer/finished.toml");
const EVERY_KEY: &str = include_str!("../../../suite/every-key.toml");

fn hold_its_own(text: &str) {
    let reading = read(text);
    let lines = Lines::new(text);
    for d in &reading.diagnostics {
        let covered = text.get(d.span.clone());
        assert!(covered.is_some(), "{:?} is no part of the text: {}", d.span, d.message);
        let (line, column) = (lines.line(d.span.start), lines.column(d.span.start));
        let in_line = lines.text_of(line).chars().count();
        assert!(column <= in_line + 2, "column {column} of a line of {in_line}");
        assert!(!d.message.is_empty() && d.hint.as_deref() != Some(""));
    }
    assert!(reading.diagnostics.is_sorted_by_key(|d| (d.span.start, d.span.end)));
    if reading.is_usable() {
        let all = nets::all(&reading.job);
        let terminals = nets::Terminals::new(&reading.job);
        assert!(all.iter().enumerate().all(|(i, t)| terminals.index(*t) == i));
    }
}

/// A change of the bytes from `at`: some are taken out and others put in.
#[derive(Debug, Clone)]
struct Change {
    at: prop::sample::Index,
    out: usize,
    put: Vec<u8>,
}

fn change() -> impl Strategy<Value = Change> {
    // Pieces that mean something to the reader, pieces of the file itself, and any bytes.
    let words = prop::sample::select(vec![
        "\"",
        "'",
        "\"\"\"",
        "[",
        "]",
        "[[",
        "{",
        "}",
        "=",
        ".",
        ",",
        "#",
        "\n",
        "\r\n",
        "\n[",
        "±",
        "..",
        "−",
        "µ",
        "\0",
        "\u{feff}",
        "1e400",
        "nan",
        "com",
        "kind = \"fan\"",
        "[part.x]\n",
        "ways = 0",
        "p5",
        "\\u00e9",
        "数",
        "🔋",
    ]);
    let piece = (any::<prop::sample::Index>(), 1usize..200).prop_map(|(at, len)| {
        let at = at.index(EVERY_KEY.len());
        EVERY_KEY.as_bytes()[at..(at + len).min(EVERY_KEY.len())].to_vec()
    });
    let put = prop_oneof![
        3 => words.prop_map(|w| w.as_bytes().to_vec()),
        2 => piece,
        1 => prop::collection::vec(any::<u8>(), 0..6),
        1 => Just(Vec::new()),
    ];
    let out = prop_oneof![4 => 0usize..4, 2 => 0usize..60, 1 => 0usize..2000];
    (any::<prop::sample::Index>(), out, put).prop_map(|(at, out, put)| Change { at, out, put })
}

fn changed(text: &str, changes: &[Change]) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for change in changes {
        let at = change.at.index(bytes.len() + 1);
        let end = (at + change.out).min(bytes.len());
        bytes.splice(at..end, change.put.iter().copied());
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// The same cases in every run, so that a failure seen once is seen again.
fn seeded(cases: u32) -> ProptestConfig {
    let rng_seed = prop::test_runner::RngSeed::Fixed(2100);
    ProptestConfig { cases, rng_seed, failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(seeded(400))]

    #[test]
    fn a_changed_example_holds_its_own(changes in prop::collection::vec(change(), 1..8)) {
        hold_its_own(&changed(EXAMPLE, &changes));
    }

    #[test]
    fn a_changed_file_of_every_key_holds_its_own(changes in prop::collection::vec(change(), 1..4)) {
        hold_its_own(&changed(EVERY_KEY, &changes));
    }

    #[test]
    fn any_text_holds_its_own(text in "\\PC{0,200}") {
        hold_its_own(&text);
    }

    #[test]
    fn a_place_is_where_its_line_and_column_say(text in "[ab\t\r\n\u{e9}\u{6570}\u{1f50b}]{0,60}") {
        let lines = Lines::new(&text);
        let (mut line, mut column) = (1, 1);
        for (at, c) in text.char_indices() {
            prop_assert_eq!((lines.line(at), lines.column(at)), (line, column));
            if c == '\n' { (line, column) = (line + 1, 1) } else { column += 1 }
        }
        prop_assert_eq!((lines.line(text.len()), lines.column(text.len())), (line, column));
        prop_assert_eq!(lines.start_of(line), text.rfind('\n').map_or(0, |i| i + 1));
    }
}

#[test]
fn every_beginning_of_the_example_holds_its_own() {
    // A job is read as it is typed: cut off after every character.
    for (at, _) in EXAMPLE.char_indices().step_by(3) {
        hold_its_own(&EXAMPLE[..at]);
    }
}
