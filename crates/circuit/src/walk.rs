//! From elements to equations: one description of every element, read by whoever collects its parts.
//!
//! For a given network the calls come in the same order with the same nodes whatever the voltages and states, so a
//! collector may keep the places that they go to ([`crate::ordering`]).

use crate::laws::{self, AtRegulator, Branch, Rating};
use crate::network::{Converter, Draws, Law, Network};
use crate::potentials::Potentials;
use crate::solution::State;

/// Least volts at which a converter takes its whole power, where its range begins at nothing.
const LEAST_INPUT: f64 = 1e-3;

/// Collects currents and slopes.
pub(crate) trait Collector {
    /// A current that leaves node `from` and enters node `to`.
    fn flow(&mut self, from: usize, to: usize, amps: f64);
    /// Its slope in the voltage a to b across which it flows.
    fn conduct(&mut self, a: usize, b: usize, slope: f64);
    /// Slope of a current `from` → `to` in the voltage `plus` to `minus` elsewhere.
    fn control(&mut self, from: usize, to: usize, plus: usize, minus: usize, slope: f64);
}

/// Which devices may move to another piece of their law in a walk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Moves {
    /// None.
    None,
    /// The first that wants to: Murty's least-index rule, which cannot cycle where the network is monotone.
    First,
    /// All that want to.
    All,
}

/// The rules of a walk, and what was met on it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Walk {
    pub moves: Moves,
    /// Amperes by which a device may be over the border of its piece.
    pub tolerance: f64,
    /// Whether loads with a knee and converters draw.
    pub loaded: bool,
    /// How many devices moved.
    pub moved: usize,
    /// Whether slopes depend on voltages, not only on states.
    pub curved: bool,
}

impl Walk {
    pub fn new(moves: Moves, tolerance: f64) -> Self {
        Self { moves, tolerance, loaded: true, moved: 0, curved: false }
    }

    #[inline]
    fn settle(&mut self, state: &mut State, next: impl FnOnce(State, f64) -> State) {
        if self.moves == Moves::None || (self.moves == Moves::First && self.moved > 0) {
            return;
        }
        let next = next(*state, self.tolerance);
        if next != *state {
            *state = next;
            self.moved += 1;
        }
    }

    /// Walks over all elements. `states` holds one state an element, each converter's outputs after its own.
    pub fn over(&mut self, net: &Network, states: &mut [State], at: &Potentials, to: &mut impl Collector) {
        let mut k = 0;
        for element in &net.elements {
            let next = k + element.law.states();
            self.element(&element.law, &mut states[k..next], at, to);
            k = next;
        }
    }

    /// Settles and reads one element; `states` are its own.
    #[inline]
    pub fn element(&mut self, law: &Law, states: &mut [State], at: &Potentials, to: &mut impl Collector) {
        let state = &mut states[0];
        match law {
            Law::Resistor(r) => {
                let slope = 1.0 / r.ohms;
                two(to, r.a, r.b, Branch { flow: at.across(r.a, r.b).volts() * slope, slope });
            }
            Law::Source(s) => {
                let (across, rating) = (at.across(s.plus, s.minus), Rating::from(s));
                self.settle(state, |now, tolerance| rating.next(now, across, tolerance));
                two(to, s.plus, s.minus, rating.branch(*state, across));
            }
            Law::Diode(d) => {
                let across = at.across(d.anode, d.cathode);
                self.settle(state, |now, tolerance| laws::diode_next(d, now, across, tolerance));
                two(to, d.anode, d.cathode, laws::diode(d, *state, across));
            }
            Law::Clamp(c) => {
                let across = at.across(c.cathode, c.anode);
                self.settle(state, |now, tolerance| laws::clamp_next(c, now, across, tolerance));
                two(to, c.cathode, c.anode, laws::clamp(c, *state, across));
            }
            Law::Load(l) => {
                let across = at.across(l.plus, l.minus);
                self.settle(state, |now, _| laws::load_next(l, now, across));
                self.curved |= l.draws == Draws::Power && *state == State::Normal;
                let draws = self.loaded || l.draws == Draws::Resistance;
                let branch = if draws { laws::load(l, *state, across) } else { Branch::default() };
                two(to, l.plus, l.minus, branch);
            }
            Law::Regulator(r) => {
                let at = AtRegulator {
                    output: at.across(r.output, r.reference),
                    series: at.across(r.input, r.output),
                };
                self.settle(state, |now, tolerance| laws::regulator_next(r, now, at, tolerance));
                let carried = laws::regulator(r, *state, at);
                to.flow(r.input, r.output, carried.flow);
                to.conduct(r.input, r.output, carried.by_series);
                to.control(r.input, r.output, r.output, r.reference, carried.by_output);
            }
            Law::Converter(c) => self.converter(c, states, at, to),
        }
    }

    /// Outputs first: their power is what the input takes.
    fn converter(&mut self, c: &Converter, states: &mut [State], at: &Potentials, to: &mut impl Collector) {
        let on = states[0] == State::On;
        let input = at.across(c.in_plus, c.in_minus).volts();
        let draws = on && self.loaded;
        self.curved |= draws;
        let per_watt = if draws { amps_per_watt(c, input) } else { Branch::default() };
        let mut delivered = 0.0;
        for (o, state) in c.outputs.iter().zip(&mut states[1..]) {
            let (across, rating) = (at.across(o.plus, o.minus), Rating::from(o));
            if on {
                self.settle(state, |now, tolerance| rating.next(now, across, tolerance));
            }
            let branch = rating.branch(*state, across);
            let v = across.volts();
            two(to, o.plus, o.minus, branch);
            // An output that something else pulls backward gives nothing back to the input.
            let counts = if v * branch.flow < 0.0 { 1.0 } else { 0.0 };
            delivered -= counts * v * branch.flow;
            let by_output = -counts * (branch.flow + v * branch.slope) * per_watt.flow / c.efficiency;
            to.control(c.in_plus, c.in_minus, o.plus, o.minus, by_output);
        }
        let power = c.idle + delivered / c.efficiency;
        two(to, c.in_plus, c.in_minus, Branch { flow: power * per_watt.flow, slope: power * per_watt.slope });
    }
}

/// Input amperes that a converter takes for each watt, with their slope: constant power within its range. Below, while
/// it is still taken to be on, the current falls with the voltage as a load's does below its knee, so that even a dead
/// input has a solution, at which it is found to be off.
pub(crate) fn amps_per_watt(c: &Converter, input: f64) -> Branch {
    let knee = c.low.max(LEAST_INPUT);
    if input >= knee {
        Branch { flow: 1.0 / input, slope: -1.0 / (input * input) }
    } else {
        let slope = 1.0 / (knee * knee);
        Branch { flow: input * slope, slope }
    }
}

#[inline]
fn two(to: &mut impl Collector, a: usize, b: usize, branch: Branch) {
    to.flow(a, b, branch.flow);
    to.conduct(a, b, branch.slope);
}

/// The states that a cold start assumes: everything on and at its voltage, clamps quiet.
pub(crate) fn first_states(net: &Network) -> Vec<State> {
    let mut states = Vec::with_capacity(net.elements.len() + 8);
    for element in &net.elements {
        states.push(first_state(&element.law));
        if let Law::Converter(c) = &element.law {
            states.extend(c.outputs.iter().map(|_| State::Holding));
        }
    }
    states
}

impl Law {
    /// Number of states that it has: its own, and one an output.
    #[inline]
    pub(crate) fn states(&self) -> usize {
        if let Law::Converter(c) = self { 1 + c.outputs.len() } else { 1 }
    }
}

pub(crate) fn first_state(law: &Law) -> State {
    match law {
        Law::Resistor(_) => State::Conducting,
        Law::Source(_) => State::Holding,
        Law::Diode(_) | Law::Converter(_) => State::On,
        Law::Clamp(_) => State::Off,
        Law::Load(_) => State::Normal,
        Law::Regulator(_) => State::Regulating,
    }
}
