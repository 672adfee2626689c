//! All of a check for one job.

use crate::assumptions::{self, Assumptions};
use crate::finding::{Finding, Severity, Unjudged};
use crate::rule::RULES;
use crate::sink::Sink;
use voltwright_job::Job;
use voltwright_model::Solved;

/// What a check of a job says.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Report {
    /// Findings along the path from the wall to the board, the gravest of each stretch first.
    pub findings: Vec<Finding>,
    /// What could not be judged, and what to enter to have it judged.
    pub unjudged: Vec<Unjudged>,
    /// Assumed values, those that leave the verdict least room first.
    pub assumptions: Assumptions,
    /// Number of judgements made, by rule.
    pub judged: Vec<RuleCount>,
}

/// How many judgements a rule made.
#[derive(Debug, Clone, serde::Serialize)]
pub struct RuleCount {
    /// Its number in the design.
    pub number: u8,
    /// What it is called.
    pub name: &'static str,
    /// Judgements.
    pub judgements: usize,
}

impl Report {
    /// Whether anything says: do not energise.
    pub fn stops(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Stop)
    }
}

/// Checks a job by all rules.
pub fn check(job: &Job) -> Report {
    let solved = Solved::new(job);
    let (mut report, sink) = judged(&solved);
    report.assumptions = assumptions::of(&solved, &sink);
    report
}

/// The same without the assumptions that the verdict hangs on, which take most of the time: for a value that is being typed.
pub fn findings(job: &Job) -> Report {
    judged(&Solved::new(job)).0
}

fn judged(solved: &Solved<'_>) -> (Report, Sink) {
    let mut sink = Sink::of_texts();
    let mut judged = Vec::new();
    for rule in RULES {
        let before = sink.judged.len();
        (rule.run)(solved, &mut sink);
        judged.push(RuleCount {
            number: rule.number,
            name: rule.name,
            judgements: sink.judged.len() - before,
        });
    }
    let mut findings = std::mem::take(&mut sink.findings);
    // Stable: within one stretch and severity the rules' own order stays.
    findings.sort_by_key(|f| (f.stretch, f.severity));
    let unjudged = std::mem::take(&mut sink.unjudged);
    (Report { findings, unjudged, assumptions: Assumptions::default(), judged }, sink)
}
