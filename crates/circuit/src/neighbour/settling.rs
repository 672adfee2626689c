//! Bent currents and the small system brought to agree, by repetition.

use super::workspace::{Port, Workspace};
use super::{Base, View};

/// Share of the largest voltage below which what bends is straight.
pub(super) const STRAIGHT: f64 = 1e-12;
/// The same of the largest current.
const STRAIGHT_AMPS: f64 = 1e-10;
/// Repetitions in which the bent currents must settle.
const REPEATS: usize = 8;

impl Workspace {
    /// Solves the small system for the bent currents as they are, and these for its solution, until they agree.
    pub(super) fn solve_bends(&mut self, base: &Base, view: &View, stable: bool) {
        self.values.clone_from(&self.constants);
        self.system.solve(&mut self.values);
        let bends = &view.bends;
        self.bent.clear();
        self.bent.resize(bends.all.len(), 0.0);
        if bends.all.is_empty() || !stable {
            return;
        }
        self.at_probes.clear();
        self.at_probes.resize(bends.probes.len(), 0.0);
        self.probe_ohms.clear();
        for probe in &bends.probes {
            let ohms = |p: &Port| {
                let (a, b) = (view.z.column(p.from), view.z.column(p.to));
                (a[probe.plus] - a[probe.minus]) - (b[probe.plus] - b[probe.minus])
            };
            self.probe_ohms.extend(self.ports.iter().map(ohms));
            self.probe_ohms
                .extend(self.shifted.iter().map(|s| view.z.shifts.between(s.shift, probe.plus, probe.minus)));
        }
        let mut known_rows = false;
        let least = STRAIGHT * base.highest;
        for _ in 0..REPEATS {
            let (changed, far) = self.bend(base, view, least);
            if far {
                let moved = std::mem::take(&mut self.at_probes);
                self.follow_exactly(view, |b| bends.far(b, &moved));
                self.at_probes = moved;
                self.bent.fill(0.0);
                return;
            }
            if !changed {
                return;
            }
            if !known_rows {
                self.bend_rows(view);
                known_rows = true;
            }
            let count = bends.all.len();
            for (i, value) in self.values.iter_mut().enumerate() {
                let rows = self.bend_rows[i * count..(i + 1) * count].iter().zip(&self.bent);
                *value = self.constants[i] - rows.map(|(r, y)| r * y).sum::<f64>();
            }
            self.system.solve(&mut self.values);
        }
        self.follow_exactly(view, |_| true);
    }

    /// Bends that repetition does not settle are followed exactly from now on.
    fn follow_exactly(&mut self, view: &View, which: impl Fn(usize) -> bool) {
        for (_, bend) in view.bends.all.iter().enumerate().filter(|(b, _)| which(*b)) {
            let e = bend.element;
            if !(self.exact.contains(&e) || self.removed.contains(&e) || self.active.contains(&e)) {
                self.exact.push(e);
            }
        }
    }

    /// Takes the bent currents anew from the voltages; tells whether any changed, and whether one goes far.
    fn bend(&mut self, base: &Base, view: &View, least: f64) -> (bool, bool) {
        let (bends, size, count) = (&view.bends, self.values.len(), view.bends.all.len());
        for (p, at) in self.at_probes.iter_mut().enumerate() {
            let by_values = self.probe_ohms[p * size..(p + 1) * size].iter().zip(&self.values);
            let by_bends = bends.ohms[p * count..(p + 1) * count].iter().zip(&self.bent);
            let sum: f64 = by_values.map(|(z, y)| z * y).sum();
            *at = -sum - by_bends.map(|(z, y)| z * y).sum::<f64>();
        }
        let (mut changed, mut far) = (false, false);
        for (b, bend) in bends.all.iter().enumerate() {
            if self.removed.contains(&bend.element) || self.active.contains(&bend.element) {
                continue;
            }
            far |= bends.far(b, &self.at_probes);
            let amps = bends.amps(&base.net, b, &self.at_probes);
            let by = (amps - self.bent[b]).abs();
            if by.is_nan() || by * bend.reach > least || by > STRAIGHT_AMPS * base.scale {
                self.bent[b] = amps;
                changed = true;
            }
        }
        (changed, far)
    }

    /// What each bent current adds to each row of the small system.
    fn bend_rows(&mut self, view: &View) {
        self.bend_rows.clear();
        let columns = view.bends.columns.chunks_exact(view.z.nodes.max(1));
        for port in &self.ports {
            let terms = &self.terms[port.first as usize..port.last as usize];
            let row = columns.clone().map(|c| terms.iter().map(|t| t.slope * t.volts(c)).sum::<f64>());
            self.bend_rows.extend(row);
        }
        for s in &self.shifted {
            self.bend_rows
                .extend(view.bends.all.iter().map(|b| view.z.shifts.leaving(s.shift, b.from, b.to)));
        }
    }
}
