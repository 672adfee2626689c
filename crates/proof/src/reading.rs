//! Readings: where the probes go, what the meter shows, what it may show on a machine without mistakes.

use crate::harness::Harness;
use crate::network::cold::OPEN;
use voltwright_job::{PartKind, Terminal};
use voltwright_quantity::parse::Accuracy;
use voltwright_quantity::{Current, Quantity, Ratio, Resistance, Voltage};

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Function {
    /// A resistance, power off.
    Ohms,
    /// A direct voltage, power on.
    Volts,
    /// The current that an output delivers, power on.
    Amps,
}

/// One measurement at a stage.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Index of its stage.
    pub stage: usize,
    /// What is measured.
    pub function: Function,
    /// Red probe, or the lead whose current is measured.
    pub red: Terminal,
    /// Black probe.
    pub black: Terminal,
    /// Nodes of the probes in the stage's network; for a current the element twice.
    pub nodes: (usize, usize),
    /// What it costs: about seconds at the bench, our own estimate.
    pub cost: u32,
    /// What the circuit without mistakes gives, over all spreads.
    pub range: Interval,
    /// The same widened by the meter's accuracy: what may be read.
    pub window: Interval,
}

impl Reading {
    /// One whose range and window are still to be found.
    pub(crate) fn new(
        stage: usize,
        function: Function,
        (red, black): (Terminal, Terminal),
        nodes: (usize, usize),
        cost: u32,
    ) -> Self {
        let none = Interval::NONE;
        Self { stage, function, red, black, nodes, cost, range: none, window: none }
    }
}

/// From low to high.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// Of nothing yet.
    pub const NONE: Interval = Interval { low: f64::INFINITY, high: f64::NEG_INFINITY };

    /// Takes in a value.
    #[inline]
    pub fn take(&mut self, value: f64) {
        self.low = self.low.min(value);
        self.high = self.high.max(value);
    }

    /// Whether a value lies in it.
    pub fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Whether two have nothing in common.
    #[inline]
    pub fn is_apart_from(&self, other: &Interval) -> bool {
        self.high < other.low || self.low > other.high
    }
}

/// The accuracy of the job's meter on each function.
#[derive(Debug, Clone, Copy)]
pub struct Meter {
    ohms: Accuracy<Resistance>,
    volts: Accuracy<Voltage>,
    amps: Accuracy<Current>,
}

impl Meter {
    /// Of a job; where it gives none, that of a plain hand-held meter (common practice).
    pub fn of(h: &Harness<'_>) -> Self {
        fn plain<Q: Quantity>(percent: f64, fixed: f64) -> Accuracy<Q> {
            Accuracy { share: Ratio::new(percent / 100.0), fixed: Q::from_si(fixed) }
        }
        let meter = &h.job.meter;
        Self {
            ohms: meter.ohms.unwrap_or_else(|| plain(1.0, 0.5)),
            volts: meter.dc_volts.unwrap_or_else(|| plain(1.0, 0.02)),
            amps: meter.dc_amps.unwrap_or_else(|| plain(1.5, 0.03)),
        }
    }

    /// Share of the value, and fixed part, by which the meter may be off.
    pub fn accuracy(&self, function: Function) -> (f64, f64) {
        match function {
            Function::Ohms => (self.ohms.share.si(), self.ohms.fixed.si()),
            Function::Volts => (self.volts.share.si(), self.volts.fixed.si()),
            Function::Amps => (self.amps.share.si(), self.amps.fixed.si()),
        }
    }

    /// How far the meter may be off at a value.
    #[inline]
    pub fn off(&self, function: Function, value: f64) -> f64 {
        let (share, fixed) = self.accuracy(function);
        // An open circuit is as far off as it likes, and stays open.
        share * value.abs().min(1e12) + fixed
    }

    /// An interval of true values as the meter may show them; a resistance is never below zero and above [`OPEN`] is open.
    #[inline]
    pub fn shown(&self, function: Function, of: Interval) -> Interval {
        let (low, high) = (of.low - self.off(function, of.low), of.high + self.off(function, of.high));
        if function == Function::Ohms {
            let open = |ohms: f64| if ohms >= OPEN { f64::INFINITY } else { ohms.max(0.0) };
            Interval { low: open(low).min(OPEN), high: open(high) }
        } else {
            Interval { low, high }
        }
    }
}

/// Seconds to measure a resistance, a voltage, a current, beyond reaching the points.
const SECONDS: (u32, u32, u32) = (8, 10, 60);

/// What a reading costs.
pub fn cost(h: &Harness<'_>, function: Function, red: Terminal, black: Terminal, mated: &[bool]) -> u32 {
    let reach = reach(h, red, mated) + reach(h, black, mated);
    match function {
        Function::Ohms => SECONDS.0 + reach,
        // The black lead stays clipped where it is.
        Function::Volts => SECONDS.1 + self::reach(h, red, mated),
        Function::Amps => SECONDS.2 + self::reach(h, red, mated),
    }
}

/// Seconds to reach a terminal with a probe: a plug in the hand, screws and lugs, the back of a mated plug, of a board,
/// inside the mains part.
fn reach(h: &Harness<'_>, terminal: Terminal, mated: &[bool]) -> u32 {
    match terminal {
        Terminal::Chassis => 1,
        Terminal::Plug(p, _) => match h.job.plugs[p].mates {
            Some((l, _)) if mated[l] => 7,
            _ => 2,
        },
        Terminal::Socket(..) => 9,
        Terminal::Part(p, _) => match &h.job.parts[p].kind {
            PartKind::Inlet => 2,
            _ if h.wiring.is_on_mains(terminal) => 6,
            _ => 4,
        },
    }
}
