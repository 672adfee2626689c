//! What is called otherwise by now, or stands elsewhere: never taken for gone, never done twice.

use super::*;

/// Asked for what stands at a path now, with a word of what it was; "typed" does it there and nothing else.
fn asked_at(first: &[(&str, &str)], second: &[(&str, &str)], path: &str, note: &str) -> String {
    let ask = asked(first, second);
    let [question] = &ask.questions[..] else { panic!("{ask:?}") };
    assert_eq!(question.path, path, "{ask:?}");
    assert!(question.note.contains(note), "{ask:?}");
    assert_eq!(chosen(first, &ask, "now"), alone(TEXT, first));
    chosen(first, &ask, "typed")
}

#[test]
fn a_removal_is_never_lost() {
    let remove = |at: &'static str| [("at", at), ("do", "remove")];
    let end = [("at", "wiring.wires[1]"), ("t:wiring.wires[1].to", "s.2a")];
    let note = "It was wire s.1b – s.2b (1 mm²); it is wire s.1b – s.2a (1 mm²) now.";
    let text = asked_at(&end, &remove("wiring.wires[1]"), "wiring.wires[1]", note);
    assert!(!text.contains("s.1b"), "{text}");
    for (at, now, name) in [
        ("load.board", "load.main", "main"),
        ("rail.p12", "rail.heads", "heads"),
        ("part.s", "part.s1", "s1"),
        ("plug.p1", "plug.q", "q"),
    ] {
        let rename = [("at".to_owned(), at.to_owned()), (format!("name:{at}"), name.to_owned())];
        let rename: Vec<(&str, &str)> = rename.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
        let text = asked_at(&rename, &[("at", at), ("do", "remove")], now, "It was ");
        let held: Table = text.parse().unwrap();
        assert!(super::at(&held, now).is_none() && super::at(&held, at).is_none(), "{at}: {text}");
    }
    // Both ends and all else of it are others: the person sees which one is meant.
    let all = [
        ("t:wiring.wires[1].from", "p1.2"),
        ("t:wiring.wires[1].to", "p1.3"),
        ("t:wiring.wires[1].size", ""),
    ];
    let text = asked_at(&all, &remove("wiring.wires[1]"), "wiring.wires[1]", "it is wire p1.2 – p1.3 now");
    assert!(!text.contains("p1.2"), "{text}");
}

#[test]
fn of_wires_with_the_same_ends_the_one_that_was_meant_is_taken_away() {
    let twin =
        edit::append(TEXT, "wiring.wires", "{ from = \"s.1a\", to = \"p1.1\", size = \"2 mm²\" }").unwrap();
    let newest = edit::set(&twin, "wiring.wires[0].size", "3 mm²").unwrap();
    for n in [2, 3] {
        let path = format!("wiring.wires[{n}]");
        let Merged::Ask(ask) = merge(&twin, &newest, &fields(&[("at", &path), ("do", "remove")])).unwrap()
        else {
            panic!("lost");
        };
        assert_eq!(ask.questions[0].path, path);
        assert_eq!(ask.questions[0].now, "There as it was; others in its list were changed.");
        assert_eq!(ask.questions[0].note, format!("wire s.1a – p1.1 ({} mm²).", n - 1));
        let Merged::Ask(ask) =
            merge(&twin, &newest, &fields(&[("at", &path), (&format!("t:{path}.size"), "5 mm²")])).unwrap()
        else {
            panic!("lost");
        };
        assert!(ask.kept.contains(&(format!("t:{path}.size"), "5 mm²".to_owned())), "{ask:?}");
    }
}

#[test]
fn an_emptied_field_is_never_lost() {
    let rename = [("at", "load.board"), ("name:load.board", "main")];
    let empty = [("at", "load.board"), ("t:load.board.name", "")];
    let text = asked_at(&rename, &empty, "load.main.name", "It was load board; it is load main now.");
    assert!(!text.contains("Board") && text.contains("[load.main]"), "{text}");
    let rail = [("at", "rail.p5"), ("name:rail.p5", "vcc")];
    let empty =
        [("at", "load.board"), ("t:load.board.draws.p5.basis", "x"), ("t:load.board.draws.p5.run", "")];
    let ask = asked(&rail, &empty);
    assert_eq!(ask.questions[1].path, "load.board.draws.vcc.run");
    // Both emptied it, and the other changed more.
    let both = [("at", "rail.p5"), ("t:rail.p5.harm", ""), ("t:rail.p5.nominal", "5.1 V")];
    assert_eq!(kept(&both, &[("at", "rail.p5"), ("t:rail.p5.harm", "")]), alone(TEXT, &both));
}

#[test]
fn nothing_is_put_in_twice() {
    let end = [("at", "wiring.wires[1]"), ("t:wiring.wires[1].to", "s.2a")];
    let length = [
        ("at", "wiring.wires[1]"),
        ("t:wiring.wires[1].from", "s.1b"),
        ("t:wiring.wires[1].to", "s.2b"),
        ("t:wiring.wires[1].length", "1 m"),
    ];
    let text = asked_at(&end, &length, "wiring.wires[1].length", "it is wire s.1b – s.2a (1 mm²) now");
    assert_eq!(text.matches("s.1b").count(), 1);
    assert!(text.contains("to = \"s.2a\", size = \"1 mm²\", length = \"1 m\""), "{text}");
    let rename = [("at", "load.board"), ("name:load.board", "main")];
    let draw = [("at", "load.board"), ("t:load.board.draws.p5.run", "3 A")];
    let text = asked_at(&rename, &draw, "load.main.draws.p5.run", "it is load main now");
    assert!(text.contains("run = \"3 A\"") && !text.contains("[load.board]"), "{text}");
    let more = [("at", "load.board"), ("new:load.board.sockets", "k"), ("w:load.board.sockets.*", "com com")];
    let text = asked_at(&rename, &more, "load.main.sockets.k", "it is load main now");
    assert!(text.contains("sockets.k = [\"com\", \"com\"]") && !text.contains("[load.board]"), "{text}");
}

#[test]
fn a_section_that_is_gone_is_put_in_again_as_a_whole() {
    let base = edit::set(TEXT, "machine.maker", "Larkfield").unwrap();
    let base = edit::set(&base, "machine.case.vents", "60 cm²").unwrap();
    let form =
        fields(&[("at", "machine"), ("t:machine.maker", "Larkfield"), ("t:machine.case.vents", "61 cm²")]);
    let Merged::Ask(ask) = merge(&base, TEXT, &form).unwrap() else { panic!("not asked") };
    assert_eq!((ask.questions.len(), ask.questions[0].path.as_str()), (1, "machine"));
    assert_eq!(ask.questions[0].fields, ["t:machine.maker", "t:machine.case.vents"]);
    assert!(ask.kept.contains(&("t:machine.maker".into(), "Larkfield".into())), "{ask:?}");
}

#[test]
fn what_a_value_refers_to_is_asked_for_if_it_means_something_else_by_now() {
    // The names of two rails are exchanged in the text.
    let swapped =
        TEXT.replace("p5 = { nominal", "pp = { nominal").replace("p12 = { nominal", "p5 = { nominal");
    let swapped = swapped.replace("pp = { nominal", "p12 = { nominal");
    let lamp = fields(&[
        ("at", "load.*"),
        ("new:load", "lamp"),
        ("new:load.*.draws", "p5"),
        ("t:load.*.draws.*.run", "1 A"),
    ]);
    let Merged::Ask(ask) = merge(TEXT, &swapped, &lamp).unwrap() else { panic!("not asked") };
    assert!(
        ask.questions[0].note.starts_with("rail p5 is not what it was: rail p5: nominal 12 V instead of 5 V")
    );
    // The ways of a socket shift under a wire to its plug.
    let ways = [("at", "load.board"), ("w:load.board.sockets.j", "p5 com p12")];
    let wire =
        [("at", "wiring.wires[3]"), ("t:wiring.wires[3].from", "s.1b"), ("t:wiring.wires[3].to", "p1.1")];
    let ask = asked(&ways, &wire);
    assert!(ask.questions[0].note.contains("load board sockets j is not what it was"), "{ask:?}");
    assert!(chosen(&ways, &ask, "typed").contains("{ from = \"s.1b\", to = \"p1.1\" }"));
    // Another name of the rail; and what is no part of what is referred to.
    let rename = [("at", "rail.p12"), ("name:rail.p12", "heads")];
    let draw = [("at", "load.board"), ("new:load.board.draws", "p12"), ("t:load.board.draws.*.run", "1 A")];
    let ask = asked(&rename, &draw);
    assert!(ask.questions[0].note.contains("or is called rail heads now"), "{ask:?}");
    assert_eq!(chosen(&rename, &ask, "now"), alone(TEXT, &rename));
    let harm = [("at", "rail.p5"), ("t:rail.p5.harm", "0..7 V")];
    assert!(
        kept(&harm, &[("at", "battery.*"), ("new:battery", "cell"), ("t:battery.*.rail", "p5")])
            .contains("[battery.cell]")
    );
}
