//! The way from inputs to figures: slopes against differences, corners against every other corner, samples that repeat.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::path::Path;
use voltwright_job::Job;
use voltwright_model::sample::Dice;
use voltwright_model::solved::value;
use voltwright_model::{Loading, LocalMains, Sample, Solved};
use voltwright_quantity::Quantity;

fn job(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(name);
    let reading = voltwright_job::read(&std::fs::read_to_string(path).unwrap());
    assert!(reading.diagnostics.is_empty(), "{:?}", reading.diagnostics);
    reading.job
}

const JOBS: [&str; 4] = [
    "examples/desk-computer/finished.toml",
    "examples/synthesizer-rack/finished.toml",
    "examples/plotter/finished.toml",
    "suite/cases/01-rhythm-box.toml",
];

/// Every rail at every load, as a figure.
fn figures(solved: &Solved<'_>) -> Vec<[(usize, i8); 2]> {
    let low = solved.low_voltage(Loading::Run);
    let of = |l: usize| {
        let nodes = &low.loads[l];
        solved.job.loads[l]
            .draws
            .iter()
            .map(|d| [(nodes.rails[d.rail].unwrap(), 1), (nodes.com.unwrap(), -1)])
    };
    (0..solved.job.loads.len()).flat_map(of).collect()
}

/// The slope of each figure against each input is the difference quotient of the whole way: sample, network, solution.
#[test]
fn slopes_are_difference_quotients() {
    for name in JOBS {
        let job = job(name);
        let solved = Solved::new(&job);
        let base = solved.point(Loading::Run).unwrap();
        for of in figures(&solved) {
            let slopes = solved.slopes(Loading::Run, &of, base);
            for (input, slope) in slopes.iter().enumerate() {
                let at = |factor: f64| {
                    let mut n = 0..;
                    let sample = Sample::new(&job, solved.mains.as_ref(), |si| {
                        si.nominal * if n.next() == Some(input) { factor } else { 1.0 }
                    });
                    let size =
                        if input < job.spreads.len() { job.spreads[input].nominal } else { sample.mains() };
                    (value(&solved.solve_at(Loading::Run, &sample, None).unwrap().solution, &of), size)
                };
                let h = 1e-5;
                let ((up, size), (down, _)) = (at(1.0 + h), at(1.0 - h));
                let effect = (up - down) / (2.0 * h);
                assert!(
                    (effect - slope * size).abs() < 1e-4 * effect.abs() + 1e-7,
                    "{name}, input {input}: {effect} {}",
                    slope * size
                );
            }
        }
    }
}

/// No random sample within the spreads is worse than the worst case.
#[test]
fn the_worst_corner_bounds_every_sample() {
    for name in JOBS {
        let job = job(name);
        let solved = Solved::new(&job);
        let mut dice = Dice::new(7);
        let figures = figures(&solved);
        let worst: Vec<(f64, f64)> = figures
            .iter()
            .map(|of| {
                let end = |upward| solved.worst(Loading::Run, of, upward).unwrap();
                (end(false), end(true))
            })
            .collect();
        for _ in 0..300 {
            // Ends are likelier to be bad than middles: each value at one of its ends, or anywhere between.
            let sample = Sample::new(&job, solved.mains.as_ref(), |si| match (dice.uniform() * 3.0) as u8 {
                0 => si.low,
                1 => si.high,
                _ => dice.triangular(si),
            });
            let point = solved.solve_at(Loading::Run, &sample, None).unwrap();
            for (of, (low, high)) in figures.iter().zip(&worst) {
                let v = value(&point.solution, of);
                // What was left out of the corner as negligible may move it by a millionth of its spread.
                let slack = 1e-5 * (high - low) + 1e-9;
                assert!((low - slack..=high + slack).contains(&v), "{name}: {v} outside {low}..{high}");
            }
        }
    }
}

/// Mean and bounds of the triangular draw: (low + nominal + high) / 3.
#[test]
fn dice_are_triangular_and_repeat() {
    let si = voltwright_job::inputs::Si { nominal: 0.01, low: 0.005, high: 0.03 };
    let draw = |seed| {
        let mut dice = Dice::new(seed);
        (0..20_000).map(|_| dice.triangular(si)).collect::<Vec<f64>>()
    };
    let all = draw(1);
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    assert!((mean - 0.015).abs() < 1e-4, "{mean}");
    assert!(all.iter().all(|v| (0.005..=0.03).contains(v)));
    assert!(all.iter().zip(draw(1)).all(|(a, b)| a.to_bits() == b.to_bits()));
}

/// Ireland by its table (EN 50160: 207 to 253 V); what was measured takes the place of the tolerance.
#[test]
fn mains_by_country_or_measured() {
    let mut job = job("examples/desk-computer/finished.toml");
    let volts = |m: &LocalMains| [m.low.si(), m.nominal.si(), m.high.si()].map(|v| v.round() as i32);
    assert_eq!(volts(&LocalMains::of(&job).unwrap()), [207, 230, 253]);
    let text = "format = 1\n[job]\ntitle = \"x\"\ncountry = \"IE\"\nmains = \"226..241 V\"\n";
    job.mains_measured = voltwright_job::read(text).job.mains_measured;
    assert_eq!(volts(&LocalMains::of(&job).unwrap()), [226, 230, 241]);
}

/// Stages grow outward, the least replaceable load last but for everything together.
#[test]
fn stages_end_with_the_irreplaceable() {
    let names: Vec<String> = voltwright_model::stage::stages(&job("examples/desk-computer/finished.toml"))
        .into_iter()
        .map(|s| s.name)
        .collect();
    assert_eq!(names, ["source", "drive-a", "board"]);
}
