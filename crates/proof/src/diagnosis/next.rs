//! What to measure next: the reading, or the trace, that is expected to tell most among the suspects.

use super::{CONNECTED, Dictionary, Suspect, Taken};
use crate::reading::Interval;
use crate::setup::Setup;
use std::collections::BTreeMap;
use voltwright_job::Terminal;

/// Suspects among which the next reading is chosen.
const SUSPECTS: usize = 120;
/// Bits that a trace must tell beyond the best single reading.
const WORTH_A_TRACE: f64 = 0.3;
/// What to measure next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Next {
    /// One reading.
    Reading(usize),
    /// A trace, power off: one probe stays on a terminal, the other goes round all that can be reached; what matters is where
    /// the meter shows less than [`CONNECTED`].
    Trace {
        /// The stage.
        stage: usize,
        /// Where the one probe stays.
        at: Terminal,
    },
}

/// The reading that is expected to tell most among the suspects: at the stages that were reached, and with power on only
/// where none of them does harm.
pub(super) fn next(dictionary: &Dictionary<'_, '_>, taken: &[Taken], suspects: &[Suspect]) -> Option<Next> {
    let proof = dictionary.proof;
    let setup = &proof.setup;
    let last = taken.iter().map(|t| setup.readings[t.reading].stage).max()?;
    let singles: Vec<&Suspect> = suspects.iter().filter(|s| s.classes.len() == 1).take(SUSPECTS).collect();
    if singles.len() < 2 {
        return None;
    }
    let harms =
        |s: &&Suspect, stage| proof.classes[s.classes[0]].outcome.harm.is_some_and(|(at, _)| at <= stage);
    let mut best: Option<(f64, u32, usize)> = None;
    let mut trace: Option<(f64, Next)> = None;
    for stage in 0..=last {
        if setup.stages[stage].live && singles.iter().any(|s| harms(s, stage)) {
            continue;
        }
        let start = setup.first_reading(stage);
        let predicted: Vec<Option<&[Interval]>> =
            singles.iter().map(|s| dictionary.of_stage(s.classes[0], stage)).collect();
        for (k, reading) in setup.readings_of(stage).iter().enumerate() {
            let index = start + k;
            if taken.iter().any(|t| t.reading == index) {
                continue;
            }
            let outcomes = singles
                .iter()
                .zip(&predicted)
                .filter_map(|(s, p)| Some((setup.meter.shown(reading.function, p.as_ref()?[k]), s.share)));
            let told = told(outcomes.collect());
            // A hair's breadth does not outweigh an easier reach.
            let better =
                best.is_none_or(|(t, cost, _)| told > t + 0.02 || (told > t - 0.02 && reading.cost < cost));
            if told > 0.01 && better {
                best = Some((told, reading.cost, index));
            }
        }
        if !setup.stages[stage].live {
            for at in points(setup, stage) {
                let told = told_by_trace(setup, stage, at, &singles, &predicted);
                if trace.as_ref().is_none_or(|(t, _)| told > t + 0.02) {
                    trace = Some((told, Next::Trace { stage, at }));
                }
            }
        }
    }
    // Going round all terminals takes a while: it must tell much more than the best single reading.
    match (best, trace) {
        (Some((told, ..)), Some((by_trace, trace))) if by_trace > told + WORTH_A_TRACE => Some(trace),
        (Some((.., index)), _) => Some(Next::Reading(index)),
        (None, _) => None,
    }
}

/// The points that can be probed at a stage.
fn points(setup: &Setup<'_>, stage: usize) -> Vec<Terminal> {
    let mut points: Vec<Terminal> = Vec::new();
    for t in setup.readings_of(stage).iter().flat_map(|r| [r.red, r.black]) {
        if !points.contains(&t) {
            points.push(t);
        }
    }
    points
}

/// The entropy of suspects over what a trace can tell: the same answer at each terminal, or one that is not sure.
fn told_by_trace(
    setup: &Setup<'_>,
    stage: usize,
    at: Terminal,
    singles: &[&Suspect],
    predicted: &[Option<&[Interval]>],
) -> f64 {
    let touched: Vec<usize> = setup
        .readings_of(stage)
        .iter()
        .enumerate()
        .filter(|(_, r)| r.red == at || r.black == at)
        .map(|(k, _)| k)
        .collect();
    let mut groups: BTreeMap<Vec<bool>, f64> = BTreeMap::new();
    for (suspect, ranges) in singles.iter().zip(predicted) {
        let Some(ranges) = ranges else { continue };
        let answers = touched.iter().map(|k| ranges[*k].high < CONNECTED).collect();
        *groups.entry(answers).or_insert(0.0) += suspect.share;
    }
    let whole: f64 = groups.values().sum();
    groups.values().map(|g| g / whole).filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum()
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
