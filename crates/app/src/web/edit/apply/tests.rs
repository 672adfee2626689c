//! What forms do to a text.

use super::super::names::about;
use super::*;

const TEXT: &str = "format = 1

[job]
title = \"x\"

[rail]
p5 = { nominal = \"5 V\" }

[load.board]
name = \"Board\"
order = [{ first = \"p5\", then = \"p12\" }, { first = \"p12\", then = \"m12\" }]

[part.s]
kind = \"switch\"
poles = 2
rated = [\"4 A at 250 V AC\"]
full-to = \"50 °C\"
";

fn fields(all: &[(&str, &str)]) -> Fields {
    all.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
}

fn applied(all: &[(&str, &str)]) -> Table {
    apply(TEXT, &fields(all)).unwrap().parse().unwrap()
}

fn refused(all: &[(&str, &str)]) -> (String, String) {
    let refusal = apply(TEXT, &fields(all)).unwrap_err();
    (refusal.field, refusal.says)
}

fn expected(text: &str) -> Table {
    text.parse().unwrap()
}

#[test]
fn what_comes_back_as_it_was_shown_changes_nothing() {
    let same = [
        ("t:rail.p5.nominal", " 5 V "),
        ("t:rail.p5.harm", ""),
        ("n:part.s.poles", "2"),
        ("v:part.s.rated", "4 A at 250 V AC\r\n"),
        ("t:rail.*.nominal", ""),
        ("new:rail", ""),
    ];
    assert_eq!(apply(TEXT, &fields(&same)).unwrap(), TEXT);
}

#[test]
fn another_kind_takes_away_what_it_has_no_key_for() {
    let table = applied(&[("t:part.s.kind", "fuse"), ("n:part.s.poles", "3"), ("t:part.s.rating", "2 A")]);
    let wanted = "kind = \"fuse\"\nfull-to = \"50 °C\"\nrating = \"2 A\"";
    assert_eq!(at(&table, "part.s"), Some(&Value::Table(expected(wanted))));
    let unknown = applied(&[("t:part.s.kind", "")]);
    assert!(at(&unknown, "part.s.poles").is_some(), "a kind taken away alone keeps the rest");
}

#[test]
fn another_kind_takes_away_tables_as_well_and_what_is_typed_for_the_old_one() {
    let text = "[part.s]
kind = \"mains supply\" # from the shelf
input = { voltage = \"90..264 V\" }
output.v1 = { volts = \"5 V\", limit = \"6 A\" }
output.v2 = { volts = \"12 V\" }
joined = [\"v1.minus\", \"v2.minus\"]
";
    let typed =
        [("t:part.s.kind", "strip"), ("t:part.s.efficiency", "78 %"), ("t:part.s.output.v1.limit", "")];
    assert_eq!(apply(text, &fields(&typed)).unwrap(), "[part.s]\nkind = \"strip\" # from the shelf\n");
}

#[test]
fn a_list_of_one_stays_a_list_and_a_text_a_text() {
    let list = applied(&[("v:part.s.rated", "6 A at 250 V AC\n")]);
    assert_eq!(at(&list, "part.s.rated").and_then(Value::as_array).map(Vec::len), Some(1));
    let text = applied(&[("v:part.s.rated", "6 A at 250 V AC")]);
    assert_eq!(at(&text, "part.s.rated").and_then(Value::as_str), Some("6 A at 250 V AC"));
}

#[test]
fn an_entry_that_is_emptied_goes_and_the_one_behind_it_is_changed_all_the_same() {
    let table = applied(&[
        ("t:load.board.order[0].first", ""),
        ("t:load.board.order[0].then", ""),
        ("t:load.board.order[1].why", "memory"),
        ("t:load.board.order[2].first", "m12"),
    ]);
    let wanted = "order = [{ first = \"p12\", then = \"m12\", why = \"memory\" }, { first = \"m12\" }]";
    assert_eq!(at(&table, "load.board.order"), expected(wanted).get("order"));
}

#[test]
fn what_is_new_within_what_is_new_is_kept() {
    let table = applied(&[
        ("new:load", "drive"),
        ("t:load.*.name", "Drive"),
        ("new:load.*.draws", "p12"),
        ("t:load.*.draws.*.run", "0.5 A"),
        ("new:load.*.sockets", "j"),
        ("w:load.*.sockets.*", "p12  com\tcom p5"),
    ]);
    let wanted =
        "name = \"Drive\"\ndraws.p12.run = \"0.5 A\"\nsockets.j = [\"p12\", \"com\", \"com\", \"p5\"]";
    assert_eq!(at(&table, "load.drive"), Some(&Value::Table(expected(wanted))));
}

#[test]
fn a_new_thing_needs_a_name_of_its_own_and_something_to_say() {
    assert_eq!(refused(&[("new:rail", " "), ("t:rail.*.nominal", "12 V")]).0, "new:rail");
    assert_eq!(refused(&[("new:load", "a"), ("t:load.*.draws.*.run", "1 A")]).0, "new:load.*.draws");
    assert!(refused(&[("new:rail", "p 12"), ("t:rail.*.nominal", "12 V")]).1.contains("cannot be a name"));
    assert!(refused(&[("new:rail", "p5"), ("t:rail.*.nominal", "12 V")]).1.contains("there already"));
    assert!(refused(&[("new:rail", "p12"), ("t:rail.*.nominal", "")]).1.contains("Nothing is entered"));
}

#[test]
fn a_number_that_is_none_is_refused_at_its_field() {
    let (field, says) = refused(&[("n:part.s.poles", "two")]);
    assert_eq!((field.as_str(), says.contains("“two” is no whole number")), ("n:part.s.poles", true));
}

#[test]
fn a_text_of_several_lines_is_left_alone_by_a_field_of_one() {
    let text = "[job]\ntitle = \"\"\"one\ntwo\"\"\"\n";
    assert_eq!(apply(text, &fields(&[("t:job.title", "onetwo")])).unwrap(), text);
}

#[test]
fn removing_takes_away_the_thing_and_leaves_the_rest() {
    let table = applied(&[("at", "part.s"), ("do", "remove"), ("t:part.s.kind", "fuse")]);
    assert!(at(&table, "part").is_none());
    assert!(at(&table, "rail.p5").is_some());
}

#[test]
fn what_is_renamed_is_renamed_from_the_inside_outwards_and_what_is_typed_goes_with_it() {
    let text = "[rail]
p5 = { nominal = \"5 V\" }

[load.board]
sockets.j = [\"com\", \"p5\"]

[plug.p1]
mates = \"board.j\"
";
    let form = fields(&[
        ("at", "load.board"),
        ("name:load.board", "main"),
        ("name:load.board.sockets.j", "j1"),
        ("w:load.board.sockets.j", "com p5 p5"),
        ("t:load.board.name", "Board"),
    ]);
    let done = write(text, &steps(text, &form).unwrap()).unwrap();
    let wanted = "[load.main]\nname = \"Board\"\nsockets.j1 = [\"com\", \"p5\", \"p5\"]\n\n[plug.p1]\nmates = \"main.j1\"\n";
    assert!(done.text.ends_with(wanted), "{}", done.text);
    assert_eq!(done.renamed, ["load board sockets j to j1; 2 places", "load board to main; 2 places"]);
    assert!(done.also);
    assert_eq!(about(&form), "load.main");
    let same = fields(&[("at", "load.board"), ("name:load.board", " board ")]);
    assert_eq!(apply(text, &same).unwrap(), text);
}

#[test]
fn a_name_that_is_none_or_taken_is_refused_at_its_field() {
    for (name, words) in
        [("", "needs a short name"), ("s", "is the name of something else"), ("a b", "cannot be a name")]
    {
        let (field, says) = refused(&[("at", "load.board"), ("name:load.board", name)]);
        assert!(field == "name:load.board" && says.contains(words), "{name}: {field}: {says}");
    }
}

#[test]
fn a_name_is_judged_alike_where_it_is_chosen_and_where_it_is_changed() {
    for (table, name) in [("load", "cold"), ("rail", "-"), ("part", "plåtine"), ("plug", "com")] {
        let new = (format!("new:{table}"), name.to_owned());
        let says = new_names(&Table::new(), &vec![new]).unwrap_err().says;
        let held = format!("[{table}.a]\n");
        let renamed = edit::rename(&held, &format!("{table}.a"), name).unwrap_err();
        assert_eq!(says, renamed.to_string(), "{table} {name}");
    }
}

#[test]
fn a_form_is_about_a_section_an_entry_or_a_wire() {
    for path in
        ["job", "machine", "load.board", "load.*", "rail.p5", "found[0]", "wiring.wires[12]", "load.schön"]
    {
        assert!(has_form(path), "{path}");
    }
    for path in [
        "",
        "load",
        "load.board.sockets",
        "load.board.draws.p5",
        "found",
        "wiring.wires",
        "wiring.wires[0].to",
        "load.",
        "load.\"x\"",
        "found[x]",
        "job.title",
        "nothing",
    ] {
        assert!(!has_form(path), "{path}");
    }
}
