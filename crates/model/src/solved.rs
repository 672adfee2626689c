//! Operating points of a job with everything connected, computed when they are first asked for.

mod likelihood;
mod mains;

pub use likelihood::InputLeaf;
pub use mains::{MainsEnd, RAW_EFFICIENCY};

use crate::low_voltage::{LowVoltage, Setting};
use crate::mains::LocalMains;
use crate::mains_side::MainsSide;
use crate::sample::Sample;
use crate::stage::{self, Loading, Stage};
use crate::wiring::Wiring;
use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;
use voltwright_circuit::{Network, Ordering, Sensitivities, Solution, Unsolved};
use voltwright_job::Job;
use voltwright_quantity::Quantity;

/// A network with its operating point.
#[derive(Debug, Clone)]
pub struct Point {
    /// The network at these values.
    pub network: Network,
    /// Its operating point.
    pub solution: Solution,
}

/// A figure of the circuit: a sum of node voltages, each with weight 1 or −1.
pub type Figure<'a> = &'a [(usize, i8)];

/// Which end of each input is worse for a figure: −1 low, 1 high, 0 does not matter.
pub type Ends = Vec<i8>;

/// The worse ends found for each figure, kept so that neighbouring jobs can be judged without finding them anew.
#[derive(Debug, Clone, Default)]
pub struct KnownEnds(BTreeMap<FigureKey, Arc<Ends>>);

type MainsOutcome = Option<Rc<(MainsSide, Solution)>>;
/// How the loads draw, and whether at the upper or lower end of every draw.
type DemandKey = (Loading, Option<bool>);
type FigureKey = (Loading, bool, Vec<(usize, i8)>);
type Outcome = Rc<Result<Rc<Point>, Unsolved>>;

/// A job with its operating points.
pub struct Solved<'j> {
    /// The job.
    pub job: &'j Job,
    /// The mains it will live on.
    pub mains: Option<LocalMains>,
    /// The stage: everything connected.
    pub stage: Stage,
    bases: [OnceCell<(LowVoltage, Outcome)>; 3],
    mains_points: RefCell<Vec<(MainsEnd, MainsOutcome)>>,
    corners: RefCell<Vec<(Loading, Arc<Ends>, Outcome)>>,
    heavy: OnceCell<Option<Rc<Point>>>,
    wiring: Arc<Wiring>,
    named: bool,
    demands: RefCell<Vec<(DemandKey, Option<Rc<Point>>)>>,
    known: Arc<KnownEnds>,
    ends: RefCell<KnownEnds>,
    samples: [OnceCell<Vec<Option<Solution>>>; 3],
    leaves: OnceCell<Vec<InputLeaf>>,
}

/// Effect below which an input does not matter to a figure, as a share of the figure's whole spread.
const NEGLIGIBLE: f64 = 1e-6;

impl<'j> Solved<'j> {
    /// Of a job; nothing is computed yet.
    pub fn new(job: &'j Job) -> Self {
        Self::on(job, Arc::new(Wiring::of(job)), Arc::default(), true)
    }

    /// Of a job that differs from another in values only: takes over what depends on the wiring alone, and the
    /// worse ends found there. Its networks have no names.
    pub fn beside(job: &'j Job, wiring: Arc<Wiring>, ends: Arc<KnownEnds>) -> Self {
        Self::on(job, wiring, ends, false)
    }

    fn on(job: &'j Job, wiring: Arc<Wiring>, known: Arc<KnownEnds>, named: bool) -> Self {
        Self {
            job,
            mains: LocalMains::of(job),
            stage: stage::all(job),
            bases: Default::default(),
            mains_points: RefCell::default(),
            corners: RefCell::default(),
            heavy: OnceCell::new(),
            wiring,
            named,
            demands: RefCell::default(),
            known,
            ends: RefCell::default(),
            samples: Default::default(),
            leaves: OnceCell::new(),
        }
    }

    /// What the wiring alone determines.
    pub fn wiring(&self) -> &Arc<Wiring> {
        &self.wiring
    }

    /// The elimination order of the network, which depends on the wiring alone.
    pub fn ordering(&self) -> &Ordering {
        self.wiring.ordering(&self.low_voltage(Loading::Run).network)
    }

    /// The worse ends found so far.
    pub fn known_ends(&self) -> Arc<KnownEnds> {
        Arc::new(self.ends.borrow().clone())
    }

    /// Mains frequency that is worst for iron and ripple; 50 Hz where the country is not known.
    pub fn hertz(&self) -> f64 {
        self.mains.as_ref().map_or(50.0, LocalMains::lowest_hertz)
    }

    /// Everything at its nominal value.
    pub fn nominal_sample(&self) -> Sample {
        Sample::nominal(self.job, self.mains.as_ref())
    }

    fn base(&self, loading: Loading) -> &(LowVoltage, Outcome) {
        self.bases[loading as usize].get_or_init(|| {
            let sample = self.nominal_sample();
            let low =
                LowVoltage::build_on(&self.wiring, self.job, &self.setting(loading, &sample), self.named);
            let outcome = low.network.solve_in(self.wiring.ordering(&low.network));
            let point = outcome.map(|solution| Rc::new(Point { network: low.network.clone(), solution }));
            (low, Rc::new(point))
        })
    }

    fn setting<'a>(&'a self, loading: Loading, sample: &'a Sample) -> Setting<'a> {
        Setting { stage: &self.stage, loading, sample, hertz: self.hertz() }
    }

    /// The low-voltage network at nominal values.
    pub fn low_voltage(&self, loading: Loading) -> &LowVoltage {
        &self.base(loading).0
    }

    /// The operating point at nominal values.
    pub fn point(&self, loading: Loading) -> Result<&Rc<Point>, &Unsolved> {
        self.base(loading).1.as_ref().as_ref()
    }

    /// A figure at nominal values.
    pub fn nominal(&self, loading: Loading, of: Figure<'_>) -> Option<f64> {
        self.point(loading).ok().map(|p| value(&p.solution, of))
    }

    /// The largest (`upward`) or smallest value of a figure over all spreads: each input at the end that the
    /// sensitivities call worse, confirmed by solving at that corner.
    pub fn worst(&self, loading: Loading, of: Figure<'_>, upward: bool) -> Result<f64, Unsolved> {
        let base = self.point(loading).map_err(Clone::clone)?;
        let ends = self.ends(loading, of, upward, base);
        let outcome = self.corner(loading, &ends, base);
        let point = outcome.as_ref().as_ref().map_err(Clone::clone)?;
        // A corner that the sensitivities misjudged must not look better than the nominal point.
        let (at_corner, at_nominal) = (value(&point.solution, of), value(&base.solution, of));
        Ok(if upward { at_corner.max(at_nominal) } else { at_corner.min(at_nominal) })
    }

    /// Solves the network at one sample.
    pub fn solve_at(
        &self,
        loading: Loading,
        sample: &Sample,
        near: Option<&Solution>,
    ) -> Result<Point, Unsolved> {
        let network = self.network_at(loading, sample);
        let ordering = self.ordering();
        let solution = match near {
            Some(near) => network.solve_from(ordering, near)?,
            None => network.solve_in(ordering)?,
        };
        Ok(Point { network, solution })
    }

    fn network_at(&self, loading: Loading, sample: &Sample) -> Network {
        LowVoltage::network_on(&self.wiring, self.job, &self.setting(loading, sample))
    }

    fn ends(&self, loading: Loading, of: Figure<'_>, upward: bool, base: &Point) -> Arc<Ends> {
        let key = (loading, upward, of.to_vec());
        if let Some(known) = self.known.0.get(&key) {
            return known.clone();
        }
        if let Some(found) = self.ends.borrow().0.get(&key) {
            return found.clone();
        }
        let ends = Arc::new(self.find_ends(loading, of, upward, base));
        self.ends.borrow_mut().0.insert(key, ends.clone());
        ends
    }

    fn find_ends(&self, loading: Loading, of: Figure<'_>, upward: bool, base: &Point) -> Ends {
        self.ends_of(&self.slopes(loading, of, base), upward)
    }

    /// The worse end of each input, from the slopes of a figure.
    fn ends_of(&self, slopes: &[f64], upward: bool) -> Ends {
        let spreads = self.job.spreads.iter().map(|s| s.high - s.low);
        let mains = self.mains.as_ref().map_or(0.0, |m| (m.high - m.low).si());
        let effects: Vec<f64> =
            slopes.iter().zip(spreads.chain([mains])).map(|(slope, width)| slope * width).collect();
        let whole: f64 = effects.iter().map(|e| e.abs()).sum();
        let sign = if upward { 1 } else { -1 };
        effects
            .iter()
            .map(|e| if e.abs() <= NEGLIGIBLE * whole { 0 } else { sign * e.signum() as i8 })
            .collect()
    }

    /// Finds the worse ends of many figures at once, and puts those that do not contradict each other into one
    /// corner: loads that do not share what matters to them are judged by one solution.
    pub fn prepare(&self, loading: Loading, figures: &[(Vec<(usize, i8)>, bool)]) {
        let key = |(of, upward): &(Vec<(usize, i8)>, bool)| (loading, *upward, of.clone());
        let is_new = |figure: &&(Vec<(usize, i8)>, bool)| {
            let key = key(figure);
            !self.known.0.contains_key(&key) && !self.ends.borrow().0.contains_key(&key)
        };
        let wanted: Vec<&(Vec<(usize, i8)>, bool)> = figures.iter().filter(is_new).collect();
        let mut known = Vec::new();
        for (ends, of) in self.merged_ends(loading, &wanted) {
            let ends = Arc::new(ends);
            known.extend(of.into_iter().map(|i| (key(wanted[i]), ends.clone())));
        }
        self.ends.borrow_mut().0.extend(known);
    }

    /// The corners that are worst for some figures, few of them, since those that do not contradict each other are one.
    pub fn corners(&self, loading: Loading, figures: &[(Vec<(usize, i8)>, bool)]) -> Vec<Sample> {
        let wanted: Vec<_> = figures.iter().collect();
        let merged = self.merged_ends(loading, &wanted);
        merged.into_iter().map(|(ends, _)| self.corner_sample(&ends)).collect()
    }

    /// The worse ends of figures, put together where they agree, each with the figures that it is for.
    fn merged_ends(&self, loading: Loading, wanted: &[&(Vec<(usize, i8)>, bool)]) -> Vec<(Ends, Vec<usize>)> {
        let Ok(base) = self.point(loading) else { return Vec::new() };
        let weights: Vec<Vec<(usize, f64)>> = wanted.iter().map(|(of, _)| weights(of)).collect();
        let readings: Vec<&[(usize, f64)]> = weights.iter().map(Vec::as_slice).collect();
        let mut corners: Vec<(Ends, Vec<usize>)> = Vec::new();
        base.network.sensitivities_of_all(self.ordering(), &base.solution, &readings, |i, sensitivities| {
            let ends = self.ends_of(&self.slopes_from(loading, &sensitivities), wanted[i].1);
            match corners.iter_mut().find(|(corner, _)| agree(corner, &ends)) {
                Some((corner, figures)) => {
                    corner.iter_mut().zip(&ends).filter(|(_, e)| **e != 0).for_each(|(c, e)| *c = *e);
                    figures.push(i);
                }
                None => corners.push((ends, vec![i])),
            }
        });
        corners
    }

    /// Change of a figure for a change of each input (SI), by one adjoint solve.
    pub fn slopes(&self, loading: Loading, of: Figure<'_>, base: &Point) -> Vec<f64> {
        let sensitivities = base.network.sensitivities(self.ordering(), &base.solution, &weights(of));
        self.slopes_from(loading, &sensitivities)
    }

    fn slopes_from(&self, loading: Loading, sensitivities: &Sensitivities) -> Vec<f64> {
        let mut slopes = vec![0.0; self.job.spreads.len() + 1];
        for link in &self.low_voltage(loading).links {
            slopes[link.input] += sensitivities.to(link.element, link.field) * link.gradient;
        }
        slopes
    }

    /// The operating point with every draw at its upper end.
    pub fn heavy_point(&self) -> Option<Rc<Point>> {
        let solve = || {
            let base = self.point(Loading::Run).ok()?;
            let sample = self.corner_sample(&self.draw_ends(Loading::Run, true));
            self.solve_at(Loading::Run, &sample, Some(&base.solution)).ok().map(Rc::new)
        };
        self.heavy.get_or_init(solve).clone()
    }

    /// What the loads would draw if no supply had a limit: nominal, or every draw at its upper or lower end.
    pub fn demand(&self, loading: Loading, end: Option<bool>) -> Option<Rc<Point>> {
        let known = self.demands.borrow().iter().find(|(k, _)| *k == (loading, end)).map(|(_, p)| p.clone());
        known.unwrap_or_else(|| {
            let point = self.solve_demand(loading, end).map(Rc::new);
            self.demands.borrow_mut().push(((loading, end), point.clone()));
            point
        })
    }

    fn solve_demand(&self, loading: Loading, end: Option<bool>) -> Option<Point> {
        let sample = match end {
            None => self.nominal_sample(),
            Some(upward) => self.corner_sample(&self.draw_ends(loading, upward)),
        };
        let mut network = self.network_at(loading, &sample);
        network.lift_limits();
        let solution = match self.point(Loading::Run) {
            Ok(near) => network.solve_from(self.ordering(), &near.solution),
            Err(_) => network.solve_in(self.ordering()),
        };
        Some(Point { network, solution: solution.ok()? })
    }

    fn corner_sample(&self, ends: &Ends) -> Sample {
        Sample::corner(self.job, self.mains.as_ref(), ends)
    }

    fn draw_ends(&self, loading: Loading, upward: bool) -> Ends {
        let mut ends = vec![0i8; self.job.spreads.len() + 1];
        let end = if upward { 1 } else { -1 };
        for draw in self.job.loads.iter().flat_map(|l| &l.draws) {
            let given = match (loading, &draw.start, &draw.idle) {
                (Loading::Start, Some((start, _)), _) => start,
                (Loading::Light, _, Some(idle)) => idle,
                _ => &draw.run,
            };
            ends[given.id] = end;
        }
        ends
    }

    /// The solution of a corner; corners are few, and known by their place in memory.
    fn corner(&self, loading: Loading, ends: &Arc<Ends>, base: &Point) -> Outcome {
        let is_this = |(l, e, _): &&(Loading, Arc<Ends>, Outcome)| *l == loading && Arc::ptr_eq(e, ends);
        if let Some((.., known)) = self.corners.borrow().iter().find(is_this) {
            return known.clone();
        }
        let sample = self.corner_sample(ends);
        let outcome = Rc::new(self.solve_at(loading, &sample, Some(&base.solution)).map(Rc::new));
        self.corners.borrow_mut().push((loading, ends.clone(), outcome.clone()));
        outcome
    }
}

fn weights(of: Figure<'_>) -> Vec<(usize, f64)> {
    of.iter().map(|(node, weight)| (*node, f64::from(*weight))).collect()
}

/// Whether two corners ask for no input to be at both ends.
fn agree(a: &Ends, b: &Ends) -> bool {
    a.iter().zip(b).all(|(a, b)| a * b >= 0)
}

/// A figure at an operating point.
pub fn value(solution: &Solution, of: Figure<'_>) -> f64 {
    of.iter().map(|(node, weight)| f64::from(*weight) * solution.volts[*node]).sum()
}
