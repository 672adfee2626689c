//! For every single mistake of every example: the readings of the plan as the mistake would give them, with the noise of the
//! meter, to the end of the first stage at which one is outside its window; then at most three more as suggested. The true mistake, or one that no
//! reading tells from it, must come first.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use voltwright_model::sample::Dice;
use voltwright_proof::diagnosis::{
    CONNECTED, Diagnosis, Dictionary, Next, Taken, Verdict, diagnose, is_indistinguishable, traced, verdict,
};
use voltwright_proof::network::cold::OPEN;
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::Function;
use voltwright_proof::setup::Setup;

/// More readings than the plan has that may be asked for.
const MORE: usize = 3;

/// The machine with a mistake, read with the noise of the meter.
struct Bench<'d, 'p, 'j> {
    proof: &'p Proof<'j>,
    dictionary: &'d Dictionary<'p, 'j>,
    class: usize,
    dice: Dice,
}

impl Bench<'_, '_, '_> {
    fn read(&mut self, reading: usize) -> Option<Taken> {
        let setup = &self.proof.setup;
        let function = setup.readings[reading].function;
        let range = self.dictionary.range(self.class, reading)?;
        // A machine has one value of each spread; resistances spread over decades.
        let share = self.dice.uniform();
        let truth = match function {
            Function::Ohms if range.low >= OPEN => f64::INFINITY,
            Function::Ohms => range.low * (range.high.min(OPEN) / range.low.max(1e-9)).powf(share),
            _ => range.low + share * (range.high - range.low),
        };
        let noise = (2.0 * self.dice.uniform() - 1.0) * setup.meter.off(function, truth);
        let value = if function == Function::Ohms { (truth + noise).max(0.0) } else { truth + noise };
        Some(Taken::value(reading, if value >= OPEN { f64::INFINITY } else { value }))
    }

    /// What a person enters for what was suggested.
    fn follow(&mut self, next: Next) -> Option<Vec<Taken>> {
        let Next::Trace { stage, at } = next else {
            let Next::Reading(reading) = next else { return None };
            return self.read(reading).map(|t| vec![t]);
        };
        let setup = &self.proof.setup;
        let start = setup.first_reading(stage);
        let mut connected = Vec::new();
        for (k, r) in
            setup.readings_of(stage).iter().enumerate().filter(|(_, r)| r.red == at || r.black == at)
        {
            if self.read(start + k)?.shown.high < CONNECTED {
                connected.push(if r.red == at { r.black } else { r.red });
            }
        }
        Some(traced(setup, stage, at, &connected).unwrap())
    }

    /// Takes the readings of the plan up to the end of the first stage at which one is outside its window.
    fn follow_the_plan(&mut self) -> Option<Vec<Taken>> {
        let mut taken: Vec<Taken> = Vec::new();
        let mut failed_at = None;
        for reading in &self.proof.plan.readings {
            let of = &self.proof.setup.readings[*reading];
            if failed_at.is_some_and(|s| s != of.stage) {
                break;
            }
            let t = self.read(*reading)?;
            taken.push(t);
            if matches!(verdict(of, t.shown), Verdict::Low | Verdict::High) {
                failed_at = Some(of.stage);
            }
        }
        failed_at.map(|_| taken)
    }
}

/// Whether the true class comes first; nothing if no reading of the plan shows it.
fn found(proof: &Proof<'_>, dictionary: &Dictionary<'_, '_>, class: usize) -> Option<bool> {
    let mut bench = Bench { proof, dictionary, class, dice: Dice::new(class as u64) };
    let mut taken = bench.follow_the_plan()?;
    let last = proof.setup.readings[taken.last().unwrap().reading].stage;
    let mut diagnosis = diagnose(dictionary, &taken);
    for _ in 0..MORE {
        // A person asks on while several explain what was read.
        let Some(more) = diagnosis.next.and_then(|next| bench.follow(next)) else { break };
        taken.extend(more);
        diagnosis = diagnose(dictionary, &taken);
    }
    Some(comes_first(dictionary, &diagnosis, class, last))
}

fn comes_first(dictionary: &Dictionary<'_, '_>, diagnosis: &Diagnosis, class: usize, last: usize) -> bool {
    let first = diagnosis.suspects.first().map(|s| s.classes.as_slice());
    matches!(first, Some([one]) if *one == class || is_indistinguishable(dictionary, *one, class, last))
}

#[test]
fn the_true_mistake_comes_first() {
    for example in common::EXAMPLES {
        let job = common::job(&common::text(&format!("examples/{example}/finished.toml")));
        let proof = Proof::of(Setup::new(&job).unwrap(), 2);
        let dictionary = Dictionary::new(&proof, proof.setup.stages.len() - 1, 2);
        let (mut cases, mut right, mut missed) = (0, 0, Vec::new());
        for class in 0..proof.classes.len() {
            let Some(is_first) = found(&proof, &dictionary, class) else { continue };
            let mistakes = proof.classes[class].mistakes.len();
            cases += mistakes;
            right += if is_first { mistakes } else { 0 };
            if !is_first {
                missed.push(proof.mistakes[proof.classes[class].mistakes[0]].says.clone());
            }
        }
        println!("{example}: {right} of {cases}; missed {missed:#?}");
        assert!(
            cases > 100 && right * 100 >= cases * 99,
            "{example}: {right} of {cases}; missed {missed:#?}"
        );
    }
}

/// A value in the middle of what a sound machine shows.
fn sound(proof: &Proof<'_>, reading: usize) -> Taken {
    let range = proof.setup.readings[reading].range;
    let middle = if range.high >= OPEN { range.low.max(1.0) * 1.5 } else { (range.low + range.high) / 2.0 };
    Taken::value(reading, if middle >= OPEN { f64::INFINITY } else { middle })
}

#[test]
fn readings_that_nothing_explains_are_said_to_be_so() {
    let job = common::job(&common::text("examples/desk-computer/finished.toml"));
    let proof = Proof::of(Setup::new(&job).unwrap(), 2);
    // Sound with the power off, and forty volts where nothing could make more than thirty.
    let read = |r: &usize| match proof.setup.readings[*r].function {
        Function::Volts => Taken::value(*r, 40.0),
        _ => sound(&proof, *r),
    };
    let taken: Vec<Taken> = proof.plan.readings.iter().map(read).collect();
    let diagnosis = diagnose(&Dictionary::new(&proof, proof.setup.stages.len() - 1, 2), &taken);
    assert!(diagnosis.fails());
    assert_eq!(diagnosis.suspects, Vec::new());
}

#[test]
fn readings_as_planned_leave_nothing_to_suspect() {
    let job = common::job(&common::text("examples/desk-computer/finished.toml"));
    let proof = Proof::of(Setup::new(&job).unwrap(), 2);
    let taken: Vec<Taken> = proof.plan.readings.iter().map(|r| sound(&proof, *r)).collect();
    let diagnosis = diagnose(&Dictionary::new(&proof, proof.setup.stages.len() - 1, 2), &taken);
    assert!(!diagnosis.fails(), "{:?}", diagnosis.verdicts);
    assert!(diagnosis.sound > 0.5, "{}", diagnosis.sound);
}

/// Two wires off that no single mistake explains: the pair is found.
#[test]
fn two_mistakes_at_once_are_found_as_a_pair() {
    let job = common::job(&common::text("examples/plotter/finished.toml"));
    let proof = Proof::of(Setup::new(&job).unwrap(), 2);
    let off = |name: &str| {
        let is_it = |m: &voltwright_proof::mistake::Mistake| {
            m.says.starts_with(name) && m.says.ends_with("is not connected")
        };
        proof.class_of[proof.mistakes.iter().position(is_it).unwrap()]
    };
    let (earth, rail) = (off("inlet.earth to chassis"), off("step.v1.plus to pl.3"));
    let dictionary = Dictionary::new(&proof, 0, 2);
    let read = |r: usize| {
        // Far apart as the two are, each reading is that of one of them or of neither.
        let whole = proof.setup.readings[r].range;
        let of = [earth, rail].map(|c| dictionary.range(c, r).unwrap());
        let changed = of.iter().find(|range| range.low > 10.0 * whole.high);
        changed.map_or_else(|| sound(&proof, r), |range| Taken::value(r, range.low.min(f64::INFINITY)))
    };
    let cold = proof.plan.readings.iter().copied().filter(|r| proof.setup.readings[*r].stage == 0);
    let diagnosis = diagnose(&dictionary, &cold.map(read).collect::<Vec<_>>());
    assert!(diagnosis.fails());
    let pair = [earth.min(rail), earth.max(rail)];
    let found = diagnosis
        .suspects
        .iter()
        .find(|s| s.classes.len() == 2 && pair.iter().all(|c| s.classes.contains(c)));
    // Others of the same weight look the same to these readings; none is much likelier.
    assert!(found.is_some_and(|s| s.share > 0.3 * diagnosis.suspects[0].share), "{found:?}");
    assert!(diagnosis.suspects.iter().all(|s| s.classes.len() == 2), "a single mistake explains it");
}
