//! What readings say of the mistakes: single ones first, then pairs, the likeliest first; and the next reading to take.
//!
//! A mistake explains a reading if the value lies in the range that the circuit with the mistake gives over all spreads, widened
//! by the meter's accuracy. Its likelihood is its weight times, for each reading, how much of that range lies near the value
//! (resistances on a logarithmic scale). The next reading is the one that is expected to tell most: the entropy of the
//! suspects over the outcomes that it can tell apart.

use crate::cover::Bits;
use crate::mains_effect::MainsJudge;
use crate::network::cold::OPEN;
use crate::proof::{Proof, can_be_together};
use crate::reading::{Function, Interval, Reading};
use crate::setup::Setup;
use crate::trial::{Prepared, Room, ranges};
use std::collections::BTreeMap;

/// A range is taken this much wider, in units of the meter's accuracy, before a mistake no longer explains a value.
const SLACK: f64 = 0.5;
/// Smallest resistance that counts on the logarithmic scale, ohms.
const LEAST_OHMS: f64 = 0.1;
/// Suspects among which the next reading is chosen.
const SUSPECTS: usize = 120;
/// Mistakes of which pairs are made, the likeliest.
const PAIRED: usize = 400;
/// Weight of "nothing is wrong" beside all mistakes together.
const SOUND: f64 = 4.0;

/// A reading that was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taken {
    /// The reading, by index.
    pub reading: usize,
    /// What the meter showed; infinite for an open circuit.
    pub value: f64,
}

/// What a reading says by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// In its window.
    Inside,
    /// In its window, but only the meter's accuracy brings it there: measure again.
    Edge,
    /// Below it.
    Low,
    /// Above it.
    High,
}

/// What may be wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// One class of mistakes, or two together.
    pub classes: Vec<usize>,
    /// Its share among all that explain the readings.
    pub share: f64,
}

/// What readings say.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Diagnosis {
    /// Each reading by itself.
    pub verdicts: Vec<Verdict>,
    /// What explains all of them, the likeliest first; empty if nothing does, or if all are inside.
    pub suspects: Vec<Suspect>,
    /// The share of "nothing is wrong".
    pub sound: f64,
    /// The reading to take next, if the suspects are several.
    pub next: Option<usize>,
}

impl Diagnosis {
    /// Whether a reading is outside its window.
    pub fn fails(&self) -> bool {
        self.verdicts.iter().any(|v| matches!(v, Verdict::Low | Verdict::High))
    }
}

/// What a reading says by itself.
pub fn verdict(reading: &Reading, value: f64) -> Verdict {
    if value < reading.window.low {
        Verdict::Low
    } else if value > reading.window.high {
        Verdict::High
    } else if reading.range.holds(value) || reading.function == Function::Ohms && reading.range.low < 1.0 && value < 1.0 {
        Verdict::Inside
    } else if reading.function == Function::Ohms && reading.window.high.is_infinite() && value >= reading.range.low {
        Verdict::Inside
    } else {
        Verdict::Edge
    }
}

/// What readings say of all mistakes.
pub fn diagnose(proof: &Proof<'_>, taken: &[Taken]) -> Diagnosis {
    let setup = &proof.setup;
    let verdicts: Vec<Verdict> = taken.iter().map(|t| verdict(&setup.readings[t.reading], t.value)).collect();
    let mut room = Room::new();
    let mut found = Vec::new();
    let total: f64 = proof.mistakes.iter().map(crate::mistake::Mistake::weight).sum();
    let healthy: f64 = taken.iter().map(|t| fit(setup, t, setup.readings[t.reading].range)).product();
    let sound = SOUND * total * healthy;
    for class in 0..proof.classes.len() {
        if let Some(fits) = fits(setup, &proof.classes[class].prepared, taken, &mut room) {
            found.push((vec![class], proof.class_weight(class) * fits));
        }
    }
    if found.is_empty() && sound <= 0.0 {
        found = explaining_pairs(proof, taken, &mut room);
    }
    let whole: f64 = sound + found.iter().map(|(_, p)| p).sum::<f64>();
    found.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let suspects: Vec<Suspect> =
        found.into_iter().map(|(classes, p)| Suspect { classes, share: p / whole.max(f64::MIN_POSITIVE) }).collect();
    let next = next(proof, taken, &suspects, &mut room);
    Diagnosis { verdicts, suspects, sound: sound / whole.max(f64::MIN_POSITIVE), next }
}

/// How well a mistake explains readings; nothing if it does not explain one of them.
fn fits(setup: &Setup<'_>, prepared: &Prepared, taken: &[Taken], room: &mut Room) -> Option<f64> {
    let mut by_stage: BTreeMap<usize, Option<Vec<Interval>>> = BTreeMap::new();
    let mut all = 1.0;
    for t in taken {
        let reading = &setup.readings[t.reading];
        let ranges = by_stage.entry(reading.stage).or_insert_with(|| ranges(setup, prepared, reading.stage, room));
        // Where there is no steady state anything may be read.
        if let Some(ranges) = ranges {
            all *= fit(setup, t, ranges[t.reading - setup.first_reading(reading.stage)]);
        } else {
            all *= 0.01;
        }
        if all <= 0.0 {
            return None;
        }
    }
    Some(all)
}

/// How much of a range lies near a value: 0 if the value is not explained.
fn fit(setup: &Setup<'_>, taken: &Taken, range: Interval) -> f64 {
    let reading = &setup.readings[taken.reading];
    let (function, value) = (reading.function, taken.value);
    let shown = setup.meter.shown(function, range);
    if function == Function::Ohms {
        let log = |ohms: f64| (ohms.min(OPEN) + LEAST_OHMS).ln();
        let slack = if value.is_finite() { SLACK * setup.meter.off(function, value) } else { 0.0 };
        let inside = value.min(OPEN) >= shown.low - slack && value.min(OPEN) <= shown.high + slack;
        return if inside { 1.0 / (0.1 + log(shown.high) - log(shown.low)) } else { 0.0 };
    }
    let off = setup.meter.off(function, value);
    let outside = (range.low - value).max(value - range.high).max(0.0) / off;
    let nearness = (-2.0 * outside * outside).exp();
    if outside <= 1.0 + SLACK { nearness * off / (range.high - range.low + 2.0 * off) } else { 0.0 }
}

/// Pairs of the likeliest mistakes that explain readings which no single one does.
fn explaining_pairs(proof: &Proof<'_>, taken: &[Taken], room: &mut Room) -> Vec<(Vec<usize>, f64)> {
    let setup = &proof.setup;
    let judge = MainsJudge::new(&setup.harness, setup.mains.as_ref());
    let mut partial: Vec<(usize, f64, Bits)> = Vec::new();
    for class in 0..proof.classes.len() {
        let explained = explained(proof, class, taken, room);
        if explained.count() > 0 {
            partial.push((class, proof.class_weight(class), explained));
        }
    }
    // Those that explain most of the readings first.
    partial.sort_by(|a, b| b.2.count().cmp(&a.2.count()).then(b.1.total_cmp(&a.1)).then(a.0.cmp(&b.0)));
    partial.truncate(PAIRED);
    let changes = |class: usize| &proof.mistakes[proof.classes[class].mistakes[0]].changes;
    let mut found = Vec::new();
    for (i, (a, wa, ea)) in partial.iter().enumerate() {
        for (b, wb, eb) in &partial[i + 1..] {
            // Far from every reading that neither explains, two together seldom come to it.
            if ea.union(eb).count() < taken.len() || !can_be_together(changes(*a), changes(*b)) {
                continue;
            }
            let both = [changes(*a).as_slice(), changes(*b).as_slice()].concat();
            let prepared = Prepared::of(setup, &both, &judge);
            if let Some(fits) = fits(setup, &prepared, taken, room) {
                found.push((vec![*a, *b], wa * wb * fits));
            }
        }
    }
    found
}

/// The readings that a mistake explains by itself.
fn explained(proof: &Proof<'_>, class: usize, taken: &[Taken], room: &mut Room) -> Bits {
    let mut explained = Bits::new(taken.len());
    for (i, t) in taken.iter().enumerate() {
        if fits(&proof.setup, &proof.classes[class].prepared, &[*t], room).is_some() {
            explained.insert(i);
        }
    }
    explained
}

/// The reading that is expected to tell most among the suspects, at the stages that were reached.
fn next(proof: &Proof<'_>, taken: &[Taken], suspects: &[Suspect], room: &mut Room) -> Option<usize> {
    let setup = &proof.setup;
    let last = taken.iter().map(|t| setup.readings[t.reading].stage).max()?;
    let singles: Vec<&Suspect> = suspects.iter().filter(|s| s.classes.len() == 1).take(SUSPECTS).collect();
    if singles.len() < 2 {
        return None;
    }
    let mut best: Option<(f64, u32, usize)> = None;
    for stage in 0..=last {
        let start = setup.first_reading(stage);
        let of_suspect = |s: &&Suspect| ranges(setup, &proof.classes[s.classes[0]].prepared, stage, room);
        let predicted: Vec<Option<Vec<Interval>>> = singles.iter().map(of_suspect).collect();
        for (k, reading) in setup.readings_of(stage).iter().enumerate() {
            let index = start + k;
            if taken.iter().any(|t| t.reading == index) {
                continue;
            }
            let outcomes = singles.iter().zip(&predicted).filter_map(|(s, p)| {
                Some((setup.meter.shown(reading.function, p.as_ref()?[k]), s.share))
            });
            let told = told(outcomes.collect());
            // A hair's breadth does not outweigh an easier reach.
            let better = best.is_none_or(|(t, cost, _)| told > t + 0.02 || (told > t - 0.02 && reading.cost < cost));
            if told > 0.01 && better {
                best = Some((told, reading.cost, index));
            }
        }
    }
    best.map(|(.., index)| index)
}

/// The entropy of suspects over the outcomes that a reading can tell apart, bits: ranges that overlap are one outcome.
fn told(mut outcomes: Vec<(Interval, f64)>) -> f64 {
    outcomes.sort_by(|a, b| a.0.low.total_cmp(&b.0.low));
    let whole: f64 = outcomes.iter().map(|(_, share)| share).sum();
    let mut groups: Vec<f64> = Vec::new();
    let mut reach = f64::NEG_INFINITY;
    for (range, share) in outcomes {
        match groups.last_mut().filter(|_| range.low <= reach) {
            Some(group) => *group += share,
            None => groups.push(share),
        }
        reach = reach.max(range.high);
    }
    groups.iter().map(|g| g / whole).filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum()
}

/// Whether no reading at the stages up to one tells two classes apart.
pub fn is_indistinguishable(proof: &Proof<'_>, a: usize, b: usize, last: usize) -> bool {
    let setup = &proof.setup;
    let mut room = Room::new();
    (0..=last).all(|stage| {
        let [ra, rb] = [a, b].map(|c| ranges(setup, &proof.classes[c].prepared, stage, &mut room));
        let (Some(ra), Some(rb)) = (ra, rb) else { return true };
        let readings = setup.readings_of(stage).iter();
        readings.zip(ra.iter().zip(&rb)).all(|(reading, (a, b))| {
            let shown = |range: &Interval| setup.meter.shown(reading.function, *range);
            !shown(a).is_apart_from(&shown(b))
        })
    })
}
