//! The states of a neighbour made to fit its voltages, with the meaning that [`Network::solve`] gives them: pieces
//! follow the voltages; once they rest, converters switch and what is over its limit trips.

use super::fallen::Found;
use super::links::Nothing;
use super::settling::STRAIGHT;
use super::workspace::{Doubt, Workspace};
use super::{Base, Edit, View, sags};
use crate::network::{Draws, Law};
use crate::newton::{BORDER, WIDE_BORDER};
use crate::operating::{Change, apply, changes};
use crate::solution::State;
use crate::walk::{Moves, Walk, first_state};

#[cfg(doc)]
use crate::network::Network;

/// Rounds in which all devices may move at once; after them one at a time.
const TOGETHER: usize = 14;
/// Rounds before the plain way is taken.
const ROUNDS: usize = 30;
/// Rounds of switching and tripping before it is.
const SWITCHINGS: usize = 10;

/// Everything on, as a network begins.
pub(super) fn push_first_states(law: &Law, states: &mut Vec<State>) {
    states.push(first_state(law));
    if let Law::Converter(c) = law {
        states.extend(c.outputs.iter().map(|_| State::Holding));
    }
}

/// Whether a device's slopes depend on its voltage.
pub(super) fn bent(law: &Law, states: &[State]) -> bool {
    match law {
        Law::Load(l) => l.draws == Draws::Power && states[0] == State::Normal,
        Law::Converter(_) => states[0] == State::On,
        _ => false,
    }
}

impl Workspace {
    /// Goes on until every device is in the state that fits its voltage.
    pub(super) fn follow_states<'b>(
        &mut self,
        base: &'b Base,
        view: &View,
        edits: &[Edit],
        begun: bool,
    ) -> Result<Found<'b>, Doubt> {
        for e in &base.restarted {
            self.restart(base, *e);
        }
        if begun {
            self.locate(base);
            self.walk(base, edits, Moves::All, BORDER * base.scale);
        }
        self.unloaded = !base.restarted.is_empty() || !self.added.is_empty();
        let mut seen: Vec<Vec<State>> = Vec::new();
        while seen.len() < SWITCHINGS {
            self.settle(base, view, edits)?;
            let found = changes(&base.net.groups, self.switching(base, edits), &self.states, &self.at);
            if found.is_empty() {
                return if self.may_hunt(base, edits) {
                    Err(Doubt::Switching)
                } else {
                    self.without_sag(base, edits).map(|()| Found::Here)
                };
            }
            if seen.contains(&self.states) {
                return Err(Doubt::Switching);
            }
            seen.push(self.states.clone());
            for change in found {
                self.apply(base, edits, change);
            }
            if let Some(fallen) = self.fallen(base, edits) {
                return Ok(Found::By(fallen));
            }
            self.unloaded = true;
        }
        Err(Doubt::Switching)
    }

    fn apply(&mut self, base: &Base, edits: &[Edit], change: Change) {
        let mut states = std::mem::take(&mut self.states);
        apply(self.laws(base, edits), &mut states, change);
        self.states = states;
        base.switching.iter().for_each(|e| touch(&mut self.touched, *e));
    }

    fn restart(&mut self, base: &Base, element: usize) {
        let states = &mut self.states[base.states_of(element)];
        states.fill(State::Holding);
        states[0] = first_state(base.law(element));
        touch(&mut self.touched, element);
    }

    /// Laws of the neighbour with their first states.
    fn laws<'n>(&'n self, base: &'n Base, edits: &'n [Edit]) -> impl Iterator<Item = (&'n Law, usize)> {
        self.laws_left(base, &base.devices).chain(self.laws_added(edits))
    }

    /// Those that may trip or be switched.
    pub(super) fn switching<'n>(
        &'n self,
        base: &'n Base,
        edits: &'n [Edit],
    ) -> impl Iterator<Item = (&'n Law, usize)> {
        self.laws_left(base, &base.switching).chain(self.laws_added(edits))
    }

    fn laws_left<'n>(&'n self, base: &'n Base, which: &'n [usize]) -> impl Iterator<Item = (&'n Law, usize)> {
        let left = which.iter().filter(|e| !self.removed.contains(e));
        left.map(|e| (base.law(*e), base.states_of(*e).start))
    }

    pub(super) fn laws_added<'n>(&'n self, edits: &'n [Edit]) -> impl Iterator<Item = (&'n Law, usize)> {
        self.added.iter().filter_map(|a| match &edits[a.edit] {
            Edit::Add(law) => Some((law, a.first_state)),
            Edit::Remove(_) => None,
        })
    }

    /// Moves the pieces until they rest.
    fn settle(&mut self, base: &Base, view: &View, edits: &[Edit]) -> Result<(), Doubt> {
        let mut tolerance = BORDER * base.scale;
        for round in 0..ROUNDS {
            self.activate(base);
            // What falls with rising voltage may have two points; the higher is found from above.
            let bends = self.unloaded && self.changed_laws(base, edits).any(|(law, _)| may_bend(law));
            self.unloaded = bends;
            self.moved_before.clone_from(&self.moved);
            self.round(base, view, edits)?;
            let was_unloaded = std::mem::take(&mut self.unloaded);
            let inside = self.locate(base);
            let moves = if round < TOGETHER { Moves::All } else { Moves::First };
            if round > TOGETHER / 2 {
                tolerance = tolerance.max(WIDE_BORDER * base.scale);
            }
            let moved = self.walk(base, edits, moves, tolerance);
            if moved || !inside || was_unloaded || !self.all_exact() || !self.rests(base, edits) {
                continue;
            }
            if self.believed(view) {
                return Ok(());
            }
            // Refined by the laws themselves where rounding shows.
            self.refine(base, view, edits)?;
            if !self.walk(base, edits, moves, tolerance) {
                return Ok(());
            }
        }
        Err(Doubt::Restless)
    }

    /// Lets devices move to the piece that fits the voltages; tells whether any did.
    fn walk(&mut self, base: &Base, edits: &[Edit], moves: Moves, tolerance: f64) -> bool {
        self.candidates.clear();
        base.watches.broken(&self.moved, &mut self.candidates);
        self.candidates.extend(&self.touched);
        self.candidates.sort_unstable();
        self.candidates.dedup();
        let (mut walk, mut moved) = (Walk::new(moves, tolerance), 0);
        for e in self.candidates.iter().filter(|e| !self.removed.contains(e)) {
            let states = &mut self.states[base.states_of(*e)];
            walk.element(base.law(*e), states, &self.at, &mut Nothing);
            if walk.moved > moved {
                moved = walk.moved;
                touch(&mut self.touched, *e);
            }
        }
        for added in &self.added {
            if let Edit::Add(law) = &edits[added.edit] {
                let range = added.first_state..added.first_state + law.states();
                walk.element(law, &mut self.states[range], &self.at, &mut Nothing);
            }
        }
        walk.moved > 0
    }

    /// Lists what is no longer as in the base.
    fn activate(&mut self, base: &Base) {
        let Self { active, states, exact, removed, touched, .. } = self;
        active.clear();
        let differs = |e: usize| states[base.states_of(e)] != base.states[base.states_of(e)];
        active.extend(touched.iter().copied().filter(|e| differs(*e) || exact.contains(e)));
        active.extend(exact.iter().copied().filter(|e| !touched.contains(e)));
        active.retain(|e| !removed.contains(e));
        active.sort_unstable();
    }

    /// Whether all that is to be followed exactly was so in the last round.
    fn all_exact(&self) -> bool {
        self.exact.iter().all(|e| self.active.contains(e) || self.removed.contains(e))
    }

    /// Laws that are new or no longer as in the base, with their first states.
    fn changed_laws<'n>(
        &'n self,
        base: &'n Base,
        edits: &'n [Edit],
    ) -> impl Iterator<Item = (&'n Law, usize)> {
        let of_base = self.active.iter().map(|e| (base.law(*e), base.states_of(*e).start));
        of_base.chain(self.laws_added(edits))
    }

    /// Whether the last round moved nothing, or all that was changed is straight.
    fn rests(&self, base: &Base, edits: &[Edit]) -> bool {
        if !self.changed_laws(base, edits).any(|(law, k)| bent(law, &self.states[k..])) {
            return true;
        }
        let pairs = self.moved.iter().zip(&self.moved_before);
        let by = pairs.fold(0.0, |most: f64, (a, b)| most.max((a - b).abs()));
        self.moved.len() == self.moved_before.len() && by <= 10.0 * STRAIGHT * self.highest()
    }

    /// Takes the voltages as the devices see them, none beyond what the sources can make; tells whether none was.
    pub(super) fn locate(&mut self, base: &Base) -> bool {
        self.at_now = true;
        let inside = self.volts.iter().fold(true, |inside, v| inside & (v.abs() <= base.bound));
        if !inside {
            for (moved, main) in self.moved.iter_mut().zip(&base.at.main) {
                *moved = (main + *moved).clamp(-base.bound, base.bound) - main;
            }
        }
        self.at.set(&base.at, &self.moved);
        inside
    }

    /// Refuses a point at which a constant-power load sags: there may be another.
    fn without_sag(&self, base: &Base, edits: &[Edit]) -> Result<(), Doubt> {
        let left = self.candidates.iter().filter(|e| !self.removed.contains(e)).map(|e| base.law(*e));
        let mut looked_at = left.chain(self.laws_added(edits).map(|(law, _)| law));
        if looked_at.any(|law| sags(law, &self.at)) { Err(Doubt::Sagging) } else { Ok(()) }
    }
}

fn touch(touched: &mut Vec<usize>, element: usize) {
    if !touched.contains(&element) {
        touched.push(element);
    }
}

/// Whether a device takes less current at a higher voltage in some state.
fn may_bend(law: &Law) -> bool {
    match law {
        Law::Load(l) => l.draws == Draws::Power,
        Law::Converter(_) => true,
        _ => false,
    }
}
