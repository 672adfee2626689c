//! The states of a neighbour made to fit its voltages, with the meaning that [`Network::solve`] gives them: pieces
//! follow the voltages; once they rest, converters switch and what is over its limit trips.

use super::inverse::Inverse;
use super::links::Nothing;
use super::workspace::{Doubt, STRAIGHT, Workspace};
use super::{Base, Edit, sags};
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
    pub(super) fn follow_states(&mut self, base: &Base, z: &Inverse, edits: &[Edit]) -> Result<(), Doubt> {
        for e in &base.restarted {
            self.restart(base, *e);
        }
        let mut seen: Vec<Vec<State>> = Vec::new();
        self.at_now = false;
        while seen.len() < SWITCHINGS {
            self.settle(base, z, edits)?;
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
        }
        Err(Doubt::Switching)
    }

    fn restart(&mut self, base: &Base, element: usize) {
        let states = &mut self.states[base.states_of(element)];
        states.fill(State::Holding);
        states[0] = first_state(base.law(element));
    }

    /// Laws of the neighbour with their first states.
    fn laws<'n>(
        &self,
        base: &'n Base,
        edits: &'n [Edit],
    ) -> impl Iterator<Item = (&'n Law, usize)> + use<'n> {
        let removed = self.removed.clone();
        let left = base.devices.iter().filter(move |e| !removed.contains(e));
        let left = left.map(|e| (base.law(*e), base.states_of(*e).start));
        left.chain(self.laws_added(edits).collect::<Vec<_>>())
    }

    fn laws_added<'n>(&self, edits: &'n [Edit]) -> impl Iterator<Item = (&'n Law, usize)> {
        self.added.iter().filter_map(|a| match &edits[a.edit] {
            Edit::Add(law) => Some((law, a.first_state)),
            Edit::Remove(_) => None,
        })
    }

    /// Moves the pieces until they rest.
    fn settle(&mut self, base: &Base, z: &Inverse, edits: &[Edit]) -> Result<(), Doubt> {
        let mut tolerance = BORDER * base.scale;
        let mut unloaded = false;
        for round in 0..ROUNDS {
            self.activate(base);
            self.moved_before.clone_from(&self.moved);
            let solved = self.round(base, z, edits);
            if solved == Err(Doubt::Unstable) && !unloaded && self.unload(base) {
                unloaded = true;
                continue;
            }
            solved?;
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
            if self.believed(base) {
                return Ok(());
            }
            self.refine(base, z, edits)?;
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

    /// Takes the loads off whose voltage moves far, for the next round: from the voltages without them, all that draws
    /// constant power is followed to its point. Tells whether there were any.
    fn unload(&mut self, base: &Base) -> bool {
        if self.unloaded {
            return false;
        }
        for (b, bend) in base.bends.all.iter().enumerate() {
            if base.bends.far(b, &self.moved) && !self.exact.contains(&bend.element) {
                self.exact.push(bend.element);
            }
        }
        self.unloaded = !self.exact.is_empty();
        self.unloaded
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
