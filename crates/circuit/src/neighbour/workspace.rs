//! A neighbour solved: the changed currents gathered, the small system made and solved, the voltages moved.

use super::fallen::Found;
use super::inverse::Inverse;
use super::links::{Links, Term};
use super::parts::NONE;
use super::reading::Neighbour;
use super::resistance::Corrections;
use super::system::{MOST, System};
use super::{Base, Edit, View};
use crate::network::Law;
use crate::potentials::Potentials;
use crate::solution::{Solution, State, Unsolved};
use std::cell::RefCell;

/// The most that rounding may move any voltage by, volts, or as a share of the largest.
const BELIEVED: f64 = 3e-11;
/// Volts to which voltages must be known to tell which devices change first.
const ROUGH: f64 = 1e-3;
/// What the entries of the small system may be wrong by, as a share of what they are made of.
const ROUNDED: f64 = 2.0 * f64::EPSILON;
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
    /// What rounding may have made of that.
    pub noise: f64,
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
    pub(super) constants: Vec<f64>,
    pub(super) bent: Vec<f64>,
    /// Worst share of a pivot that rounding made.
    pub(super) doubt: f64,
    /// The most that rounding may move any voltage by, volts, once that has been asked.
    error: Option<f64>,
    /// What each row of the small system may be wrong by.
    pub(super) noise: Vec<f64>,
    pub(super) errors: Vec<f64>,
    /// Elements of the base whose state may differ from the base's, and those to be looked at.
    pub(super) touched: Vec<usize>,
    pub(super) candidates: Vec<usize>,
    /// Which view of the base was used.
    pub(super) steady: bool,
    /// Whether it was used without what can trip.
    pub(super) fell: bool,
    /// Whether the loads among what changed draw nothing in the next round.
    pub(super) unloaded: bool,
    pub(super) left: Vec<f64>,
    pub(super) lost: Vec<f64>,
    pub(super) back: Vec<f64>,
    pub(super) correction: Vec<f64>,
    pub(super) at_probes: Vec<f64>,
    pub(super) probe_ohms: Vec<f64>,
    pub(super) bend_rows: Vec<f64>,
    pub(super) moved: Vec<f64>,
    pub(super) moved_before: Vec<f64>,
    pub(super) volts: Vec<f64>,
    pub(super) at: Potentials,
    pub(super) at_now: bool,
    pub(super) scratch: Links,
    pub(super) plain: Option<Plainly>,
    pub(super) corrections: RefCell<Corrections>,
}

/// A neighbour solved from nothing.
#[derive(Debug)]
pub(super) struct Plainly {
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

    /// The operating point of a neighbour: voltages within 1e-9 of the largest voltage, as the plain way's.
    ///
    /// # Errors
    /// See [`Unsolved`].
    pub fn solve<'w>(&'w mut self, base: &'w Base, edits: &'w [Edit]) -> Result<Neighbour<'w>, Unsolved> {
        self.plain = None;
        if let Err(doubt) = self.correct_base(base, edits) {
            self.fell = false;
            let net = base.net.edited(edits);
            let solution = net.solve()?;
            self.plain = Some(Plainly { solution, doubt });
        }
        Ok(Neighbour::new(self, base, edits))
    }

    /// Takes the edits in; false if they are faulty.
    fn begin(&mut self, base: &Base, edits: &[Edit]) -> bool {
        self.removed.clear();
        self.added.clear();
        self.active.clear();
        self.exact.clear();
        self.touched.clear();
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

    pub(super) fn correct<'b>(&mut self, base: &'b Base, edits: &[Edit]) -> Result<Found<'b>, Doubt> {
        let view = base.leaning.as_ref().ok_or(Doubt::Base)?;
        if !self.begin(base, edits) {
            return Err(Doubt::Faulty);
        }
        let simple = base.restarted.is_empty()
            && self.added.iter().all(|a| matches!(&edits[a.edit], Edit::Add(Law::Resistor(_))));
        self.steady = false;
        let tried = simple && !self.starves(base, edits) && self.round(base, view, edits).is_ok();
        if tried && self.stays(base) {
            if self.delivers_much(base, edits) {
                return Err(Doubt::Switching);
            }
            if self.believed(view) {
                return Ok(Found::Here);
            }
            self.locate(base);
            self.refine(base, view, edits)?;
            if self.stays(base) {
                return Ok(Found::Here);
            }
        }
        let steady = base.steady().ok_or(Doubt::Base)?;
        self.steady = true;
        self.at_now = false;
        let known = tried && self.exact.is_empty() && self.error_bound(view) <= ROUGH;
        self.exact.clear();
        let begun = known || (simple && self.round(base, steady, edits).is_ok());
        self.follow_states(base, steady, edits, begun)
    }

    /// Whether a wire goes that alone feeds something, and nothing new reaches that: then states will change.
    fn starves(&self, base: &Base, edits: &[Edit]) -> bool {
        let Some(Some(steady)) = base.steady.get() else { return false };
        let cuts = self.removed.iter().flat_map(|e| base.links_of(*e)).map(|l| steady.z.cut[l]);
        cuts.filter(|s| *s != NONE).any(|s| {
            let shift = s as usize;
            let leaves = steady.z.shifts.one[shift].start.abs() > 1e-6 * base.scale;
            let reached = edits.iter().any(|edit| match edit {
                Edit::Add(Law::Resistor(r)) => steady.z.shifts.crosses(shift, r.a, r.b),
                Edit::Add(_) => true,
                Edit::Remove(_) => false,
            });
            leaves && !reached
        })
    }

    /// Whether no device has to be looked at.
    fn stays(&self, base: &Base) -> bool {
        self.exact.is_empty() && base.watches.hold(&self.moved)
    }

    /// Solves for the present states: `moved` and `volts` follow.
    pub(super) fn round(&mut self, base: &Base, view: &View, edits: &[Edit]) -> Result<(), Doubt> {
        self.gather(base, view, edits)?;
        if self.ports.len() + self.shifted.len() > MOST {
            return Err(Doubt::Much);
        }
        // Resistors alone, without a source, are at zero whatever is edited, and always stable.
        if base.devices.is_empty() && edits.iter().all(is_passive) {
            self.moved.clear();
            self.moved.resize(view.z.nodes, 0.0);
            self.volts.clone_from(&base.at.main);
            self.values.clear();
            self.values.resize(self.ports.len() + self.shifted.len(), 0.0);
            self.bent.clear();
            (self.error, self.doubt) = (Some(0.0), 0.0);
            return Ok(());
        }
        self.constants.clear();
        self.constants.extend(self.ports.iter().map(|p| p.constant));
        self.constants.extend(self.shifted.iter().map(|s| s.start));
        assemble(&mut self.system, (&self.ports, &self.terms, &self.shifted), &view.z);
        self.noise.clone_from(&self.system.noise);
        // What is wrong with the row of a shift is no doubt of its pivot: that is made from the leak alone.
        self.system.noise[self.ports.len()..].fill(0.0);
        let found = self.system.factor();
        self.doubt = found.doubt;
        if !found.doubt.is_finite() {
            return Err(Doubt::Rounding);
        }
        // The datum's share and each cut turn the determinant's sign once.
        let turned = self.shifted.iter().filter(|s| view.z.shifts.one[s.shift].slope >= 0.0).count() % 2 == 1;
        let stable = found.positive != turned;
        self.solve_bends(base, view, stable);
        self.move_voltages(base, view);
        self.error = None;
        if stable { Ok(()) } else { Err(Doubt::Unstable) }
    }

    /// The most that rounding may have moved any voltage by in the last round: of the small system's entries and
    /// right-hand side, and of the sums of its columns.
    fn error_bound(&mut self, view: &View) -> f64 {
        if let Some(error) = self.error {
            return error;
        }
        let sizes: f64 = self.values.iter().map(|v| v.abs()).sum();
        self.errors.clone_from(&self.noise);
        for ((error, constant), k) in self.errors.iter_mut().zip(&self.constants).zip(0..) {
            let noise = self.shifted.get(usize::wrapping_sub(k, self.ports.len())).map_or(0.0, |s| s.noise);
            *error = *error * sizes + ROUNDED * constant.abs() + noise;
        }
        self.system.bound(&mut self.errors);
        let (currents, shifts) = self.errors.split_at(self.ports.len());
        let mut error: f64 = shifts.iter().sum();
        for ((port, y), by) in self.ports.iter().zip(&self.values).zip(currents) {
            error += (by + f64::EPSILON * y.abs()) * (view.z.reach[port.from] + view.z.reach[port.to]);
        }
        self.error = Some(error);
        error
    }

    /// The largest voltage, at least a volt.
    pub(super) fn highest(&self) -> f64 {
        self.volts.iter().fold(1.0, |most: f64, v| most.max(v.abs()))
    }

    /// Whether rounding cannot show in the voltages.
    pub(super) fn believed(&mut self, view: &View) -> bool {
        let error = self.error_bound(view);
        error <= BELIEVED || error <= BELIEVED * self.highest()
    }

    pub(super) fn terms_of(&self, port: usize) -> &[Term] {
        &self.terms[self.ports[port].first as usize..self.ports[port].last as usize]
    }

    /// Moves all voltages by what the changed currents, the shifts and the bent currents make.
    fn move_voltages(&mut self, base: &Base, view: &View) {
        let n = view.z.nodes;
        self.moved.clear();
        self.moved.resize(n, 0.0);
        let (currents, shifts) = self.values.split_at(self.ports.len());
        for (port, y) in self.ports.iter().zip(currents) {
            let columns = view.z.column(port.from).iter().zip(view.z.column(port.to));
            self.moved.iter_mut().zip(columns).for_each(|(v, (a, b))| *v -= y * (a - b));
        }
        for (s, by) in self.shifted.iter().zip(shifts) {
            let column = &view.z.shifts.volts[s.shift * n..(s.shift + 1) * n];
            self.moved.iter_mut().zip(column).for_each(|(v, c)| *v -= by * c);
        }
        for (b, y) in self.bent.iter().enumerate().filter(|(_, y)| y.abs() > 0.0) {
            let column = &view.bends.columns[b * n..(b + 1) * n];
            self.moved.iter_mut().zip(column).for_each(|(v, c)| *v -= y * c);
        }
        self.volts.clear();
        self.volts.extend(base.at.main.iter().zip(&self.moved).map(|(v, by)| v + by));
    }
}

/// Makes the small system: currents first, then shifts.
pub(super) fn assemble(
    system: &mut System,
    (all_ports, all_terms, shifted): (&[Port], &[Term], &[Shifted]),
    z: &Inverse,
) {
    let (ports, size) = (all_ports.len(), all_ports.len() + shifted.len());
    system.reset(size);
    let System { matrix, noise, .. } = system;
    for (j, port) in all_ports.iter().enumerate() {
        let (a, b) = (z.column(port.from), z.column(port.to));
        for (i, row) in all_ports.iter().enumerate() {
            let (mut cell, mut most) = (0.0, 0.0);
            for t in &all_terms[row.first as usize..row.last as usize] {
                let (ap, am, bp, bm) = (a[t.plus], a[t.minus], b[t.plus], b[t.minus]);
                cell += t.slope * ((ap - am) - (bp - bm));
                most += t.slope.abs() * ((ap.abs() + am.abs()) + (bp.abs() + bm.abs()));
            }
            matrix[i * size + j] = cell;
            noise[i] = f64::max(noise[i], most);
        }
        for (i, s) in shifted.iter().enumerate() {
            matrix[(ports + i) * size + j] = z.shifts.leaving(s.shift, port.from, port.to);
        }
    }
    for (j, s) in shifted.iter().enumerate() {
        for (i, row) in all_ports.iter().enumerate() {
            let terms = &all_terms[row.first as usize..row.last as usize];
            let by = |t: &Term| t.slope * z.shifts.between(s.shift, t.plus, t.minus);
            let cell: f64 = terms.iter().map(by).sum();
            matrix[i * size + ports + j] = cell;
            noise[i] = f64::max(noise[i], cell.abs());
        }
        for (i, own) in shifted.iter().enumerate() {
            let cell = shifts_meet(z, own, s);
            matrix[(ports + i) * size + ports + j] = cell;
            noise[ports + i] = f64::max(noise[ports + i], cell.abs());
        }
    }
    for i in 0..ports {
        matrix[i * size + i] += 1.0;
    }
    noise.iter_mut().for_each(|noise| *noise = ROUNDED * (*noise + 1.0));
}

/// What a shift of one makes leave another's part: nothing enters or leaves that but what leaks.
fn shifts_meet(z: &Inverse, own: &Shifted, other: &Shifted) -> f64 {
    let (mine, its) = (&z.shifts.one[own.shift], &z.shifts.one[other.shift]);
    if other.shift == own.shift {
        -mine.rate
    } else if other.link == NONE {
        mine.sense * mine.slope * z.shifts.between(other.shift, mine.from, mine.to)
    } else {
        z.shifts.leaving(own.shift, its.from, its.to) * its.sense * its.slope
    }
}

fn is_passive(edit: &Edit) -> bool {
    matches!(edit, Edit::Remove(_) | Edit::Add(Law::Resistor(_)))
}
