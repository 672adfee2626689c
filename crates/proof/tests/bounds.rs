//! A proof within bounds is the same proof, or none with the reason.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::sync::atomic::AtomicBool;
use voltwright_proof::bounds::{Bounds, Unproved};
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;

fn text(example: &str) -> String {
    std::fs::read_to_string(format!("{}/../../examples/{example}.toml", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

const EXAMPLES: [&str; 3] = ["desk-computer/first-draft", "synthesizer-rack/finished", "plotter/finished"];

#[test]
fn with_room_it_is_the_same_proof() {
    for example in EXAMPLES {
        let reading = voltwright_job::read(&text(example));
        let whole = Proof::of(Setup::new(&reading.job).unwrap(), 2);
        let stop = AtomicBool::new(false);
        let within = Proof::within(&reading.job, 2, Bounds { stop: &stop, room: 1 << 30 }).unwrap();
        assert_eq!((&within.plan, within.points), (&whole.plan, whole.points), "{example}");
        assert!(within.weight() < 64 << 20, "{example}: {}", within.weight());
    }
}

#[test]
fn it_ends_when_it_is_told_to() {
    let reading = voltwright_job::read(&text(EXAMPLES[0]));
    let stop = AtomicBool::new(true);
    let none = Proof::within(&reading.job, 2, Bounds { stop: &stop, room: 1 << 30 });
    assert_eq!(none.err(), Some(Unproved::Stopped));
}

#[test]
fn what_has_no_room_is_told_with_its_numbers() {
    for example in EXAMPLES {
        let reading = voltwright_job::read(&text(example));
        let stop = AtomicBool::new(false);
        let readings = Setup::new(&reading.job).unwrap().readings.len();
        assert!(2 * Setup::expects(&reading.job) > readings, "{example}: far too few are expected");
        // Too little for the readings, told before anything is made ready; enough for them, but not for all mistakes.
        for room in [1000, 700 * readings] {
            match Proof::within(&reading.job, 2, Bounds { stop: &stop, room }) {
                Err(Unproved::TooLarge { readings, .. }) => assert!(readings > 100, "{example}"),
                Err(why) => panic!("{example}: {why}"),
                Ok(proof) => {
                    assert!(proof.classes.len() * proof.setup.readings.len() / 4 < room, "{example}")
                }
            }
        }
    }
}
