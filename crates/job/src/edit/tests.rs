use super::*;

const TEXT: &str = "format = 1 # form\n\n[job]\ntitle = \"x\" # the title\n\n[load.board]\ndraws.p5 = { run = \"2.3 A\", basis = \"typical\" } # logic\n\nwires = [\n  { from = \"a.1\", length = \"80 mm\" }, # first\n]\n";

#[test]
fn an_edit_touches_nothing_but_its_value() {
    let out = set(TEXT, "load.board.draws.p5.run", "3 A").unwrap();
    assert_eq!(out, TEXT.replace("2.3 A", "3 A"));
    let out = set(TEXT, "load.board.wires[0].length", "1 m").unwrap();
    assert_eq!(out, TEXT.replace("80 mm", "1 m"));
    let out = set(TEXT, "job.title", "y").unwrap();
    assert_eq!(out, TEXT.replace("\"x\"", "\"y\""));
}

#[test]
fn a_missing_table_is_added() {
    let out = set(TEXT, "assume.contact", "10 mΩ").unwrap();
    assert!(out.starts_with(TEXT) && out.contains("[assume]\ncontact = \"10 mΩ\""), "{out}");
}

#[test]
fn what_cannot_be_set_is_said() {
    assert!(matches!(set("a = [", "a", "b"), Err(EditError::Unreadable(_))));
    assert!(matches!(set(TEXT, "format.x", "b"), Err(EditError::NoTable(..))));
    assert_eq!(set(TEXT, "load.board.wires[7].length", "b"), Err(EditError::NoEntry("wires".into(), 7)));
    assert_eq!(remove(TEXT, "job.nothing").unwrap(), TEXT);
}

#[test]
fn a_flag_is_set_and_a_wire_added_where_the_others_are() {
    let text = "[plug.p1]\nways = 2\nkeyed = false # no\n\n[wiring]\nwires = [\n  { from = \"a.1\", to = \"p1.1\" }, # red\n]\n";
    let flagged = set_flag(text, "plug.p1.keyed", true).unwrap();
    assert!(flagged.contains("keyed = true # no\n"), "{flagged}");
    let more = append(text, "wiring.wires", "{ from = \"a.2\", to = \"p1.2\" }").unwrap();
    assert!(more.contains("\"p1.1\" }, # red\n  { from = \"a.2\", to = \"p1.2\" },\n]\n"), "{more}");
    let fresh =
        append("[job]\ntitle = \"x\"\n", "wiring.wires", "{ from = \"a.2\", to = \"p1.2\" }").unwrap();
    assert!(fresh.contains("wires = [\n  { from"), "{fresh}");
}
