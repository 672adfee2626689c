//! A neighbour solved: the changed currents gathered, the small system made and solved, the voltages moved.

use super::inverse::Inverse;
use super::links::{Links, Term};
use super::parts::NONE;
use super::reading::Neighbour;
use super::system::{MOST, System};
use super::{Base, Edit};
use crate::network::{Law, Network};
use crate::potentials::Potentials;
use crate::solution::{Solution, State, Unsolved};

/// Share of the largest voltage that rounding may move any voltage by.
const BELIEVED: f64 = 1e-10;
/// Share of the largest voltage below which what bends is straight.
pub(super) const STRAIGHT: f64 = 1e-12;
/// The same of the largest current.
const STRAIGHT_AMPS: f64 = 1e-10;
/// Repetitions in which the bent currents must settle.
const REPEATS: usize = 8;

/// A changed current: `constant + Σ slope·moved` on top of the base's link.
#[derive(Debug, Clone, Copy)]
pub(super) struct Port {
    pub from: usize,
    pub to: usize,
    pub constant: f64,
    pub first: u32,
    pub last: u32,
    /// What the link carries now, if that does not depend on any voltage.
    pub carries: Option<f64>,
    /// The link it is on top of, or the state of an added element.
    pub of: Of,
}

/// Whose a changed current is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    /// On top of this link of the base.
    Link(usize),
    /// The link of an added element, by the place of its edit.
    Added(usize, usize),
}

/// A part that shifts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shifted {
    pub shift: usize,
    /// Amperes that leave it at no shift.
    pub start: f64,
    /// What the cut link carries now, amperes.
    pub carries: f64,
    /// The link that was cut, or none for an island.
    pub link: u32,
}

/// An added element: which edit, and its states.
#[derive(Debug, Clone, Copy)]
pub(super) struct Added {
    pub edit: usize,
    pub first_state: usize,
}

/// Room to work in, one a thread; reused, so that a solve allocates nothing.
#[derive(Debug, Default)]
pub struct Workspace {
    pub(super) removed: Vec<usize>,
    pub(super) added: Vec<Added>,
    /// Elements of the base whose states differ from the base's, or whose bend is followed exactly.
    pub(super) active: Vec<usize>,
    pub(super) exact: Vec<usize>,
    pub(super) states: Vec<State>,
    pub(super) ports: Vec<Port>,
    pub(super) terms: Vec<Term>,
    pub(super) shifted: Vec<Shifted>,
    pub(super) system: System,
    pub(super) values: Vec<f64>,
    constants: Vec<f64>,
    pub(super) bent: Vec<f64>,
    pub(super) doubt: f64,
    /// Whether the exactly followed bends draw nothing in the next round.
    pub(super) unloaded: bool,
    pub(super) left: Vec<f64>,
    pub(super) back: Vec<f64>,
    pub(super) correction: Vec<f64>,
    at_probes: Vec<f64>,
    probe_ohms: Vec<f64>,
    bend_rows: Vec<f64>,
    pub(super) moved: Vec<f64>,
    pub(super) moved_before: Vec<f64>,
    pub(super) volts: Vec<f64>,
    pub(super) at: Potentials,
    pub(super) at_now: bool,
    scratch: Links,
    pub(super) plain: Option<Plainly>,
}

/// A neighbour solved from nothing.
#[derive(Debug)]
pub(super) struct Plainly {
    pub net: Network,
    pub solution: Solution,
    pub doubt: Doubt,
}

/// Why a neighbour is not solved by correction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Doubt {
    /// The base point itself is in doubt.
    Base,
    /// An edit is faulty.
    Faulty,
    /// Too much changed.
    Much,
    /// The point would not be stable.
    Unstable,
    /// Rounding would show.
    Rounding,
    /// The states would not come to rest.
    Restless,
    /// Converters and limits would not.
    Switching,
    /// A constant-power load sags: there may be another point.
    Sagging,
}

impl Workspace {
    /// Room for any base.
    pub fn new() -> Self {
        Self::default()
    }

    /// The operating point of a neighbour.
    ///
    /// # Errors
    /// See [`Unsolved`].
    pub fn solve<'w>(&'w mut self, base: &'w Base, edits: &'w [Edit]) -> Result<Neighbour<'w>, Unsolved> {
        self.plain = None;
        let corrected = match &base.inverse {
            None => Err(Doubt::Base),
            Some(_) if !self.begin(base, edits) => Err(Doubt::Faulty),
            Some(z) => self.correct(base, z, edits),
        };
        if let Err(doubt) = corrected {
            let net = base.net.edited(edits);
            let solution = net.solve()?;
            self.plain = Some(Plainly { net, solution, doubt });
        }
        Ok(Neighbour::new(self, base, edits))
    }

    /// Takes the edits in; false if they are faulty.
    fn begin(&mut self, base: &Base, edits: &[Edit]) -> bool {
        self.removed.clear();
        self.added.clear();
        self.active.clear();
        self.exact.clear();
        self.states.clone_from(&base.states);
        self.at_now = false;
        self.unloaded = false;
        let mut good = true;
        for (edit, change) in edits.iter().enumerate() {
            match change {
                Edit::Remove(e) => {
                    good &= *e < base.net.elements.len();
                    if !self.removed.contains(e) {
                        self.removed.push(*e);
                    }
                }
                Edit::Add(law) => {
                    good &= law.faulty_in(base.net.nodes.len(), base.net.groups.len()).is_none();
                    self.added.push(Added { edit, first_state: self.states.len() });
                    super::scan::push_first_states(law, &mut self.states);
                }
            }
        }
        good
    }

    fn correct(&mut self, base: &Base, z: &Inverse, edits: &[Edit]) -> Result<(), Doubt> {
        let simple = base.restarted.is_empty()
            && self.added.iter().all(|a| matches!(&edits[a.edit], Edit::Add(Law::Resistor(_))));
        if simple {
            let stable = self.round(base, z, edits).is_ok();
            if stable && self.exact.is_empty() && base.watches.hold(&self.moved) {
                if self.believed(base) {
                    return Ok(());
                }
                self.locate(base);
                self.refine(base, z, edits)?;
                if base.watches.hold(&self.moved) {
                    return Ok(());
                }
            }
        }
        self.follow_states(base, z, edits)
    }

    /// Solves for the present states: `moved` and `volts` follow.
    pub(super) fn round(&mut self, base: &Base, z: &Inverse, edits: &[Edit]) -> Result<(), Doubt> {
        self.gather(base, z, edits)?;
        if self.ports.len() + self.shifted.len() > MOST {
            return Err(Doubt::Much);
        }
        self.assemble(z);
        let found = self.system.factor();
        self.doubt = found.doubt;
        if !found.doubt.is_finite() {
            return Err(Doubt::Rounding);
        }
        // The datum's share and each cut turn the determinant's sign once.
        let turned = self.shifted.iter().filter(|s| z.shifts.one[s.shift].slope >= 0.0).count() % 2 == 1;
        let stable = found.positive != turned;
        self.solve_bends(base, z, stable);
        self.move_voltages(base, z);
        if stable { Ok(()) } else { Err(Doubt::Unstable) }
    }

    /// Whether rounding cannot show in the voltages.
    pub(super) fn believed(&self, base: &Base) -> bool {
        let most = || self.moved.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
        self.doubt <= BELIEVED || self.doubt * most() <= BELIEVED * base.highest.max(1e-3)
    }

    /// Gathers the changed currents.
    fn gather(&mut self, base: &Base, z: &Inverse, edits: &[Edit]) -> Result<(), Doubt> {
        self.ports.clear();
        self.terms.clear();
        self.shifted.clear();
        for i in 0..self.removed.len() {
            for l in base.links_of(self.removed[i]) {
                self.remove(base, z, l);
            }
        }
        for i in 0..self.active.len() {
            self.change(base, z, self.active[i]);
        }
        for i in 0..self.added.len() {
            let Added { edit, first_state } = self.added[i];
            let Edit::Add(law) = &edits[edit] else { return Err(Doubt::Faulty) };
            self.add(base, edit, first_state, law);
        }
        for p in 0..self.ports.len() {
            let (from, to) = (z.island[self.ports[p].from], z.island[self.ports[p].to]);
            if from != to {
                [from, to].into_iter().filter(|s| *s != NONE).for_each(|s| self.float(s as usize));
            }
        }
        Ok(())
    }

    fn float(&mut self, shift: usize) {
        if self.shifted.iter().all(|s| s.shift != shift) {
            self.shifted.push(Shifted { shift, start: 0.0, carries: 0.0, link: NONE });
        }
    }

    fn remove(&mut self, base: &Base, z: &Inverse, l: usize) {
        let link = &base.links.all[l];
        if z.cut[l] != NONE {
            return self.cut(z, l, 0.0);
        }
        let terms = base.links.terms(l);
        if terms.is_empty() && link.flow.abs() <= 0.0 {
            return;
        }
        let first = self.terms.len() as u32;
        self.terms.extend(terms.iter().map(|t| Term { slope: -t.slope, ..*t }));
        let (from, to, constant, last) = (link.from, link.to, -link.flow, self.terms.len() as u32);
        self.ports.push(Port { from, to, constant, first, last, carries: Some(0.0), of: Of::Link(l) });
    }

    fn cut(&mut self, z: &Inverse, l: usize, carries: f64) {
        let shift = z.cut[l] as usize;
        let its = &z.shifts.one[shift];
        let start = its.start - its.sense * carries;
        self.shifted.push(Shifted { shift, start, carries, link: l as u32 });
    }

    /// An element of the base in another state.
    fn change(&mut self, base: &Base, z: &Inverse, element: usize) {
        let law = base.law(element);
        let bent = super::scan::bent(law, &self.states[base.states_of(element)]);
        let at = if bent && self.at_now { &self.at } else { &base.at };
        self.scratch.clear();
        let range = base.states_of(element);
        let new = self.scratch.read(law, &mut self.states[range], at);
        for (l, new) in base.links_of(element).zip(new) {
            let (old, link) = (base.links.all[l], self.scratch.all[new]);
            let (before, now) = (base.links.terms(l), self.scratch.terms(new));
            if z.cut[l] != NONE && now.is_empty() {
                self.cut(z, l, link.flow);
                continue;
            }
            if self.unloaded && base.bends.all.iter().any(|b| b.link == l) && self.exact.contains(&element) {
                self.remove(base, z, l);
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
        for l in self.scratch.read(law, states, at) {
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

    pub(super) fn terms_of(&self, port: usize) -> &[Term] {
        &self.terms[self.ports[port].first as usize..self.ports[port].last as usize]
    }

    /// Makes the small system: currents first, then shifts.
    fn assemble(&mut self, z: &Inverse) {
        let (ports, size) = (self.ports.len(), self.ports.len() + self.shifted.len());
        self.system.reset(size);
        self.constants.clear();
        self.constants.extend(self.ports.iter().map(|p| p.constant));
        self.constants.extend(self.shifted.iter().map(|s| s.start));
        for i in 0..ports {
            let (mut most, terms) = (1.0, self.ports[i].first as usize..self.ports[i].last as usize);
            let row = &mut self.system.matrix[i * size..(i + 1) * size];
            for t in &self.terms[terms] {
                let mut largest: f64 = 0.0;
                for (cell, port) in row.iter_mut().zip(&self.ports) {
                    let (a, b) = (z.column(port.from), z.column(port.to));
                    let (ap, am, bp, bm) = (a[t.plus], a[t.minus], b[t.plus], b[t.minus]);
                    *cell += t.slope * ((ap - am) - (bp - bm));
                    largest = largest.max(ap.abs() + am.abs()).max(bp.abs() + bm.abs());
                }
                for (cell, s) in row[ports..].iter_mut().zip(&self.shifted) {
                    *cell += t.slope * z.shifts.between(s.shift, t.plus, t.minus);
                }
                most += t.slope.abs() * largest;
            }
            row[i] += 1.0;
            self.system.noise[i] = 4.0 * f64::EPSILON * most;
        }
        for (i, s) in self.shifted.iter().enumerate() {
            let row = &mut self.system.matrix[(ports + i) * size..(ports + i + 1) * size];
            shift_row(z, s.shift, &self.ports, &self.shifted, row);
        }
    }

    /// Solves the small system for the bent currents as they are, and these for its solution, until they agree.
    fn solve_bends(&mut self, base: &Base, z: &Inverse, stable: bool) {
        self.values.clone_from(&self.constants);
        self.system.solve(&mut self.values);
        let bends = &base.bends;
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
                let (a, b) = (z.column(p.from), z.column(p.to));
                (a[probe.plus] - a[probe.minus]) - (b[probe.plus] - b[probe.minus])
            };
            self.probe_ohms.extend(self.ports.iter().map(ohms));
            self.probe_ohms
                .extend(self.shifted.iter().map(|s| z.shifts.between(s.shift, probe.plus, probe.minus)));
        }
        let mut known_rows = false;
        let least = STRAIGHT * base.highest;
        for _ in 0..REPEATS {
            let changed = self.bend(base, least);
            if !changed {
                return;
            }
            if !known_rows {
                self.bend_rows(base, z);
                known_rows = true;
            }
            let count = bends.all.len();
            for (i, value) in self.values.iter_mut().enumerate() {
                let rows = self.bend_rows[i * count..(i + 1) * count].iter().zip(&self.bent);
                *value = self.constants[i] - rows.map(|(r, y)| r * y).sum::<f64>();
            }
            self.system.solve(&mut self.values);
        }
        // Too bent for repetition: from now on they are followed exactly.
        for b in &bends.all {
            if !self.exact.contains(&b.element) && !self.removed.contains(&b.element) {
                self.exact.push(b.element);
            }
        }
    }

    /// Takes the bent currents anew from the voltages; tells whether any changed.
    fn bend(&mut self, base: &Base, least: f64) -> bool {
        let (bends, size, count) = (&base.bends, self.values.len(), base.bends.all.len());
        for (p, at) in self.at_probes.iter_mut().enumerate() {
            let by_values = self.probe_ohms[p * size..(p + 1) * size].iter().zip(&self.values);
            let by_bends = bends.ohms[p * count..(p + 1) * count].iter().zip(&self.bent);
            let sum: f64 = by_values.map(|(z, y)| z * y).sum();
            *at = -sum - by_bends.map(|(z, y)| z * y).sum::<f64>();
        }
        let mut changed = false;
        for (b, bend) in bends.all.iter().enumerate() {
            if self.removed.contains(&bend.element) || self.active.contains(&bend.element) {
                continue;
            }
            let amps = bends.amps(&base.net, b, &self.at_probes);
            let by = (amps - self.bent[b]).abs();
            if !(by * bend.reach <= least && by <= STRAIGHT_AMPS * base.scale) {
                self.bent[b] = amps;
                changed = true;
            }
        }
        changed
    }

    /// What each bent current adds to each row of the small system.
    fn bend_rows(&mut self, base: &Base, z: &Inverse) {
        self.bend_rows.clear();
        let columns = base.bends.columns.chunks_exact(z.nodes.max(1));
        for port in &self.ports {
            let terms = &self.terms[port.first as usize..port.last as usize];
            let row = columns.clone().map(|c| terms.iter().map(|t| t.slope * t.volts(c)).sum::<f64>());
            self.bend_rows.extend(row);
        }
        for s in &self.shifted {
            self.bend_rows.extend(base.bends.all.iter().map(|b| z.shifts.leaving(s.shift, b.from, b.to)));
        }
    }

    /// Moves all voltages by what the changed currents, the shifts and the bent currents make.
    fn move_voltages(&mut self, base: &Base, z: &Inverse) {
        let n = z.nodes;
        self.moved.clear();
        self.moved.resize(n, 0.0);
        let (currents, shifts) = self.values.split_at(self.ports.len());
        for (port, y) in self.ports.iter().zip(currents) {
            let columns = z.column(port.from).iter().zip(z.column(port.to));
            self.moved.iter_mut().zip(columns).for_each(|(v, (a, b))| *v -= y * (a - b));
        }
        for (s, by) in self.shifted.iter().zip(shifts) {
            let column = &z.shifts.volts[s.shift * n..(s.shift + 1) * n];
            self.moved.iter_mut().zip(column).for_each(|(v, c)| *v -= by * c);
        }
        for (b, y) in self.bent.iter().enumerate().filter(|(_, y)| y.abs() > 0.0) {
            let column = &base.bends.columns[b * n..(b + 1) * n];
            self.moved.iter_mut().zip(column).for_each(|(v, c)| *v -= y * c);
        }
        self.volts.clear();
        self.volts.extend(base.at.main.iter().zip(&self.moved).map(|(v, by)| v + by));
    }
}

/// Nothing enters or leaves a floating part but what leaks.
fn shift_row(z: &Inverse, shift: usize, ports: &[Port], shifted: &[Shifted], row: &mut [f64]) {
    let own = &z.shifts.one[shift];
    for (cell, port) in row.iter_mut().zip(ports) {
        *cell = z.shifts.leaving(shift, port.from, port.to);
    }
    for (cell, other) in row[ports.len()..].iter_mut().zip(shifted) {
        let its = &z.shifts.one[other.shift];
        *cell = if other.shift == shift {
            -own.rate
        } else if other.link == NONE {
            own.sense * own.slope * z.shifts.between(other.shift, own.from, own.to)
        } else {
            z.shifts.leaving(shift, its.from, its.to) * its.sense * its.slope
        };
    }
}
