//! Two forms upon one revision.

mod named;
mod pairs;

use super::super::apply::at;
use super::super::notes::is_within;
use super::*;
use voltwright_job::changes::changes;
use voltwright_job::edit;

const TEXT: &str = "format = 1 # kept

[job]
title = \"x\"
country = \"IE\"

[rail]
p5 = { nominal = \"5 V\", harm = \"-0.5..7 V\" } # logic
p12 = { nominal = \"12 V\" }

[load.board]
name = \"Board\"
draws.p5 = { run = \"2 A\" }
sockets.j = [\"com\", \"p5\", \"p12\"]

[part.s]
kind = \"switch\"
poles = 2

[plug.p1]
mates = \"board.j\"

[wiring]
wires = [
  { from = \"s.1a\", to = \"s.2a\", size = \"1 mm²\" },
  { from = \"s.1b\", to = \"s.2b\", size = \"1 mm²\" }, # second
  { from = \"s.1a\", to = \"p1.1\", size = \"1 mm²\" },
]
";

type Form = Vec<(&'static str, &'static str)>;

fn fields(all: &[(&str, &str)]) -> Fields {
    all.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
}

fn alone(text: &str, form: &[(&str, &str)]) -> String {
    super::super::apply::apply(text, &fields(form)).unwrap()
}

/// What a form comes to after another was saved upon the same revision.
fn after(first: &[(&str, &str)], second: &[(&str, &str)]) -> Merged {
    merge(TEXT, &alone(TEXT, first), &fields(second)).unwrap()
}

fn kept(first: &[(&str, &str)], second: &[(&str, &str)]) -> String {
    match after(first, second) {
        Merged::Text(done, _) => done.text,
        other => panic!("{first:?}, then {second:?}: {other:?}"),
    }
}

fn asked(first: &[(&str, &str)], second: &[(&str, &str)]) -> Ask {
    match after(first, second) {
        Merged::Ask(ask) => ask,
        other => panic!("{first:?}, then {second:?}: {other:?}"),
    }
}

/// The text after all questions were answered in one way.
fn chosen(first: &[(&str, &str)], ask: &Ask, choice: &str) -> String {
    let newest = alone(TEXT, first);
    let mut sent = ask.kept.clone();
    for (n, question) in ask.questions.iter().enumerate() {
        sent.push((format!("keep:{n}"), choice.to_owned()));
        sent.extend(question.fields.iter().map(|field| (format!("of:{n}"), field.clone())));
    }
    match merge(&newest, &newest, &answered(sent)).unwrap() {
        Merged::Text(done, _) => done.text,
        other => panic!("{other:?}"),
    }
}

/// Forms that each change one key or thing, as they are sent: with all that they show.
fn forms() -> Vec<Form> {
    vec![
        vec![("at", "job"), ("t:job.title", "y"), ("t:job.country", "IE")],
        vec![("at", "job"), ("t:job.title", "x"), ("t:job.country", "DE")],
        vec![("at", "job"), ("t:job.title", "x"), ("t:job.country", "")],
        vec![("at", "rail.p5"), ("t:rail.p5.nominal", "5.1 V"), ("t:rail.p5.harm", "-0.5..7 V")],
        vec![("at", "rail.p5"), ("t:rail.p5.nominal", "5 V"), ("t:rail.p5.harm", "0..6 V")],
        vec![
            ("at", "rail.p5"),
            ("t:rail.p5.nominal", "5 V"),
            ("t:rail.p5.harm", "-0.5..7 V"),
            ("t:rail.p5.tolerance", "5 %"),
        ],
        vec![("at", "rail.p5"), ("t:rail.p5.nominal", "5.2 V")],
        vec![("at", "rail.p12"), ("t:rail.p12.nominal", "12.5 V")],
        vec![("at", "rail.*"), ("new:rail", "m5"), ("t:rail.*.nominal", "-5 V")],
        vec![
            ("at", "load.board"),
            ("t:load.board.draws.p5.run", "3 A"),
            ("w:load.board.sockets.j", "com p5 p12"),
        ],
        vec![
            ("at", "load.board"),
            ("t:load.board.draws.p5.run", "2 A"),
            ("w:load.board.sockets.j", "com p5 p5"),
        ],
        vec![
            ("at", "load.board"),
            ("t:load.board.draws.p5.basis", "guess"),
            ("w:load.board.sockets.j", "com p5 p12"),
        ],
        vec![("at", "load.board"), ("t:load.board.draws.p5.run", "4 A")],
        vec![("at", "part.s"), ("t:part.s.kind", "switch"), ("n:part.s.poles", "1")],
        vec![("at", "wiring.wires[0]"), ("t:wiring.wires[0].size", "2 mm²")],
        vec![
            ("at", "wiring.wires[2]"),
            ("t:wiring.wires[2].size", "2 mm²"),
            ("t:wiring.wires[2].to", "p1.1"),
        ],
        vec![("at", "wiring.wires[3]"), ("t:wiring.wires[3].from", "s.1b"), ("t:wiring.wires[3].to", "p1.2")],
        vec![("at", "meter"), ("t:meter.ohms", "1 %")],
    ]
}

/// The paths that a form changes, by an eye of its own: what differs between two texts as parsed values.
fn changed(form: &Form) -> Vec<String> {
    changes(TEXT, &alone(TEXT, form)).into_iter().map(|c| c.path).collect()
}

/// Whether a form refers anew to a value that another changes: sockets to a rail, a wire to the ways of a socket.
fn refers(by: &Form, to: &Form) -> bool {
    let has = |form: &Form, key: &str, value: &str| form.iter().any(|(k, v)| *k == key && *v == value);
    let other_rail = to[0].1 == "rail.p5" && changed(to).contains(&"rail.p5.nominal".to_owned());
    let other_ways = changed(to).iter().any(|path| path.starts_with("load.board.sockets.j"));
    has(by, "w:load.board.sockets.j", "com p5 p5") && other_rail
        || has(by, "t:wiring.wires[3].to", "p1.2") && other_ways
}

#[test]
fn two_edits_of_different_keys_commute_and_of_the_same_key_are_always_asked_for() {
    let forms = forms();
    let (mut both, mut same) = (0, 0);
    for (i, a) in forms.iter().enumerate() {
        assert!(!changed(a).is_empty(), "{a:?} changes nothing");
        for b in forms.iter().skip(i + 1) {
            let meet = |a: &String, b: &String| {
                is_within(a, b)
                    || is_within(b, a)
                    || (a.starts_with("wiring.wires[") && b.starts_with("wiring.wires["))
            };
            if changed(a).iter().any(|a| changed(b).iter().any(|b| meet(a, b))) {
                // A wire behind the last is another one, and one that stands before what was changed is not touched by it.
                if !a[0].1.starts_with("wiring") {
                    assert!(!asked(a, b).questions.is_empty() && !asked(b, a).questions.is_empty());
                    same += 1;
                }
                continue;
            }
            if refers(b, a) || refers(a, b) {
                let (by, to) = if refers(b, a) { (b, a) } else { (a, b) };
                assert!(asked(to, by).questions.iter().all(|q| q.note.contains("is not what it was")));
                continue;
            }
            let (one, other) = (kept(a, b), kept(b, a));
            let differ = changes(&one, &other).into_iter().filter(|c| !c.path.is_empty()).collect::<Vec<_>>();
            assert!(differ.is_empty(), "{a:?} and {b:?}: {differ:?}");
            let mut all: Vec<String> = changes(TEXT, &one).into_iter().map(|c| c.path).collect();
            let mut wanted = [changed(a), changed(b)].concat();
            all.sort();
            wanted.sort();
            assert_eq!(all, wanted, "{a:?} and {b:?}");
            assert!(one.contains("# kept") && one.contains("# logic") && one.contains("# second"));
            both += 1;
        }
    }
    assert!(both > 130 && same >= 3, "{both} pairs merged, {same} asked");
}

#[test]
fn every_key_that_both_changed_is_asked_for_and_either_answer_is_kept() {
    for (key, theirs, mine) in [
        ("t:rail.p5.nominal", "5.1 V", "5.2 V"),
        ("t:rail.p5.harm", "", "0..6 V"),
        ("t:rail.p5.harm", "0..6 V", ""),
        ("t:rail.p5.tolerance", "5 %", "10 %"),
        ("t:job.title", "y", "z"),
        ("n:part.s.poles", "1", "3"),
        ("w:load.board.sockets.j", "com", "com p5"),
        ("t:load.board.draws.p5.run", "3 A", "4 A"),
    ] {
        let path = &key[2..];
        let owner =
            path.split('.').take(if path.starts_with("job") { 1 } else { 2 }).collect::<Vec<_>>().join(".");
        let form = |value: &'static str| vec![("at", owner.as_str()), (key, value), ("t:job.country", "DE")];
        // The country is changed alike by both: that is no question.
        let (first, second) = (form(theirs), form(mine));
        let ask = asked(&first, &second);
        assert_eq!(ask.questions.len(), 1, "{ask:?}");
        let question = &ask.questions[0];
        assert_eq!(
            (question.path.as_str(), question.now.as_str(), question.typed.as_str()),
            (path, theirs, mine)
        );
        assert_eq!(chosen(&first, &ask, "now"), alone(TEXT, &first), "{key}");
        let both = changes(&chosen(&first, &ask, "typed"), &alone(TEXT, &second));
        assert!(both.iter().all(|c| c.path.is_empty()), "{key}: {both:?}");
    }
}

#[test]
fn a_field_that_shows_an_old_value_and_was_not_touched_changes_nothing() {
    let first = [("at", "rail.p5"), ("t:rail.p5.nominal", "5.1 V"), ("t:rail.p5.harm", "0..6 V")];
    let second = [
        ("at", "rail.p5"),
        ("t:rail.p5.nominal", "5 V"),
        ("t:rail.p5.harm", "-0.5..7 V"),
        ("t:rail.p5.tolerance", "5 %"),
    ];
    let text = kept(&first, &second);
    assert!(
        text.contains("p5 = { nominal = \"5.1 V\", harm = \"0..6 V\", tolerance = \"5 %\" } # logic"),
        "{text}"
    );
    // Neither does it in what is kept for an answer.
    let ask =
        asked(&first, &[("at", "rail.p5"), ("t:rail.p5.nominal", "5.2 V"), ("t:rail.p5.harm", "-0.5..7 V")]);
    assert!(chosen(&first, &ask, "typed").contains("nominal = \"5.2 V\", harm = \"0..6 V\""));
}

#[test]
fn a_wire_that_has_moved_is_asked_for_and_the_answer_is_written_where_it_stands_now() {
    let first = [("at", "wiring.wires[0]"), ("do", "remove")];
    let second =
        [("at", "wiring.wires[1]"), ("t:wiring.wires[1].from", "s.1b"), ("t:wiring.wires[1].size", "2 mm²")];
    let ask = asked(&first, &second);
    let question = &ask.questions[0];
    assert_eq!(
        (question.path.as_str(), question.now.as_str(), question.typed.as_str()),
        ("wiring.wires[0].size", "1 mm²", "2 mm²")
    );
    let text = chosen(&first, &ask, "typed");
    assert!(text.contains("{ from = \"s.1b\", to = \"s.2b\", size = \"2 mm²\" }, # second"), "{text}");
    assert!(text.contains("to = \"p1.1\", size = \"1 mm²\""), "{text}");
    assert_eq!(chosen(&first, &ask, "now"), alone(TEXT, &first));
}

#[test]
fn what_is_gone_is_put_in_again_or_left_out() {
    let first = [("at", "wiring.wires[1]"), ("do", "remove")];
    let second = [
        ("at", "wiring.wires[1]"),
        ("t:wiring.wires[1].from", "s.1b"),
        ("t:wiring.wires[1].to", "s.2b"),
        ("t:wiring.wires[1].size", "2 mm²"),
        ("t:wiring.wires[1].colour", "BU"),
    ];
    let ask = asked(&first, &second);
    assert_eq!(ask.questions.len(), 1, "one question for the whole wire: {ask:?}");
    assert_eq!(chosen(&first, &ask, "now"), alone(TEXT, &first));
    let text = chosen(&first, &ask, "typed");
    assert!(text.contains("to = \"p1.1\", size = \"1 mm²\" },\n  { from = \"s.1b\", to = \"s.2b\", size = \"2 mm²\", colour = \"BU\" },\n"), "{text}");

    let first = [("at", "rail.p12"), ("do", "remove")];
    let ask =
        asked(&first, &[("at", "rail.p12"), ("t:rail.p12.nominal", "12 V"), ("t:rail.p12.tolerance", "5 %")]);
    let text = chosen(&first, &ask, "typed");
    assert!(text.contains("p12 = { nominal = \"12 V\", tolerance = \"5 %\" }"), "{text}");
}

#[test]
fn what_was_changed_since_is_taken_away_only_if_the_person_says_so() {
    let first = [("at", "rail.p12"), ("t:rail.p12.nominal", "12.5 V")];
    let remove = [("at", "rail.p12"), ("do", "remove")];
    let ask = asked(&first, &remove);
    assert_eq!(ask.questions[0].now, "rail p12: nominal 12.5 V instead of 12 V");
    assert_eq!(chosen(&first, &ask, "now"), alone(TEXT, &first));
    assert!(!chosen(&first, &ask, "typed").contains("12.5 V"));
    // Both took it away.
    assert_eq!(kept(&remove, &remove), alone(TEXT, &remove));
    let wire = [("at", "wiring.wires[1]"), ("do", "remove")];
    assert_eq!(kept(&wire, &wire), alone(TEXT, &wire), "the wire behind it is not taken away in its place");
}

#[test]
fn another_kind_asks_for_what_it_would_take_away() {
    let first = [("at", "part.s"), ("v:part.s.rated", "4 A at 250 V AC"), ("n:part.s.poles", "2")];
    let ask = asked(&first, &[("at", "part.s"), ("t:part.s.kind", "fuse"), ("n:part.s.poles", "2")]);
    assert_eq!(ask.questions.len(), 1);
    assert!(
        ask.questions[0].typed.starts_with("fuse; takes away ") && ask.questions[0].typed.contains("rated"),
        "{ask:?}"
    );
    assert_eq!(chosen(&first, &ask, "now"), alone(TEXT, &first));
    // What is typed for a kind that it is no more is asked for.
    let other = [("at", "part.s"), ("t:part.s.kind", "fuse")];
    let ask = asked(
        &other,
        &[("at", "part.s"), ("t:part.s.kind", "switch"), ("v:part.s.rated", "4 A at 250 V AC")],
    );
    assert_eq!(ask.questions[0].path, "part.s.rated");
    assert_eq!(ask.why, None, "the kind says so, before anything is tried together");
}

#[test]
fn another_name_goes_with_other_changes_of_the_same_thing_and_not_with_another_name() {
    let rename =
        |new: &'static str| vec![("at", "rail.p5"), ("name:rail.p5", new), ("t:rail.p5.nominal", "5 V")];
    let change = vec![("at", "rail.p5"), ("t:rail.p5.nominal", "5.1 V"), ("name:rail.p5", "p5")];
    let text = kept(&change, &rename("plus5"));
    assert!(
        text.contains("plus5 = { nominal = \"5.1 V\"")
            && text.contains("sockets.j = [\"com\", \"plus5\", \"p12\"]"),
        "{text}"
    );
    let ask = asked(&rename("plus5"), &change);
    assert_eq!(ask.questions[0].path, "rail.plus5.nominal");
    assert_eq!(ask.questions[0].note, "It was rail p5; it is rail plus5 now.");
    assert!(chosen(&rename("plus5"), &ask, "typed").contains("plus5 = { nominal = \"5.1 V\""));
    assert_eq!(chosen(&rename("plus5"), &ask, "now"), alone(TEXT, &rename("plus5")));
    let ask = asked(&rename("plus5"), &rename("vcc"));
    assert_eq!(chosen(&rename("plus5"), &ask, "now"), alone(TEXT, &rename("plus5")));
    let both = fields(&[("at", "rail.p12"), ("name:rail.p12", "vcc")]);
    let taken = merge(TEXT, &alone(TEXT, &rename("vcc")), &both).unwrap_err();
    assert!(taken.field == "name:rail.p12" && taken.says.contains("`rail.vcc` is the name"), "{taken:?}");
}

#[test]
fn what_reads_by_itself_and_not_together_is_asked_for() {
    let plug = [("at", "load.board"), ("new:load.board.sockets", "k"), ("w:load.board.sockets.*", "com p5")];
    // A name that both take, each for another thing.
    let part = [("at", "part.*"), ("new:part", "twin"), ("t:part.*.kind", "switch")];
    let load = [("at", "load.*"), ("new:load", "twin"), ("t:load.*.name", "Lamp")];
    let ask = asked(&part, &load);
    assert!(ask.why.as_deref().is_some_and(|why| why.contains("twin")), "{ask:?}");
    assert_eq!(chosen(&part, &ask, "now"), alone(TEXT, &part));
    assert!(kept(&part, &plug).contains("sockets.k"));
}

#[test]
fn the_same_wrong_in_two_places_is_told_by_how_often() {
    let wrong = |text: &str, path: &str| edit::set(text, path, "nix").unwrap();
    let (mine, newest) = (wrong(TEXT, "plug.p1.twin"), wrong(TEXT, "part.s.kind"));
    let both = wrong(&mine, "part.s.kind");
    assert_eq!(falls_out(TEXT, &mine, &newest, &both), None);
    assert!(falls_out(TEXT, &mine, TEXT, &both).is_some());
    // One rail less for two who draw from it: each says the same, in its own place.
    let less = |text: &str| edit::remove(text, "rail.p12").unwrap();
    let draws = edit::set(TEXT, "load.board.sockets.k[0]", "p12").unwrap();
    assert!(falls_out(TEXT, &draws, &less(TEXT), &less(&draws)).is_some());
}

#[test]
fn a_newest_text_without_structure_is_held_against_the_whole_text() {
    let form = fields(&[("at", "job"), ("t:job.title", "y")]);
    let merged = merge(TEXT, "[job\n", &form).unwrap();
    assert_eq!(merged, Merged::Whole(edit::set(TEXT, "job.title", "y").unwrap()));
}

#[test]
fn the_same_form_sent_twice_changes_nothing_the_second_time() {
    let form =
        [("at", "wiring.wires[3]"), ("t:wiring.wires[3].from", "s.1b"), ("t:wiring.wires[3].to", "p1.2")];
    assert_eq!(kept(&form, &form), alone(TEXT, &form));
}
