//! Operating points: switch positions made consistent with the voltages that they lead to.
//!
//! Everything begins on. After each round of voltages, converters whose input or enable says otherwise change, and
//! what is over its limit trips for good; all at once, and if that comes back to positions it had already, once more
//! from the start with one change a round. If that comes round too, the network hunts.

use crate::balance;
use crate::check::check;
use crate::dense::Dense;
use crate::laws::Rating;
use crate::lu::{Equations, Sparse};
use crate::network::{Converter, Group, Law, Network, OnWhen, Overload};
use crate::newton::{Manner, Solver};
use crate::ordering::Ordering;
use crate::potentials::Potentials;
use crate::solution::{Solution, State, Unsolved};
use crate::walk::{first_state, first_states};
use std::borrow::Cow;

/// Nodes up to which the plain way is fallen back on: beyond, its cubic cost is more than a person waits for.
pub(crate) const PLAIN_AT_MOST: usize = 300;

impl Network {
    /// The operating point.
    ///
    /// # Errors
    /// See [`Unsolved`].
    pub fn solve(&self) -> Result<Solution, Unsolved> {
        self.solve_in(&self.ordering())
    }

    /// The operating point, with an elimination order made earlier for a network wired alike. (Made for another wiring
    /// it is put aside, and the result is the same.)
    ///
    /// # Errors
    /// See [`Unsolved`].
    pub fn solve_in(&self, ordering: &Ordering) -> Result<Solution, Unsolved> {
        self.settled(ordering).map(|settled| settled.solution)
    }

    /// The operating point with all that a neighbour may start from.
    pub(crate) fn settled(&self, ordering: &Ordering) -> Result<Settled, Unsolved> {
        check(self)?;
        let ordering = self.fitting(ordering);
        match operating_point(Solver::new(self, Sparse::new(&ordering)), Manner::Quick) {
            Err(Unsolved::Unsettled { .. } | Unsolved::Unbalanced { .. } | Unsolved::NotFinite { .. })
                if self.nodes.len() <= PLAIN_AT_MOST =>
            {
                operating_point(Solver::new(self, Dense::new(self)), Manner::Careful)
            }
            done => done,
        }
    }

    /// The operating point, starting from that of a neighbour: the same wiring at other values. Where the start has
    /// anything tripped, off or starved, or the way from it leaves a doubt, this is [`Network::solve_in`].
    ///
    /// # Errors
    /// See [`Unsolved`].
    pub fn solve_from(&self, ordering: &Ordering, start: &Solution) -> Result<Solution, Unsolved> {
        check(self)?;
        let Some(states) = states_to_start_from(self, start) else { return self.solve_in(ordering) };
        let fitting = self.fitting(ordering);
        let mut solver = Solver::new(self, Sparse::new(&fitting));
        solver.states = states;
        solver.at = Potentials::of(&start.volts);
        if solver.settle_near()
            && changes(&self.groups, laws(self), &solver.states, &solver.at).is_empty()
            && let Ok(solution) = balance::verified(self, &solver.states, &solver.at)
        {
            return Ok(solution);
        }
        self.solve_in(ordering)
    }

    /// The operating point the plain way: the whole matrix, and small steps. Slow; a reference for the quick way.
    ///
    /// # Errors
    /// See [`Unsolved`].
    pub fn solve_plainly(&self) -> Result<Solution, Unsolved> {
        check(self)?;
        operating_point(Solver::new(self, Dense::new(self)), Manner::Careful).map(|settled| settled.solution)
    }

    pub(crate) fn fitting<'o>(&self, ordering: &'o Ordering) -> Cow<'o, Ordering> {
        if ordering.fits(self) { Cow::Borrowed(ordering) } else { Cow::Owned(self.ordering()) }
    }
}

/// An operating point with the states and the exact voltages that it was found from.
pub(crate) struct Settled {
    pub solution: Solution,
    pub states: Vec<State>,
    pub at: Potentials,
}

fn operating_point<E: Equations>(mut solver: Solver<'_, E>, manner: Manner) -> Result<Settled, Unsolved> {
    match rounds(&mut solver, manner, false)? {
        Ending::Consistent => {}
        Ending::Hunting(_) => {
            solver.states = first_states(solver.net);
            if let Ending::Hunting(devices) = rounds(&mut solver, manner, true)? {
                return Err(Unsolved::Hunting { devices });
            }
        }
    }
    let solution = balance::verified(solver.net, &solver.states, &solver.at)?;
    Ok(Settled { solution, states: solver.states, at: solver.at })
}

enum Ending {
    Consistent,
    Hunting(Vec<String>),
}

fn rounds<E: Equations>(
    solver: &mut Solver<'_, E>,
    manner: Manner,
    one_at_a_time: bool,
) -> Result<Ending, Unsolved> {
    let mut seen: Vec<Vec<bool>> = Vec::new();
    loop {
        solver.settle(manner)?;
        let mut changes = changes(&solver.net.groups, laws(solver.net), &solver.states, &solver.at);
        if changes.is_empty() {
            return Ok(Ending::Consistent);
        }
        let now = positions(solver.net, &solver.states);
        if let Some(first) = seen.iter().position(|before| *before == now) {
            return Ok(Ending::Hunting(changed_since(solver.net, &seen[first..])));
        }
        seen.push(now);
        if one_at_a_time {
            changes.truncate(1);
        }
        changes.iter().for_each(|change| apply(laws(solver.net), &mut solver.states, *change));
    }
}

/// What is on: one flag a state, of every source, output and converter.
fn positions(net: &Network, states: &[State]) -> Vec<bool> {
    let mut on = Vec::new();
    each_element(net, |_, law, k| match law {
        Law::Source(_) => on.push(states[k] != State::Tripped),
        Law::Converter(_) => {
            on.push(states[k] == State::On);
            on.extend(states[k + 1..k + law.states()].iter().map(|s| *s != State::Tripped));
        }
        _ => {}
    });
    on
}

/// Names of the converters that are not the same in all of some positions.
fn changed_since(net: &Network, seen: &[Vec<bool>]) -> Vec<String> {
    let mut names = Vec::new();
    let mut place = 0;
    each_element(net, |e, law, _| match law {
        Law::Source(_) => place += 1,
        Law::Converter(_) => {
            if seen.iter().any(|positions| positions[place] != seen[0][place]) {
                names.push(net.elements[e].name.clone());
            }
            place += law.states();
        }
        _ => {}
    });
    names
}

/// Every law with the index of its first state.
pub(crate) fn laws(net: &Network) -> impl Iterator<Item = (&Law, usize)> {
    let next = |k: &mut usize, law: &'_ Law| std::mem::replace(k, *k + law.states());
    net.elements.iter().scan(0, move |k, e| Some((&e.law, next(k, &e.law))))
}

/// Gives every element with its index and the index of its first state.
fn each_element<'n>(net: &'n Network, mut each: impl FnMut(usize, &'n Law, usize)) {
    let mut k = 0;
    for (e, element) in net.elements.iter().enumerate() {
        each(e, &element.law, k);
        k += element.law.states();
    }
}

/// What no longer fits after a round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Change {
    /// The state at this index becomes another: a converter's.
    Switch(usize, State),
    /// A source or output outside any group, by the index of its state, trips.
    Trip(usize),
    /// A group trips.
    TripGroup(usize),
}

pub(crate) fn changes<'n>(
    groups: &[Group],
    laws: impl Iterator<Item = (&'n Law, usize)>,
    states: &[State],
    at: &Potentials,
) -> Vec<Change> {
    let mut changes = Vec::new();
    let mut power = vec![0.0; groups.len()];
    for (law, k) in laws {
        let mut output = |k: usize, rating: Rating, (plus, minus): (usize, usize), group: Option<usize>| {
            let across = at.across(plus, minus);
            let flow = rating.branch(states[k], across).flow;
            if let Some(g) = group {
                power[g] -= across.volts() * flow;
            }
            if is_over(&rating, flow) {
                changes.push(group.map_or(Change::Trip(k), Change::TripGroup));
            }
        };
        match law {
            Law::Source(s) => output(k, s.into(), (s.plus, s.minus), s.group),
            Law::Converter(c) => {
                for (o, k) in c.outputs.iter().zip(k + 1..) {
                    output(k, o.into(), (o.plus, o.minus), c.group);
                }
                let wanted = wanted(c, &at.main);
                if states[k] != State::Tripped && (states[k] == State::On) != (wanted == State::On) {
                    changes.push(Change::Switch(k, wanted));
                }
            }
            _ => {}
        }
    }
    for (g, group) in groups.iter().enumerate() {
        if group.trips && group.power_limit.is_some_and(|limit| power[g] > limit) {
            changes.push(Change::TripGroup(g));
        }
    }
    changes
}

fn is_over(rating: &Rating, flow: f64) -> bool {
    rating.overload == Overload::Trip && rating.limit.is_some_and(|limit| flow.abs() > limit)
}

/// The state that a converter's input and enable ask for.
pub(crate) fn wanted(c: &Converter, by_node: &[f64]) -> State {
    let volts = |plus: usize, minus: usize| by_node[plus] - by_node[minus];
    let input = volts(c.in_plus, c.in_minus);
    let enabled = c.enable.as_ref().is_none_or(|e| match e.on_when {
        OnWhen::Above => volts(e.plus, e.minus) >= e.threshold,
        OnWhen::Below => volts(e.plus, e.minus) <= e.threshold,
    });
    if input < c.low {
        State::BelowRange
    } else if input > c.high {
        State::AboveRange
    } else if !enabled {
        State::Disabled
    } else {
        State::On
    }
}

pub(crate) fn apply<'n>(
    mut laws: impl Iterator<Item = (&'n Law, usize)>,
    states: &mut [State],
    change: Change,
) {
    match change {
        Change::Trip(k) => states[k] = State::Tripped,
        Change::Switch(k, to) if states[k] != State::Tripped => {
            states[k] = to;
            let output = if to == State::On { State::Holding } else { State::Idle };
            if let Some((law, _)) = laws.find(|(_, its)| *its == k) {
                let outputs = states[k + 1..k + law.states()].iter_mut();
                outputs.filter(|s| **s != State::Tripped).for_each(|s| *s = output);
            }
        }
        Change::Switch(..) => {}
        Change::TripGroup(g) => {
            for (law, k) in laws.filter(|(law, _)| law.group() == Some(g)) {
                states[k..k + law.states()].fill(State::Tripped);
            }
        }
    }
}

/// States to begin with, if those of a solution are of this network and everything was on in it.
fn states_to_start_from(net: &Network, start: &Solution) -> Option<Vec<State>> {
    if start.volts.len() != net.nodes.len() || start.elements.len() != net.elements.len() {
        return None;
    }
    let mut states = Vec::with_capacity(net.elements.len() + 8);
    for (element, flow) in net.elements.iter().zip(&start.elements) {
        let outputs = flow.outputs.iter().map(|o| o.state);
        let same_kind = is_piece(&element.law, flow.state) && element.law.states() == 1 + flow.outputs.len();
        if !same_kind || flow.outputs.iter().any(|o| !is_piece_of_source(o.state)) {
            return None;
        }
        states.push(flow.state);
        states.extend(outputs);
    }
    Some(states)
}

fn is_piece_of_source(state: State) -> bool {
    matches!(state, State::Holding | State::Limiting | State::Idle)
}

/// Whether a healthy device of this law can be in this state.
fn is_piece(law: &Law, state: State) -> bool {
    match law {
        Law::Source(_) => is_piece_of_source(state),
        Law::Diode(_) => matches!(state, State::On | State::Off),
        Law::Clamp(_) => matches!(state, State::Off | State::Clamping | State::Forward),
        Law::Regulator(_) => {
            matches!(state, State::Regulating | State::DropOut | State::Limiting | State::Off)
        }
        Law::Resistor(_) | Law::Load(_) | Law::Converter(_) => state == first_state(law),
    }
}
