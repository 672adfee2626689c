//! Where everything that can trip has: no longer a neighbour of its base, but of that base without what tripped.
//!
//! Nearly every device changes its state when a supply falls, so the small system of the base itself would be large. What
//! tripped stays so and carries nothing, and without a converter nothing comes back: what is left is the network without it.

use super::workspace::{Doubt, Workspace};
use super::{Base, Edit};
use crate::network::Law;
use crate::solution::State;
use std::ops::Deref;

/// Where a neighbour's operating point was found.
pub(super) enum Found<'b> {
    /// By the base at hand.
    Here,
    /// It is to be found by this one.
    By(&'b Base),
}

impl Base {
    /// The base without its sources that can trip, made when it is first needed; nothing where it has none, or converters.
    pub(super) fn fallen(&self) -> Option<&Base> {
        let made = || {
            let is_source = |e: &usize| matches!(self.law(*e), Law::Source(_));
            if self.switching.is_empty() || !self.switching.iter().all(is_source) {
                return None;
            }
            let gone: Vec<Edit> = self.switching.iter().copied().map(Edit::Remove).collect();
            let net = self.net.edited(&gone);
            Base::new(net, &self.ordering).ok().map(Box::new)
        };
        self.fallen.get_or_init(made).as_ref().map(Deref::deref)
    }
}

impl Workspace {
    /// Solves by correction of a base, or of what is left of it once everything has tripped.
    pub(super) fn correct_base(&mut self, base: &Base, edits: &[Edit]) -> Result<(), Doubt> {
        self.fell = false;
        if let Found::By(fallen) = self.correct(base, edits)? {
            self.fell = true;
            self.correct(fallen, edits)?;
        }
        Ok(())
    }

    /// The base without what can trip, if all of that has tripped and no edit adds a source.
    pub(super) fn fallen<'b>(&self, base: &'b Base, edits: &[Edit]) -> Option<&'b Base> {
        let left = base.switching.iter().filter(|e| !self.removed.contains(e));
        let has_tripped = |e: &usize| self.states[base.states_of(*e).start] == State::Tripped;
        let feeds = self.laws_added(edits).any(|(law, _)| matches!(law, Law::Source(_) | Law::Converter(_)));
        if feeds || !left.into_iter().all(has_tripped) {
            return None;
        }
        base.fallen()
    }
}
