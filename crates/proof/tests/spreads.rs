//! Verdicts are made at few corners: random values of all spreads must not turn them.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use voltwright_model::sample::Dice;
use voltwright_model::{Loading, LocalMains, Sample};
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;
use voltwright_proof::trial::at_values;

/// Samples a stage.
const SAMPLES: u64 = 12;

/// A mistake that is caught by a reading stays outside its window, and one that is harmless stays so.
#[test]
fn verdicts_hold_at_random_values() {
    for example in common::EXAMPLES {
        let job = common::job(&common::text(&format!("examples/{example}/finished.toml")));
        let proof = Proof::of(Setup::new(&job).unwrap(), 2);
        let mains = LocalMains::of(&job);
        let (mut caught, mut harmless, mut wrong) = (0, 0, Vec::new());
        for stage in (0..proof.setup.stages.len()).filter(|s| proof.setup.stages[*s].live) {
            for seed in 0..SAMPLES {
                let mut dice = Dice::new(seed + 1000 * stage as u64);
                let sample =
                    Sample::new(&job, mains.as_ref(), |si| si.low + dice.uniform() * (si.high - si.low));
                let loading = if seed % 3 == 0 { Loading::Light } else { Loading::Run };
                let base = proof.setup.live_at(stage, loading, &sample).unwrap().unwrap();
                for class in &proof.classes {
                    let Some((harm, ranges)) = at_values(&proof.setup, &class.prepared, stage, &base) else {
                        continue;
                    };
                    let start = proof.setup.first_reading(stage);
                    let says = || proof.mistakes[class.mistakes[0]].says.clone();
                    for (k, reading) in proof.setup.readings_of(stage).iter().enumerate() {
                        if class.outcome.caught.contains(start + k) {
                            caught += 1;
                            if !ranges[k].is_apart_from(&reading.window) {
                                wrong.push(format!(
                                    "{}: reading {k} of {stage}: {:?} in {:?}",
                                    says(),
                                    ranges[k],
                                    reading.window
                                ));
                            }
                        }
                    }
                    if class.outcome.harm.is_none() && class.prepared.mains.harms.is_empty() {
                        harmless += 1;
                        if let Some(harm) = harm {
                            wrong.push(format!("{}: does harm at {stage}: {harm:?}", says()));
                        }
                    }
                }
            }
        }
        println!("{example}: {caught} caught and {harmless} harmless verdicts tried, {} wrong", wrong.len());
        assert!(caught > 1000 && harmless > 1000, "{caught} {harmless}");
        assert!(
            wrong.is_empty(),
            "{example}: {} of {}: {:#?}",
            wrong.len(),
            caught + harmless,
            &wrong[..wrong.len().min(12)]
        );
    }
}
