//! Node voltages for given switch positions (what is on, what has tripped), by Newton's method over the pieces.
//!
//! The quick way starts from the network without its loads and lets the loads in at once. From there, above every
//! voltage to come, Newton's method falls monotonically on constant-power loads to the high-voltage solution. It is
//! believed if every pivot is positive (a stable point) and nothing sagged that might not have to. Otherwise other ways
//! are tried: from the unloaded network settled in all its states; and in time, with a capacitor at every node that
//! the loads discharge, as the real thing would settle.

use crate::lu::{Equations, Pivots};
use crate::network::{Draws, Law, Network};
use crate::potentials::{Potentials, add_exactly};
use crate::solution::{State, Unsolved};
use crate::walk::{Collector, Moves, Walk, first_state, first_states};

/// Residual at which a step is the last, as a share of the largest current.
const EXACT: f64 = 1e-15;
/// Residual that is good enough where rounding lets it fall no further. Between the two it must have stopped falling,
/// since what is nothing beside the largest current may be much for a node that hangs on its leak.
const STALLED: f64 = 1e-11;
/// A step this small, as a share of the highest potential, moves nothing.
const AT_REST: f64 = 1e-14;
/// Steps that may be taken after that until none moves anything.
const REFINEMENTS: usize = 4;
/// Share of the largest current by which a device may be over its border.
pub(crate) const BORDER: f64 = 1e-16;
/// The same once devices have been moving for long: they may be chasing rounding.
pub(crate) const WIDE_BORDER: f64 = 1e-13;
/// Steps in which all devices may move at once; after them one at a time.
const TOGETHER: usize = 40;
/// How far a voltage may fall in the first step in time, as a share of the highest.
const FIRST_FALL: f64 = 0.02;
/// Each step in time is this many times as long as the last.
const STRETCH: f64 = 4.0;
/// The capacitors no longer matter at this share of the leak.
const WEAK: f64 = 1e-3;
/// Steps in time before they are given up.
const STEPS_IN_TIME: usize = 80;
/// Share of its least voltage below which a load is dead: nothing feeds it, and there is nothing to doubt.
pub(crate) const DEAD: f64 = 0.01;
/// An unstable point is worse than any number of starved loads.
const UNSTABLE: usize = 1 << 32;

/// Which way to the voltages is tried first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Manner {
    /// The quickest.
    Quick,
    /// The most careful.
    Careful,
}

/// A way to the voltages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Attempt {
    /// From one linear step without loads.
    AtOnce,
    /// From the unloaded network with every device in its state.
    FromUnloaded,
    /// From there in steps of time.
    InTime,
}

/// A network on its way to an operating point.
pub(crate) struct Solver<'n, E> {
    pub net: &'n Network,
    pub at: Potentials,
    /// One state an element, each converter's outputs after its own.
    pub states: Vec<State>,
    equations: E,
    residual: Vec<f64>,
    /// What rounding took from each sum of the residual.
    lost: Vec<f64>,
    /// Voltages without loads.
    unloaded: Vec<f64>,
    /// No potential is beyond this.
    bound: f64,
}

/// What a walk found.
struct Found {
    error: f64,
    scale: f64,
    walk: Walk,
}

/// Capacitors that hold the nodes near where they were.
#[derive(Clone, Copy)]
struct Pull<'a> {
    siemens: f64,
    to: &'a Potentials,
}

struct Assembly<'a, E> {
    equations: &'a mut E,
    residual: &'a mut [f64],
    lost: &'a mut [f64],
    scale: f64,
}

/// Adds to a sum at a node, and what rounding takes from it to another: a part that hangs on its leak balances to the
/// last digit, since what flows within it cancels exactly.
#[inline]
pub(crate) fn add_at(sums: &mut [f64], lost: &mut [f64], node: usize, amps: f64) {
    let (sum, rest) = add_exactly(sums[node], amps);
    sums[node] = sum;
    lost[node] += rest;
}

impl<E: Equations> Collector for Assembly<'_, E> {
    #[inline]
    fn flow(&mut self, from: usize, to: usize, amps: f64) {
        add_at(self.residual, self.lost, from, amps);
        add_at(self.residual, self.lost, to, -amps);
        self.scale = self.scale.max(amps.abs());
    }

    #[inline]
    fn conduct(&mut self, a: usize, b: usize, slope: f64) {
        self.equations.conduct(a, b, slope);
    }

    #[inline]
    fn control(&mut self, from: usize, to: usize, plus: usize, minus: usize, slope: f64) {
        self.equations.control(from, to, plus, minus, slope);
    }
}

impl<'n, E: Equations> Solver<'n, E> {
    pub fn new(net: &'n Network, equations: E) -> Self {
        let n = net.nodes.len();
        Self {
            net,
            at: Potentials::zero(n),
            states: first_states(net),
            equations,
            residual: vec![0.0; n],
            lost: vec![0.0; n],
            unloaded: Vec::new(),
            bound: highest_potential(net),
        }
    }

    /// Finds the voltages for the present switch positions: the first attempt without a doubt, else the least doubtful.
    pub fn settle(&mut self, manner: Manner) -> Result<(), Unsolved> {
        let mut attempts = [Attempt::AtOnce, Attempt::FromUnloaded, Attempt::InTime];
        if manner == Manner::Careful {
            attempts.reverse();
        }
        let mut best: Option<(usize, Potentials, Vec<State>)> = None;
        for attempt in attempts {
            let Some(pivots) = self.attempt(attempt) else { continue };
            let doubts = self.doubts(pivots);
            if doubts == 0 {
                return Ok(());
            }
            if best.as_ref().is_none_or(|(least, ..)| doubts < *least) {
                best = Some((doubts, self.at.clone(), self.states.clone()));
            }
        }
        match best {
            Some((_, at, states)) => {
                (self.at, self.states) = (at, states);
                Ok(())
            }
            None => Err(self.unsettled()),
        }
    }

    /// Goes on from the present voltages and states; tells whether the point reached is beyond doubt.
    pub fn settle_near(&mut self) -> bool {
        self.unloaded.clone_from(&self.at.main);
        self.newton(true, None).is_some_and(|pivots| self.doubts(pivots) == 0)
    }

    fn attempt(&mut self, attempt: Attempt) -> Option<Pivots> {
        self.without_loads();
        if attempt != Attempt::AtOnce && self.newton(false, None).is_none() {
            self.without_loads();
        }
        self.unloaded.clone_from(&self.at.main);
        if attempt == Attempt::InTime {
            self.step_in_time();
        }
        self.newton(true, None)
    }

    /// One exact step from zero with every device on its first piece and no load.
    fn without_loads(&mut self) {
        self.at = Potentials::zero(self.net.nodes.len());
        self.reset();
        let mut walk = Walk::new(Moves::None, 0.0);
        walk.loaded = false;
        self.walk(walk, None);
        if self.equations.factor(self.net.leak) != Pivots::Tiny {
            self.step();
        }
    }

    /// Lets the loads discharge a capacitor at every node, from a time too short to matter to one too long.
    fn step_in_time(&mut self) {
        let start = self.walk(Walk::new(Moves::All, 0.0), None);
        let top = self.unloaded.iter().fold(1e-3, |top: f64, v| top.max(v.abs()));
        let first = start.error / (FIRST_FALL * top);
        let mut siemens = first;
        let (mut from, mut states) = (self.at.clone(), self.states.clone());
        for _ in 0..STEPS_IN_TIME {
            if siemens <= WEAK * first.min(self.net.leak) {
                return;
            }
            if self.newton(true, Some(Pull { siemens, to: &from })).is_some() {
                from.copy_from(&self.at);
                states.clone_from(&self.states);
                siemens /= STRETCH;
            } else {
                self.at.copy_from(&from);
                self.states.clone_from(&states);
                siemens *= 2.0 * STRETCH;
            }
        }
    }

    /// Newton's method; gives what the last factorisation said, or nothing if it did not arrive.
    fn newton(&mut self, loaded: bool, pull: Option<Pull<'_>>) -> Option<Pivots> {
        let (mut pivots, mut tolerance, mut last_error) = (None, 0.0, f64::INFINITY);
        let to_datum = self.net.leak + pull.map_or(0.0, |p| p.siemens);
        // A step in time that is too long is better halved than fought for.
        let one_by_one = if pull.is_some() { 0 } else { TOGETHER + 4 * self.states.len().min(500) };
        let (mut refinements, mut by) = (if pull.is_some() { REFINEMENTS } else { 0 }, f64::INFINITY);
        for step in 0..TOGETHER + one_by_one {
            let mut walk = Walk::new(if step < TOGETHER { Moves::All } else { Moves::First }, tolerance);
            walk.loaded = loaded;
            let found = self.walk(walk, pull);
            if !found.error.is_finite() {
                return None;
            }
            let border = if step < TOGETHER / 2 { BORDER } else { WIDE_BORDER };
            tolerance = border * found.scale;
            let stays = found.walk.moved == 0 && found.walk.tolerance <= 2.0 * tolerance;
            let stalled = found.error <= STALLED * found.scale && found.error >= 0.1 * last_error;
            let exact = stays && pivots.is_some() && (found.error <= EXACT * found.scale || stalled);
            if exact {
                // What no current shows may still be much for a node that hangs on its leak.
                if by <= AT_REST * self.bound || refinements == REFINEMENTS {
                    return pivots;
                }
                refinements += 1;
            }
            last_error = if stays { found.error } else { f64::INFINITY };
            // Straight pieces that stay leave the matrix as it was: this step refines the last.
            if pivots.is_none() || !stays || (found.walk.curved && !exact) {
                let now = self.equations.factor(to_datum);
                if now == Pivots::Tiny {
                    return None;
                }
                pivots = Some(now);
            }
            by = self.step();
        }
        None
    }

    /// Assembles equations and residual at the present voltages.
    fn walk(&mut self, mut walk: Walk, pull: Option<Pull<'_>>) -> Found {
        self.equations.clear();
        for (node, left) in self.residual.iter_mut().enumerate() {
            *left = self.net.leak * self.at.main[node];
            if let Some(pull) = pull {
                *left += pull.siemens * self.at.since(pull.to, node);
            }
        }
        self.lost.fill(0.0);
        let (residual, lost) = (&mut self.residual, &mut self.lost);
        let mut to = Assembly { equations: &mut self.equations, residual, lost, scale: self.net.leak };
        walk.over(self.net, &mut self.states, &self.at, &mut to);
        let scale = to.scale.max(f64::MIN_POSITIVE);
        self.residual.iter_mut().zip(&self.lost).for_each(|(left, lost)| *left += lost);
        if let Some(left) = self.residual.get_mut(self.net.datum) {
            *left = 0.0;
        }
        // A maximum would pass over what is not a number; a sum does not.
        let sum: f64 = self.residual.iter().sum();
        let error = self.residual.iter().fold(0.0, |error: f64, left| error.max(left.abs()));
        Found { error: if sum.is_finite() { error } else { f64::NAN }, scale, walk }
    }

    /// Moves the voltages by what the factored equations say of the residual; gives the most that any moves.
    fn step(&mut self) -> f64 {
        self.equations.solve(&mut self.residual);
        let mut most: f64 = 0.0;
        for (node, by) in self.residual.iter().enumerate() {
            self.at.shift(node, -by, self.bound);
            most = most.max(by.abs());
        }
        most
    }

    /// Puts every device that is on to the first piece of its law.
    fn reset(&mut self) {
        let mut k = 0;
        for element in &self.net.elements {
            let next = k + element.law.states();
            let off = matches!(element.law, Law::Converter(_)) && self.states[k] != State::On;
            if !off && self.states[k] != State::Tripped {
                self.states[k] = first_state(&element.law);
                let outputs = self.states[k + 1..next].iter_mut();
                outputs.filter(|s| **s != State::Tripped).for_each(|s| *s = State::Holding);
            }
            k = next;
        }
    }

    /// How much there is to doubt: an unstable point, and each constant-power load and converter that is below its
    /// range but was not so without loads, or has some voltage left: there may be a solution at a higher one.
    fn doubts(&self, pivots: Pivots) -> usize {
        let volts = |v: &[f64], plus: usize, minus: usize| v[plus] - v[minus];
        let sags = |plus, minus, least| {
            let now = volts(&self.at.main, plus, minus);
            now < least && (now > DEAD * least || volts(&self.unloaded, plus, minus) >= least)
        };
        let mut doubts = if pivots == Pivots::Positive { 0 } else { UNSTABLE };
        let mut k = 0;
        for element in &self.net.elements {
            doubts += usize::from(match &element.law {
                Law::Load(l) => l.draws == Draws::Power && sags(l.plus, l.minus, l.knee),
                Law::Converter(c) => self.states[k] == State::On && sags(c.in_plus, c.in_minus, c.low),
                _ => false,
            });
            k += element.law.states();
        }
        doubts
    }

    /// Tells why: a voltage that is no number, or the devices that still move.
    fn unsettled(&mut self) -> Unsolved {
        let bad = (0..self.residual.len())
            .find(|n| !(self.at.main[*n].is_finite() && self.residual[*n].is_finite()));
        if let Some(node) = bad {
            return Unsolved::NotFinite { node: self.net.nodes[node].clone() };
        }
        let before = self.states.clone();
        self.walk(Walk::new(Moves::All, 0.0), None);
        let mut devices = Vec::new();
        let mut k = 0;
        for element in &self.net.elements {
            let next = k + element.law.states();
            if before[k..next] != self.states[k..next] {
                devices.push(element.name.clone());
            }
            k = next;
        }
        Unsolved::Unsettled { devices }
    }
}

/// Upper bound of any potential: every source in series, and a volt.
pub(crate) fn highest_potential(net: &Network) -> f64 {
    let of_law = |law: &Law| match law {
        Law::Source(s) => s.volts.abs(),
        Law::Converter(c) => c.outputs.iter().map(|o| o.volts.abs()).sum(),
        _ => 0.0,
    };
    1.0 + net.elements.iter().map(|e| of_law(&e.law)).sum::<f64>()
}
