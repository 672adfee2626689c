//! Pairs of mistakes: the second is tried on the circuit that the first has made.
//!
//! A pair is judged at nominal values (resistances with the power off at both ends of their spreads) and against the
//! readings of the plan, stage by stage, until a reading shows it or it does harm. Two mistakes that take hold of one
//! wire, plug or part are not a pair, and mistakes that change nothing make none.

use crate::bounds::NEVER;
use crate::corner::{Extra, Trial, added_watches, replaced};
use crate::harm::{Harm, Watched};
use crate::mains_effect::{MainsEffect, MainsJudge};
use crate::proof::{Proof, can_be_together, in_parallel};
use crate::reading::Interval;
use crate::setup::{Live, Table};
use crate::step::{Step, edits};
use crate::trial::{Room, try_resistances};
use std::cell::OnceCell;
use std::sync::atomic::{AtomicUsize, Ordering};
use voltwright_circuit::Base;

/// Escapes that are told one by one.
const TOLD: usize = 20;

/// What came of all pairs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Pairs {
    /// How many there are.
    pub count: u64,
    /// For each stage, how many a reading of the plan shows there before they did harm.
    pub caught: Vec<u64>,
    /// How many do harm before any reading of the plan shows them.
    pub escapes: u64,
    /// How many neither do harm nor are shown.
    pub unnoticed: u64,
    /// The likeliest escapes.
    pub told: Vec<Pair>,
    /// Operating points solved.
    pub points: u64,
}

/// A pair of classes of mistakes with what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The first class.
    pub first: usize,
    /// The second class.
    pub second: usize,
    /// The stage at which something worth protecting is harmed before the plan shows the pair.
    pub harm: Option<(usize, Harm)>,
    /// The stage at which the plan shows it before it did harm.
    pub caught_at: Option<usize>,
}

/// Tries all pairs, on so many threads; `progress` is told now and then how many of the first mistakes are done, and of
/// how many.
pub fn all(proof: &Proof<'_>, threads: usize, progress: &(impl Fn(usize, usize) + Sync)) -> Pairs {
    let trier = Trier::new(proof);
    let firsts = &trier.effective;
    let done = AtomicUsize::new(0);
    let (parts, points) = in_parallel(firsts, threads, &NEVER, |room, i| {
        progress(done.fetch_add(1, Ordering::Relaxed), firsts.len());
        let first = First::new(&trier, *i);
        let mut pairs = Pairs { caught: vec![0; proof.setup.stages.len()], ..Pairs::default() };
        for j in trier.effective.iter().filter(|j| *j > i) {
            if let Some(pair) = trier.pair(&first, *j, room) {
                pairs.take(pair);
            }
        }
        pairs.keep_likeliest(proof);
        pairs
    });
    let mut all = Pairs { caught: vec![0; proof.setup.stages.len()], points, ..Pairs::default() };
    for part in parts {
        all.count += part.count;
        all.escapes += part.escapes;
        all.unnoticed += part.unnoticed;
        all.caught.iter_mut().zip(part.caught).for_each(|(sum, more)| *sum += more);
        all.told.extend(part.told);
    }
    all.keep_likeliest(proof);
    all
}

/// Tries some pairs of classes; nothing for two that are not a pair.
pub fn some(proof: &Proof<'_>, wanted: &[(usize, usize)], threads: usize) -> Vec<Option<Pair>> {
    let trier = Trier::new(proof);
    let (pairs, _) =
        in_parallel(wanted, threads, &NEVER, |room, (i, j)| trier.pair(&First::new(&trier, *i), *j, room));
    pairs
}

impl Pairs {
    fn take(&mut self, pair: Pair) {
        self.count += 1;
        match (pair.caught_at, pair.harm) {
            (Some(stage), _) => self.caught[stage] += 1,
            (None, None) => self.unnoticed += 1,
            (None, Some(_)) => {
                self.escapes += 1;
                self.told.push(pair);
            }
        }
    }

    fn keep_likeliest(&mut self, proof: &Proof<'_>) {
        let weight = |pair: &Pair| proof.class_weight(pair.first) * proof.class_weight(pair.second);
        self.told.sort_by(|a, b| {
            weight(b).total_cmp(&weight(a)).then((a.first, a.second).cmp(&(b.first, b.second)))
        });
        self.told.truncate(TOLD);
    }
}

struct Trier<'p, 'j> {
    proof: &'p Proof<'j>,
    judge: MainsJudge<'p, 'j>,
    /// Classes that change something.
    effective: Vec<usize>,
    /// For each stage, the readings of the plan: their place in the stage, and the probes' nodes.
    planned: Vec<Vec<(usize, (usize, usize))>>,
}

/// The first of a pair, with the circuits that it makes.
struct First {
    class: usize,
    stages: Vec<OnceCell<Option<Made>>>,
}

/// A stage with the first mistake made.
struct Made {
    bases: Vec<Base>,
    extra: Extra,
}

impl First {
    fn new(trier: &Trier<'_, '_>, class: usize) -> Self {
        Self { class, stages: trier.proof.setup.stages.iter().map(|_| OnceCell::new()).collect() }
    }

    /// The circuits of a stage; nothing where the first mistake alone finds no steady state: then both are made at once.
    fn at<'f>(&'f self, trier: &Trier<'_, '_>, stage: usize) -> Option<&'f Made> {
        self.stages[stage].get_or_init(|| trier.made(self.class, stage)).as_ref()
    }
}

impl<'p, 'j> Trier<'p, 'j> {
    fn new(proof: &'p Proof<'j>) -> Self {
        let setup = &proof.setup;
        let effective =
            (0..proof.classes.len()).filter(|c| proof.classes[*c].prepared.has_effect()).collect();
        let mut planned = vec![Vec::new(); setup.stages.len()];
        for r in &proof.plan.readings {
            let stage = setup.readings[*r].stage;
            planned[stage].push((*r, setup.readings[*r].nodes));
        }
        let judge = MainsJudge::new(&setup.harness, setup.mains.as_ref());
        Self { proof, judge, effective, planned }
    }

    fn made(&self, class: usize, stage: usize) -> Option<Made> {
        let steps = &self.proof.classes[class].prepared.steps[stage];
        let mut made = Vec::new();
        let mut bases = Vec::new();
        let originals: &[Base] = match &self.proof.setup.tables[stage] {
            Table::Cold(cold) => &cold.bases,
            Table::Live(live) => &live.corners[..1],
        };
        let holding = match &self.proof.setup.tables[stage] {
            Table::Live(live) => live.holding.get(..1).unwrap_or_default(),
            Table::Cold(_) => &[],
        };
        for base in originals.iter().chain(holding) {
            edits(base.network(), steps, &mut made);
            bases.push(base.corrected(&made).ok()?);
        }
        let watched: Vec<Watched> = match &self.proof.setup.tables[stage] {
            Table::Cold(_) => Vec::new(),
            Table::Live(live) => {
                let first = originals[0].network().elements.len();
                added_watches(&self.proof.setup, live, first, steps).collect()
            }
        };
        let flags = steps.iter().filter(|s| matches!(s, Step::Stick(_) | Step::Flip(_))).copied().collect();
        let replaced = replaced(originals[0].network().elements.len(), steps);
        Some(Made { bases, extra: Extra { watched, flags, replaced } })
    }

    /// Tries a pair stage by stage until it is shown or does harm.
    fn pair(&self, first: &First, second: usize, room: &mut Room) -> Option<Pair> {
        let (a, b) = (&self.proof.classes[first.class], &self.proof.classes[second]);
        let changes = |class: &crate::proof::Class| &self.proof.mistakes[class.mistakes[0]].changes;
        if !can_be_together(changes(a), changes(b)) {
            return None;
        }
        let mains = match (a.prepared.touches_mains, b.prepared.touches_mains) {
            (true, true) => self.judge.effect(&[changes(a).as_slice(), changes(b).as_slice()].concat()),
            (true, false) => a.prepared.mains.clone(),
            (false, _) => b.prepared.mains.clone(),
        };
        let mut pair = Pair { first: first.class, second, harm: None, caught_at: None };
        for (s, table) in self.proof.setup.tables.iter().enumerate() {
            let (ours, theirs) = (&a.prepared.steps[s], &b.prepared.steps[s]);
            let live = matches!(table, Table::Live(_));
            if ours.is_empty() && theirs.is_empty() && !(live && mains.acts()) {
                continue;
            }
            match table {
                Table::Cold(_) => {
                    if !self.planned[s].is_empty() && self.is_shown_cold(first, s, theirs, room) {
                        pair.caught_at = Some(s);
                        return Some(pair);
                    }
                }
                Table::Live(live) => {
                    let (harm, shown) = self.live(first, live, s, theirs, &mains, room);
                    if let Some(harm) = harm {
                        pair.harm = Some((s, harm));
                        return Some(pair);
                    }
                    if shown {
                        pair.caught_at = Some(s);
                        return Some(pair);
                    }
                }
            }
        }
        Some(pair)
    }

    fn is_shown_cold(&self, first: &First, s: usize, steps: &[Step], room: &mut Room) -> bool {
        let nodes: Vec<(usize, usize)> = self.planned[s].iter().map(|(_, nodes)| *nodes).collect();
        match (first.at(self, s), &self.proof.setup.tables[s]) {
            (Some(made), _) => try_resistances(&made.bases, &nodes, steps, room),
            (None, Table::Cold(cold)) => {
                try_resistances(&cold.bases, &nodes, &self.both(first, s, steps), room)
            }
            (None, Table::Live(_)) => return false,
        }
        let ranges = room.ranges().iter().zip(&self.planned[s]);
        ranges.into_iter().any(|(range, (r, _))| self.shows(*r, *range))
    }

    /// The steps of both, for the circuit without either.
    fn both(&self, first: &First, stage: usize, steps: &[Step]) -> Vec<Step> {
        [self.proof.classes[first.class].prepared.steps[stage].as_slice(), steps].concat()
    }

    fn shows(&self, reading: usize, range: Interval) -> bool {
        let setup = &self.proof.setup;
        let reading = &setup.readings[reading];
        range.is_apart_from(&reading.window)
            && setup.meter.shown(reading.function, range).is_apart_from(&reading.window)
    }

    /// Harm at a live stage, and whether the plan's readings there show the pair.
    fn live(
        &self,
        first: &First,
        live: &Live,
        s: usize,
        steps: &[Step],
        mains: &MainsEffect,
        room: &mut Room,
    ) -> (Option<Harm>, bool) {
        if let Some(harm) = mains.worst() {
            return (Some(harm), false);
        }
        let setup = &self.proof.setup;
        room.begin(live.readings.len());
        let at = match first.at(self, s) {
            Some(made) => {
                let elements = made.bases[0].network().elements.len();
                let trial = Trial::new(setup, live, steps, &made.extra, mains, elements);
                trial.run((&made.bases[0], made.bases.get(1)), room)
            }
            None => {
                let steps = self.both(first, s, steps);
                let trial = Trial::alone(setup, live, &steps, mains);
                trial.run((&live.corners[0], live.holding.first()), room)
            }
        };
        let Ok(at) = at else { return (None, false) };
        if at.hunting {
            return (at.harm, false);
        }
        let shown =
            |(r, _): &(usize, (usize, usize))| self.shows(*r, room.ranges()[*r - live.readings.start]);
        (at.harm, self.planned[s].iter().any(shown))
    }
}
