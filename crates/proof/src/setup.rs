//! All that mistakes are tried on: the networks of every stage at every corner, what is watched, what can be read.

use crate::change::Change;
use crate::harm::{Watched, watched, wire_survives};
use crate::harness::{Harness, Thing};
use crate::mains_effect::FUSE_OPENS;
use crate::network::mains::MainsNetwork;
use crate::network::{View, cold, mains};
use crate::reading::{Function, Interval, Meter, Reading, cost};
use crate::stage::{Stage, stages};
use crate::step::{Step, steps};
use std::ops::Range;
use std::sync::Arc;
use voltwright_circuit::{Base, Law, Network, Overload, Unsolved, Workspace};
use voltwright_job::{Job, Level, PartKind, Terminal, nets};
use voltwright_model::low_voltage::Setting;
use voltwright_model::{Loading, LowVoltage, Sample, Solved, Stage as Connected, Wiring};
use voltwright_quantity::Quantity;

/// Level between low and high of an enable input, volts: TTL, common practice.
const LOGIC_THRESHOLD: f64 = 1.4;
/// What pulls an open enable input up, ohms, to 5 V: common practice.
const PULL_UP: (f64, f64) = (5.0, 1000.0);

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
    Cold(Cold),
    /// Power on.
    Live(Live),
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

/// A stage with power on.
pub struct Live {
    /// Its network at nominal values.
    pub view: View,
    /// The network solved at nominal values and at every corner that is worst for some reading.
    pub corners: Vec<Base>,
    /// The same with supplies that hold at their limits where they would trip: the moment before.
    pub holding: Vec<Base>,
    /// Elements that can trip.
    pub tripping: Vec<usize>,
    /// What is watched.
    pub watched: Vec<Watched>,
    /// Devices that act on a voltage elsewhere.
    pub followers: Vec<Follower>,
    /// Fuses: part, element, amperes at which it opens.
    pub fuses: Vec<(usize, usize, f64)>,
    /// Its readings among all.
    pub readings: Range<usize>,
}

/// A device that conducts only while a voltage elsewhere is on the right side of its threshold.
#[derive(Debug, Clone, PartialEq)]
pub struct Follower {
    /// The part.
    pub part: usize,
    /// Its elements.
    pub elements: Vec<usize>,
    /// Positive end of what it senses.
    pub plus: usize,
    /// Negative end.
    pub minus: usize,
    /// Volts.
    pub threshold: f64,
    /// Whether it conducts at or above the threshold, else at or below.
    pub above: bool,
}

impl Follower {
    /// Whether it conducts at these voltages.
    #[inline]
    pub fn conducts(&self, volts: &[f64]) -> bool {
        let sensed = volts[self.plus] - volts[self.minus];
        if self.above { sensed >= self.threshold } else { sensed <= self.threshold }
    }
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
        let mut setup = Self { harness, stages, survives, tables: Vec::new(), readings: Vec::new(), mains, meter };
        for s in 0..setup.stages.len() {
            let table = if setup.stages[s].live { setup.live(s).map(Table::Live) } else { setup.cold(s).map(Table::Cold) };
            let why = |why| NoPoint { stage: setup.stages[s].name.clone(), why };
            let table = table.map_err(why)?;
            setup.tables.push(table);
        }
        Ok(setup)
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
            let none = Interval::NONE;
            self.readings.push(Reading {
                stage: s,
                function: Function::Ohms,
                red,
                black,
                nodes,
                cost,
                range: none,
                window: none,
            });
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

    fn live(&mut self, s: usize) -> Result<Live, Unsolved> {
        let job = self.harness.job;
        let mated = self.stages[s].mated.clone();
        let mut solved = Solved::new(job);
        solved.stage = Connected { name: self.stages[s].name.clone(), connected: mated.clone() };
        let wiring = self.harness.wiring.clone();
        let build = |loading, sample: &Sample, named| low_voltage(&solved, &wiring, loading, sample, named);
        let nominal = solved.nominal_sample();
        let (low, followers) = build(Loading::Run, &nominal, true);
        let loads = low.loads.clone();
        let view = View::of(low);
        let ordering = view.network.ordering();
        let start = self.readings.len();
        self.live_menu(s, &view);
        let figures = figures(&self.readings[start..], view.network.datum, solved.low_voltage(Loading::Run));
        let mut corners = vec![Base::new(view.network.clone(), &ordering)?];
        for loading in loadings(&mated) {
            for sample in solved.corners(*loading, &figures) {
                corners.push(Base::new(build(*loading, &sample, false).0.network, &ordering)?);
            }
        }
        let watched = self.unharmed(watched(&self.harness, &view, &loads), &corners);
        for reading in &mut self.readings[start..] {
            for corner in &corners {
                let solution = corner.solution();
                let (a, b) = reading.nodes;
                reading.range.take(match reading.function {
                    Function::Amps => solution.current(a),
                    _ => solution.between(a, b),
                });
            }
        }
        self.close_windows(start);
        let fuses = fuses(job, &view);
        // One that waits for something the plan never gives is not what mistakes are judged by.
        let nominal = corners[0].solution();
        let followers = followers.into_iter().filter(|f| f.conducts(&nominal.volts)).collect();
        let tripping = (0..view.network.elements.len()).filter(|e| trips(&view.network, *e)).collect::<Vec<_>>();
        let holding = match tripping.is_empty() {
            true => Vec::new(),
            false => corners.iter().map(|c| Base::new(held(c.network()), &ordering)).collect::<Result<_, _>>()?,
        };
        Ok(Live { view, corners, holding, tripping, watched, followers, fuses, readings: start..self.readings.len() })
    }

    /// What is past its limit without any mistake is a finding of `check`, not of a mistake.
    fn unharmed(&self, watched: Vec<Watched>, corners: &[Base]) -> Vec<Watched> {
        let is_fine = |w: &Watched| {
            corners.iter().all(|c| {
                let solution = c.solution();
                w.watch.harm(&solution.volts, |e| solution.current(e)).is_none()
            })
        };
        watched.into_iter().filter(is_fine).collect()
    }

    /// Every reachable low-voltage terminal against the return of the first source, where the black lead stays clipped; and
    /// the current of every output.
    fn live_menu(&mut self, s: usize, view: &View) {
        let h = &self.harness;
        let mated = &self.stages[s].mated;
        let datum = view.network.datum;
        let at = |t: Terminal| view.at[h.wiring.terminals().index(t)];
        let reachable: Vec<Terminal> = reachable(h).into_iter().filter(|t| at(*t).is_some()).collect();
        let Some(black) = reachable.iter().copied().find(|t| at(*t) == Some(datum)) else { return };
        let mut menu = Vec::new();
        let mut seen = vec![datum];
        for red in reachable {
            let Some(node) = at(red).filter(|n| !seen.contains(n)) else { continue };
            seen.push(node);
            menu.push((Function::Volts, red, (node, datum)));
        }
        for (p, part) in h.job.parts.iter().enumerate() {
            if matches!(part.kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_)) {
                let plus = |t: &usize| part.terminals[*t].ends_with(".plus");
                let outputs = (0..part.terminals.len()).filter(plus).map(|t| Terminal::Part(p, t));
                menu.extend(outputs.zip(&view.parts[p]).map(|(red, e)| (Function::Amps, red, (*e, *e))));
            }
        }
        for (function, red, nodes) in menu {
            let cost = cost(h, function, red, black, mated);
            let none = Interval::NONE;
            self.readings.push(Reading { stage: s, function, red, black, nodes, cost, range: none, window: none });
        }
    }
}

/// The low-voltage network of a stage with a node for every terminal, and the followers on it.
fn low_voltage(
    solved: &Solved<'_>,
    wiring: &Arc<Wiring>,
    loading: Loading,
    sample: &Sample,
    named: bool,
) -> (LowVoltage, Vec<Follower>) {
    let setting = Setting { stage: &solved.stage, loading, sample, hertz: solved.hertz() };
    let low = LowVoltage::build_on(wiring, solved.job, &setting, named);
    let mut low = low.with_all_terminals(solved.job, named);
    let followers = followers(solved.job, &mut low);
    (low, followers)
}

/// Whether an element switches off above its limit, alone or with its group.
fn trips(network: &Network, element: usize) -> bool {
    let group = |g: Option<usize>| g.is_some_and(|g| network.groups[g].trips);
    match &network.elements[element].law {
        Law::Source(s) => s.overload == Overload::Trip || group(s.group),
        Law::Converter(c) => group(c.group) || c.outputs.iter().any(|o| o.overload == Overload::Trip),
        _ => false,
    }
}

/// The network with everything holding at its limit that would trip.
fn held(network: &Network) -> Network {
    let mut held = network.clone();
    held.groups.iter_mut().for_each(|g| g.trips = false);
    for element in &mut held.elements {
        match &mut element.law {
            Law::Source(s) => s.overload = Overload::Hold,
            Law::Converter(c) => c.outputs.iter_mut().for_each(|o| o.overload = Overload::Hold),
            _ => {}
        }
    }
    held
}

/// How the loads may draw while a stage is read.
fn loadings(mated: &[bool]) -> &'static [Loading] {
    if mated.contains(&true) { &[Loading::Run, Loading::Light] } else { &[Loading::Run] }
}

/// The readings as figures of the network that corners are found on, at both ends; what has no node there has no spread.
fn figures(readings: &[Reading], datum: usize, low: &LowVoltage) -> Vec<(Vec<(usize, i8)>, bool)> {
    let mut figures = Vec::new();
    for reading in readings.iter().filter(|r| r.function == Function::Volts && r.nodes.0 < low.network.nodes.len()) {
        for upward in [true, false] {
            figures.push((vec![(reading.nodes.0, 1), (datum, -1)], upward));
        }
    }
    figures
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
fn probed(h: &Harness<'_>, view: &View, is_seen: impl Fn(Terminal) -> bool) -> Vec<(Terminal, Terminal, (usize, usize))> {
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

/// Devices that act on a voltage elsewhere: interlocks, and supplies with a strap to their enable terminal.
fn followers(job: &Job, low: &mut LowVoltage) -> Vec<Follower> {
    let mut followers = Vec::new();
    for (p, part) in job.parts.iter().enumerate() {
        let node = |low: &LowVoltage, name: &str| low.part_node(job, p, name);
        match &part.kind {
            PartKind::Interlock(i) => {
                let sensed = node(low, "sense.plus").zip(node(low, "sense.minus"));
                if let Some((plus, minus)) = sensed.filter(|_| !low.parts[p].is_empty()) {
                    let threshold = i.closes_at.nominal().si();
                    followers.push(Follower { part: p, elements: low.parts[p].clone(), plus, minus, threshold, above: true });
                }
            }
            PartKind::MainsSupply(s) => {
                let Some((level, _)) = &s.enable else { continue };
                let Some(plus) = node(low, "enable").filter(|_| strapped(job, p)) else { continue };
                let first = s.outputs.first().map(|o| format!("{}.minus", o.name));
                let Some(minus) = first.and_then(|name| node(low, &name)) else { continue };
                let law = voltwright_circuit::Source::ideal(plus, minus, PULL_UP.0, PULL_UP.1);
                low.network.add(format!("{} pull-up", part.key), voltwright_circuit::Law::Source(law));
                followers.push(Follower {
                    part: p,
                    elements: low.parts[p].clone(),
                    plus,
                    minus,
                    threshold: LOGIC_THRESHOLD,
                    above: *level == Level::High,
                });
            }
            _ => {}
        }
    }
    followers
}

/// Whether a wire goes to the enable terminal of a supply.
fn strapped(job: &Job, p: usize) -> bool {
    let enable = job.terminal(p, "enable");
    job.wires.iter().any(|w| Some(w.from) == enable || Some(w.to) == enable)
}

fn fuses(job: &Job, view: &View) -> Vec<(usize, usize, f64)> {
    let mut fuses = Vec::new();
    for (p, part) in job.parts.iter().enumerate() {
        if let PartKind::Fuse(f) = &part.kind {
            fuses.extend(view.parts[p].iter().map(|e| (p, *e, FUSE_OPENS * f.rating.nominal().si())));
        }
    }
    fuses
}

/// The terminals of a job in the order of their numbers.
pub fn terminals(job: &Job) -> Vec<Terminal> {
    nets::all(job)
}
