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
        let foot = notes.foot(path, &[]).into_string();
        assert!(foot.contains("<strong>Error</strong>") && foot.contains(words), "{path}: {foot}");
    }
    // What a field tells is told at the foot as well, by the field's name: it may lie out of sight.
    let foot = notes.foot("load.board.draws", &[]).into_string();
    assert!(foot.contains("<strong>Error</strong> Run: a decimal comma"), "{foot}");
    let foot = notes.foot("rail.p5", &[&Refusal::of("name:rail.p5", "It needs one.")]).into_string();
    assert!(
        foot.contains("<strong>Error</strong> Short name: It needs one.") && foot.contains("And 2 more."),
        "{foot}"
    );
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
            let foot = notes.foot(&format!("{table}.{name}"), &[]).into_string();
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
fn the_field_that_holds_the_first_error_is_named_as_its_form_names_it() {
    let notes = notes(TEXT);
    for (path, field) in [
        ("rail.p5", Some("t:rail.p5.nominal")),
        ("load.board", Some("t:load.board.draws.p5.run")),
        ("load.board.sockets", Some("w:load.board.sockets.j1")),
        ("wiring.wires[0]", Some("t:wiring.wires[0].to")),
        ("wiring.wires[1]", Some("t:wiring.wires[1].to")),
        ("rail.p12", None),
        ("job", None),
    ] {
        assert_eq!(notes.wrong_field(path), field, "{path}");
    }
    let listed =
        TEXT.replace("poles = 2", "rated = [\"1 A at 5 V DC\", \"2 bananas\"]").replace("fuse", "switch");
    assert_eq!(
        self::notes(&listed).wrong_field("part.s"),
        Some("v:part.s.rated"),
        "the whole list is one field"
    );
}

#[test]
fn a_number_without_its_unit_is_given_that_of_its_own_example() {
    let notes = notes(&TEXT.replace("length = \"1 m\"", "length = \"150\""));
    let (_, says) = notes.at("wiring.wires[1].length").unwrap();
    assert!(says.ends_with("did you mean 150 mm?"), "{says}");
}

#[test]
fn what_a_change_brings_stands_first_at_the_foot_with_the_count_of_its_like() {
    let text = include_str!("../../../../../../examples/desk-computer/finished.toml");
    let (from, to) = (r#"from = "hold-off.out", "#, r#""p1.5""#);
    let line = text.lines().find(|l| l.contains(from) && l.contains(to)).unwrap();
    let wrong = text.replace(line, &line.replace(to, r#""p1.3""#));
    let of = |text: &str| {
        let reading = voltwright_job::read(text);
        let findings = voltwright_rules::findings(&reading.job).findings;
        (Notes::new(text, &reading.diagnostics, &findings), reading, findings)
    };
    let ((_, was, old), (notes, is, new)) = (of(text), of(&wrong));
    let known = Known::new(&was.diagnostics, &old);
    let wires = text.lines().filter(|l| l.trim_start().starts_with("{ from ="));
    let wire = format!("wiring.wires[{}]", wires.take_while(|l| *l != line).count());
    // Counted without our own comparison: the example has no stop.
    assert!(old.iter().all(|f| f.severity != Severity::Stop) && is.diagnostics.is_empty());
    let stops = new.iter().filter(|f| f.severity == Severity::Stop).count();
    assert!(stops > 1);
    let changed =
        Notes { brought: brought(&known, &is.diagnostics, &new, &[Stretch::Wiring]), ..notes.clone() };
    let foot = changed.foot(&wire, &[]).into_string();
    assert!(foot.contains("<strong>STOP</strong>"), "{foot}");
    assert!(foot.contains("are joined by the wiring"), "what is of the wiring first: {foot}");
    assert!(foot.contains(&format!("And {} more.", stops - 1)), "{foot}");
    assert!(!notes.foot(&wire, &[]).into_string().contains("STOP"), "none of them is about that wire");
    // The same text brings nothing.
    assert!(brought(&Known::new(&is.diagnostics, &new), &is.diagnostics, &new, &[]).is_empty());
    // An error in it is told before what it brings.
    let foot = changed.foot(&wire, &[&Refusal::of("t:wiring.wires[0].size", "No.")]).into_string();
    assert!(foot.contains("<strong>Error</strong> Size: No."), "{foot}");
}

#[test]
fn a_text_without_structure_has_no_notes() {
    assert!(notes("[job\ntitle = \"x\"\n").said.is_empty());
}
