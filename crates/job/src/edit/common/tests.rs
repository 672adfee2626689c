//! What is the same in two texts.

use super::*;
use crate::edit::{put, remove, rename};

const EXAMPLE: &str = include_str!("../../../../../examples/desk-computer/finished.toml");

fn now(new: &str, path: &str) -> Option<String> {
    Common::of(EXAMPLE, new).unwrap().now(path)
}

#[test]
fn a_value_that_was_changed_or_taken_away_is_changed_and_its_neighbours_are_not() {
    let changed = put(EXAMPLE, "rail.p5.nominal", "\"5.1 V\"").unwrap();
    assert_eq!(now(&changed, "rail.p5.nominal"), None);
    assert_eq!(now(&changed, "rail.p5"), None);
    assert_eq!(now(&changed, "rail.p5.harm").as_deref(), Some("rail.p5.harm"));
    assert_eq!(now(&changed, "rail.p24.nominal").as_deref(), Some("rail.p24.nominal"), "not there in both");
    let gone = remove(EXAMPLE, "part.fuse").unwrap();
    assert_eq!(now(&gone, "part.fuse.rating"), None);
    assert_eq!(now(&gone, "part.fuse.melting"), None, "what it would be added to is gone");
    assert!(Common::of(EXAMPLE, &gone).unwrap().is_gone("part.fuse"));
    let renamed = rename(EXAMPLE, "part.fuse", "f1").unwrap().text;
    assert_eq!(now(&renamed, "part.fuse.rating"), None);
    assert_eq!(now(&renamed, "part.inlet.kind").as_deref(), Some("part.inlet.kind"));
}

#[test]
fn a_value_that_was_written_in_another_way_is_the_same() {
    let other = EXAMPLE.replace("\"board.j1\"", "'board.j1' # as found");
    assert_ne!(other, EXAMPLE);
    let common = Common::of(EXAMPLE, &other).unwrap();
    assert!(common.is_same());
    assert_eq!(common.now("plug.p1.mates").as_deref(), Some("plug.p1.mates"));
    assert!(common.stands("plug.p1.mates", Some("'board.j1'")));
    assert!(!common.stands("plug.p1.mates", None));
}

#[test]
fn an_entry_of_a_list_is_the_same_if_nothing_before_it_was_changed() {
    let changed = put(EXAMPLE, "wiring.wires[3].length", "\"1 m\"").unwrap();
    assert_eq!(now(&changed, "wiring.wires[2].length").as_deref(), Some("wiring.wires[2].length"));
    assert_eq!(now(&changed, "wiring.wires[3].colour"), None);
    assert_eq!(now(&changed, "wiring.wires[4].length"), None);
    let common = Common::of(EXAMPLE, &changed).unwrap();
    let place = common.place("wiring.wires[4].length");
    assert_eq!(place.moved, [("wiring.wires[4]".into(), "wiring.wires[4]".into())]);
    assert!(!place.is_gone);
    assert_eq!(common.place("wiring.wires[2].length").moved, []);
}

#[test]
fn an_entry_that_has_moved_is_found_by_its_ends_and_one_that_is_gone_is_not() {
    let count = entries(Common::of(EXAMPLE, EXAMPLE).unwrap().old.at(&steps("wiring.wires").unwrap())).len();
    let gone = remove(EXAMPLE, "wiring.wires[3]").unwrap();
    let gone = put(&gone, "wiring.wires[4].length", "\"9 m\"").unwrap();
    let common = Common::of(EXAMPLE, &gone).unwrap();
    let place = common.place("wiring.wires[5].colour");
    assert_eq!((place.path.as_str(), place.is_gone), ("wiring.wires[4].colour", false));
    let place = common.place("wiring.wires[3]");
    assert_eq!((place.path, place.is_gone), (format!("wiring.wires[{}]", count - 1), true));
    assert_eq!(common.now("wiring.wires[2].colour").as_deref(), Some("wiring.wires[2].colour"));
}

#[test]
fn what_is_added_in_both_goes_one_behind_the_other() {
    let count = entries(Common::of(EXAMPLE, EXAMPLE).unwrap().old.at(&steps("wiring.wires").unwrap())).len();
    let fresh = format!("wiring.wires[{count}]");
    let more = put(EXAMPLE, &fresh, "{ from = \"a.1\", to = \"b.1\" }").unwrap();
    assert_eq!(now(&more, &format!("{fresh}.from")), Some(format!("wiring.wires[{}].from", count + 1)));
    assert_eq!(now(EXAMPLE, &format!("{fresh}.from")), Some(format!("{fresh}.from")));
}

#[test]
fn what_is_called_otherwise_is_not_gone() {
    let at = |text: &str, path: &str| {
        let place = Common::of(EXAMPLE, text).unwrap().place(path);
        (place.path, place.moved.len(), place.is_gone)
    };
    // Another end, then both ends.
    let other = put(EXAMPLE, "wiring.wires[2].to", "\"supply.neutral\"").unwrap();
    assert_eq!(at(&other, "wiring.wires[2]"), ("wiring.wires[2]".into(), 1, false));
    let both = put(&other, "wiring.wires[2].from", "\"switch.2b\"").unwrap();
    assert_eq!(at(&both, "wiring.wires[2].length"), ("wiring.wires[2].length".into(), 1, false));
    assert!(at(&remove(EXAMPLE, "wiring.wires[2]").unwrap(), "wiring.wires[2]").2);
    // Another name, within which another name.
    let renamed = rename(EXAMPLE, "load.board", "main").unwrap().text;
    let renamed = rename(&renamed, "rail.p5", "vcc").unwrap().text;
    assert_eq!(at(&renamed, "load.board.draws.p5.run"), ("load.main.draws.vcc.run".into(), 2, false));
    assert_eq!(at(&renamed, "load.board.nothing"), ("load.main.nothing".into(), 1, false));
    assert!(at(&remove(EXAMPLE, "load.board").unwrap(), "load.board").2);
}

#[test]
fn of_two_wires_with_the_same_ends_each_is_itself() {
    let twins = "[wiring]\nwires = [\n  { from = \"a.1\", to = \"b.1\" },\n  { from = \"c.1\", to = \"d.1\", length = \"1 m\" },\n  { from = \"c.1\", to = \"d.1\", length = \"2 m\" },\n]\n";
    let place = |new: &str, path: &str| Common::of(twins, new).unwrap().place(path);
    let edited = put(twins, "wiring.wires[0].length", "\"1 m\"").unwrap();
    assert_eq!(place(&edited, "wiring.wires[1]").path, "wiring.wires[1]");
    assert_eq!(place(&edited, "wiring.wires[2]").path, "wiring.wires[2]");
    let first_gone = remove(twins, "wiring.wires[1]").unwrap();
    assert!(place(&first_gone, "wiring.wires[1]").is_gone);
    assert_eq!(place(&first_gone, "wiring.wires[2].length").path, "wiring.wires[1].length");
}
