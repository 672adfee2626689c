//! The mains side at its ends, and what supplies take from it.

use super::Solved;
use crate::mains_side::MainsSide;
use crate::stage::Loading;
use std::rc::Rc;
use voltwright_circuit::Solution;
use voltwright_job::PartKind;
use voltwright_quantity::Quantity;

/// Which end of the mains, and how hard the machine draws.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MainsEnd {
    /// Lowest voltage, most power.
    Low,
    /// Highest voltage, nominal power.
    High,
}

/// Share of a raw supply's input that reaches its reservoirs: common practice for small transformers.
pub const RAW_EFFICIENCY: f64 = 0.85;

impl Solved<'_> {
    /// The mains side at one end: the lowest mains with the heaviest load for the largest current.
    pub fn mains_point(&self, end: MainsEnd) -> Option<Rc<(MainsSide, Solution)>> {
        let known = self.mains_points.borrow().iter().find(|(e, _)| *e == end).map(|(_, p)| p.clone());
        if let Some(known) = known {
            return known;
        }
        let point = self.solve_mains(end).map(Rc::new);
        self.mains_points.borrow_mut().push((end, point.clone()));
        point
    }

    fn solve_mains(&self, end: MainsEnd) -> Option<(MainsSide, Solution)> {
        let mains = self.mains.as_ref()?;
        if self.wiring.mains_shorted(self.job) {
            return None;
        }
        let volts = match end {
            MainsEnd::Low => mains.low,
            MainsEnd::High => mains.high,
        };
        let heavy = end == MainsEnd::Low;
        let drawn: Vec<f64> = (0..self.job.parts.len()).map(|p| self.input_volt_amps(p, heavy)).collect();
        let sample = self.nominal_sample().with_mains(volts.si());
        let side = MainsSide::build_on(&self.wiring, self.job, &sample, &drawn, self.named)?;
        let solution = side.network.solve_in(self.wiring.mains_ordering(&side.network)).ok()?;
        Some((side, solution))
    }

    /// Volt-amperes that a part takes from the mains while running; `heavy` takes every draw at its upper end,
    /// efficiency and power factor at their lower.
    pub fn input_volt_amps(&self, part: usize, heavy: bool) -> f64 {
        let factor = match &self.job.parts[part].kind {
            PartKind::MainsSupply(s) => s.power_factor.as_ref().unwrap_or(&self.job.assume.power_factor),
            _ => &self.job.assume.power_factor,
        };
        let factor = if heavy { factor.spread.low } else { factor.nominal() };
        self.input_watts(part, heavy) / factor.si()
    }

    /// Watts that a part takes from the mains while running.
    pub fn input_watts(&self, part: usize, heavy: bool) -> f64 {
        let output = self.output_watts(part, heavy);
        match &self.job.parts[part].kind {
            PartKind::MainsSupply(s) => {
                let efficiency = s.efficiency.as_ref().map_or(crate::low_voltage::EFFICIENCY, |g| {
                    if heavy { g.spread.low.si() } else { g.nominal().si() }
                });
                output / efficiency + s.idle.as_ref().map_or(0.0, |g| g.nominal().si())
            }
            // The transformer's own loss: common practice for small ones.
            PartKind::RawSupply(_) => output / RAW_EFFICIENCY,
            _ => 0.0,
        }
    }

    /// Watts that a supply's outputs deliver while running.
    pub fn output_watts(&self, part: usize, heavy: bool) -> f64 {
        let point = if heavy { self.heavy_point() } else { self.point(Loading::Run).ok().cloned() };
        let (Some(point), low) = (point, self.low_voltage(Loading::Run)) else { return 0.0 };
        low.parts[part].iter().map(|e| point.solution.delivered(&point.network, *e)).sum()
    }
}
