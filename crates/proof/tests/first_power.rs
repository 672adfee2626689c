//! The walk through first power: it goes on only when every reading is inside or dealt with, never asks for a reading in the
//! wrong power state, and starts over after a mend.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use proptest::prop_assert;
use proptest::prop_assert_eq;
use proptest::test_runner::{TestCaseError, TestRunner};
use voltwright_job::Job;
use voltwright_proof::diagnosis::{Dictionary, diagnose};
use voltwright_proof::first_power::{Answer, Ask, Event, Power, Stop, Walk, Why};
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;

fn job() -> Job {
    common::job(&common::text("examples/desk-computer/finished.toml"))
}

fn proof(job: &Job) -> Proof<'_> {
    Proof::of(Setup::new(job).unwrap(), 2)
}

/// Does what is asked, every reading inside.
fn obey(walk: &Walk<'_, '_>) -> Option<Event> {
    match walk.ask() {
        Ask::SetUp(s) => Some(Event::Ready(s)),
        Ask::Read(r) => Some(Event::Taken(r, Answer::Inside)),
        Ask::Off(_) => Some(Event::Off),
        Ask::Discharge => Some(Event::Discharged),
        Ask::Stopped(_) => Some(Event::Mended),
        Ask::Done => None,
    }
}

fn until(walk: &mut Walk<'_, '_>, wanted: impl Fn(Ask) -> bool) {
    while !wanted(walk.ask()) {
        let event = obey(walk).unwrap_or_else(|| panic!("the end came first"));
        assert!(walk.take(event), "{event:?}");
    }
}

#[test]
fn a_sound_machine_is_walked_through_once() {
    let job = job();
    let proof = proof(&job);
    let mut walk = Walk::new(&proof);
    let mut asked = Vec::new();
    while let Some(event) = obey(&walk) {
        asked.push(walk.ask());
        assert!(walk.take(event));
    }
    assert_eq!(asked.len() + 1, walk.steps().len());
    let readings: Vec<usize> =
        asked.iter().filter_map(|a| if let Ask::Read(r) = a { Some(*r) } else { None }).collect();
    assert_eq!(readings, proof.asked);
    assert_eq!((walk.power(), walk.mends(), walk.left_unseen().len()), (Power::Off, 0, 0));
}

#[test]
fn a_wrong_reading_stops_and_only_what_deals_with_it_goes_on() {
    let job = job();
    let proof = proof(&job);
    let mut walk = Walk::new(&proof);
    until(&mut walk, |ask| matches!(ask, Ask::Read(_)));
    let Ask::Read(reading) = walk.ask() else { panic!() };
    assert!(walk.take(Event::Taken(reading, Answer::High)));
    let stopped = Ask::Stopped(Stop { reading, why: Why::High });
    assert_eq!(walk.ask(), stopped);
    assert!(!walk.take(Event::Ready(0)) && !walk.take(Event::Off));
    assert_eq!(walk.ask(), stopped);
    // Measured again and inside, it goes on.
    let mut again = walk.clone();
    assert!(again.take(Event::Taken(reading, Answer::Inside)));
    assert_eq!(again.ask(), again.steps()[2]);
    // Overruled, it goes on, and what was not seen is known.
    let unseen = walk.unseen_without(reading);
    let mut overruled = walk.clone();
    assert!(overruled.take(Event::Overruled));
    assert_eq!((overruled.ask(), overruled.gaps()), (again.ask(), [reading].as_slice()));
    assert_eq!(overruled.left_unseen(), unseen);
    // Mended, everything is measured again.
    assert!(walk.take(Event::Mended));
    assert_eq!((walk.ask(), walk.taken().len(), walk.mends()), (Ask::SetUp(0), 0, 1));
}

#[test]
fn each_reading_of_the_plan_is_needed_for_something() {
    let job = job();
    let proof = proof(&job);
    let walk = Walk::new(&proof);
    for reading in &proof.asked {
        assert_eq!(
            walk.unseen_without(*reading).is_empty(),
            !proof.plan.readings.contains(reading),
            "reading {reading}"
        );
    }
}

/// Whatever the mistakes need: before a thing is put on a supply, and after it was, each of its outputs is seen.
#[test]
fn no_live_stage_is_passed_without_a_reading() {
    for example in ["desk-computer/finished", "synthesizer-rack/finished", "plotter/finished"] {
        let file = format!("{}/../../examples/{example}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(file).unwrap();
        let reading = voltwright_job::read(&text);
        let proof = proof(&reading.job);
        let live = (0..proof.setup.stages.len()).filter(|s| proof.setup.stages[*s].live);
        for s in live {
            let planned = proof.plan.readings.iter().filter(|r| proof.setup.readings[**r].stage == s).count();
            let asked: Vec<usize> = proof.asked_at(s).collect();
            assert!(!asked.is_empty(), "{example}, stage {s}");
            assert!(planned == 0 || planned == asked.len(), "{example}, stage {s}");
        }
    }
}

/// The synthesizer's supply has three outputs: all three are read, alone and after each thing that is put on them.
#[test]
fn every_output_is_read_where_the_plan_reads_nothing() {
    let file = format!("{}/../../examples/synthesizer-rack/finished.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(file).unwrap();
    let reading = voltwright_job::read(&text);
    let proof = proof(&reading.job);
    let stage = |name: &str| proof.setup.stages.iter().position(|s| s.name == name).unwrap();
    for name in ["source", "voice-b"] {
        let volts: Vec<f64> = proof
            .asked_at(stage(name))
            .map(|r| &proof.setup.readings[r])
            .map(|r| (r.window.low + r.window.high) / 2.0)
            .collect();
        let near = |v: f64| volts.iter().any(|w| (w - v).abs() < 0.05 * v.abs());
        assert!(volts.len() == 3 && near(15.0) && near(-15.0) && near(5.0), "{name}: {volts:?}");
    }
}

#[test]
fn a_live_stop_wants_the_plug_out_and_then_the_stage_set_up_again() {
    let job = job();
    let proof = proof(&job);
    let is_live = |r: usize| proof.setup.stages[proof.setup.readings[r].stage].live;
    let mut walk = Walk::new(&proof);
    until(&mut walk, |ask| matches!(ask, Ask::Read(r) if is_live(r)));
    let Ask::Read(reading) = walk.ask() else { panic!() };
    let stage = proof.setup.readings[reading].stage;
    assert_eq!(walk.power(), Power::Live);
    assert!(walk.take(Event::Taken(reading, Answer::Low)));
    // With the power on, a value beside the window is not measured away.
    assert!(walk.take(Event::Taken(reading, Answer::Inside)));
    assert!(matches!(walk.ask(), Ask::Stopped(_)));
    assert!(walk.take(Event::Off));
    assert!(matches!((walk.ask(), walk.power()), (Ask::Stopped(_), Power::Discharging)));
    assert!(walk.take(Event::Again));
    assert_eq!(walk.ask(), Ask::SetUp(stage));
    assert!(walk.take(Event::Ready(stage)));
    assert_eq!((walk.ask(), walk.power()), (Ask::Read(reading), Power::Live));
}

#[test]
fn at_the_edge_it_is_measured_again_and_then_it_goes_on() {
    let job = job();
    let proof = proof(&job);
    let edge = |r: usize| {
        let reading = &proof.setup.readings[r];
        let middle = f64::midpoint(reading.range.high, reading.window.high);
        (reading.range.high >= 1.0 && middle.is_finite() && middle > reading.range.high).then_some(middle)
    };
    let mut walk = Walk::new(&proof);
    until(&mut walk, |ask| matches!(ask, Ask::Read(r) if edge(r).is_some()));
    let Ask::Read(reading) = walk.ask() else { panic!() };
    let event = Event::Taken(reading, Answer::Value(edge(reading).unwrap()));
    assert!(walk.take(event) && walk.is_at_the_edge());
    assert_eq!(walk.ask(), Ask::Read(reading));
    assert!(walk.take(event) && !walk.is_at_the_edge());
    assert_ne!(walk.ask(), Ask::Read(reading));
}

/// "Low" and "high" without a number are read as what lies beyond the window: a mistake that shows such a value explains it.
#[test]
fn an_answer_without_a_number_is_judged_too() {
    let job = job();
    let proof = proof(&job);
    let mut walk = Walk::new(&proof);
    until(&mut walk, |ask| matches!(ask, Ask::Read(_)));
    let Ask::Read(reading) = walk.ask() else { panic!() };
    let window = proof.setup.readings[reading].window;
    let answer = if window.high.is_finite() { Answer::High } else { Answer::Low };
    walk.take(Event::Taken(reading, answer));
    let dictionary = Dictionary::new(&proof, 0, 2);
    let told = diagnose(&dictionary, walk.taken());
    assert!(told.fails() && !told.suspects.is_empty());
    for suspect in &told.suspects {
        let range = dictionary.range(suspect.classes[0], reading).unwrap();
        let beyond = if answer == Answer::High { range.high > window.low } else { range.low < window.high };
        assert!(
            beyond,
            "{:?} does not explain it: {range:?}",
            proof.mistakes[proof.classes[suspect.classes[0]].mistakes[0]].says
        );
    }
}

/// Whatever is pressed in whatever order, no reading is asked for in the wrong power state, and the end is reached only past
/// readings that were inside, at the edge twice, or passed over.
#[test]
fn nothing_that_is_pressed_leads_around_a_reading() {
    let job = job();
    let proof = proof(&job);
    let presses = proptest::collection::vec((0u8..10, 0usize..1000), 0..300);
    let mut runner = TestRunner::deterministic();
    runner.run(&presses, |presses| pressed(&proof, &presses)).unwrap();
}

fn pressed(proof: &Proof<'_>, presses: &[(u8, usize)]) -> Result<(), TestCaseError> {
    let mut walk = Walk::new(proof);
    for (press, any) in presses {
        let was = walk.power();
        let event = match press {
            0 if *any > 500 => Event::Discharged,
            0 => Event::Mended,
            1 => Event::Again,
            2 => Event::Overruled,
            3 => Event::Off,
            4 => Event::Taken(any % proof.setup.readings.len(), Answer::Low),
            5 => Event::Ready(any % proof.setup.stages.len()),
            6 => match walk.ask() {
                Ask::Read(r) => Event::Taken(r, Answer::Jumps),
                _ => Event::Off,
            },
            _ => obey(&walk).unwrap_or(Event::Mended),
        };
        walk.take(event);
        // Off is only said after somebody said so, and discharged likewise.
        prop_assert!(was != Power::Live || walk.power() == Power::Live || event == Event::Off);
        prop_assert!(was != Power::Discharging || walk.power() != Power::Off || event == Event::Discharged);
        if let Event::Ready(stage) = event {
            prop_assert!(!proof.setup.stages[stage].live || walk.power() == Power::Live);
        }
        match walk.ask() {
            Ask::Read(r) => {
                let live = proof.setup.stages[proof.setup.readings[r].stage].live;
                prop_assert_eq!(if live { Power::Live } else { Power::Off }, walk.power());
            }
            // The stage of a live reading that is taken again is set up without touching anything.
            Ask::SetUp(stage) => prop_assert!(
                walk.power() == Power::Off
                    || walk.power() == Power::Discharging && proof.setup.stages[stage].live
            ),
            _ => {}
        }
        for step in &walk.steps()[..walk.at()] {
            let Ask::Read(r) = step else { continue };
            prop_assert!(walk.taken().iter().any(|t| t.reading == *r) || walk.gaps().contains(r));
        }
    }
    Ok(())
}

/// A phone without connection has switched on; what comes from the PC meanwhile does not make that undone.
#[test]
fn power_that_came_on_out_of_turn_is_on() {
    let job = job();
    let proof = proof(&job);
    let live = proof.setup.stages.iter().position(|s| s.live).unwrap();
    let mut walk = Walk::new(&proof);
    until(&mut walk, |ask| matches!(ask, Ask::Read(_)));
    let Ask::Read(reading) = walk.ask() else { panic!() };
    walk.take(Event::Taken(reading, Answer::High));
    walk.take(Event::Mended);
    assert!(!walk.take(Event::Ready(live)));
    assert_eq!((walk.power(), walk.ask()), (Power::Live, Ask::Off(0)));
    assert!(walk.take(Event::Off));
    assert_eq!((walk.power(), walk.ask()), (Power::Discharging, Ask::Discharge));
    assert!(walk.take(Event::Discharged));
    assert_eq!((walk.power(), walk.ask()), (Power::Off, Ask::SetUp(0)));
}
