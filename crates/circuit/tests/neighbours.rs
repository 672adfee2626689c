//! Neighbours by correction against the plain ways, on random networks and by hand.

mod common;

use common::edits::{edits, mistake, with_floating_parts};
use common::oracle::Judged;
use common::random::{Dice, Kind, network, resistive, seeds};
use common::{harness, near, resistor, source, two_nodes};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::collections::BTreeMap;
use voltwright_circuit::*;

fn highest(solution: &Solution) -> f64 {
    solution.volts.iter().fold(0.0, |most: f64, v| most.max(v.abs()))
}

fn largest(net: &Network, solution: &Solution) -> f64 {
    solution.elements.iter().map(|f| f.current.abs()).fold(net.leak, f64::max)
}

/// Whether two solutions are of one point: volts and amperes alike.
fn alike(net: &Network, one: &Solution, other: &Solution) -> bool {
    let volts =
        one.volts.iter().zip(&other.volts).all(|(a, b)| (a - b).abs() <= 1e-5 * highest(one).max(1.0));
    let amps = one.elements.iter().zip(&other.elements);
    volts && amps.fold(true, |good, (a, b)| good && (a.current - b.current).abs() <= 1e-6 * largest(net, one))
}

/// A neighbour as a solution, its power not reckoned.
fn as_solution(net: &Network, found: &Neighbour<'_>) -> Solution {
    let flow = |(e, element): (usize, &Element)| {
        let outputs = match &element.law {
            Law::Converter(c) => (0..c.outputs.len())
                .map(|o| OutputFlow { state: found.output_state(e, o), current: found.output_current(e, o) })
                .collect(),
            _ => Vec::new(),
        };
        Flow { state: found.state(e), current: found.current(e), outputs }
    };
    Solution {
        volts: found.volts.to_vec(),
        elements: net.elements.iter().enumerate().map(flow).collect(),
        residual: 0.0,
        power: Power::default(),
    }
}

/// What became of a neighbour.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord, Clone, Copy)]
enum Outcome {
    Corrected,
    Plain(Doubt),
    Unsolved,
    /// The plain ways part among themselves, or this is another point than theirs, where the laws hold all the same.
    Parted,
}

/// Compares a neighbour with the plain ways.
fn judge(room: &mut Workspace, base: &Base, edits: &[Edit]) -> Result<Outcome, String> {
    let net = base.network().edited(edits);
    let (quick, plain) = (net.solve(), net.solve_plainly());
    let found = room.solve(base, edits);
    let (quick, plain, found) = match (quick, plain, found) {
        (Ok(quick), Ok(plain), Ok(found)) => (quick, plain, found),
        (quick, plain, Ok(found)) => {
            let kind = found.doubt.map_or(Outcome::Parted, Outcome::Plain);
            let judged = Judged::of(&net, &as_solution(&net, &found)).worst();
            return if quick.is_err() && plain.is_err() {
                Err(format!("solved ({judged:e}) where the plain way says {}", quick.unwrap_err()))
            } else {
                Ok(kind)
            };
        }
        (quick, _, Err(error)) => {
            return if quick.err() == Some(error.clone()) {
                Ok(Outcome::Unsolved)
            } else {
                Err(format!("{error}"))
            };
        }
    };
    let mine = as_solution(&net, &found);
    let left = Judged::of(&net, &mine).worst();
    let at_base = largest(base.network(), base.solution());
    let (volts, amps) = (highest(&quick).max(highest(&mine)).max(1.0), largest(&net, &quick).max(at_base));
    if left > 1e-8 * amps.max(1e-2) {
        return Err(format!("{left:e} A left over of {amps} A, {:?}", found.way));
    }
    if !alike(&net, &quick, &plain) {
        return Ok(Outcome::Parted);
    }
    for (node, v) in mine.volts.iter().enumerate() {
        // The plain ways' own rounding, where a balance of leaks decides: a microvolt.
        let unsure = 4.0 * (quick.volts[node] - plain.volts[node]).abs();
        let off = (v - quick.volts[node]).abs();
        if off > 1e-9 * volts + unsure {
            let name = &net.nodes[node];
            return Err(format!(
                "{name}: {v} V for {} V and {} V, {:?}",
                quick.volts[node], plain.volts[node], found.way
            ));
        }
    }
    for (e, (a, b)) in mine.elements.iter().zip(&quick.elements).enumerate() {
        let off = (a.current - b.current).abs();
        if off > 1e-8 * amps.max(1e-3) {
            return Err(format!("{}: {a:?} for {b:?}, {:?}", net.elements[e].name, found.way));
        }
        // On the border of two states, where both carry the same, either will do.
        if a.state != b.state
            && quick.elements[e].state == plain.elements[e].state
            && b.current.abs() > 1e-9 * amps
        {
            return Err(format!("{}: {a:?} for {b:?}", net.elements[e].name));
        }
    }
    Ok(found.doubt.map_or(Outcome::Corrected, Outcome::Plain))
}

/// Tries many edits of many networks; gives how many came out how.
fn tried(kind: Kind, seeds: std::ops::Range<u64>, floating: bool) -> BTreeMap<Outcome, usize> {
    let mut room = Workspace::new();
    let mut counts = BTreeMap::new();
    let mut bad = Vec::new();
    for seed in seeds {
        let mut dice = Dice::new(seed ^ 0xabcd);
        let mut net = network(kind, seed);
        if floating {
            with_floating_parts(&mut net, &mut dice);
        }
        let Ok(base) = Base::new(net.clone(), &net.ordering()) else { continue };
        for _ in 0..30 {
            let edits = edits(&net, &mut dice);
            match judge(&mut room, &base, &edits) {
                Ok(outcome) => *counts.entry(outcome).or_default() += 1,
                Err(why) => bad.push(format!("seed {seed}, {edits:?}: {why}")),
            }
        }
    }
    println!("{kind:?} {counts:?}");
    assert!(bad.is_empty(), "{} of {counts:?}:\n{}", bad.len(), bad[..bad.len().min(12)].join("\n"));
    counts
}

/// On networks built outward from a supply.
#[test]
fn orderly_networks() {
    tried(Kind::Orderly, 0..300, false);
}

/// With parts that float, which edits may join to the rest.
#[test]
fn floating_parts() {
    tried(Kind::Orderly, 1000..1300, true);
}

/// Cross connections, isolated outputs, devices the wrong way round.
#[test]
fn wild_networks() {
    tried(Kind::Wild, 0..300, false);
}
