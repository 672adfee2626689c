//! Break points verified: in a copy of the file, moving the value just past its break point turns the verdict, just
//! before does not. The value is changed in the text, and the whole check runs anew.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::BTreeSet;
use std::path::Path;
use voltwright_rules::{Report, Severity, check};

/// How near to the break point the value is put, as a share of it.
const NEAR: f64 = 1e-3;

fn stops(report: &Report) -> BTreeSet<(String, String)> {
    let stops = report.findings.iter().filter(|f| f.severity == Severity::Stop);
    stops.map(|f| (f.code.to_owned(), f.subject.clone())).collect()
}

/// The text with the value at `path` multiplied: nominal and bounds.
fn moved(text: &str, path: &str, factor: f64) -> String {
    let mut job = voltwright_job::read(text).job;
    let mut inputs = job.inputs();
    let input = inputs.iter_mut().find(|i| i.place().path == path).unwrap();
    let si = input.si().scaled(factor);
    // In one unit, so that a range can be written: a value's own unit is that of its nominal.
    let shown = input.write(si.nominal);
    let (number, unit) = shown.split_once(' ').unwrap();
    let scale = number.parse::<f64>().unwrap() / si.nominal;
    let written = format!("{shown} within {:.17}..{:.17} {unit}", si.low * scale, si.high * scale);
    voltwright_job::edit::set(text, path, &written).unwrap()
}

fn verify(text: &str) -> usize {
    let job = voltwright_job::read(text);
    assert!(job.diagnostics.is_empty(), "{:?}", job.diagnostics);
    let report = check(&job.job);
    let base = stops(&report);
    let mut verified = 0;
    for a in &report.assumptions.followed {
        for (point, past) in [(&a.below, 1.0 - NEAR), (&a.above, 1.0 + NEAR)] {
            let Some(point) = point else { continue };
            let verdict = |factor: f64| {
                let text = moved(text, &a.path, factor);
                let reading = voltwright_job::read(&text);
                assert!(reading.diagnostics.is_empty(), "{}: {:?}", a.path, reading.diagnostics);
                stops(&check(&reading.job))
            };
            let (before, after) = (verdict(point.factor / past), verdict(point.factor * past));
            assert_eq!(before, base, "{} just before {}", a.path, point.shown);
            assert_ne!(after, base, "{} just past {}", a.path, point.shown);
            verified += 1;
        }
    }
    verified
}

fn example(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name)).unwrap()
}

#[test]
fn every_break_point_of_the_main_example() {
    let text = example("desk-computer/finished.toml");
    assert!(verify(&text) >= 5, "typical and guessed draws, and our defaults");
}

#[test]
fn every_break_point_of_the_first_draft() {
    assert!(verify(&example("desk-computer/first-draft.toml")) >= 1);
}
