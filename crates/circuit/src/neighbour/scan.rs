//! The states of a neighbour made to fit its voltages, with the meaning that [`Network::solve`] gives them: pieces
//! follow the voltages; once they rest, converters switch and what is over its limit trips.

use super::links::Nothing;
use super::settling::STRAIGHT;
use super::workspace::{Doubt, Workspace};
use super::{Base, Edit, View, sags};
use crate::network::{Draws, Law};
use crate::newton::{BORDER, WIDE_BORDER};
use crate::operating::{apply, changes};
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
    pub(super) fn follow_states(
        &mut self,
        base: &Base,
        view: &View,
        edits: &[Edit],
        begun: bool,
    ) -> Result<(), Doubt> {
        for e in &base.restarted {
            self.restart(base, *e);
        }
        if begun {
            self.locate(base);
            self.walk(base, edits, Moves::All, BORDER * base.scale);
        }
        let mut seen: Vec<Vec<State>> = Vec::new();
        self.unloaded = !base.restarted.is_empty() || !self.added.is_empty();
        while seen.len() < SWITCHINGS {
            self.settle(base, view, edits)?;
            let found = changes(&base.net.groups, self.laws(base, edits), &self.states, &self.at);
            if found.is_empty() {
                return if self.doubtful(base, edits) { Err(Doubt::Sagging) } else { Ok(()) };
            }
            if seen.contains(&self.states) {
                return Err(Doubt::Switching);
            }
            seen.push(self.states.clone());
            let mut states = std::mem::take(&mut self.states);
            found.into_iter().for_each(|change| apply(self.laws(base, edits), &mut states, change));
            self.states = states;
            self.unloaded = true;
        }
        Err(Doubt::Switching)
    }

    fn restart(&mut self, base: &Base, element: usize) {
        let states = &mut self.states[base.states_of(element)];
        states.fill(State::Holding);
        states[0] = first_state(base.law(element));
    }

    /// Laws of the neighbour with their first states.
    fn laws<'n>(&'n self, base: &'n Base, edits: &'n [Edit]) -> impl Iterator<Item = (&'n Law, usize)> {
        let left = base.devices.iter().filter(|e| !self.removed.contains(e));
        left.map(|e| (base.law(*e), base.states_of(*e).start)).chain(self.laws_added(edits))
    }

    fn laws_added<'n>(&'n self, edits: &'n [Edit]) -> impl Iterator<Item = (&'n Law, usize)> {
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
            // Verified by the laws themselves, and refined where rounding shows.
            self.refine(base, view, edits)?;
            if !self.walk(base, edits, moves, tolerance) {
                return Ok(());
            }
        }
        Err(Doubt::Restless)
    }

    /// Lets devices move to the piece that fits the voltages; tells whether any did.
    fn walk(&mut self, base: &Base, edits: &[Edit], moves: Moves, tolerance: f64) -> bool {
        let mut walk = Walk::new(moves, tolerance);
        let mut states = std::mem::take(&mut self.states);
        for (law, k) in self.laws(base, edits) {
            walk.element(law, &mut states[k..k + law.states()], &self.at, &mut Nothing);
        }
        self.states = states;
        walk.moved > 0
    }

    /// Lists what is no longer as in the base.
    fn activate(&mut self, base: &Base) {
        let Self { active, states, exact, removed, .. } = self;
        active.clear();
        let differs = |e: usize| states[base.states_of(e)] != base.states[base.states_of(e)];
        let changed = base.devices.iter().copied().filter(|e| differs(*e) || exact.contains(e));
        active.extend(changed.filter(|e| !removed.contains(e)));
    }

    /// Whether all that is to be followed exactly was so in the last round.
    fn all_exact(&self) -> bool {
        self.exact.iter().all(|e| self.active.contains(e) || self.removed.contains(e))
    }

    /// Whether the last round moved nothing, or all that was changed is straight.
    fn rests(&self, base: &Base, edits: &[Edit]) -> bool {
        let of_base = self.active.iter().map(|e| (base.law(*e), base.states_of(*e).start));
        let mut changed = of_base.chain(self.laws_added(edits));
        if !changed.any(|(law, k)| bent(law, &self.states[k..])) {
            return true;
        }
        let pairs = self.moved.iter().zip(&self.moved_before);
        let by = pairs.fold(0.0, |most: f64, (a, b)| most.max((a - b).abs()));
        self.moved.len() == self.moved_before.len() && by <= 10.0 * STRAIGHT * base.highest.max(1e-3)
    }

    /// Takes the voltages as the devices see them, none beyond what the sources can make; tells whether none was.
    pub(super) fn locate(&mut self, base: &Base) -> bool {
        if self.at.main.len() == base.at.main.len() {
            self.at.copy_from(&base.at);
        } else {
            self.at = base.at.clone();
        }
        let mut inside = true;
        for node in 0..self.moved.len() {
            inside &= self.volts[node].abs() <= base.bound;
            self.at.shift(node, self.moved[node], base.bound);
            self.moved[node] = self.at.since(&base.at, node);
        }
        self.at_now = true;
        inside
    }

    /// Whether a constant-power load sags: there may be another point.
    fn doubtful(&self, base: &Base, edits: &[Edit]) -> bool {
        self.laws(base, edits).any(|(law, _)| sags(law, &self.at))
    }
}
