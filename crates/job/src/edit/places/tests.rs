//! Places in a text and the paths they belong to.

use super::*;
use crate::edit::put;

const EXAMPLE: &str = include_str!("../../../../../examples/desk-computer/finished.toml");

const TEXT: &str = "\u{feff}[rail]\r
p5 = { nominal = \"5 V\" } # logic\r
\r
[load.board]\r
draws.p5.run = \"2 A\"\r
sockets.j = [\"com\", \"p5\"]\r
[[found]]\r
what = 'soot'\r
[[found]]\r
what = \"dust\"\r
";

/// The path of where a part of the text stands first.
fn path(part: &str) -> Option<String> {
    let at = TEXT.find(part).unwrap();
    Places::of(TEXT).unwrap().path(&(at..at + part.len())).map(str::to_owned)
}

#[test]
fn a_place_belongs_to_the_smallest_thing_around_it() {
    for (part, wanted) in [
        ("5 V", "rail.p5.nominal"),
        ("nominal", "rail.p5.nominal"),
        ("{ nominal = \"5 V\" }", "rail.p5"),
        ("p5 =", "rail.p5"),
        ("[rail]", "rail"),
        ("load", "load.board"),
        ("draws", "load.board.draws"),
        ("p5.run", "load.board.draws.p5.run"),
        ("2 A", "load.board.draws.p5.run"),
        ("com", "load.board.sockets.j[0]"),
        ("\"com\", \"p5\"", "load.board.sockets.j"),
        ("soot", "found[0].what"),
        ("dust", "found[1].what"),
    ] {
        assert_eq!(path(part).as_deref(), Some(wanted), "{part}");
    }
    assert_eq!(path("# logic"), None, "a comment belongs to nothing");
    assert!(Places::of("a = [").is_err());
}

#[test]
fn every_value_of_the_example_is_found_at_its_path_and_the_path_at_its_place() {
    let places = Places::of(EXAMPLE).unwrap();
    assert!(places.values.len() > 300, "{}", places.values.len());
    for (at, span) in &places.values {
        assert_eq!(places.span(at), Some(span.clone()));
        assert_eq!(places.path(span), Some(at.as_str()));
        // An editor of its own finds the same value there: to put it where it stands changes nothing.
        let literal = &EXAMPLE[span.clone()];
        if !literal.contains(['\n', '#']) {
            assert_eq!(put(EXAMPLE, at, literal).unwrap(), EXAMPLE, "{at}");
        }
    }
}
