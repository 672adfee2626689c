//! Where a network solved from nothing may hunt, or come to rest elsewhere: told by its converters, and then solved so.

use super::workspace::Workspace;
use super::{Base, Edit};
use crate::laws::Rating;
use crate::network::{Converter, Law};
use crate::newton::DEAD;
use crate::operating::wanted;
use crate::potentials::Drop;
use crate::solution::State;

/// Times as much as at the base that a converter may deliver: what it feeds may feed it.
const MUCH: f64 = 2.0;
/// Share of its input voltage by which that of a converter that stays off may differ from the base's.
const NEAR: f64 = 0.1;

impl Workspace {
    /// Whether what is switched off may come back, or the order of switching and tripping decides.
    pub(super) fn may_hunt(&self, base: &Base, edits: &[Edit]) -> bool {
        let (mut switched, mut tripped, mut doubtful) = (false, false, false);
        for (law, k) in self.switching(base, edits) {
            let before = base.states.get(k..k + law.states());
            for (s, now) in self.states[k..k + law.states()].iter().enumerate() {
                tripped |= *now == State::Tripped && before.is_none_or(|b| b[s] != State::Tripped);
            }
            if let Law::Converter(c) = law
                && !matches!(self.states[k], State::On | State::Tripped)
            {
                switched |= before.is_none_or(|b| b[0] == State::On);
                doubtful |= !self.stays_off(base, c, before.is_some_and(|b| b[0] != State::On));
            }
        }
        // Another feed may hold a converter on or off: which, is told from the start.
        let converts = self.switching(base, edits).any(|(law, _)| matches!(law, Law::Converter(_)));
        let feeds = self.laws_added(edits).any(|(law, _)| matches!(law, Law::Source(_) | Law::Converter(_)));
        doubtful || (switched && tripped) || (converts && feeds) || self.delivers_much(base, edits)
    }

    /// Whether a converter that is off is so because nothing feeds it, or as it was at the base.
    fn stays_off(&self, base: &Base, c: &Converter, was_off: bool) -> bool {
        let volts = |at: &[f64]| at[c.in_plus] - at[c.in_minus];
        let (now, before) = (volts(&self.volts), volts(&base.at.main));
        let as_before = was_off
            && (now - before).abs() <= NEAR * before.abs()
            && wanted(c, &self.volts) == wanted(c, &base.at.main);
        as_before || now.abs() <= DEAD * c.low
    }

    /// Whether a converter delivers much more than at the base, by something new.
    pub(super) fn delivers_much(&self, base: &Base, edits: &[Edit]) -> bool {
        !self.added.is_empty()
            && self.switching(base, edits).any(|(law, k)| match law {
                Law::Converter(c) if self.states[k] == State::On => {
                    let before = base.states.get(k..k + law.states());
                    let before = before.map_or(0.0, |states| delivered(c, states, &base.at.main));
                    delivered(c, &self.states[k..k + law.states()], &self.volts) > MUCH * (c.idle + before)
                }
                _ => false,
            })
    }
}

/// Watts that the outputs of a converter deliver.
fn delivered(c: &Converter, states: &[State], volts: &[f64]) -> f64 {
    let each = c.outputs.iter().zip(&states[1..]).map(|(o, state)| {
        let across = volts[o.plus] - volts[o.minus];
        let branch = Rating::from(o).branch(*state, Drop::of(across));
        -across * branch.flow
    });
    each.sum()
}
