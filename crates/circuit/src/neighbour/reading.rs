//! What can be read at a neighbour's operating point.

use super::workspace::{Doubt, Of, Workspace};
use super::{Base, Edit, View};
use crate::network::{Converter, Law};
use crate::operating::wanted;
use crate::solution::State;
use crate::walk::amps_per_watt;

/// How a neighbour was solved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// By correction of its base.
    Corrected,
    /// As a network of its own.
    Plain,
}

/// The operating point of a neighbour.
#[derive(Debug)]
pub struct Neighbour<'w> {
    /// Voltage of each node against the datum.
    pub volts: &'w [f64],
    /// How it was solved.
    pub way: Way,
    /// Why it was solved plainly, if it was.
    pub doubt: Option<Doubt>,
    pub(super) room: &'w Workspace,
    pub(super) base: &'w Base,
    /// By which it was solved: the base, or what is left of it once everything has tripped.
    used: &'w Base,
    pub(super) edits: &'w [Edit],
}

impl<'w> Neighbour<'w> {
    pub(super) fn new(room: &'w Workspace, base: &'w Base, edits: &'w [Edit]) -> Self {
        let volts = room.plain.as_ref().map_or(&room.volts, |plain| &plain.solution.volts);
        let doubt = room.plain.as_ref().map(|plain| plain.doubt);
        let way = if doubt.is_some() { Way::Plain } else { Way::Corrected };
        let used = if room.fell { base.fallen().unwrap_or(base) } else { base };
        Self { volts, way, doubt, room, base, used, edits }
    }

    /// Voltage between two nodes.
    pub fn between(&self, plus: usize, minus: usize) -> f64 {
        self.volts[plus] - self.volts[minus]
    }

    /// Law of an element, by its index in the edited network; nothing for one removed.
    fn law(&self, element: usize) -> Option<&'w Law> {
        let of_base = self.base.net.elements.len();
        if element < of_base {
            return (!self.room.removed.contains(&element)).then(|| self.base.law(element));
        }
        match &self.edits[self.room.added[element - of_base].edit] {
            Edit::Add(law) => Some(law),
            Edit::Remove(_) => None,
        }
    }

    fn states(&self, element: usize, law: &Law) -> &'w [State] {
        let of_base = self.base.net.elements.len();
        let first = if element < of_base {
            self.used.states_of(element).start
        } else {
            self.room.added[element - of_base].first_state
        };
        &self.room.states[first..first + law.states()]
    }

    /// State of an element, by its index in the edited network.
    pub fn state(&self, element: usize) -> State {
        if let Some(plain) = &self.room.plain {
            return plain.solution.elements[element].state;
        }
        let Some(law) = self.law(element) else { return State::Conducting };
        if self.room.fell && self.base.switching.contains(&element) {
            return State::Tripped;
        }
        let state = self.states(element, law)[0];
        match law {
            // Why it is off may have become another reason than the one it went off for.
            Law::Converter(c) if !matches!(state, State::On | State::Tripped) => wanted(c, self.volts),
            _ => state,
        }
    }

    /// State of an output of a converter.
    pub fn output_state(&self, element: usize, output: usize) -> State {
        if let Some(plain) = &self.room.plain {
            return plain.solution.elements[element].outputs[output].state;
        }
        self.law(element).map_or(State::Conducting, |law| self.states(element, law)[1 + output])
    }

    /// Main current of an element in amperes, by its index in the edited network, directed as in
    /// [`Flow::current`](crate::Flow::current).
    pub fn current(&self, element: usize) -> f64 {
        if let Some(plain) = &self.room.plain {
            return plain.solution.elements[element].current;
        }
        match self.law(element) {
            None => 0.0,
            Some(Law::Converter(c)) => self.taken(element, c),
            Some(Law::Source(_)) => 0.0 - self.carries(element, 0),
            Some(_) => self.carries(element, 0),
        }
    }

    /// Current out of the plus of a converter's output, amperes.
    pub fn output_current(&self, element: usize, output: usize) -> f64 {
        match &self.room.plain {
            Some(plain) => plain.solution.elements[element].outputs[output].current,
            None => 0.0 - self.carries(element, output),
        }
    }

    /// Input current of a converter, by its law.
    fn taken(&self, element: usize, c: &Converter) -> f64 {
        if self.state(element) != State::On {
            return 0.0;
        }
        let outputs = c.outputs.iter().enumerate();
        let watts =
            outputs.map(|(o, its)| self.between(its.plus, its.minus) * self.output_current(element, o));
        let delivered: f64 = watts.map(|watts| watts.max(0.0)).sum();
        (c.idle + delivered / c.efficiency) * amps_per_watt(c, self.between(c.in_plus, c.in_minus)).flow
    }

    /// Current of a link of an element: what the base's slopes say, and what was found on top.
    fn carries(&self, element: usize, link: usize) -> f64 {
        let (room, of_base) = (self.room, self.base.net.elements.len());
        let found = |of: Of| room.ports.iter().position(|port| port.of == of);
        if element >= of_base {
            return found(Of::Added(room.added[element - of_base].edit, link))
                .map_or(0.0, |p| room.values[p]);
        }
        let l = self.used.links_of(element).start + link;
        if let Some(cut) = room.shifted.iter().find(|s| s.link == l as u32) {
            return cut.carries;
        }
        let on_top = match found(Of::Link(l)) {
            Some(p) if room.ports[p].carries.is_some() => return room.ports[p].carries.unwrap_or(0.0),
            found => found.map_or(0.0, |p| room.values[p]),
        };
        let Some(view) = self.view() else { return f64::NAN };
        let straight: f64 = view.links.terms(l).iter().map(|t| t.slope * t.volts(&room.moved)).sum();
        let bends = view.bends.all.iter().zip(&room.bent);
        let bent: f64 = bends.filter(|(b, _)| b.link == l).map(|(_, y)| *y).sum();
        view.links.all[l].flow + straight + on_top + bent
    }

    /// The view of the base that was used.
    pub(super) fn view(&self) -> Option<&'w View> {
        if self.room.steady { self.used.steady() } else { self.used.leaning.as_ref() }
    }

    /// Elements of the base, not removed, whose state is not what it was there.
    pub fn changed(&self) -> impl Iterator<Item = usize> + '_ {
        let was = |e: usize| self.base.solution.elements[e].state;
        let left = self.base.devices.iter().copied().filter(|e| !self.room.removed.contains(e));
        left.filter(move |e| self.state(*e) != was(*e))
    }
}
