//! What each device carries at a voltage, piece by piece.
//!
//! Every law is made of straight pieces (constant power is one curved piece). A device's [`State`] names its piece, and
//! the piece holds wherever the voltage is: so a step of Newton's method is exact within it, and moving from piece to
//! piece is a decision of its own. A device moves to a neighbouring piece only, never over the steep piece between two
//! flat ones: a source from limiting to idle goes through holding, else it would leap from side to side for ever.
//!
//! `tolerance` (amperes) keeps a device that sits on the border of two pieces, where both give the same current, from
//! changing between them by rounding alone.

use crate::network::{Clamp, Diode, Draws, Load, Output, Overload, Regulator, Source};
use crate::potentials::Drop;
use crate::solution::State;

/// Share of a knee within which rounding does not decide its side.
const KNEE_WIDTH: f64 = 1e-12;

/// Current through a two-terminal device from its first terminal to its second, with its slope in siemens.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Branch {
    pub flow: f64,
    pub slope: f64,
}

/// What a source and a converter's output have in common.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rating {
    pub volts: f64,
    pub ohms: f64,
    pub limit: Option<f64>,
    pub overload: Overload,
}

impl From<&Source> for Rating {
    fn from(s: &Source) -> Self {
        Self { volts: s.volts, ohms: s.ohms, limit: s.limit, overload: s.overload }
    }
}

impl From<&Output> for Rating {
    fn from(o: &Output) -> Self {
        Self { volts: o.volts, ohms: o.ohms, limit: o.limit, overload: o.overload }
    }
}

/// −1 for negative volts, else 1.
pub(crate) fn sign(volts: f64) -> f64 {
    if volts < 0.0 { -1.0 } else { 1.0 }
}

impl Rating {
    /// Current that the inner resistance would pass at this voltage, before any limit; counted in the sense of `volts`.
    pub fn raw(&self, across: Drop) -> f64 {
        -sign(self.volts) * across.less(self.volts) / self.ohms
    }

    fn ceiling(&self) -> f64 {
        match self.overload {
            Overload::Hold => self.limit.unwrap_or(f64::INFINITY),
            Overload::Trip => f64::INFINITY,
        }
    }

    pub fn next(&self, state: State, across: Drop, tolerance: f64) -> State {
        let raw = self.raw(across);
        match state {
            State::Holding if raw < -tolerance => State::Idle,
            State::Holding if raw > self.ceiling() + tolerance => State::Limiting,
            State::Limiting if raw < self.ceiling() - tolerance => State::Holding,
            State::Idle if raw > tolerance => State::Holding,
            same => same,
        }
    }

    /// Plus to minus inside: negative while it delivers.
    #[inline]
    pub fn branch(&self, state: State, across: Drop) -> Branch {
        match state {
            State::Holding => Branch { flow: across.less(self.volts) / self.ohms, slope: 1.0 / self.ohms },
            State::Limiting => Branch { flow: -sign(self.volts) * self.ceiling(), slope: 0.0 },
            _ => Branch::default(),
        }
    }
}

/// Conducts the excess over `forward`.
pub(crate) fn diode_next(d: &Diode, state: State, across: Drop, tolerance: f64) -> State {
    let raw = across.less(d.forward) / d.ohms;
    match state {
        State::On if raw < -tolerance => State::Off,
        State::Off if raw > tolerance => State::On,
        same => same,
    }
}

pub(crate) fn diode(d: &Diode, state: State, across: Drop) -> Branch {
    match state {
        State::On => Branch { flow: across.less(d.forward) / d.ohms, slope: 1.0 / d.ohms },
        _ => Branch::default(),
    }
}

pub(crate) fn clamp_next(c: &Clamp, state: State, across: Drop, tolerance: f64) -> State {
    let above = across.less(c.breakdown) / c.ohms;
    let below = across.less(-c.forward) / c.ohms;
    match state {
        State::Clamping if above < -tolerance => State::Off,
        State::Forward if below > tolerance => State::Off,
        State::Off if above > tolerance => State::Clamping,
        State::Off if below < -tolerance => State::Forward,
        same => same,
    }
}

/// Cathode to anode.
pub(crate) fn clamp(c: &Clamp, state: State, across: Drop) -> Branch {
    match state {
        State::Clamping => Branch { flow: across.less(c.breakdown) / c.ohms, slope: 1.0 / c.ohms },
        State::Forward => Branch { flow: across.less(-c.forward) / c.ohms, slope: 1.0 / c.ohms },
        _ => Branch::default(),
    }
}

pub(crate) fn load_next(l: &Load, state: State, across: Drop) -> State {
    let v = across.volts();
    match (l.draws, state) {
        (Draws::Resistance, _) => State::Normal,
        (_, State::Normal) if v < l.knee * (1.0 - KNEE_WIDTH) => State::Starved,
        (_, State::Starved) if v > l.knee * (1.0 + KNEE_WIDTH) => State::Normal,
        (_, same) => same,
    }
}

/// Plus to minus.
pub(crate) fn load(l: &Load, state: State, across: Drop) -> Branch {
    let v = across.volts();
    let straight = |slope: f64| Branch { flow: slope * v, slope };
    match (l.draws, state) {
        (Draws::Resistance, _) => straight(1.0 / l.amount),
        (Draws::Current, State::Starved) => straight(l.amount / l.knee),
        (Draws::Current, _) => Branch { flow: l.amount, slope: 0.0 },
        (Draws::Power, State::Starved) => straight(l.amount / (l.knee * l.knee)),
        (Draws::Power, _) if v >= l.knee => Branch { flow: l.amount / v, slope: -l.amount / (v * v) },
        // Below the knee the piece goes on as its tangent there, so that a wild step meets no pole.
        (Draws::Power, _) => {
            let slope = -l.amount / (l.knee * l.knee);
            Branch { flow: l.amount / l.knee + slope * (v - l.knee), slope }
        }
    }
}

/// The voltages that decide a regulator: output over reference, and input over output.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AtRegulator {
    pub output: Drop,
    pub series: Drop,
}

/// A regulator's current input to output, with its slope in the voltage input to output and in the voltage output to
/// reference.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Regulation {
    pub flow: f64,
    pub by_series: f64,
    pub by_output: f64,
}

pub(crate) fn regulator_next(r: &Regulator, state: State, at: AtRegulator, tolerance: f64) -> State {
    let s = sign(r.volts);
    let regulating = -s * at.output.less(r.volts) / r.ohms;
    let drop_out = at.series.times(s).less(r.headroom) / r.ohms;
    let (lesser, its) =
        if regulating <= drop_out { (regulating, State::Regulating) } else { (drop_out, State::DropOut) };
    match state {
        State::Off if lesser > tolerance => its,
        State::Limiting if lesser < r.limit - tolerance => its,
        State::Regulating | State::DropOut => {
            let mine = if state == State::Regulating { regulating } else { drop_out };
            if mine > lesser + tolerance {
                its
            } else if lesser < -tolerance {
                State::Off
            } else if lesser > r.limit + tolerance {
                State::Limiting
            } else {
                state
            }
        }
        same => same,
    }
}

pub(crate) fn regulator(r: &Regulator, state: State, at: AtRegulator) -> Regulation {
    let s = sign(r.volts);
    match state {
        State::Regulating => {
            Regulation { flow: -at.output.less(r.volts) / r.ohms, by_series: 0.0, by_output: -1.0 / r.ohms }
        }
        State::DropOut => {
            let flow = s * at.series.times(s).less(r.headroom) / r.ohms;
            Regulation { flow, by_series: 1.0 / r.ohms, by_output: 0.0 }
        }
        State::Limiting => Regulation { flow: s * r.limit, ..Regulation::default() },
        _ => Regulation::default(),
    }
}
