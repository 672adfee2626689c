//! Rounding taken back: what is left over at the nodes of a neighbour, from its laws anew, and the voltages moved by it.
//!
//! Where a changed current is the small difference of large terms, as when a source goes that held its rail by a tenth
//! of a milliohm, the small system loses digits. The laws themselves do not, so each step gains as many as are left.

use super::settling::STRAIGHT;
use super::workspace::{Doubt, Workspace};
use super::{Base, Edit, View};
use crate::newton::add_at;
use crate::walk::{Collector, Moves, Walk};

/// Steps before the plain way is taken.
const STEPS: usize = 6;
/// Share of a pivot that rounding made beyond which a step need not lead nearer.
const LOST: f64 = 1e-2;
/// The most that the first step may move, as a share of the largest voltage.
const NEAR: f64 = 1e-2;

/// Sums at the nodes, and what rounding takes from them.
struct Left<'a>(&'a mut [f64], &'a mut [f64]);

impl Collector for Left<'_> {
    #[inline]
    fn flow(&mut self, from: usize, to: usize, amps: f64) {
        add_at(self.0, self.1, from, amps);
        add_at(self.0, self.1, to, -amps);
    }

    fn conduct(&mut self, _: usize, _: usize, _: f64) {}

    fn control(&mut self, _: usize, _: usize, _: usize, _: usize, _: f64) {}
}

impl Workspace {
    /// Refines the voltages until they stay; from `at`, as the last round left it.
    pub(super) fn refine(&mut self, base: &Base, view: &View, edits: &[Edit]) -> Result<(), Doubt> {
        if self.doubt.is_nan() || self.doubt > LOST {
            return Err(Doubt::Rounding);
        }
        let highest = self.highest();
        let mut last = NEAR * highest;
        for _ in 0..STEPS {
            self.leave_over(base, edits);
            let by = self.step_back(base, view);
            if by.is_nan() || by > last {
                return Err(Doubt::Rounding);
            }
            if by <= STRAIGHT * highest {
                self.settle_values(base);
                return Ok(());
            }
            last = 0.5 * by;
        }
        Err(Doubt::Rounding)
    }

    /// Makes voltages and changed currents follow the refined moves.
    fn settle_values(&mut self, base: &Base) {
        for (v, (main, moved)) in self.volts.iter_mut().zip(base.at.main.iter().zip(&self.moved)) {
            *v = main + moved;
        }
        for p in 0..self.ports.len() {
            let on_top: f64 = self.terms_of(p).iter().map(|t| t.slope * t.volts(&self.moved)).sum();
            self.values[p] = self.ports[p].constant + on_top;
        }
    }

    /// Sums up the currents that leave each node.
    fn leave_over(&mut self, base: &Base, edits: &[Edit]) {
        let leak = base.net.leak;
        let mut left = std::mem::take(&mut self.left);
        left.clear();
        left.extend((0..self.moved.len()).map(|node| leak * self.at.volts(node)));
        let mut states = std::mem::take(&mut self.states);
        let mut lost = std::mem::take(&mut self.lost);
        lost.clear();
        lost.resize(left.len(), 0.0);
        let (mut walk, mut to) = (Walk::new(Moves::None, 0.0), Left(&mut left, &mut lost));
        for (e, element) in base.net.elements.iter().enumerate() {
            if !self.removed.contains(&e) {
                walk.element(&element.law, &mut states[base.states_of(e)], &self.at, &mut to);
            }
        }
        for added in &self.added {
            if let Edit::Add(law) = &edits[added.edit] {
                let range = added.first_state..added.first_state + law.states();
                walk.element(law, &mut states[range], &self.at, &mut to);
            }
        }
        left.iter_mut().zip(&lost).for_each(|(left, lost)| *left += lost);
        left[base.net.datum] = 0.0;
        (self.left, self.lost, self.states) = (left, lost, states);
    }

    /// Moves the voltages by what is left over; gives the most that any moved.
    fn step_back(&mut self, base: &Base, view: &View) -> f64 {
        let n = view.z.nodes;
        self.back.clear();
        self.back.resize(n, 0.0);
        for (node, amps) in self.left.iter().enumerate().filter(|(_, amps)| amps.abs() > 0.0) {
            self.back.iter_mut().zip(view.z.column(node)).for_each(|(v, ohms)| *v += ohms * amps);
        }
        self.correction.clear();
        for p in 0..self.ports.len() {
            let sum: f64 = self.terms_of(p).iter().map(|t| t.slope * t.volts(&self.back)).sum();
            self.correction.push(sum);
        }
        for s in &self.shifted {
            let range = s.shift * n..(s.shift + 1) * n;
            let rows =
                view.z.shifts.member[range.clone()].iter().zip(&view.z.shifts.drift[range]).zip(&self.left);
            self.correction.push(rows.map(|((member, drift), amps)| (member - drift) * amps).sum());
        }
        self.system.solve(&mut self.correction);
        let (currents, shifts) = self.correction.split_at(self.ports.len());
        for (port, y) in self.ports.iter().zip(currents) {
            let columns = view.z.column(port.from).iter().zip(view.z.column(port.to));
            self.back.iter_mut().zip(columns).for_each(|(v, (a, b))| *v -= y * (a - b));
        }
        for (s, by) in self.shifted.iter().zip(shifts) {
            let column = &view.z.shifts.volts[s.shift * n..(s.shift + 1) * n];
            self.back.iter_mut().zip(column).for_each(|(v, c)| *v -= by * c);
        }
        for node in 0..n {
            self.at.shift(node, -self.back[node], base.bound);
            self.moved[node] = self.at.since(&base.at, node);
        }
        let sum: f64 = self.back.iter().sum();
        let most = self.back.iter().fold(0.0, |most: f64, by| most.max(by.abs()));
        if sum.is_finite() { most } else { f64::NAN }
    }
}
