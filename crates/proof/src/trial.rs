//! One mistake, or a pair, tried at every stage: the harm that it does, and the readings that catch it before.

use crate::change::Change;
use crate::corner::Trial;
use crate::cover::Bits;
use crate::harm::{Harm, Threat};
use crate::mains_effect::{MainsEffect, MainsJudge};
use crate::reading::{Interval, Meter, Reading};
use crate::setup::{Cold, Live, Setup, Table};
use crate::step::{Step, edits};
use std::ops::Range;
use voltwright_circuit::{Base, Edit, Workspace};

/// What a mistake comes to on each stage, ready to be tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Prepared {
    /// Its steps at each stage.
    pub steps: Vec<Vec<Step>>,
    /// What it does on the mains side.
    pub mains: MainsEffect,
    /// Whether it has to do with the mains side at all.
    pub touches_mains: bool,
}

/// What came of a mistake.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The first stage at which something worth protecting is harmed, and the worst harm there.
    pub harm: Option<(usize, Harm)>,
    /// What is easy to replace and is lost on the way.
    pub lost: Vec<Threat>,
    /// The readings before that stage that catch it.
    pub caught: Bits,
    /// Stages at which the circuit finds no steady state.
    pub hunting: Vec<usize>,
}

/// What one stage came to.
#[derive(Debug, Clone, Default)]
pub(crate) struct AtStage {
    pub harm: Option<Harm>,
    pub lost: Vec<Threat>,
    pub hunting: bool,
}

/// Room to work in, one a thread.
pub struct Room {
    pub(crate) workspace: Workspace,
    pub(crate) edits: Vec<Edit>,
    pub(crate) ranges: Vec<Interval>,
    shown: Vec<f64>,
    pub(crate) points: u64,
    /// Voltages of the last corner, where they are wanted.
    pub(crate) volts: Option<Vec<f64>>,
}

impl Default for Room {
    fn default() -> Self {
        Self::new()
    }
}

impl Room {
    /// Empty.
    pub fn new() -> Self {
        Self {
            workspace: Workspace::new(),
            edits: Vec::new(),
            ranges: Vec::new(),
            shown: Vec::new(),
            points: 0,
            volts: None,
        }
    }

    /// Ranges of the readings last tried.
    pub(crate) fn ranges(&self) -> &[Interval] {
        &self.ranges
    }

    /// Ranges of so many readings, with nothing in them yet.
    pub(crate) fn begin(&mut self, readings: usize) {
        self.ranges.clear();
        self.ranges.resize(readings, Interval::NONE);
    }

    /// Operating points solved so far.
    pub fn points(&self) -> u64 {
        self.points
    }
}

impl Prepared {
    /// Of changes.
    pub fn of(setup: &Setup<'_>, changes: &[Change], judge: &MainsJudge<'_, '_>) -> Self {
        let steps = (0..setup.stages.len()).map(|s| setup.steps(s, changes)).collect();
        Self { steps, mains: judge.effect(changes), touches_mains: judge.touches(changes) }
    }

    /// Whether it changes anything at all.
    pub fn has_effect(&self) -> bool {
        self.mains != MainsEffect::default() || self.steps.iter().any(|s| !s.is_empty())
    }

    /// Whether a stage is just as it is without the mistake.
    pub fn leaves(&self, stage: usize, live: bool) -> bool {
        self.steps[stage].is_empty() && !(live && self.mains.acts())
    }
}

/// Tries a mistake at every stage until it does harm.
pub fn run(setup: &Setup<'_>, prepared: &Prepared, room: &mut Room) -> Outcome {
    let mut outcome = Outcome {
        harm: None,
        lost: prepared.mains.opens.clone(),
        caught: Bits::default(),
        hunting: Vec::new(),
    };
    for s in 0..setup.stages.len() {
        let Table::Live(live) = &setup.tables[s] else { continue };
        if prepared.leaves(s, true) {
            continue;
        }
        let at = try_live(setup, live, &prepared.steps[s], &prepared.mains, true, room);
        outcome
            .lost
            .extend(at.lost.iter().filter(|t| !outcome.lost.contains(t)).copied().collect::<Vec<_>>());
        if at.hunting {
            outcome.hunting.push(s);
        }
        if let Some(harm) = at.harm {
            outcome.harm = Some((s, harm));
            break;
        }
        if !at.hunting {
            catch(&setup.meter, &setup.readings, &live.readings, &room.ranges, &mut outcome.caught);
        }
    }
    // What does no harm need not be caught: a proof is large enough without that.
    let Some((harmful, _)) = outcome.harm else { return Outcome { caught: Bits::default(), ..outcome } };
    for s in 0..harmful {
        if let Table::Cold(cold) = &setup.tables[s]
            && !prepared.steps[s].is_empty()
        {
            catch_cold(setup, cold, &prepared.steps[s], room, &mut outcome.caught);
        }
    }
    outcome
}

/// Marks the readings whose own range, as the meter may show it, lies wholly outside the window.
fn catch(meter: &Meter, readings: &[Reading], at: &Range<usize>, ranges: &[Interval], caught: &mut Bits) {
    for (i, (reading, range)) in readings[at.clone()].iter().zip(ranges).enumerate() {
        if range.is_apart_from(&reading.window)
            && meter.shown(reading.function, *range).is_apart_from(&reading.window)
        {
            caught.insert(at.start + i);
        }
    }
}

/// The same with the power off: only what is outside its window with everything at its lowest is looked at with everything at
/// its highest.
fn catch_cold(setup: &Setup<'_>, cold: &Cold, steps: &[Step], room: &mut Room, caught: &mut Bits) {
    let readings = &setup.readings[cold.readings.clone()];
    let outside = |reading: &Reading, range: Interval| {
        setup.meter.shown(reading.function, range).is_apart_from(&reading.window)
    };
    try_resistances(&cold.bases[..1], &cold.pairs, steps, room);
    let lowest = room.ranges.clone();
    let left: Vec<usize> = (0..readings.len()).filter(|k| outside(&readings[*k], lowest[*k])).collect();
    let pairs: Vec<(usize, usize)> = left.iter().map(|k| cold.pairs[*k]).collect();
    try_resistances(&cold.bases[1..], &pairs, steps, room);
    for (k, highest) in left.iter().zip(&room.ranges) {
        let mut range = lowest[*k];
        range.take(highest.low);
        range.take(highest.high);
        if outside(&readings[*k], range) {
            caught.insert(cold.readings.start + k);
        }
    }
}

/// The range of every reading of a stage with a mistake; nothing where there is no steady state. Readings are as without
/// the mistake where it changes nothing.
pub fn ranges(
    setup: &Setup<'_>,
    prepared: &Prepared,
    stage: usize,
    room: &mut Room,
) -> Option<Vec<Interval>> {
    match &setup.tables[stage] {
        Table::Cold(cold) => {
            try_cold(cold, &prepared.steps[stage], room);
            Some(room.ranges.clone())
        }
        Table::Live(_) if prepared.mains.crossing => None,
        Table::Live(live) => {
            let at = try_live(setup, live, &prepared.steps[stage], &prepared.mains, false, room);
            (!at.hunting).then(|| room.ranges.clone())
        }
    }
}

fn try_cold(cold: &Cold, steps: &[Step], room: &mut Room) {
    try_resistances(&cold.bases, &cold.pairs, steps, room);
}

/// The resistances between pairs of nodes with everything at its lowest and at its highest.
pub(crate) fn try_resistances(bases: &[Base], pairs: &[(usize, usize)], steps: &[Step], room: &mut Room) {
    room.begin(pairs.len());
    room.shown.resize(pairs.len(), 0.0);
    for base in bases {
        edits(base.network(), steps, &mut room.edits);
        room.points += 1;
        // Resistors alone always have a solution; where rounding says otherwise the reading tells nothing.
        match room.workspace.solve(base, &room.edits) {
            Ok(neighbour) => neighbour.resistances(pairs, &mut room.shown),
            Err(_) => {
                room.ranges.fill(Interval { low: 0.0, high: f64::INFINITY });
                return;
            }
        }
        room.ranges.iter_mut().zip(&room.shown).for_each(|(range, ohms)| range.take(*ohms));
    }
}

/// Tries steps at the corners of a live stage. `until_harm` ends at the first corner that does harm: then the ranges are
/// not complete.
pub(crate) fn try_live(
    setup: &Setup<'_>,
    live: &Live,
    steps: &[Step],
    mains: &MainsEffect,
    until_harm: bool,
    room: &mut Room,
) -> AtStage {
    let mut at = AtStage::default();
    room.begin(live.readings.len());
    if let Some(harm) = mains.worst() {
        at.harm = Some(harm);
        if until_harm {
            return at;
        }
    }
    let trial = Trial::alone(setup, live, steps, mains);
    for (c, base) in live.corners.iter().enumerate() {
        match trial.run((base, live.holding.get(c)), room) {
            Ok(corner) => {
                at.hunting |= corner.hunting;
                for threat in corner.lost {
                    if !at.lost.contains(&threat) {
                        at.lost.push(threat);
                    }
                }
                if corner.harm.is_some_and(|h| at.harm.is_none_or(|known| h.excess > known.excess)) {
                    at.harm = corner.harm;
                }
                if until_harm && at.harm.is_some() {
                    return at;
                }
            }
            Err(_) => at.hunting = true,
        }
    }
    at
}

/// The voltages of a live stage at nominal values with a mistake; nothing where there is no steady state, where low voltage
/// is at the mains, or where the power is off.
pub fn nominal_volts(setup: &Setup<'_>, prepared: &Prepared, stage: usize) -> Option<Vec<f64>> {
    let Table::Live(live) = &setup.tables[stage] else { return None };
    if prepared.mains.crossing {
        return None;
    }
    let mut room = Room::new();
    room.volts = Some(Vec::new());
    room.begin(live.readings.len());
    let trial = Trial::alone(setup, live, &prepared.steps[stage], &prepared.mains);
    let at = trial.run((&live.corners[0], live.holding.first()), &mut room).ok()?;
    room.volts.filter(|_| !at.hunting)
}

/// Harm and readings of a live stage with a mistake at the values of one network; nothing where there is no steady state.
pub fn at_values(
    setup: &Setup<'_>,
    prepared: &Prepared,
    stage: usize,
    base: &Base,
) -> Option<(Option<Harm>, Vec<Interval>)> {
    let Table::Live(live) = &setup.tables[stage] else { return None };
    let mut room = Room::new();
    room.begin(live.readings.len());
    let trial = Trial::alone(setup, live, &prepared.steps[stage], &prepared.mains);
    let at = trial.run((base, None), &mut room).ok()?;
    (!at.hunting).then_some((at.harm, room.ranges))
}
