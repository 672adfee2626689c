//! All that mistakes are tried on: the networks of every stage at every corner, what is watched, what can be read.

mod followers;
mod live;

pub use followers::Follower;
pub use live::Live;

use live::low_voltage;

use crate::change::Change;
use crate::harm::wire_survives;
use crate::harness::{Harness, Thing};
use crate::network::mains::MainsNetwork;
use crate::network::{View, cold, mains};
use crate::reading::{Function, Meter, Reading, cost};
use crate::stage::{Stage, stages};
use crate::step::{Step, steps};
use std::ops::Range;
use voltwright_circuit::{Base, Unsolved, Workspace};
use voltwright_job::{Job, Terminal};
use voltwright_model::{Loading, Sample, Solved, Stage as Connected};

/// A job made ready for trying mistakes.
pub struct Setup<'j> {
    /// The wiring.
    pub harness: Harness<'j>,
    /// The stages.
    pub stages: Vec<Stage>,
    /// What each stage is tried on.
    pub tables: Vec<Table>,
    /// Everything that can be read, stage by stage.
    pub readings: Vec<Reading>,
    /// The mains side, if there is one.
    pub mains: Option<MainsNetwork>,
    /// The meter.
    pub meter: Meter,
    /// For each wire, the current that destroys it, amperes.
    pub survives: Vec<f64>,
}

/// What a stage is tried on.
pub enum Table {
    /// Power off.
    Cold(Box<Cold>),
    /// Power on.
    Live(Box<Live>),
}

/// A stage with the power off.
pub struct Cold {
    /// Its network at the lowest resistances.
    pub view: View,
    /// Everything at its lowest, everything at its highest.
    pub bases: [Base; 2],
    /// Its readings among all.
    pub readings: Range<usize>,
    /// Nodes of the probes of each of its readings.
    pub pairs: Vec<(usize, usize)>,
}

/// A stage of the plan itself that has no steady state.
#[derive(Debug, Clone, PartialEq)]
pub struct NoPoint {
    /// The stage.
    pub stage: String,
    /// Why.
    pub why: Unsolved,
}

impl<'j> Setup<'j> {
    /// Makes a job ready.
    ///
    /// # Errors
    /// A stage without an operating point cannot be proved; `check` says what is wrong with it.
    pub fn new(job: &'j Job) -> Result<Self, NoPoint> {
        let harness = Harness::new(job);
        let meter = Meter::of(&harness);
        let mains = mains::build(&harness);
        let stages = stages(&harness);
        let survives = (0..job.wires.len()).map(|w| wire_survives(&harness, w)).collect();
        let mut setup =
            Self { harness, stages, survives, tables: Vec::new(), readings: Vec::new(), mains, meter };
        for s in 0..setup.stages.len() {
            let table = if setup.stages[s].live {
                setup.live(s).map(|t| Table::Live(Box::new(t)))
            } else {
                setup.cold(s).map(|t| Table::Cold(Box::new(t)))
            };
            let why = |why| NoPoint { stage: setup.stages[s].name.clone(), why };
            let table = table.map_err(why)?;
            setup.tables.push(table);
        }
        Ok(setup)
    }

    /// About how many readings a job would have, before it is made ready: any two points with the power off, each
    /// point with it on.
    pub fn expects(job: &Job) -> usize {
        let harness = Harness::new(job);
        let points = reachable(&harness).len();
        let stages = stages(&harness);
        let cold = stages.iter().filter(|s| !s.live && s.open.is_none()).count();
        points * points / 2 * cold + points * stages.len()
    }

    /// The job.
    pub fn job(&self) -> &'j Job {
        self.harness.job
    }

    /// The index of a stage's first reading.
    pub fn first_reading(&self, stage: usize) -> usize {
        self.range_of(stage).start
    }

    /// The readings of a stage.
    pub fn readings_of(&self, stage: usize) -> &[Reading] {
        &self.readings[self.range_of(stage)]
    }

    /// The network of a live stage at other values than its corners, solved; nothing for a stage with the power off.
    pub fn live_at(&self, stage: usize, loading: Loading, sample: &Sample) -> Option<Result<Base, Unsolved>> {
        let Table::Live(live) = &self.tables[stage] else { return None };
        let mut solved = Solved::new(self.harness.job);
        let Stage { name, mated, .. } = &self.stages[stage];
        solved.stage = Connected { name: name.clone(), connected: mated.clone() };
        let network = low_voltage(&solved, &self.harness.wiring, loading, sample, false).0.network;
        Some(Base::new(network, &live.view.network.ordering()))
    }

    /// Whether two terminals are one point at a stage: joined inside a part, or one plane of a load.
    pub fn is_same_point(&self, stage: usize, a: Terminal, b: Terminal) -> bool {
        let view = match &self.tables[stage] {
            Table::Cold(cold) => &cold.view,
            Table::Live(live) => &live.view,
        };
        let node = |t: Terminal| view.at[self.harness.wiring.terminals().index(t)];
        a == b || node(a).is_some() && node(a) == node(b)
    }

    fn range_of(&self, stage: usize) -> Range<usize> {
        match &self.tables[stage] {
            Table::Cold(cold) => cold.readings.clone(),
            Table::Live(live) => live.readings.clone(),
        }
    }

    /// The steps of changes on the network of a stage.
    pub fn steps(&self, stage: usize, changes: &[Change]) -> Vec<Step> {
        let view = match &self.tables[stage] {
            Table::Cold(cold) => &cold.view,
            Table::Live(live) => &live.view,
        };
        steps(self.harness.job, self.harness.wiring.terminals(), view, changes)
    }

    fn cold(&mut self, s: usize) -> Result<Cold, Unsolved> {
        let h = &self.harness;
        let Stage { mated, open, .. } = &self.stages[s];
        let view = cold::build(h, mated, *open, cold::Side::Lowest);
        let highest = cold::build(h, mated, *open, cold::Side::Highest).network;
        let ordering = view.network.ordering();
        let bases = [Base::new(view.network.clone(), &ordering)?, Base::new(highest, &ordering)?];
        let start = self.readings.len();
        let mut pairs = Vec::new();
        // With a fuse out or a switch off the mains side is what there is to see.
        let is_seen = |t: Terminal| open.is_none() || h.wiring.is_on_mains(t);
        for (red, black, nodes) in probed(h, &view, is_seen) {
            let cost = cost(h, Function::Ohms, red, black, mated);
            pairs.push(nodes);
            self.readings.push(Reading::new(s, Function::Ohms, (red, black), nodes, cost));
        }
        let mut shown = vec![0.0; pairs.len()];
        for base in &bases {
            Workspace::new().solve(base, &[])?.resistances(&pairs, &mut shown);
            self.readings[start..].iter_mut().zip(&shown).for_each(|(r, ohms)| r.range.take(*ohms));
        }
        self.close_windows(start);
        Ok(Cold { view, bases, readings: start..self.readings.len(), pairs })
    }

    fn close_windows(&mut self, start: usize) {
        let meter = self.meter;
        self.readings[start..].iter_mut().for_each(|r| r.window = meter.shown(r.function, r.range));
    }
}

/// Terminals that a probe reaches: of parts, plugs and the case, and the ways of sockets, which take part once their load is
/// connected (from the back of the board).
pub fn reachable(h: &Harness<'_>) -> Vec<Terminal> {
    let socket = |l: usize| (0..h.job.loads[l].sockets.len()).map(move |s| Thing::Socket(l, s));
    let mut things: Vec<Thing> = h.things().into_iter().filter(|t| !matches!(t, Thing::Socket(..))).collect();
    things.extend((0..h.job.loads.len()).flat_map(socket));
    things.into_iter().flat_map(|t| h.terminals(t)).collect()
}

/// Pairs of terminals with a resistance between them that is worth a look: not one node.
fn probed(
    h: &Harness<'_>,
    view: &View,
    is_seen: impl Fn(Terminal) -> bool,
) -> Vec<(Terminal, Terminal, (usize, usize))> {
    let mut seen: Vec<(Terminal, usize)> = Vec::new();
    for t in reachable(h).into_iter().filter(|t| is_seen(*t)) {
        let Some(node) = view.at[h.wiring.terminals().index(t)] else { continue };
        // Terminals that are one inside a part, or one plane of a load, are one point.
        if !seen.iter().any(|(_, known)| *known == node) {
            seen.push((t, node));
        }
    }
    let mut pairs = Vec::new();
    for (i, (a, na)) in seen.iter().enumerate() {
        for (b, nb) in &seen[i + 1..] {
            pairs.push((*a, *b, (*na, *nb)));
        }
    }
    pairs
}
