//! When the source of a conductor is up: its own `ready`, and before it that of what feeds it.

use voltwright_job::nets::Nets;
use voltwright_job::{Bounds, Job, PartKind, Terminal};
use voltwright_quantity::{Quantity, Time};
use voltwright_rules::demand::live_terminal;

/// Between which moments after switch-on, in seconds.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ready {
    pub low: f64,
    pub high: f64,
    /// The interlock that holds it off.
    pub waits_for: Option<usize>,
}

impl Ready {
    fn plain(low: f64, high: f64) -> Self {
        Self { low, high, waits_for: None }
    }

    fn then(self, own: &Bounds<Time>) -> Self {
        Self { low: self.low + own.low.si(), high: self.high + own.high.si(), ..self }
    }
}

pub(super) struct Moments<'j> {
    job: &'j Job,
    nets: &'j Nets,
}

impl<'j> Moments<'j> {
    pub fn of(job: &'j Job, nets: &'j Nets) -> Self {
        Self { job, nets }
    }

    pub fn net(&self, terminal: Terminal) -> usize {
        self.nets.net(terminal)
    }

    /// When a terminal's conductor is up; nothing where a time on the way is not entered.
    pub fn at(&self, terminal: Terminal) -> Option<Ready> {
        self.of_net(self.net(terminal), &mut Vec::new())
    }

    fn of_net(&self, net: usize, seen: &mut Vec<usize>) -> Option<Ready> {
        if seen.contains(&net) {
            return None;
        }
        seen.push(net);
        let ready = (0..self.job.parts.len()).find_map(|p| self.through(p, net, seen));
        seen.pop();
        ready
    }

    /// What a part says of a net that it feeds.
    fn through(&self, p: usize, net: usize, seen: &mut Vec<usize>) -> Option<Ready> {
        let at = |t: usize| self.net(Terminal::Part(p, t));
        match &self.job.parts[p].kind {
            PartKind::MainsSupply(s) => {
                let own = self.output(p, s.outputs.len(), net)?;
                let own = s.outputs[own].ready.as_ref()?;
                Some(Ready::plain(own.low.si(), own.high.si()))
            }
            PartKind::Converter(s) => {
                let own = s.outputs[self.output(p, s.outputs.len(), net)?].ready.as_ref()?;
                Some(self.of_net(at(0), seen)?.then(own))
            }
            PartKind::Regulator(r) if at(2) == net => {
                let own = r.ready.as_ref()?;
                Some(self.of_net(at(0), seen)?.then(own))
            }
            PartKind::Fuse(_) | PartKind::Diode(_) if at(0) == net => self.of_net(at(1), seen),
            PartKind::Fuse(_) | PartKind::Diode(_) if at(1) == net => self.of_net(at(0), seen),
            PartKind::Interlock(_) if at(1) == net => self.held_off(p, [at(0), at(2), at(3)], seen),
            _ => None,
        }
    }

    /// An interlock connects once both its input and what it senses are there.
    fn held_off(&self, p: usize, [input, plus, minus]: [usize; 3], seen: &mut Vec<usize>) -> Option<Ready> {
        let own = self.of_net(input, seen)?;
        let sensed = [plus, minus].into_iter().find_map(|net| self.of_net(net, seen));
        let first = sensed.unwrap_or(Ready::plain(0.0, 0.0));
        Some(Ready { low: own.low.max(first.low), high: own.high.max(first.high), waits_for: Some(p) })
    }

    fn output(&self, p: usize, outputs: usize, net: usize) -> Option<usize> {
        (0..outputs)
            .find(|o| live_terminal(self.job, p, *o).is_some_and(|t| self.net(Terminal::Part(p, t)) == net))
    }
}
