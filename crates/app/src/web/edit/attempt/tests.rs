//! What is wrong at which field while it is typed.

use super::*;

const TEXT: &str = "format = 1

[job]
title = \"x\"

[rail]
p5 = { nominal = \"5 V\" }
p12 = { nominal = \"12 V\" }
m12 = { nominal = \"-12 X\" }

[load.board]
order = [{ first = \"p5\", then = \"p12\" }, { first = \"p12\", then = \"m12\" }]

[part.s]
kind = \"switch\"
poles = 2
";

/// The fields that something is told at, and what.
fn told(fields: &[(&str, &str)]) -> Vec<(String, String)> {
    let fields = fields.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
    let tried = Tried::of(TEXT, fields);
    let reading = voltwright_job::read(&tried.text);
    let notes = Notes::new(&tried.text, &reading.diagnostics, &[]);
    tried.wrong(&notes).into_iter().map(|wrong| (wrong.name, wrong.says)).collect()
}

fn names(fields: &[(&str, &str)]) -> Vec<String> {
    told(fields).into_iter().map(|(name, _)| name).collect()
}

#[test]
fn a_value_that_does_not_read_is_told_at_its_field_and_nothing_once_it_is_mended() {
    let wrong = told(&[("at", "rail.p5"), ("t:rail.p5.nominal", "12 kohm"), ("t:rail.p5.harm", "")]);
    assert_eq!(wrong.len(), 1);
    assert_eq!(wrong[0].0, "t:rail.p5.nominal");
    assert!(wrong[0].1.contains("expected a voltage"), "{wrong:?}");
    assert!(told(&[("at", "rail.p5"), ("t:rail.p5.nominal", "12 V")]).is_empty());
}

#[test]
fn several_wrong_values_are_told_together_and_one_that_cannot_be_written_with_them() {
    let fields = [
        ("at", "part.s"),
        ("n:part.s.poles", "two"),
        ("v:part.s.rated", "4 bananas"),
        ("t:part.s.full-to", "x"),
    ];
    let mut names = names(&fields);
    names.sort();
    assert_eq!(names, ["n:part.s.poles", "t:part.s.full-to", "v:part.s.rated"]);
}

#[test]
fn what_was_wrong_before_is_told_at_its_field() {
    assert_eq!(names(&[("at", "rail.m12"), ("t:rail.m12.nominal", "-12 X")]), ["t:rail.m12.nominal"]);
}

#[test]
fn what_has_no_name_yet_is_judged_all_the_same() {
    let fields = [("at", "rail.*"), ("new:rail", " "), ("t:rail.*.nominal", "24 X")];
    assert_eq!(names(&fields), ["t:rail.*.nominal"]);
    let owned = fields.map(|(name, value)| (name.to_owned(), value.to_owned())).to_vec();
    let tried = Tried::of(TEXT, owned);
    assert!(
        tried.refusals.iter().any(|r| r.is_early && r.field == "new:rail"),
        "the name is still asked for"
    );
    assert!(tried.text.contains("unnamed") && tried.text.contains("24 X"), "{}", tried.text);
}

#[test]
fn a_new_thing_is_told_at_its_own_fields() {
    let fields = [("at", "rail.*"), ("new:rail", "p24"), ("t:rail.*.nominal", "24 X")];
    assert_eq!(names(&fields), ["t:rail.*.nominal"]);
    assert!(
        names(&[("at", "rail.*"), ("new:rail", "p24"), ("t:rail.*.nominal", "")]).is_empty(),
        "too early to say"
    );
    assert_eq!(names(&[("at", "rail.*"), ("new:rail", "p5"), ("t:rail.*.nominal", "5 V")]), ["new:rail"]);
}

#[test]
fn a_renamed_thing_is_told_at_its_own_fields() {
    let fields = [("at", "rail.p5"), ("name:rail.p5", "plus5"), ("t:rail.p5.nominal", "5 X")];
    assert_eq!(names(&fields), ["t:rail.p5.nominal"]);
    assert_eq!(names(&[("at", "rail.p5"), ("name:rail.p5", "p12")]), ["name:rail.p5"]);
    assert_eq!(names(&[("at", "rail.p5"), ("name:rail.p5", " ")]), ["name:rail.p5"]);
}

#[test]
fn entries_that_move_up_are_told_at_the_fields_that_they_were_typed_in() {
    let fields = [
        ("at", "load.board"),
        ("t:load.board.order[0].first", ""),
        ("t:load.board.order[0].then", ""),
        ("t:load.board.order[1].first", "p12"),
        ("t:load.board.order[1].then", "p99"),
        ("t:load.board.order[2].first", ""),
        ("t:load.board.order[2].then", ""),
    ];
    assert_eq!(names(&fields), ["t:load.board.order[1].then"]);
    let mut more = fields;
    more[5].1 = "p98";
    more[6].1 = "p5";
    assert_eq!(names(&more), ["t:load.board.order[1].then", "t:load.board.order[2].first"]);
}

/// Whether a form upon the text is tried upon a newer one, and what is tried.
fn moved(newest: &str, fields: &[(&str, &str)]) -> (bool, Tried) {
    let fields = fields.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
    let mut tried = Tried::of(TEXT, fields);
    (tried.move_to(newest), tried)
}

#[test]
fn what_others_saved_since_is_tried_with_it_where_nothing_is_asked() {
    let newest = TEXT.replace("\"-12 X\"", "\"-12 V\"");
    let (is_moved, tried) = moved(&newest, &[("at", "rail.p5"), ("t:rail.p5.nominal", "5 X")]);
    assert!(is_moved);
    assert_eq!(tried.text, newest.replace("\"5 V\"", "\"5 X\""));
    let reading = voltwright_job::read(&tried.text);
    let notes = Notes::new(&tried.text, &reading.diagnostics, &[]);
    let names: Vec<String> = tried.wrong(&notes).into_iter().map(|wrong| wrong.name).collect();
    assert_eq!(names, ["t:rail.p5.nominal"]);
}

#[test]
fn it_is_tried_as_the_page_shows_it_where_both_changed_the_same_or_an_entry_has_moved() {
    let both = TEXT.replace("\"5 V\"", "\"5.1 V\"");
    let (is_moved, tried) = moved(&both, &[("at", "rail.p5"), ("t:rail.p5.nominal", "5.2 V")]);
    assert!(!is_moved && tried.text == TEXT.replace("\"5 V\"", "\"5.2 V\""), "{}", tried.text);
    let order = [
        ("at", "load.board"),
        ("t:load.board.name", "Board"),
        ("t:load.board.order[0].first", "p5"),
        ("t:load.board.order[1].first", "p12"),
    ];
    let shorter = TEXT.replace("{ first = \"p5\", then = \"p12\" }, ", "");
    assert_ne!(shorter, TEXT);
    let (is_moved, tried) = moved(&shorter, &order);
    assert!(!is_moved && tried.text.contains("name = \"Board\"") && tried.text.contains("{ first = \"p5\""));
    assert!(moved(TEXT, &order).0, "nothing was saved since");
}
