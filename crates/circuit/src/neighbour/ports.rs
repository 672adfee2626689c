//! The changed currents of a neighbour gathered: what is gone, what is in another state, what is new, what floats.

use super::links::Term;
use super::parts::NONE;
use super::workspace::{Added, Doubt, Of, Port, Shifted, Workspace};
use super::{Base, Edit, View};
use crate::network::Law;

impl Workspace {
    /// Gathers the changed currents.
    pub(super) fn gather(&mut self, base: &Base, view: &View, edits: &[Edit]) -> Result<(), Doubt> {
        self.ports.clear();
        self.terms.clear();
        self.shifted.clear();
        for i in 0..self.removed.len() {
            for l in base.links_of(self.removed[i]) {
                self.remove(view, l);
            }
        }
        for i in 0..self.active.len() {
            self.change(base, view, self.active[i]);
        }
        for i in 0..self.added.len() {
            let Added { edit, first_state } = self.added[i];
            let Edit::Add(law) = &edits[edit] else { return Err(Doubt::Faulty) };
            self.add(base, edit, first_state, law);
        }
        for p in 0..self.ports.len() {
            let (from, to) = (view.z.island[self.ports[p].from], view.z.island[self.ports[p].to]);
            if from != to {
                [from, to].into_iter().filter(|s| *s != NONE).for_each(|s| self.float(s as usize));
            }
        }
        Ok(())
    }

    fn float(&mut self, shift: usize) {
        if self.shifted.iter().all(|s| s.shift != shift) {
            self.shifted.push(Shifted { shift, start: 0.0, noise: 0.0, carries: 0.0, link: NONE });
        }
    }

    fn remove(&mut self, view: &View, l: usize) {
        let link = &view.links.all[l];
        if view.z.cut[l] != NONE {
            return self.cut(view, l, 0.0);
        }
        let terms = view.links.terms(l);
        if terms.is_empty() && link.flow.abs() <= 0.0 {
            return;
        }
        let first = self.terms.len() as u32;
        self.terms.extend(terms.iter().map(|t| Term { slope: -t.slope, ..*t }));
        let (from, to, constant, last) = (link.from, link.to, -link.flow, self.terms.len() as u32);
        self.ports.push(Port { from, to, constant, first, last, carries: Some(0.0), of: Of::Link(l) });
    }

    fn cut(&mut self, view: &View, l: usize, carries: f64) {
        let shift = view.z.cut[l] as usize;
        let its = &view.z.shifts.one[shift];
        let start = its.start - its.sense * carries;
        let noise = its.noise + f64::EPSILON * carries.abs();
        self.shifted.push(Shifted { shift, start, noise, carries, link: l as u32 });
    }

    /// An element of the base in another state.
    fn change(&mut self, base: &Base, view: &View, element: usize) {
        let law = base.law(element);
        let bent = super::scan::bent(law, &self.states[base.states_of(element)]);
        let at = if bent && self.at_now { &self.at } else { &base.at };
        self.scratch.clear();
        let range = base.states_of(element);
        let new = self.scratch.read(law, &mut self.states[range], at, !self.unloaded);
        for (l, new) in base.links_of(element).zip(new) {
            let (old, link) = (view.links.all[l], self.scratch.all[new]);
            let (before, now) = (view.links.terms(l), self.scratch.terms(new));
            if view.z.cut[l] != NONE && now.is_empty() {
                self.cut(view, l, link.flow);
                continue;
            }
            let mut constant = link.flow - old.flow;
            if bent && self.at_now {
                constant -= now.iter().map(|t| t.slope * t.volts(&self.moved)).sum::<f64>();
            }
            let first = self.terms.len();
            self.terms.extend(now);
            for t in before {
                let same = self.terms[first..].iter_mut().find(|n| n.plus == t.plus && n.minus == t.minus);
                match same {
                    Some(n) => n.slope -= t.slope,
                    None => self.terms.push(Term { slope: -t.slope, ..*t }),
                }
            }
            let (first, last) = (first as u32, self.terms.len() as u32);
            let carries = now.is_empty().then_some(link.flow);
            let of = Of::Link(l);
            self.ports.push(Port { from: old.from, to: old.to, constant, first, last, carries, of });
        }
    }

    fn add(&mut self, base: &Base, edit: usize, first_state: usize, law: &Law) {
        if let Law::Resistor(r) = law {
            if r.a == r.b {
                return;
            }
            let (slope, first) = (1.0 / r.ohms, self.terms.len() as u32);
            self.terms.push(Term { plus: r.a, minus: r.b, slope });
            let constant = base.at.across(r.a, r.b).volts() * slope;
            let of = Of::Added(edit, 0);
            self.ports.push(Port { from: r.a, to: r.b, constant, first, last: first + 1, carries: None, of });
            return;
        }
        let states = &mut self.states[first_state..first_state + law.states()];
        let bent = super::scan::bent(law, states);
        let at = if bent && self.at_now { &self.at } else { &base.at };
        self.scratch.clear();
        for l in self.scratch.read(law, states, at, !self.unloaded) {
            let link = self.scratch.all[l];
            let mut constant = link.flow;
            if bent && self.at_now {
                constant -= self.scratch.terms(l).iter().map(|t| t.slope * t.volts(&self.moved)).sum::<f64>();
            }
            let first = self.terms.len() as u32;
            self.terms.extend(self.scratch.terms(l));
            let last = self.terms.len() as u32;
            if last > first || constant.abs() > 0.0 {
                let of = Of::Added(edit, l);
                let carries = (last == first).then_some(constant);
                self.ports.push(Port { from: link.from, to: link.to, constant, first, last, carries, of });
            }
        }
    }
}
