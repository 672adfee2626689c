//! A check as data: the shape of `schemas/check.json`, version [`FORMAT`].

use serde::Serialize;
use std::ops::Range;
use voltwright_job::{Diagnostic, Job, Lines};
use voltwright_rules::assumptions::Assumption;
use voltwright_rules::report::RuleCount;
use voltwright_rules::{Finding, Report, Unjudged};

/// Version of the shape; a change that a reader could stumble over raises it.
pub const FORMAT: u32 = 1;

/// A whole check.
#[derive(Serialize)]
pub struct Data<'r> {
    format: u32,
    job: &'r str,
    verdict: &'static str,
    findings: Vec<Placed<&'r Finding>>,
    unjudged: &'r [Unjudged],
    assumptions: Followed<'r>,
    judged: &'r [RuleCount],
    warnings: Vec<Placed<&'r Diagnostic>>,
}

/// Something with the line and column at which it begins, from 1; null where it has no place.
#[derive(Serialize)]
struct Placed<T> {
    #[serde(flatten)]
    what: T,
    line: Option<usize>,
    column: Option<usize>,
}

/// The assumed values that were followed, and how many were not.
#[derive(Serialize)]
struct Followed<'r> {
    followed: Vec<Roomy<'r>>,
    others: usize,
}

/// An assumption with its room; null where nothing turns the verdict.
#[derive(Serialize)]
struct Roomy<'r> {
    #[serde(flatten)]
    assumption: &'r Assumption,
    room: Option<f64>,
}

/// The data of a report on a job with its text.
pub fn of<'r>(job: &'r Job, text: &str, warnings: &'r [Diagnostic], report: &'r Report) -> Data<'r> {
    let lines = Lines::new(text);
    Data {
        format: FORMAT,
        job: &job.title.text,
        verdict: if report.stops() { "stop" } else { "no stop" },
        findings: report.findings.iter().map(|f| placed(f, f.place.as_ref(), &lines)).collect(),
        unjudged: &report.unjudged,
        assumptions: Followed {
            followed: report.assumptions.followed.iter().map(roomy).collect(),
            others: report.assumptions.others,
        },
        judged: &report.judged,
        warnings: warnings.iter().map(|d| placed(d, Some(&d.span), &lines)).collect(),
    }
}

fn placed<T>(what: T, place: Option<&Range<usize>>, lines: &Lines<'_>) -> Placed<T> {
    let line = place.map(|p| lines.line(p.start));
    Placed { what, line, column: place.map(|p| lines.column(p.start)) }
}

fn roomy(assumption: &Assumption) -> Roomy<'_> {
    Roomy { assumption, room: Some(assumption.room()).filter(|r| r.is_finite()) }
}
