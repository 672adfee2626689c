//! Errors and findings at the paths that they are about.

use super::*;

const TEXT: &str = "format = 1

[job]
title = \"x\"

[rail]
p5 = { nominal = \"5 kohm\", tolerence = \"5 %\" }
p12 = { harm = \"0..15 V\" }

[load.board]
draws.p5 = { run = \"0,75 A\" }
sockets.j1 = [\"com\", \"p55\"]

[part.s]
kind = \"fuse\"
rating = \"1 A\"
poles = 2

[wiring]
wires = [
  { from = \"s.1\", to = \"s.9\", size = \"0,75mm\" },
  { from = \"s.1\", to = \"t.9\", size = \"1 mm²\", length = \"1 m\" },
]
";

fn notes(text: &str) -> Notes {
    let reading = voltwright_job::read(text);
    Notes::new(text, &reading.diagnostics, &voltwright_rules::findings(&reading.job).findings)
}

#[test]
fn an_error_is_told_at_the_field_that_holds_it() {
    let notes = notes(TEXT);
    for (path, words) in [
        ("rail.p5.nominal", "expected a voltage"),
        ("load.board.draws.p5.run", "a decimal comma"),
        ("load.board.sockets.j1", "p55"),
        ("wiring.wires[0].size", "comma"),
        ("wiring.wires[1].to", "t.9"),
    ] {
        let (weight, says) = notes.at(path).unwrap_or_else(|| panic!("nothing at {path}: {notes:?}"));
        assert_eq!(weight, Weight::Error, "{path}");
        assert!(says.contains(words), "{path}: {says}");
    }
    for path in ["rail.p5.harm", "rail.p12.nominal", "job.title", "load.board.sockets.j"] {
        assert_eq!(notes.at(path), None, "{path}");
    }
}

#[test]
fn what_no_field_tells_stands_at_the_foot_of_its_form() {
    let notes = notes(TEXT);
    // A key that is none, one that is missing, one of another kind.
    for (path, words) in [("rail.p5", "tolerence"), ("rail.p12", "nominal"), ("part.s", "poles")] {
        let foot = notes.foot(path).into_string();
        assert!(foot.contains("<strong>Error</strong>") && foot.contains(words), "{path}: {foot}");
    }
    assert_eq!(notes.foot("load.board.sockets").into_string(), "");
    assert!(notes.is_wrong("load.board") && !notes.is_wrong("job"));
}

#[test]
fn the_gravest_finding_stands_at_the_foot_with_the_count_of_the_others() {
    let draft = include_str!("../../../../../../examples/plotter/first-draft.toml");
    let reading = voltwright_job::read(draft);
    let report = voltwright_rules::findings(&reading.job);
    let notes = notes(draft);
    assert!(notes.said.len() > 10 && reading.diagnostics.is_empty());
    assert!(notes.said.iter().all(|one| notes.at(&one.path).is_none()), "a finding is no error of a field");
    let held: Table = draft.parse().unwrap();
    let mut stops = 0;
    for table in ["load", "part", "plug", "battery"] {
        for name in held.get(table).and_then(Value::as_table).into_iter().flat_map(Table::keys) {
            let foot = notes.foot(&format!("{table}.{name}")).into_string();
            // Found by the file's own lines, without any tree: from the header to the next.
            let head = draft.find(&format!("[{table}.{name}]")).unwrap();
            let end = draft[head + 1..].find("\n[").map_or(draft.len(), |n| head + 1 + n);
            let here = |f: &&Finding| f.place.as_ref().is_some_and(|p| (head..end).contains(&p.start));
            let found: Vec<&Finding> = report.findings.iter().filter(here).collect();
            let worst = found.iter().map(|f| f.severity).max_by_key(|s| match s {
                Severity::Stop => 2,
                Severity::Caution => 1,
                Severity::Note => 0,
            });
            let word = match worst {
                Some(Severity::Stop) => "<strong>STOP</strong>",
                Some(Severity::Caution) => "<strong>Caution</strong>",
                Some(Severity::Note) => "<strong>Note</strong>",
                None => "",
            };
            assert!(foot.contains(word) && foot.is_empty() == found.is_empty(), "{table}.{name}: {foot}");
            if found.len() > 1 {
                assert!(foot.contains(&format!("And {} more.", found.len() - 1)), "{foot}");
            }
            stops += usize::from(worst == Some(Severity::Stop));
        }
    }
    assert!(stops > 0, "the draft has a stop at one of its entries");
}

#[test]
fn a_text_without_structure_has_no_notes() {
    assert!(notes("[job\ntitle = \"x\"\n").said.is_empty());
}
