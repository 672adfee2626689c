//! How far voltages may move before a device has to be looked at: bounds on voltage differences within which every
//! device stays in its state and no switch or limit falls. Conservative: beyond a bound the laws themselves decide.

use crate::laws::{Rating, sign};
use crate::network::{Converter, Draws, Enable, Law, Load, Network, OnWhen, Overload, Regulator};
use crate::newton::DEAD;
use crate::potentials::Potentials;
use crate::solution::State;

/// A voltage of a device that may move only so far.
#[derive(Debug, Clone, Copy)]
struct Watch {
    element: u32,
    plus: u32,
    minus: u32,
    low: f64,
    high: f64,
}

/// An output of a group with a power limit.
#[derive(Debug, Clone, Copy)]
struct Member {
    group: usize,
    plus: usize,
    minus: usize,
    volts: f64,
    amps: f64,
    slope: f64,
}

/// Everything to watch.
#[derive(Debug, Default)]
pub(super) struct Watches {
    all: Vec<Watch>,
    members: Vec<Member>,
    /// Groups that trip, each with its limit in watts.
    limits: Vec<(usize, f64)>,
}

/// Collects bounds for one device.
struct On<'a> {
    element: u32,
    watches: &'a mut Watches,
    at: &'a Potentials,
    /// Amperes.
    tolerance: f64,
}

impl Watches {
    pub fn of(net: &Network, states: &[State], at: &Potentials, tolerance: f64) -> Self {
        let mut watches = Self::default();
        for (g, group) in net.groups.iter().enumerate().filter(|(_, g)| g.trips) {
            watches.limits.extend(group.power_limit.map(|limit| (g, limit)));
        }
        let mut k = 0;
        for (element, e) in net.elements.iter().zip(0..) {
            let next = k + element.law.states();
            On { element: e, watches: &mut watches, at, tolerance }.element(&element.law, &states[k..next]);
            k = next;
        }
        watches
    }

    /// Whether everything stays as it was where voltages move by these.
    #[inline]
    pub fn hold(&self, moved: &[f64]) -> bool {
        let mut good = true;
        for w in &self.all {
            let by = moved[w.plus as usize] - moved[w.minus as usize];
            good &= (by >= w.low) & (by <= w.high);
        }
        good && self.powers_hold(moved)
    }

    /// Lists the devices that may not stay as they were, in the order of the network.
    pub fn broken(&self, moved: &[f64], list: &mut Vec<usize>) {
        for w in &self.all {
            let by = moved[w.plus as usize] - moved[w.minus as usize];
            let holds = (by >= w.low) & (by <= w.high);
            if !holds && list.last() != Some(&(w.element as usize)) {
                list.push(w.element as usize);
            }
        }
    }

    fn powers_hold(&self, moved: &[f64]) -> bool {
        self.limits.iter().all(|(group, watts)| {
            let of_group = self.members.iter().filter(|m| m.group == *group);
            let power = of_group.map(|m| {
                let by = moved[m.plus] - moved[m.minus];
                -(m.volts + by) * (m.amps + m.slope * by)
            });
            power.sum::<f64>() <= *watts
        })
    }
}

impl On<'_> {
    fn element(&mut self, law: &Law, states: &[State]) {
        match law {
            Law::Resistor(_) => {}
            Law::Source(s) => self.output(s.into(), (s.plus, s.minus), states[0], s.group),
            Law::Diode(d) => {
                let raw = self.at.across(d.anode, d.cathode).less(d.forward) / d.ohms;
                self.side((d.anode, d.cathode), raw, d.ohms, states[0] == State::On);
            }
            Law::Clamp(c) => {
                let across = self.at.across(c.cathode, c.anode);
                let (above, below) = (across.less(c.breakdown) / c.ohms, across.less(-c.forward) / c.ohms);
                self.side((c.cathode, c.anode), above, c.ohms, states[0] == State::Clamping);
                self.side((c.anode, c.cathode), -below, c.ohms, states[0] == State::Forward);
            }
            Law::Load(l) => self.load(l, states[0]),
            Law::Regulator(r) => self.regulator(r, states[0]),
            Law::Converter(c) => self.converter(c, states),
        }
    }

    /// The voltage may move within these bounds.
    fn within(&mut self, (plus, minus): (usize, usize), low: f64, high: f64) {
        if low.is_finite() || high.is_finite() {
            let (element, plus, minus) = (self.element, plus as u32, minus as u32);
            self.watches.all.push(Watch { element, plus, minus, low, high });
        }
    }

    /// A current that rises with the voltage by `1/ohms` stays above zero, or else at most zero.
    fn side(&mut self, pair: (usize, usize), raw: f64, ohms: f64, above: bool) {
        if above {
            self.within(pair, -(raw + self.tolerance) * ohms, f64::INFINITY);
        } else {
            self.within(pair, f64::NEG_INFINITY, (self.tolerance - raw) * ohms);
        }
    }

    /// Turned so that the current delivered falls as the voltage from first to second rises.
    fn output(&mut self, rating: Rating, pair: (usize, usize), state: State, group: Option<usize>) {
        let across = self.at.across(pair.0, pair.1);
        let raw = rating.raw(across);
        let turned = if sign(rating.volts) < 0.0 { (pair.1, pair.0) } else { pair };
        // Voltage that moves the raw current there.
        let to = |amps: f64| (raw - amps) * rating.ohms;
        let (limit, tolerance) = (rating.limit.unwrap_or(f64::INFINITY), self.tolerance);
        match state {
            State::Holding => {
                let most = if rating.overload == Overload::Trip { limit } else { limit + tolerance };
                self.within(turned, to(most), to(-tolerance));
            }
            State::Limiting => self.within(turned, f64::NEG_INFINITY, to(limit - tolerance)),
            State::Idle => self.within(turned, to(tolerance), f64::INFINITY),
            _ => {}
        }
        if let Some(group) = group.filter(|g| self.watches.limits.iter().any(|(limited, _)| limited == g)) {
            let branch = rating.branch(state, across);
            self.watches.members.push(Member {
                group,
                plus: pair.0,
                minus: pair.1,
                volts: across.volts(),
                amps: branch.flow,
                slope: branch.slope,
            });
        }
    }

    fn load(&mut self, l: &Load, state: State) {
        let (pair, v) = ((l.plus, l.minus), self.at.across(l.plus, l.minus).volts());
        match (l.draws, state) {
            (Draws::Resistance, _) => {}
            (_, State::Normal) => self.within(pair, l.knee - v, f64::INFINITY),
            (Draws::Power, _) => self.within(pair, f64::NEG_INFINITY, DEAD * l.knee - v),
            _ => self.within(pair, f64::NEG_INFINITY, l.knee - v),
        }
    }

    fn regulator(&mut self, r: &Regulator, state: State) {
        let s = sign(r.volts);
        let turned = |a: usize, b: usize| if s < 0.0 { (b, a) } else { (a, b) };
        let regulating = -s * self.at.across(r.output, r.reference).less(r.volts) / r.ohms;
        let drop_out = self.at.across(r.input, r.output).times(s).less(r.headroom) / r.ohms;
        // Both written as currents that rise with a voltage.
        let regulates = (turned(r.reference, r.output), regulating);
        let drops = (turned(r.input, r.output), drop_out);
        let difference = (turned(r.reference, r.input), regulating - drop_out);
        let tolerance = self.tolerance;
        let mut between = |(pair, raw): ((usize, usize), f64), low: f64, high: f64| {
            self.within(pair, (low - tolerance - raw) * r.ohms, (high + tolerance - raw) * r.ohms);
        };
        let (none, all) = (f64::NEG_INFINITY, f64::INFINITY);
        match state {
            State::Regulating => {
                between(regulates, 0.0, r.limit);
                between(difference, none, 0.0);
            }
            State::DropOut => {
                between(drops, 0.0, r.limit);
                between(difference, 0.0, all);
            }
            State::Limiting => {
                between(regulates, r.limit, all);
                between(drops, r.limit, all);
            }
            _ if regulating <= drop_out => between(regulates, none, 0.0),
            _ => between(drops, none, 0.0),
        }
    }

    fn converter(&mut self, c: &Converter, states: &[State]) {
        let input = (c.in_plus, c.in_minus);
        let v = self.at.across(c.in_plus, c.in_minus).volts();
        // What is off is begun anew in every neighbour.
        if states[0] == State::On {
            self.within(input, c.low - v, c.high - v);
            c.enable.iter().for_each(|e| self.enable(e));
        }
        for (o, state) in c.outputs.iter().zip(&states[1..]) {
            let state = if states[0] == State::On { *state } else { State::Tripped };
            self.output(o.into(), (o.plus, o.minus), state, c.group);
        }
    }

    fn enable(&mut self, e: &Enable) {
        let room = e.threshold - self.at.across(e.plus, e.minus).volts();
        match e.on_when {
            OnWhen::Above => self.within((e.plus, e.minus), room, f64::INFINITY),
            OnWhen::Below => self.within((e.plus, e.minus), f64::NEG_INFINITY, room),
        }
    }
}
