//! How likely a limit is passed, and the inputs as they are shown among what moves a figure.

use super::{Figure, Solved, value};
use crate::sample::{Dice, Sample};
use crate::stage::Loading;
use voltwright_circuit::Solution;
use voltwright_job::inputs::{Input, Si};
use voltwright_quantity::{Origin, Working};

/// Random samples behind a likelihood.
const DRAWS: usize = 200;

/// An input as it is shown among what moves a figure.
#[derive(Debug, Clone)]
pub struct InputLeaf {
    /// Nominal and bounds.
    pub si: Si,
    /// Its range as shown.
    pub range: String,
    /// As a leaf at its nominal value.
    pub working: Working,
}

impl InputLeaf {
    /// Path of its key in the job file.
    pub fn working_path(&self) -> &str {
        match &self.working.origin {
            Origin::Entered { place, .. } => &place.path,
            _ => "",
        }
    }
}

impl Solved<'_> {
    /// Share of random samples over the spreads (seeded) in which a figure leaves its limits, or there is no solution.
    pub fn likelihood(&self, loading: Loading, of: Figure<'_>, low: f64, high: f64) -> f64 {
        let samples = self.samples[loading as usize].get_or_init(|| {
            let mut dice = Dice::new(1);
            let near = self.point(loading).ok();
            let draw = |_| {
                let sample = Sample::new(self.job, self.mains.as_ref(), |si| dice.triangular(si));
                self.solve_at(loading, &sample, near.map(|p| &p.solution)).ok().map(|p| p.solution)
            };
            (0..DRAWS).map(draw).collect()
        });
        let outside =
            |s: &&Option<Solution>| s.as_ref().is_none_or(|s| !(low..=high).contains(&value(s, of)));
        samples.iter().filter(outside).count() as f64 / samples.len() as f64
    }

    /// Every input as a leaf of a working.
    pub fn leaves(&self) -> &[InputLeaf] {
        self.leaves.get_or_init(|| {
            let mut job = self.job.clone();
            let leaf = |input: &mut dyn Input| {
                let si = input.si();
                let place = input.place().clone();
                let symbol = place.path.rsplit('.').next().unwrap_or("value").to_owned();
                let origin = Origin::Entered { place, basis: input.basis() };
                let range = format!("{} to {}", input.show(si.low), input.show(si.high));
                let working = Working {
                    symbol,
                    what: String::new(),
                    si: si.nominal,
                    shown: input.show(si.nominal),
                    origin,
                };
                InputLeaf { si, range, working }
            };
            job.inputs().into_iter().map(leaf).collect()
        })
    }
}
