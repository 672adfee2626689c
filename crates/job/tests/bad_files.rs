//! Every file of `suite/bad` is wrong in the ways that its own comments say, and in no other.
//!
//! `#! error "chars": text` stands above a faulty line: an error that covers exactly these characters of it (their
//! first occurrence), with the text in its message or hint. `#! error first line: text` is one about the whole file.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::ops::Range;
use std::path::{Path, PathBuf};
use voltwright_job::{Diagnostic, Lines, Severity, read};

struct Expected {
    span: Range<usize>,
    text: String,
}

fn suite() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../suite/bad")
}

/// What the comments of a file announce.
fn expectations(name: &str, text: &str) -> Vec<Expected> {
    let mut expected = Vec::new();
    let mut waiting: Vec<(&str, &str)> = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let bare = line.trim();
        if let Some(rest) = bare.strip_prefix("#! error first line: ") {
            let end = text.find(['\r', '\n']).unwrap_or(text.len());
            expected.push(Expected { span: 0..end, text: rest.to_owned() });
        } else if let Some(rest) = bare.strip_prefix("#! error \"") {
            waiting.push(
                rest.split_once("\": ").unwrap_or_else(|| panic!("{name}: not an expectation: {bare}")),
            );
        } else if bare.starts_with("#!") {
            panic!("{name}: not an expectation: {bare}");
        } else {
            for (chars, text) in waiting.drain(..) {
                let at = start + line.find(chars).unwrap_or_else(|| panic!("{name}: no {chars} in {line}"));
                expected.push(Expected { span: at..at + chars.len(), text: text.to_owned() });
            }
        }
        start += line.len();
    }
    assert!(waiting.is_empty(), "{name}: nothing stands under its last expectation");
    expected
}

fn says(d: &Diagnostic) -> String {
    format!("{} {}", d.message, d.hint.as_deref().unwrap_or(""))
}

/// Everything in which the reading differs from what the file announces.
fn differences(name: &str, text: &str) -> Vec<String> {
    let lines = Lines::new(text);
    let show = |d: &Diagnostic| {
        let (line, column) = (lines.line(d.span.start), lines.column(d.span.start));
        format!("{name}:{line}:{column}: {:?}: {}", &text[d.span.clone()], says(d))
    };
    let mut found = read(text).diagnostics;
    let mut out = Vec::new();
    for expected in expectations(name, text) {
        let meets = |d: &Diagnostic| {
            d.severity == Severity::Error && d.span == expected.span && says(d).contains(&expected.text)
        };
        match found.iter().position(meets) {
            Some(i) => drop(found.remove(i)),
            None => out.push(format!("{name}: not found: {:?}: {}", &text[expected.span], expected.text)),
        }
    }
    out.extend(found.iter().map(|d| format!("not expected: {}", show(d))));
    out
}

#[test]
fn every_bad_file_is_wrong_in_just_the_ways_it_says() {
    let mut files: Vec<PathBuf> = std::fs::read_dir(suite()).unwrap().map(|e| e.unwrap().path()).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "toml"));
    files.sort();
    assert!(files.len() >= 40, "only {} files", files.len());
    let mut wrong = Vec::new();
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        assert!(!expectations(&name, &text).is_empty(), "{name} announces nothing");
        assert!(!read(&text).is_usable(), "{name} may be used");
        wrong.extend(differences(&name, &text));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The only errors of a text, each with the characters it covers.
fn errors(text: &str) -> Vec<(String, String)> {
    let reading = read(text);
    assert!(!reading.is_usable());
    reading.diagnostics.iter().map(|d| (text[d.span.clone()].to_owned(), says(d))).collect()
}

#[test]
fn an_empty_file_says_what_it_needs() {
    for text in ["", "\u{feff}", "\n", "# only a comment\n"] {
        let found = errors(text);
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].1.contains("needs `format`") && found[1].1.contains("needs `job`"), "{found:?}");
    }
}

#[test]
fn a_binary_file_is_no_text() {
    // The first bytes of a picture, as far as they are UTF-8, and zero bytes.
    let text = "PNG\r\n\u{1a}\n\0\0\0\rIHDR\0\0\0\u{10}";
    let found = errors(text);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].0, "\0");
    assert!(found[0].1.contains("not a text file"));
    // Control characters without a zero byte are mistakes of grammar.
    assert!(!errors("\u{1}\u{2}\u{7f}\u{1b}[0m").is_empty());
}

#[test]
fn a_file_of_ten_megabytes_is_refused_unread() {
    for first in ["a", "é", "数"] {
        let text = first.repeat(10 * 1024 * 1024 / first.len());
        let found = errors(&text);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].0, first);
        assert!(found[0].1.contains("at most 4194304"), "{}", found[0].1);
    }
}

#[test]
fn deep_nesting_is_refused_and_does_not_run_out_of_stack() {
    let deep = 100_000;
    let texts = [
        format!("a = {}", "[".repeat(deep)),
        format!("a = {}{}", "[".repeat(deep), "]".repeat(deep)),
        format!("a = {}", "{ a = ".repeat(deep)),
        format!("a{} = 1", ".a".repeat(deep)),
        format!("[a{}]", ".a".repeat(deep)),
        format!("[[a{}]]", ".a".repeat(deep)),
    ];
    for text in texts {
        let found = errors(&text);
        assert_eq!(found.len(), 1, "{} ...: {}", &text[..20], found.len());
        assert!(found[0].1.contains("nested so deep"), "{}", found[0].1);
    }
}

#[test]
fn columns_count_characters_not_bytes() {
    let text = std::fs::read_to_string(suite().join("wide-characters-in-a-table.toml")).unwrap();
    let reading = read(&text);
    let lines = Lines::new(&text);
    let at = reading.diagnostics[0].span.start;
    let line = lines.text_of(lines.line(at));
    let before = "uhr = { keeps = \"数 é 🔋\", chemistry = \"alkaline\", state = ";
    assert!(line.starts_with(before));
    assert_eq!(lines.column(at), before.chars().count() + 1);
    let text = std::fs::read_to_string(suite().join("windows-line-ends.toml")).unwrap();
    let at = read(&text).diagnostics[0].span.start;
    let lines = Lines::new(&text);
    assert_eq!((lines.line(at), lines.column(at)), (8, 23));
    assert_eq!(lines.text_of(8), "p12 = { nominal = \"12 V5\" }");
}
