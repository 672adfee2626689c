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

const SHORT: &str = "format = 1\n\n[job]\ntitle = \"x\" # the title\n";

/// What the edits add to the shortest text.
fn added(edits: &[(&str, &str)]) -> String {
    let text =
        edits.iter().fold(SHORT.to_owned(), |text, (path, literal)| put(&text, path, literal).unwrap());
    text.strip_prefix(SHORT).unwrap_or_else(|| panic!("{text}")).to_owned()
}

#[test]
fn what_is_new_is_laid_out_as_in_the_examples() {
    let volts = "\"5 V\"";
    for (path, laid_out) in [
        ("part.fuse.rating", "\n[part.fuse]\nrating = \"5 V\"\n"),
        ("plug.p1.mates", "\n[plug.p1]\nmates = \"5 V\"\n"),
        ("battery.clock.volts", "\n[battery.clock]\nvolts = \"5 V\"\n"),
        ("rail.p5.nominal", "\n[rail]\np5 = { nominal = \"5 V\" }\n"),
        ("load.board.draws.p5.run", "\n[load.board]\ndraws.p5 = { run = \"5 V\" }\n"),
        ("load.board.order[0].first", "\n[load.board]\norder = [{ first = \"5 V\" }]\n"),
        ("load.board.sockets.j1[0]", "\n[load.board]\nsockets.j1 = [\"5 V\"]\n"),
        ("part.supply.output.v1.volts", "\n[part.supply]\noutput.v1 = { volts = \"5 V\" }\n"),
        ("part.supply.input.voltage", "\n[part.supply]\ninput = { voltage = \"5 V\" }\n"),
        ("machine.nameplate.voltage", "\n[machine]\nnameplate = { voltage = \"5 V\" }\n"),
        ("old-supply.part.bridge.kind", "\n[old-supply]\npart.bridge = { kind = \"5 V\" }\n"),
        ("old-supply.outputs.p5", "\n[old-supply]\noutputs = { p5 = \"5 V\" }\n"),
        ("found[0].what", "\n[[found]]\nwhat = \"5 V\"\n"),
        ("wiring.wires[0].from", "\n[wiring]\nwires = [\n  { from = \"5 V\" },\n]\n"),
        ("first-power.stages[0]", "\n[first-power]\nstages = [\"5 V\"]\n"),
        ("load.schön.name", "\n[load.\"schön\"]\nname = \"5 V\"\n"),
    ] {
        assert_eq!(added(&[(path, volts)]), laid_out, "{path}");
        let text = format!("{SHORT}{laid_out}");
        let left = if path.starts_with("load") { "\n[load.board]\n" } else { "" };
        if path != "load.schön.name" && !path.contains('[') {
            assert_eq!(remove(&text, path).unwrap(), format!("{SHORT}{left}"), "{path} leaves something");
        }
    }
}

#[test]
fn tables_given_as_a_whole_are_laid_out_so_too() {
    assert_eq!(
        added(&[(
            "part.supply",
            "{ kind = \"mains supply\", output = { v1 = { volts = \"5 V\" }, v2 = { volts = \"12 V\" } } }"
        )]),
        "\n[part.supply]\nkind = \"mains supply\"\noutput.v1 = { volts = \"5 V\" }\noutput.v2 = { volts = \"12 V\" }\n"
    );
    assert_eq!(
        added(&[("found[0]", "{ what = \"dust\" }"), ("found[1].what", "\"rust\"")]),
        "\n[[found]]\nwhat = \"dust\"\n\n[[found]]\nwhat = \"rust\"\n"
    );
    // Over what is there, key by key: comments stay.
    let text = "[part.fuse] # F1\nkind = \"fuse\" # glass\nrating = \"1 A\"\n";
    let put = put(text, "part.fuse", "{ kind = \"fuse\", speed = \"T\" }").unwrap();
    assert_eq!(put, "[part.fuse] # F1\nkind = \"fuse\" # glass\nspeed = \"T\"\n");
}

#[test]
fn sections_and_keys_come_in_the_order_of_the_schema() {
    let edits = [
        ("assume.contact", "\"5 mΩ\""),
        ("part.fuse.rating", "\"1 A\""),
        ("part.fuse.size", "\"1 x 1 x 1 mm\""),
        ("part.fuse.kind", "\"fuse\""),
        ("part.fuse.speed", "\"T\""),
        ("rail.p5.nominal", "\"5 V\""),
        ("part.inlet.kind", "\"inlet\""),
        ("wiring.wires[0].from", "\"inlet.line\""),
        ("part.fuse.basis", "\"measured\""),
    ];
    assert_eq!(
        added(&edits),
        "\n[rail]\np5 = { nominal = \"5 V\" }\n\n[part.fuse]\nkind = \"fuse\"\nrating = \"1 A\"\nspeed = \"T\"\nsize = \"1 x 1 x 1 mm\"\nbasis = \"measured\"\n\n[part.inlet]\nkind = \"inlet\"\n\n[wiring]\nwires = [\n  { from = \"inlet.line\" },\n]\n\n[assume]\ncontact = \"5 mΩ\"\n"
    );
}

#[test]
fn a_new_key_stands_under_the_equals_signs_of_its_neighbours() {
    let text = "[part.fuse]\nkind   = \"fuse\"\nrating = \"1 A\" # so far\n";
    let aligned = set(text, "part.fuse.speed", "T").unwrap();
    assert_eq!(aligned, format!("{text}speed  = \"T\"\n"));
    let long = set(text, "part.fuse.resistance", "80 mΩ").unwrap();
    assert_eq!(long, format!("{text}resistance = \"80 mΩ\"\n"));
}

#[test]
fn entries_leave_lists_neat() {
    let text = "wires = [\n  # red\n  { a = 1 }, # one\n  # black\n  { a = 2 }, # two\n  { a = 3 } # three\n]\nsockets = [\"com\", \"p5\", \"-\"] # ways\n";
    let wires = |n: usize| remove(text, &format!("wires[{n}]")).unwrap();
    assert_eq!(wires(0), text.replace("  { a = 1 }, # one\n", ""));
    // What stands directly above an entry is said of it, and would be said of another without it: it goes along. What begins
    // the list may be said of all of it, and stays.
    assert_eq!(wires(1), text.replace("  # black\n  { a = 2 }, # two\n", ""));
    assert_eq!(wires(2), text.replace("  { a = 3 } # three\n", ""));
    assert_eq!(wires(3), text);
    let socket = |n: usize| remove(text, &format!("sockets[{n}]")).unwrap();
    assert_eq!(socket(0), text.replace("\"com\", ", ""));
    assert_eq!(socket(1), text.replace("\"p5\", ", ""));
    assert_eq!(socket(2), text.replace(", \"-\"", ""));
    let once_more = append(&wires(2), "wires", "{ a = 4 }").unwrap();
    assert_eq!(once_more, text.replace("{ a = 3 } # three", "{ a = 4 },"));
    let behind = append(text, "wires", "{ a = 4 }").unwrap();
    assert_eq!(behind, text.replace("{ a = 3 } # three\n", "{ a = 3 }, # three\n  { a = 4 },\n"));
    assert_eq!(
        remove("[[found]]\nwhat = \"a\" # a\n\n[[found]]\nwhat = \"b\" # b\n", "found[0]").unwrap(),
        "[[found]]\nwhat = \"b\" # b\n"
    );
    // Without its wires the wiring is nothing, but with a comment it stays.
    assert_eq!(
        remove("format = 1\n\n[wiring]\nwires = [\n  { a = 1 },\n]\n", "wiring.wires[0]").unwrap(),
        "format = 1\n"
    );
    let noted = "[wiring] # of 1983\nwires = [{ a = 1 }]\n";
    assert_eq!(remove(noted, "wiring.wires[0]").unwrap(), "[wiring] # of 1983\n");
}

#[test]
fn a_comment_directly_above_an_entry_goes_with_it_and_one_that_stands_apart_stays() {
    let found = "# --- found ---\n\n# seen by Mary\n# on Monday\n[[found]]\nwhat = \"a\"\n\n# by John\n[[found]]\nwhat = \"b\"\n";
    assert_eq!(remove(found, "found[0]").unwrap(), "# --- found ---\n\n# by John\n[[found]]\nwhat = \"b\"\n");
    assert_eq!(
        remove(found, "found[1]").unwrap(),
        "# --- found ---\n\n# seen by Mary\n# on Monday\n[[found]]\nwhat = \"a\"\n"
    );
    let loads = "[load.a]\nname = \"A\"\n\n# the lamp\n[load.b]\nname = \"B\"\n";
    assert_eq!(remove(loads, "load.b").unwrap(), "[load.a]\nname = \"A\"\n");
    // What heads a file stays, and so does what heads a table, and what is said of a plain value.
    let rails =
        "# a file\n[rail]\n# all\np5 = { nominal = \"5 V\" }\n# thick\np12 = { nominal = \"12 V\" }\n";
    assert_eq!(remove(rails, "rail.p5").unwrap(), rails.replace("p5 = { nominal = \"5 V\" }\n", ""));
    assert_eq!(
        remove(rails, "rail.p12").unwrap(),
        rails.replace("# thick\np12 = { nominal = \"12 V\" }\n", "")
    );
    let fuse = "[part.f]\nkind = \"fuse\"\n# of 1983\nrating = \"2 A\"\n";
    assert_eq!(remove(fuse, "part.f.rating").unwrap(), fuse.replace("rating = \"2 A\"\n", ""));
}

#[test]
fn a_list_over_lines_keeps_the_comments_of_what_stays() {
    let text = "[load.b]\nsockets.j1 = [ # ways\n  \"com\", # pin 1, traced\n  \"com\",\n  \"p5\", \"p5\", # thick\n  \"p12\", \"m12\", # thin\n] # seen\n";
    let ways = |list: &str| put(text, "load.b.sockets.j1", list).unwrap();
    assert_eq!(ways("[\"com\", \"com\", \"p5\", \"p5\", \"p12\", \"-\"]"), text.replace("m12", "-"));
    assert_eq!(ways("[\"com\", \"com\", \"p5\", \"p5\", \"p12\", \"m12\"]"), text);
    assert_eq!(
        ways("[\"com\", \"com\", \"p5\", \"p12\", \"m12\"]"),
        text.replace("\"p5\", \"p5\"", "\"p5\"")
    );
    assert_eq!(
        ways("[\"com\", \"com\", \"p5\", \"p5\", \"p12\", \"m12\", \"x\"]"),
        text.replace("\"m12\"", "\"m12\", \"x\"")
    );
    assert_eq!(
        ways("[\"x\", \"com\", \"com\", \"p5\", \"p5\", \"p12\", \"m12\"]"),
        text.replace("  \"com\", # pin", "  \"x\",\n  \"com\", # pin")
    );
    for list in
        ["[\"a\"]", "[\"com\", \"b\", \"p12\", \"c\", \"d\"]", "[\"m12\", \"p12\", \"p5\", \"com\"]", "[]"]
    {
        let tree = ways(list);
        let held = value::Value::of(&Tree::of(&tree).unwrap());
        assert_eq!(held.at(&steps("load.b.sockets.j1").unwrap()), value::Value::of_literal(list).as_ref());
        assert!(tree.ends_with("] # seen\n"), "{tree}");
    }
}

#[test]
fn what_is_no_value_or_no_path_is_refused_in_words() {
    for literal in ["", "2 A", "1, 2", "[1", "\"a\"\nb = 1", "1 # one", "{ a = 1 } }", "= 1"] {
        assert_eq!(put(SHORT, "job.country", literal), Err(EditError::NoValue(literal.to_owned())));
    }
    for path in ["", ".", "job.", "wires[", "wires[x]", "wires[1]x", "[0]"] {
        assert_eq!(put(SHORT, path, "1"), Err(EditError::NoPath(path.to_owned())));
    }
    let told = put(SHORT, "job.country", "2 A").unwrap_err().to_string();
    assert!(told.starts_with("`2 A` is not a value; write it as in the file: \"2 A\" in quotes"), "{told}");
}

const EXAMPLE: &str = include_str!("../../../../examples/desk-computer/finished.toml");

#[test]
fn whatever_refers_to_a_name_follows_it() {
    let text = EXAMPLE.replace("[meter]", "[first-power]\nstages = [\"cold\", \"cold fuse open\", \"source\", \"cold board\", \"board\"]\n\n[battery.clock]\nchemistry = \"alkaline\"\nrail = \"p5\"\n\n[meter]");
    assert!(crate::read(&text).is_usable());
    for (path, name, old, new) in [
        ("load.board", "mainboard", "board", "mainboard"),
        ("load.drive-a", "drive-b", "drive-a", "drive-b"),
        ("load.board.sockets.j1", "j9", "j1", "j9"),
        ("part.supply", "new-supply", "supply", "new-supply"),
        ("part.fuse", "f1", "fuse", "f1"),
        ("part.supply.output.v1", "plus5", "v1", "plus5"),
        ("plug.p1", "p8", "p1", "p8"),
        ("rail.p5", "vcc", "p5", "vcc"),
        ("battery.clock", "cell", "clock", "cell"),
        ("old-supply.part.bridge", "bridge-1", "bridge", "bridge-1"),
    ] {
        let Renamed { text: renamed, places } = rename(&text, path, name).unwrap();
        assert_eq!(places, words(&text, old) - kept(path), "{path}");
        let reading = crate::read(&renamed);
        assert_eq!(reading.diagnostics, [], "{path}");
        assert_eq!(words(&renamed, new), words(&text, old) - kept(path), "{path}");
        assert_eq!(words(&renamed, old), kept(path), "{path}");
        let table = path.rsplit_once('.').unwrap().0;
        assert_eq!(rename(&renamed, &format!("{table}.{name}"), old).unwrap().text, text, "{path} and back");
    }
}

/// How often a name stands by itself in a text, comments left out.
fn words(text: &str, word: &str) -> usize {
    let of_name = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    let bare = text.lines().map(|l| l.split(" # ").next().unwrap_or(l)).filter(|l| !l.starts_with('#'));
    bare.flat_map(|l| l.split(move |c| !of_name(c))).filter(|w| *w == word).count()
}

/// How often the name means something else in the example: a kind, a word of a sentence.
fn kept(path: &str) -> usize {
    match path {
        "part.fuse" => 1,   // kind = "fuse"
        "part.supply" => 2, // kind = "mains supply", "old supply, primary"
        "load.board" => 2,  // "Logic board", "soot on the board"
        _ => 0,
    }
}

#[test]
fn a_rail_is_renamed_wherever_it_is_drawn_from() {
    let text = "[rail]\np5 = { nominal = \"5 V\" }\n[rail.p12]\nnominal = \"12 V\"\n[load.a]\ndraws = { p5 = { run = \"1 A\" }, p12.run = \"2 A\", p12.idle = \"1 A\" }\nsockets.j = [\"p5\", \"p12\"]\n[load.b.draws.p12]\nrun = \"p12\"\n";
    let renamed = rename(text, "rail.p12", "heads").unwrap().text;
    assert_eq!(renamed, text.replace("p12", "heads").replace("run = \"heads\"", "run = \"p12\""));
}

#[test]
fn a_name_that_cannot_be_is_refused() {
    let refused = |path: &str, name: &str| rename(EXAMPLE, path, name).unwrap_err();
    assert_eq!(refused("load.board", "fuse"), EditError::Taken("part.fuse".into()));
    assert_eq!(refused("plug.p1", "p2"), EditError::Taken("plug.p2".into()));
    assert_eq!(refused("part.supply.output.v1", "v2"), EditError::Taken("part.supply.output.v2".into()));
    for name in ["", "a b", "a.b", "com", "chassis", "cold", "\"x\"", "plåtine"] {
        assert_eq!(refused("load.board", name), EditError::NoName(name.into()));
        assert_eq!(can_be("load.*", name), Err(EditError::NoName(name.into())), "a new one neither");
    }
    assert_eq!(refused("rail.p5", "-"), EditError::NoName("-".into()));
    assert_eq!(can_be("rail.*", "-"), Err(EditError::NoName("-".into())));
    assert_eq!(can_be("rail.*", "cold"), Ok(()));
    for path in
        ["load.printer", "job.title", "load.board.draws.p5", "wiring.wires[0]", "load", "machine.case"]
    {
        assert_eq!(refused(path, "x"), EditError::NoNamed(path.into()), "{path}");
    }
    assert_eq!(rename(EXAMPLE, "load.board", "board").unwrap().text, EXAMPLE);
    // Output `in` of a converter would have the terminals of its input.
    let text =
        "format = 1\n[job]\ntitle = \"x\"\n[part.c]\nkind = \"converter\"\noutput.v1 = { volts = \"5 V\" }\n";
    assert_eq!(rename(text, "part.c.output.v1", "in"), Err(EditError::Taken("in".into())));
    assert!(rename(text, "part.c.output.v1", "out").is_ok());
    // A rail may have the name of a plug: nothing joins them.
    assert!(rename(EXAMPLE, "rail.p5", "p1").is_ok());
}
