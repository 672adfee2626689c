//! The main example: read whole, edited in place, described by the schema.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::BTreeSet;
use voltwright_job::document::*;
use voltwright_job::inputs::Si;
use voltwright_job::{Diagnostic, edit, read, schema::schema};

const EXAMPLE: &str = include_str!("../../../examples/desk-computer/finished.toml");
const EVERY_KEY: &str = include_str!("../../../suite/every-key.toml");

fn job(text: &str) -> Job {
    let reading = read(text);
    assert_eq!(reading.diagnostics, Vec::<Diagnostic>::new());
    reading.job
}

#[test]
fn the_example_is_read_whole() {
    let job = job(EXAMPLE);
    let lines = |start: &str| EXAMPLE.lines().filter(|l| l.trim_start().starts_with(start)).count();
    assert_eq!((job.rails.len(), job.loads.len()), (EXAMPLE.matches("nominal = ").count(), lines("[load.")));
    assert_eq!((job.parts.len(), job.plugs.len()), (lines("[part."), lines("[plug.")));
    assert_eq!(job.wires.len(), lines("{ from"));
    assert!(job.wires.len() > 20 && job.rails.len() > 3, "the example is not what it was");
    assert_eq!(job.loads.iter().map(|l| l.draws.len()).sum::<usize>(), lines("draws."));
    assert_eq!(job.loads.iter().map(|l| l.sockets.len()).sum::<usize>(), lines("sockets."));
    assert_eq!((job.found.len(), job.batteries.len()), (lines("[[found]]"), lines("[battery.")));
    let old = job.old_supply.as_ref().unwrap();
    assert_eq!((old.parts.len(), old.outputs.len()), (2, 3));
    assert_eq!(job.loads[0].order.len(), 1);
    assert!(job.plugs.iter().all(|p| p.mates.is_some()));
    assert_eq!(job.plugs[0].twin, Some(1));
    let PartKind::MainsSupply(supply) = &job.parts[job.part("supply").unwrap()].kind else {
        panic!("no supply")
    };
    assert_eq!((supply.outputs.len(), supply.joined.len()), (3, 3));
}

#[test]
fn a_broken_example_still_shows_its_good_half() {
    let text = edit::set(EXAMPLE, "part.fuse.rating", "1.25 V").unwrap();
    let reading = read(&text);
    assert_eq!(reading.diagnostics.len(), 1, "{:#?}", reading.diagnostics);
    assert_eq!(&text[reading.diagnostics[0].span.clone()], "V");
    // The fuse and its two wires are left out, all else is there.
    let whole = job(EXAMPLE);
    assert_eq!(reading.job.parts.len() + 1, whole.parts.len());
    assert_eq!(reading.job.wires.len() + 2, whole.wires.len());
    assert_eq!(reading.job.loads.len(), whole.loads.len());
}

/// Every quoted value of a text with the path that leads to it, in the words of [`edit`].
fn quoted(text: &str) -> Vec<(String, String)> {
    fn below(path: &str, value: &toml::Value, into: &mut Vec<(String, String)>) {
        match value {
            toml::Value::String(s) => into.push((path.to_owned(), s.clone())),
            toml::Value::Array(list) => {
                list.iter().enumerate().for_each(|(i, v)| below(&format!("{path}[{i}]"), v, into));
            }
            toml::Value::Table(table) => {
                for (key, v) in table {
                    below(&if path.is_empty() { key.clone() } else { format!("{path}.{key}") }, v, into);
                }
            }
            _ => {}
        }
    }
    let mut all = Vec::new();
    below("", &toml::Value::Table(text.parse().unwrap()), &mut all);
    all
}

#[test]
fn an_edit_changes_the_bytes_of_its_value_and_no_others() {
    let windows = EXAMPLE.replace('\n', "\r\n");
    let marked = format!("\u{feff}{EXAMPLE}");
    for (text, step) in [(EXAMPLE, 1), (EVERY_KEY, 1), (&windows, 7), (&marked, 7)] {
        let all = quoted(text.trim_start_matches('\u{feff}'));
        assert!(all.len() > 130, "only {} values", all.len());
        for (path, value) in all.into_iter().step_by(step) {
            assert_eq!(edit::set(text, &path, &value).unwrap(), text, "{path} to itself");
            let new = "47 \"kΩ\" \\";
            let changed = edit::set(text, &path, new).unwrap();
            let before = text.bytes().zip(changed.bytes()).take_while(|(a, b)| a == b).count();
            let after = text.bytes().rev().zip(changed.bytes().rev()).take_while(|(a, b)| a == b).count();
            let touched = text.len().saturating_sub(before + after);
            assert!(touched <= value.len() + 2, "{path}: {touched} bytes are touched for {value:?}");
            assert!(
                quoted(changed.trim_start_matches('\u{feff}')).contains(&(path.clone(), new.to_owned())),
                "{path}"
            );
            assert_eq!(edit::set(&changed, &path, &value).unwrap(), text, "{path} back again");
        }
    }
}

#[test]
fn an_added_key_can_be_taken_out_again() {
    let windows = EXAMPLE.replace('\n', "\r\n");
    let marked = format!("\u{feff}{EXAMPLE}");
    for text in [EXAMPLE, &windows, &marked] {
        for path in [
            "job.mains",
            "meter.ac-volts",
            "part.supply.power-factor",
            "load.board.draws.p5.idle",
            "wiring.wires[3].insulation",
            "old-supply.winding-power",
            "machine.case.fan",
        ] {
            let added = edit::set(text, path, "1 V").unwrap();
            assert_ne!(added, text);
            assert!(
                quoted(added.trim_start_matches('\u{feff}')).contains(&(path.to_owned(), "1 V".to_owned())),
                "{path}"
            );
            assert_eq!(
                added.lines().filter(|l| !text.contains(l)).count(),
                1,
                "{path} changes one line only"
            );
            assert_eq!(edit::remove(&added, path).unwrap(), text, "{path} taken out again");
        }
    }
}

#[test]
fn edits_of_what_is_not_there_are_said_or_change_nothing() {
    assert_eq!(edit::remove(EXAMPLE, "load.board.draws.p7").unwrap(), EXAMPLE);
    assert_eq!(edit::remove(EXAMPLE, "load.board.sockets.j1[99]").unwrap(), EXAMPLE);
    assert!(edit::set(EXAMPLE, "load.board.sockets.j1[99]", "com").is_err());
    assert!(edit::set(EXAMPLE, "wiring.wires[99].length", "1 m").is_err());
    assert!(edit::set(EXAMPLE, "job.title.x", "1 m").is_err());
}

/// Whether a schema lets a value stand: as much of JSON Schema as ours uses.
fn allows(schema: &serde_json::Value, value: &toml::Value, path: &str) -> Result<(), String> {
    if let Some(words) = schema.get("enum").and_then(|w| w.as_array()) {
        let one = value.as_str().is_some_and(|s| words.iter().any(|w| w.as_str() == Some(s)));
        return if one { Ok(()) } else { Err(format!("{path}: {value:?} is none of {words:?}")) };
    }
    if let Some(any) = schema.get("anyOf").and_then(|a| a.as_array()) {
        return if any.iter().any(|s| allows(s, value, path).is_ok()) {
            Ok(())
        } else {
            Err(format!("{path}: no form fits"))
        };
    }
    let kind = match value {
        toml::Value::String(_) => "string",
        toml::Value::Integer(_) => "integer",
        toml::Value::Boolean(_) => "boolean",
        toml::Value::Array(_) => "array",
        toml::Value::Table(_) => "object",
        _ => "other",
    };
    if schema.get("type").is_some_and(|t| t != kind) {
        return Err(format!("{path}: {kind} instead of {}", schema["type"]));
    }
    if let (Some(list), Some(items)) = (value.as_array(), schema.get("items")) {
        list.iter().enumerate().try_for_each(|(i, v)| allows(items, v, &format!("{path}[{i}]")))?;
    }
    value.as_table().map_or(Ok(()), |table| allows_table(schema, table, path))
}

fn allows_table(schema: &serde_json::Value, table: &toml::Table, path: &str) -> Result<(), String> {
    // Where the keys depend on the kind, the branch of that kind is what holds.
    if let Some(branches) = schema.get("allOf").and_then(|a| a.as_array()) {
        let kind = table.get("kind").and_then(|k| k.as_str()).unwrap_or("");
        let of_kind = branches.iter().find(|b| b["if"]["properties"]["kind"]["const"] == kind);
        let branch = of_kind.ok_or_else(|| format!("{path}: no branch for {kind}"))?;
        return allows_table(&branch["then"], table, path);
    }
    for required in schema["required"].as_array().into_iter().flatten() {
        let name = required.as_str().unwrap();
        if !table.contains_key(name) {
            return Err(format!("{path}: {name} is missing"));
        }
    }
    for (key, value) in table {
        let path = format!("{path}.{key}");
        let property = schema.get("properties").and_then(|p| p.get(key));
        match (property, &schema["additionalProperties"]) {
            (Some(property), _) => allows(property, value, &path)?,
            (None, serde_json::Value::Bool(false)) => return Err(format!("{path}: is not in the schema")),
            (None, named) => allows(named, value, &path)?,
        }
    }
    Ok(())
}

#[test]
fn the_schema_holds_what_the_reader_reads() {
    let schema = schema();
    for text in [EXAMPLE, EVERY_KEY] {
        let table: toml::Table = text.parse().unwrap();
        assert_eq!(allows_table(&schema, &table, ""), Ok(()));
    }
    // And it refuses what the reader refuses.
    for (good, bad) in [
        ("tolerance = \"5 %\"", "tolerence = \"5 %\""),
        ("worth = \"irreplaceable\"", "worth = \"cheap\""),
        ("made  = 1979", "made  = \"1979\""),
        ("rating     = \"1.25 A\"\n", ""),
        ("[wiring]", "[wires]"),
        ("kind   = \"switch\"", "kind   = \"fuse\"\nrating = \"1 A\""),
    ] {
        assert!(EVERY_KEY.contains(good), "{good}");
        let text = EVERY_KEY.replacen(good, bad, 1);
        let table: toml::Table = text.parse().unwrap();
        assert!(allows_table(&schema, &table, "").is_err(), "{bad} is let through");
        assert!(!read(&text).is_usable());
    }
}

#[test]
fn inputs_are_numbered_once_and_can_be_moved_there_and_back() {
    for text in [EXAMPLE, EVERY_KEY] {
        let mut job = job(text);
        let count = job.inputs().len();
        assert!(count > 40 && job.spreads.len() == count);
        let places: Vec<(String, usize)> =
            job.inputs().iter().map(|i| (i.place().path.clone(), i.place().line)).collect();
        assert_eq!(places.iter().collect::<BTreeSet<_>>().len(), count, "an input stands there twice");
        assert!(places.iter().all(|(path, _)| !path.is_empty()));
        let before = job.spreads.clone();
        for id in 0..count {
            let to = Si { nominal: 3.0, low: 2.0, high: 4.0 };
            job.move_input(id, to);
            let now: Vec<Si> = job.inputs().iter().map(|i| i.si()).collect();
            for (other, si) in now.iter().enumerate() {
                assert_eq!(
                    *si,
                    if other == id { to } else { before[other] },
                    "{:?} moves {:?}",
                    places[id],
                    places[other]
                );
            }
            assert_eq!(job.spreads, now);
            job.move_input(id, before[id]);
        }
        assert_eq!(job.spreads, before);
        job.move_input(count, Si { nominal: 1.0, low: 1.0, high: 1.0 });
        assert_eq!(job.spreads, before);
    }
}

#[test]
fn numbers_of_inputs_agree_with_their_places() {
    let mut job = job(EXAMPLE);
    let length = job.wires[4].length.clone();
    let run = job.loads[0].draws[1].run.clone();
    let inputs = job.inputs();
    assert_eq!(inputs[length.id].place(), &length.place);
    assert_eq!(inputs[run.id].place(), &run.place);
    assert_eq!(run.place.path, "load.board.draws.p12.run");
    assert_eq!(length.place.path, "wiring.wires[4].length");
    let line = EXAMPLE.lines().nth(run.place.line - 1).unwrap();
    assert!(line.starts_with("draws.p12") && line.contains(&run.place.text), "{line}");
}
