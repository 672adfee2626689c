//! One mistake, or a pair, tried at every stage: the harm that it does, and the readings that catch it before.

use crate::change::Change;
use crate::cover::Bits;
use crate::harm::{Harm, Threat, Watch, Watched};
use crate::mains_effect::{MainsEffect, MainsJudge};
use crate::reading::{Function, Interval, Meter, Reading};
use crate::setup::{Cold, Follower, Live, Setup, Table};
use crate::step::{Step, edits};
use std::borrow::Cow;
use std::ops::Range;
use voltwright_circuit::{Base, Edit, Law, Neighbour, Overload, State, Unsolved, Workspace};
use voltwright_job::Job;

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

/// What a mistake made before adds to the trial of another.
#[derive(Debug, Clone, Default)]
pub(crate) struct Extra {
    /// Wires in new places.
    pub watched: Vec<Watched>,
    /// Steps that are no edits.
    pub flags: Vec<Step>,
    /// Sources and converters with another in their place.
    pub replaced: Vec<(usize, usize)>,
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
    workspace: Workspace,
    edits: Vec<Edit>,
    ranges: Vec<Interval>,
    shown: Vec<f64>,
    points: u64,
    /// Voltages of the last corner, where they are wanted.
    volts: Option<Vec<f64>>,
}

impl Default for Room {
    fn default() -> Self {
        Self::new()
    }
}

impl Room {
    /// Empty.
    pub fn new() -> Self {
        Self { workspace: Workspace::new(), edits: Vec::new(), ranges: Vec::new(), shown: Vec::new(), points: 0, volts: None }
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
    let mut outcome =
        Outcome { harm: None, lost: prepared.mains.opens.clone(), caught: Bits::new(setup.readings.len()), hunting: Vec::new() };
    for s in 0..setup.stages.len() {
        let Table::Live(live) = &setup.tables[s] else { continue };
        if prepared.leaves(s, true) {
            continue;
        }
        let at = try_live(setup, live, &prepared.steps[s], &prepared.mains, true, room);
        outcome.lost.extend(at.lost.iter().filter(|t| !outcome.lost.contains(t)).copied().collect::<Vec<_>>());
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
    let Some((harmful, _)) = outcome.harm else { return outcome };
    for s in 0..harmful {
        if let Table::Cold(cold) = &setup.tables[s]
            && !prepared.steps[s].is_empty()
        {
            try_cold(cold, &prepared.steps[s], room);
            catch(&setup.meter, &setup.readings, &cold.readings, &room.ranges, &mut outcome.caught);
        }
    }
    outcome
}

/// Marks the readings whose own range, as the meter may show it, lies wholly outside the window.
fn catch(meter: &Meter, readings: &[Reading], at: &Range<usize>, ranges: &[Interval], caught: &mut Bits) {
    for (i, (reading, range)) in readings[at.clone()].iter().zip(ranges).enumerate() {
        if range.is_apart_from(&reading.window) && meter.shown(reading.function, *range).is_apart_from(&reading.window) {
            caught.insert(at.start + i);
        }
    }
}

/// The range of every reading of a stage with a mistake; nothing where there is no steady state. Readings are as without
/// the mistake where it changes nothing.
pub fn ranges(setup: &Setup<'_>, prepared: &Prepared, stage: usize, room: &mut Room) -> Option<Vec<Interval>> {
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
    for (c, base) in live.corners.iter().enumerate() {
        match try_corner_at(setup, live, (base, live.holding.get(c)), steps, &Extra::default(), mains, room) {
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

/// One corner: followers and fuses act one after another, as they would.
pub(crate) fn try_corner_at(
    setup: &Setup<'_>,
    live: &Live,
    (base, holding): (&Base, Option<&Base>),
    steps: &[Step],
    extra: &Extra,
    mains: &MainsEffect,
    room: &mut Room,
) -> Result<AtStage, Unsolved> {
    let Room { workspace, edits: made, ranges, points, volts, .. } = room;
    let readings = &setup.readings[live.readings.clone()];
    let is_dead = |e: &usize| mains.dead.iter().any(|p| live.view.parts[*p].contains(e));
    let powered = |step: &Step| !matches!(step, Step::Raise(e, ..) | Step::Kill(e, _) if is_dead(e));
    match steps.iter().all(powered) {
        true => edits(base.network(), steps, made),
        false => edits(base.network(), &steps.iter().copied().filter(powered).collect::<Vec<_>>(), made),
    }
    for element in mains.dead.iter().flat_map(|p| &live.view.parts[*p]) {
        remove(made, *element);
    }
    for (_, element) in extra.replaced.iter().filter(|(old, _)| is_dead(old)) {
        remove(made, *element);
    }
    let is = |step: Step| steps.contains(&step) || extra.flags.contains(&step);
    let added: Vec<Watched> = added_watches(setup, live, base.network().elements.len(), steps).collect();
    let mut at = AtStage::default();
    let (mut dropped, mut blown) = (0u64, 0u64);
    let bit = |i: usize| 1u64 << (i % 64);
    loop {
        *points += 1;
        let point = workspace.solve(base, made)?;
        let fits = |volts: &[f64], (i, f): (usize, &Follower)| is(Step::Stick(f.part)) || f.conducts(volts) != (dropped & bit(i) != 0);
        let wrong = live.followers.iter().enumerate().find(|f| !fits(point.volts, *f));
        let current = |e: usize| if made.contains(&Edit::Remove(e)) { 0.0 } else { point.current(e) };
        let opens = live.fuses.iter().enumerate();
        let opens = opens.into_iter().find(|(i, (_, e, most))| blown & bit(*i) == 0 && current(*e).abs() > *most);
        // Off it would come on, on it would go off: what it passes through on the way counts.
        let hunts = wrong.is_some_and(|(i, _)| dropped & bit(i) != 0);
        for watched in live.watched.iter().chain(&added).chain(&extra.watched).filter(|_| wrong.is_none() || hunts) {
            // Currents count once no more fuses open.
            if !(opens.is_some() || hunts) || !matches!(watched.watch, Watch::Amps { .. }) {
                at.note(setup.job(), watched.threat, flipped(watched, &is).harm(point.volts, current));
            }
        }
        if wrong.is_none() && opens.is_none() {
            for (range, reading) in ranges.iter_mut().zip(readings) {
                let (a, b) = reading.nodes;
                range.take(match reading.function {
                    Function::Amps => current(a),
                    _ => point.volts[a] - point.volts[b],
                });
            }
            if let Some(volts) = volts.as_mut() {
                volts.clear();
                volts.extend_from_slice(point.volts);
            }
        }
        let opened = opens.map(|(i, (part, element, _))| (i, *part, *element, current(*element)));
        let tripped = has_tripped(live, base, made, &point);
        if let Some(holding) = holding.filter(|_| tripped) {
            *points += 1;
            let made = held_edits(made);
            if let Ok(before) = workspace.solve(holding, &made)
                && live.followers.iter().enumerate().all(|f| fits(before.volts, f))
            {
                for watched in live.watched.iter().filter(|w| !matches!(w.watch, Watch::Amps { .. })) {
                    at.note(setup.job(), watched.threat, flipped(watched, &is).harm(before.volts, |_| 0.0));
                }
            }
        }
        match (wrong, opened) {
            (Some(_), _) if hunts => {
                at.hunting = true;
                return Ok(at);
            }
            (Some((i, f)), _) => {
                dropped |= bit(i);
                f.elements.iter().for_each(|e| remove(made, *e));
            }
            (None, Some((i, part, element, amps))) => {
                at.note(setup.job(), Threat::Fuse(part), Some((amps, 1.0)));
                blown |= bit(i);
                remove(made, element);
            }
            (None, None) => return Ok(at),
        }
    }
}

/// Whether a source or converter has tripped at a point.
fn has_tripped(live: &Live, base: &Base, made: &[Edit], point: &Neighbour<'_>) -> bool {
    let tripped = |e: usize, outputs: usize| {
        point.state(e) == State::Tripped || (0..outputs).any(|o| point.output_state(e, o) == State::Tripped)
    };
    let outputs = |law: &Law| if let Law::Converter(c) = law { c.outputs.len() } else { 0 };
    let first = base.network().elements.len();
    let mut added = made.iter().filter_map(|e| if let Edit::Add(law) = e { Some(law) } else { None }).enumerate();
    let in_place = |e: &&usize| !made.contains(&Edit::Remove(**e));
    live.tripping.iter().filter(in_place).any(|e| tripped(*e, outputs(&base.network().elements[*e].law)))
        || added.any(|(i, law)| matches!(law, Law::Source(_) | Law::Converter(_)) && tripped(first + i, outputs(law)))
}

/// Edits whose sources hold at their limits where they would trip.
fn held_edits(made: &[Edit]) -> Cow<'_, [Edit]> {
    let sources = |e: &Edit| matches!(e, Edit::Add(Law::Source(_) | Law::Converter(_)));
    if !made.iter().any(sources) {
        return Cow::Borrowed(made);
    }
    let mut held = made.to_vec();
    for edit in &mut held {
        match edit {
            Edit::Add(Law::Source(s)) => s.overload = Overload::Hold,
            Edit::Add(Law::Converter(c)) => c.outputs.iter_mut().for_each(|o| o.overload = Overload::Hold),
            _ => {}
        }
    }
    Cow::Owned(held)
}

/// A watch as it is with steps that are no edits.
fn flipped(watched: &Watched, is: &impl Fn(Step) -> bool) -> Watch {
    match watched.threat {
        Threat::Capacitor(p) if is(Step::Flip(p)) => turned(watched.watch),
        _ => watched.watch,
    }
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
    let (bases, steps) = ((&live.corners[0], live.holding.first()), &prepared.steps[stage]);
    let at = try_corner_at(setup, live, bases, steps, &Extra::default(), &prepared.mains, &mut room).ok()?;
    room.volts.filter(|_| !at.hunting)
}

/// Harm and readings of a live stage with a mistake at the values of one network; nothing where there is no steady state.
pub fn at_values(setup: &Setup<'_>, prepared: &Prepared, stage: usize, base: &Base) -> Option<(Option<Harm>, Vec<Interval>)> {
    let Table::Live(live) = &setup.tables[stage] else { return None };
    let mut room = Room::new();
    room.begin(live.readings.len());
    let steps = &prepared.steps[stage];
    let at = try_corner_at(setup, live, (base, None), steps, &Extra::default(), &prepared.mains, &mut room).ok()?;
    (!at.hunting).then_some((at.harm, room.ranges))
}

impl AtStage {
    fn note(&mut self, job: &Job, threat: Threat, found: Option<(f64, f64)>) {
        let Some((value, excess)) = found else { return };
        if !threat.is_worth_protecting(job) {
            if !self.lost.contains(&threat) {
                self.lost.push(threat);
            }
        } else if self.harm.is_none_or(|known| excess > known.excess) {
            self.harm = Some(Harm { threat, value, excess });
        }
    }
}

fn remove(edits: &mut Vec<Edit>, element: usize) {
    if !edits.contains(&Edit::Remove(element)) {
        edits.push(Edit::Remove(element));
    }
}

fn turned(watch: Watch) -> Watch {
    match watch {
        Watch::Volts { plus, minus, low, high } => Watch::Volts { plus: minus, minus: plus, low, high },
        other => other,
    }
}

/// Sources and converters that steps replace, with the index of what is in their place.
pub(crate) fn replaced(first: usize, steps: &[Step]) -> Vec<(usize, usize)> {
    let adds = steps.iter().filter(|s| !matches!(s, Step::Remove(_) | Step::Stick(_) | Step::Flip(_)));
    let replaced = adds.enumerate().filter_map(|(i, step)| match step {
        Step::Raise(e, ..) | Step::Kill(e, _) => Some((*e, first + i)),
        _ => None,
    });
    replaced.collect()
}

/// Wires in new places burn like the others: what to watch of the elements that steps add, the first of them numbered so.
pub(crate) fn added_watches<'a>(
    setup: &'a Setup<'_>,
    live: &'a Live,
    first: usize,
    steps: &'a [Step],
) -> impl Iterator<Item = Watched> + 'a {
    let mut element = first;
    steps.iter().filter_map(move |step| {
        let wire = match step {
            Step::Rewire { element: old, .. } => live.view.wires.iter().position(|e| *e == Some(*old)),
            Step::Join { wire, .. } => *wire,
            Step::Turn(_) | Step::Raise(..) | Step::Kill(..) => None,
            Step::Remove(_) | Step::Stick(_) | Step::Flip(_) => return None,
        };
        let here = element;
        element += 1;
        let wire = wire?;
        let most = setup.survives[wire];
        Some(Watched { threat: Threat::Wire(wire), watch: Watch::Amps { element: here, most } })
    })
}
