//! What arrives at the loads, and which of it is written down.

use super::potential::Potentials;
use super::slots::Slot;
use crate::numbers;
use voltwright_job::{Job, WayUse};
use voltwright_proof::reading::Function;
use voltwright_quantity::Quantity;

/// What a rail comes to at a load.
#[derive(Debug, Clone, Copy)]
pub(super) struct Landing {
    pub load: usize,
    pub rail: usize,
    /// Volts as the load sees them, and against 0 V of the supply.
    pub seen: f64,
    pub volts: f64,
    /// Whether it lies within its tolerance; nothing where none is entered.
    pub holds: Option<bool>,
    /// Whether power reaches it with what is open left open.
    pub is_alive: bool,
}

impl Landing {
    /// Outside its tolerance with the power on.
    pub fn is_wrong(&self) -> bool {
        self.is_alive && self.holds == Some(false)
    }

    /// Its volts, with the rail's name where they are wrong or another rail has the same.
    pub fn words(&self, job: &Job) -> String {
        let volts = numbers::value(Function::Volts, self.seen);
        let nominal = |r: usize| numbers::value(Function::Volts, job.rails[r].nominal.nominal().si());
        let has_twin = (0..job.rails.len()).any(|r| r != self.rail && nominal(r) == nominal(self.rail));
        match self.holds == Some(false) || has_twin {
            true => format!("{} {volts}", job.rails[self.rail].name.text),
            false => volts,
        }
    }
}

/// What arrives at every load that is plugged in.
pub(super) fn landings(job: &Job, potentials: &Potentials<'_>) -> Vec<Landing> {
    let mut landings = Vec::new();
    for (l, load) in job.loads.iter().enumerate() {
        let on = |r: usize| load.sockets.iter().flat_map(|s| &s.ways).any(|(way, _)| *way == WayUse::Rail(r));
        for (r, rail) in job.rails.iter().enumerate().filter(|(r, _)| on(*r)) {
            let Some((seen, volts)) = potentials.rail(l, r) else { continue };
            let holds = rail.tolerance.as_ref().map(|t| t.low.si() <= seen && seen <= t.high.si());
            let is_alive = job.way(l, WayUse::Rail(r)).is_none_or(|way| potentials.is_alive(way));
            landings.push(Landing { load: l, rail: r, seen, volts, holds, is_alive });
        }
    }
    landings
}

/// Those whose volts are written: from left to right the first of each rail, then what differs from the one before in the
/// digits that are shown, and all that is wrong.
pub(super) fn shown<'l>(job: &Job, slots: &[Slot], landings: &'l [Landing]) -> Vec<&'l Landing> {
    let mut last: Vec<Option<String>> = vec![None; job.rails.len()];
    let mut shown = Vec::new();
    for slot in slots {
        for landing in landings.iter().filter(|l| l.is_alive && Slot::Load(l.load) == *slot) {
            let words = Some(landing.words(job));
            if landing.is_wrong() || last[landing.rail] != words {
                shown.push(landing);
            }
            last[landing.rail] = words;
        }
    }
    shown
}
