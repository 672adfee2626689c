//! What readings say of the mistakes: single ones first, then pairs, the likeliest first; and the next reading to take.
//!
//! A mistake explains a reading if the value lies in the range that the circuit with the mistake gives over all spreads, widened
//! by the meter's accuracy. Its likelihood is its weight times, for each reading, how much of that range lies near the value
//! (resistances on a logarithmic scale). The next reading is the one that is expected to tell most: the entropy of the
//! suspects over the outcomes that it can tell apart.

mod next;

pub use next::Next;

use crate::bounds::NEVER;
use crate::cover::Bits;
use crate::mains_effect::MainsJudge;
use crate::network::cold::OPEN;
use crate::proof::{Proof, can_be_together, in_parallel};
use crate::reading::{Function, Interval, Reading};
use crate::setup::Setup;
use crate::trial::{Prepared, Room, ranges};
use std::collections::BTreeMap;
use voltwright_job::Terminal;

/// A range is taken this much wider, in units of the meter's accuracy, before a mistake no longer explains a value.
const SLACK: f64 = 0.5;
/// Ohms below which two terminals are connected, as a trace tells.
pub const CONNECTED: f64 = 5.0;
/// How well "no steady state" explains a reading.
const UNSTEADY: f64 = 0.01;
/// Smallest resistance that counts on the logarithmic scale, ohms.
const LEAST_OHMS: f64 = 0.1;
/// Mistakes of which pairs are made, the likeliest.
const PAIRED: usize = 400;
/// Weight of "nothing is wrong" beside all mistakes together.
const SOUND: f64 = 4.0;

/// What every reading would show with every class of mistakes, for the stages up to one.
pub struct Dictionary<'p, 'j> {
    proof: &'p Proof<'j>,
    /// By class, then by stage; nothing where there is no steady state.
    ranges: Vec<Vec<Option<Vec<Interval>>>>,
}

impl<'p, 'j> Dictionary<'p, 'j> {
    /// For the stages up to `last`, on so many threads.
    pub fn new(proof: &'p Proof<'j>, last: usize, threads: usize) -> Self {
        let (ranges, _) = in_parallel(&proof.classes, threads, &NEVER, |room, class| {
            (0..=last).map(|s| ranges(&proof.setup, &class.prepared, s, room)).collect()
        });
        Self { proof, ranges }
    }

    /// What a reading would show with a class of mistakes.
    pub fn range(&self, class: usize, reading: usize) -> Option<Interval> {
        let stage = self.proof.setup.readings[reading].stage;
        let ranges = self.ranges[class].get(stage)?.as_ref()?;
        Some(ranges[reading - self.proof.setup.first_reading(stage)])
    }

    fn of_stage(&self, class: usize, stage: usize) -> Option<&[Interval]> {
        self.ranges[class].get(stage)?.as_deref()
    }
}

/// A reading that was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taken {
    /// The reading, by index.
    pub reading: usize,
    /// What the meter showed: one value twice, or the bounds of what a trace tells. Infinite for an open circuit.
    pub shown: Interval,
}

impl Taken {
    /// One value; infinite for an open circuit.
    pub fn value(reading: usize, value: f64) -> Self {
        Self { reading, shown: Interval { low: value, high: value } }
    }

    /// Connected or not, as a trace tells.
    fn traced(reading: usize, connected: bool) -> Self {
        Self { reading, shown: connection(connected) }
    }

    fn is_value(&self) -> bool {
        self.shown.low >= self.shown.high
    }
}

/// The ohms between two terminals of which a trace tells only whether they are connected.
pub fn connection(connected: bool) -> Interval {
    let (low, high) = if connected { (0.0, CONNECTED) } else { (CONNECTED, f64::INFINITY) };
    Interval { low, high }
}

/// What a trace tells: the terminals to which one is connected, as readings.
///
/// # Errors
/// Gives back a terminal that cannot be reached at the stage.
pub fn traced(
    setup: &Setup<'_>,
    stage: usize,
    at: Terminal,
    connected: &[Terminal],
) -> Result<Vec<Taken>, Terminal> {
    let start = setup.first_reading(stage);
    let same = |a: Terminal, b: Terminal| setup.is_same_point(stage, a, b);
    let mut taken = Vec::new();
    for (k, reading) in setup.readings_of(stage).iter().enumerate() {
        let other = match () {
            () if same(reading.red, at) => reading.black,
            () if same(reading.black, at) => reading.red,
            () => continue,
        };
        taken.push(Taken::traced(start + k, connected.iter().any(|c| same(*c, other))));
    }
    let reached = |c: &Terminal| {
        same(*c, at) || setup.readings_of(stage).iter().any(|r| same(r.red, *c) || same(r.black, *c))
    };
    match connected.iter().chain([&at]).find(|c| !reached(c)) {
        Some(lost) => Err(*lost),
        None => Ok(taken),
    }
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
    /// What to measure next, if the suspects are several.
    pub next: Option<Next>,
}

impl Diagnosis {
    /// Whether a reading is outside its window.
    pub fn fails(&self) -> bool {
        self.verdicts.iter().any(|v| matches!(v, Verdict::Low | Verdict::High))
    }
}

/// What a reading says by itself.
pub fn verdict(reading: &Reading, shown: Interval) -> Verdict {
    if shown.high < reading.window.low {
        Verdict::Low
    } else if shown.low > reading.window.high {
        Verdict::High
    } else if shown.low < shown.high || plain(reading).holds(shown.low) {
        Verdict::Inside
    } else {
        Verdict::Edge
    }
}

/// What is plainly inside: a value in it needs no help of the meter's accuracy to be in the window. Below an ohm that accuracy
/// is most of the window, and what is open has no upper end.
pub fn plain(reading: &Reading) -> Interval {
    let Interval { mut low, mut high } = reading.range;
    if reading.function == Function::Ohms {
        if low < 1.0 {
            (low, high) = (0.0, high.max(1.0f64.next_down()));
        }
        if reading.window.high.is_infinite() {
            high = f64::INFINITY;
        }
    }
    Interval { low: low.max(reading.window.low), high: high.min(reading.window.high) }
}

/// What readings say of all mistakes.
pub fn diagnose(dictionary: &Dictionary<'_, '_>, taken: &[Taken]) -> Diagnosis {
    let proof = dictionary.proof;
    let setup = &proof.setup;
    let verdicts: Vec<Verdict> = taken.iter().map(|t| verdict(&setup.readings[t.reading], t.shown)).collect();
    let total: f64 = proof.mistakes.iter().map(crate::mistake::Mistake::weight).sum();
    let healthy: f64 = taken.iter().map(|t| fit(setup, t, setup.readings[t.reading].range)).product();
    let sound = SOUND * total * healthy;
    let mut found = Vec::new();
    for class in 0..proof.classes.len() {
        let fits = fits(setup, taken, |reading| dictionary.range(class, reading));
        found.extend(fits.map(|fits| (vec![class], proof.class_weight(class) * fits)));
    }
    if found.is_empty() && sound <= 0.0 {
        found = explaining_pairs(dictionary, taken);
    }
    let whole: f64 = sound + found.iter().map(|(_, p)| p).sum::<f64>();
    found.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let suspects: Vec<Suspect> = found
        .into_iter()
        .map(|(classes, p)| Suspect { classes, share: p / whole.max(f64::MIN_POSITIVE) })
        .collect();
    let next = next::next(dictionary, taken, &suspects);
    Diagnosis { verdicts, suspects, sound: sound / whole.max(f64::MIN_POSITIVE), next }
}

/// How well ranges explain readings; nothing if one of them is not explained. Where there is no steady state anything may be
/// read.
fn fits(setup: &Setup<'_>, taken: &[Taken], range: impl Fn(usize) -> Option<Interval>) -> Option<f64> {
    let mut all = 1.0;
    for t in taken {
        all *= range(t.reading).map_or_else(|| unsteady(setup, t), |range| fit(setup, t, range));
        if all <= 0.0 {
            return None;
        }
    }
    Some(all)
}

/// A circuit without a steady state may show anything between the voltages that its stage has.
fn unsteady(setup: &Setup<'_>, taken: &Taken) -> f64 {
    let reading = &setup.readings[taken.reading];
    let mut all = Interval::NONE;
    for other in setup.readings_of(reading.stage).iter().filter(|r| r.function == reading.function) {
        all.take(other.window.low);
        all.take(other.window.high);
    }
    let span = all.high - all.low;
    let wide = Interval { low: all.low - span / 2.0, high: all.high + span / 2.0 };
    if wide.is_apart_from(&taken.shown) { 0.0 } else { UNSTEADY }
}

/// How much of a range lies near a value: 0 if the value is not explained.
fn fit(setup: &Setup<'_>, taken: &Taken, range: Interval) -> f64 {
    let reading = &setup.readings[taken.reading];
    let (function, value) = (reading.function, taken.shown.low);
    let shown = setup.meter.shown(function, range);
    if !taken.is_value() {
        return if shown.is_apart_from(&taken.shown) { 0.0 } else { 1.0 };
    }
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
fn explaining_pairs(dictionary: &Dictionary<'_, '_>, taken: &[Taken]) -> Vec<(Vec<usize>, f64)> {
    let proof = dictionary.proof;
    let setup = &proof.setup;
    let judge = MainsJudge::new(&setup.harness, setup.mains.as_ref());
    let mut room = Room::new();
    let mut partial: Vec<(usize, f64, Bits)> = Vec::new();
    for class in 0..proof.classes.len() {
        let explains = |t: &Taken| fits(setup, &[*t], |reading| dictionary.range(class, reading)).is_some();
        let explained: Bits = (0..taken.len()).filter(|i| explains(&taken[*i])).collect();
        partial.push((class, proof.class_weight(class), explained));
    }
    // Those that explain most of the readings first.
    partial.sort_by(|a, b| b.2.count().cmp(&a.2.count()).then(b.1.total_cmp(&a.1)).then(a.0.cmp(&b.0)));
    partial.truncate(PAIRED);
    let changes = |class: usize| &proof.mistakes[proof.classes[class].mistakes[0]].changes;
    let mut found = Vec::new();
    for (i, (a, wa, ea)) in partial.iter().enumerate() {
        for (b, wb, eb) in &partial[i + 1..] {
            // Far from a reading that neither explains, two together seldom come to it.
            if (0..taken.len()).any(|t| !ea.contains(t) && !eb.contains(t))
                || !can_be_together(changes(*a), changes(*b))
            {
                continue;
            }
            let both = [changes(*a).as_slice(), changes(*b).as_slice()].concat();
            let prepared = Prepared::of(setup, &both, &judge);
            let mut by_stage: BTreeMap<usize, Option<Vec<Interval>>> = BTreeMap::new();
            for stage in taken.iter().map(|t| setup.readings[t.reading].stage) {
                by_stage.entry(stage).or_insert_with(|| ranges(setup, &prepared, stage, &mut room));
            }
            let range = |reading: usize| {
                let stage = setup.readings[reading].stage;
                Some(by_stage[&stage].as_ref()?[reading - setup.first_reading(stage)])
            };
            found.extend(fits(setup, taken, range).map(|fits| (vec![*a, *b], wa * wb * fits)));
        }
    }
    found
}

/// Whether no reading at the stages up to one tells two classes apart for sure.
pub fn is_indistinguishable(dictionary: &Dictionary<'_, '_>, a: usize, b: usize, last: usize) -> bool {
    let setup = &dictionary.proof.setup;
    (0..=last).all(|stage| {
        let (Some(ra), Some(rb)) = (dictionary.of_stage(a, stage), dictionary.of_stage(b, stage)) else {
            return true;
        };
        let readings = setup.readings_of(stage).iter();
        readings.zip(ra.iter().zip(rb)).all(|(reading, (a, b))| {
            let shown = |range: &Interval| setup.meter.shown(reading.function, *range);
            !shown(a).is_apart_from(&shown(b))
        })
    })
}
