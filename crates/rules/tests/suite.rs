//! The suite: job files with the expected findings as comments at their head.
//!
//! `#! stop CODE [WORDS]` asks for a finding of that severity and code whose subject or sentence holds the words;
//! `#! no CODE` asks that there is none. Every stop of a suite file must be expected: an unexpected one fails.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::path::{Path, PathBuf};
use voltwright_quantity::{Origin, Working};
use voltwright_rules::{Finding, Report, Severity, check};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn report(path: &Path) -> (String, Report) {
    let text = std::fs::read_to_string(path).unwrap();
    let reading = voltwright_job::read(&text);
    assert!(reading.diagnostics.is_empty(), "{}: {:?}", path.display(), reading.diagnostics);
    let report = check(&reading.job);
    (text, report)
}

fn files(folder: &str) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = std::fs::read_dir(root().join(folder))
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .collect();
    all.sort();
    assert!(!all.is_empty());
    all
}

fn severity(word: &str) -> Severity {
    match word {
        "stop" => Severity::Stop,
        "caution" => Severity::Caution,
        "note" => Severity::Note,
        other => panic!("unknown severity {other}"),
    }
}

#[test]
fn expected_findings_and_no_other_stop() {
    for path in files("suite/cases") {
        let (text, report) = report(&path);
        let mut expected_stops = Vec::new();
        for line in text.lines().filter_map(|l| l.strip_prefix("#! ")) {
            let mut words = line.splitn(3, ' ');
            let (kind, code, about) =
                (words.next().unwrap(), words.next().unwrap(), words.next().unwrap_or(""));
            let found =
                |f: &&Finding| f.code == code && (f.subject.contains(about) || f.says.contains(about));
            let matching: Vec<&Finding> = report.findings.iter().filter(found).collect();
            if kind == "no" {
                assert!(matching.is_empty(), "{}: {line}: {matching:#?}", path.display());
                continue;
            }
            let graves: Vec<Severity> = matching.iter().map(|f| f.severity).collect();
            assert!(graves.contains(&severity(kind)), "{}: {line}: found {graves:?}", path.display());
            if kind == "stop" {
                expected_stops.push(code.to_owned());
            }
        }
        for stop in report.findings.iter().filter(|f| f.severity == Severity::Stop) {
            assert!(
                expected_stops.iter().any(|c| c == stop.code),
                "{}: unexpected {stop:#?}",
                path.display()
            );
        }
    }
}

/// The figure of a symbol anywhere in a finding's working.
fn figure(report: &Report, code: &str, subject: &str, symbol: &str) -> f64 {
    fn search(w: &Working, symbol: &str) -> Option<f64> {
        if w.symbol == symbol {
            return Some(w.si);
        }
        match &w.origin {
            Origin::Formula { inputs, .. } | Origin::Solved { inputs, .. } => {
                inputs.iter().find_map(|i| search(i, symbol))
            }
            _ => None,
        }
    }
    let finding = report.findings.iter().find(|f| f.code == code && f.subject.contains(subject));
    let finding = finding.unwrap_or_else(|| panic!("no finding {code} about {subject}"));
    search(finding.working.as_ref().unwrap(), symbol).unwrap_or_else(|| panic!("no {symbol} in {code}"))
}

fn near(what: &str, value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{what}: {value}, expected {expected} ± {tolerance}");
}

fn case(name: &str) -> Report {
    report(&root().join("suite/cases").join(name)).1
}

fn cure<'r>(report: &'r Report, code: &str, subject: &str) -> &'r str {
    let finding = report.findings.iter().find(|f| f.code == code && f.subject.contains(subject)).unwrap();
    finding.cure.as_deref().unwrap()
}

/// Acceptance case 1: heat at 120 V 8.65 ± 0.4 W; junction 114 ± 4 °C; unloaded at 126 V 16.6 ± 0.3 V; step-down 78 VA;
/// buck winding 20 V 0.52 A, 10.5 VA.
#[test]
fn case_1_rhythm_box() {
    let r = case("01-rhythm-box.toml");
    near("heat at 120 V", figure(&r, "regulator-hot", "reg", "Pnom"), 8.65, 0.4);
    near("junction at 120 V", figure(&r, "regulator-hot", "reg", "Tnom"), 114.0, 4.0);
    near("heat at 126 V", figure(&r, "regulator-hot", "reg", "P"), 9.6, 0.4);
    near("junction at 126 V", figure(&r, "regulator-hot", "reg", "T"), 121.0, 4.0);
    near("unloaded at 126 V", figure(&r, "reservoir-unloaded", "raw", "E"), 16.6, 0.3);
    let cure = cure(&r, "mains-over-nameplate", "machine");
    for part in ["78.5 VA", "take 100 VA", "20 V for 0.52 A", "10.5 VA", "take 16 VA", "100 V, not 140 V"] {
        assert!(cure.contains(part), "{part} in {cure}");
    }
}

/// Acceptance case 5 without braking: 0.10 F, 12 times over; 7.5 A; 200 A.
#[test]
fn case_5_pen_plotter() {
    let r = case("05-pen-plotter.toml");
    near("peak", figure(&r, "peak-over-limit", "supply.v1", "I"), 6.0, 1e-6);
    assert!(cure(&r, "peak-over-limit", "supply.v1").contains("7.50 A"));
    near("bridging capacitance", figure(&r, "peak-not-bridged", "supply.v1", "C"), 0.10, 0.001);
    near("inrush of the rocker", figure(&r, "switch-kind", "rocker", "Î"), 200.0, 5.0);
}

/// Acceptance case 12: preload of at most 14.3 Ω; 10 Ω takes 0.5 A and 2.5 W, of 5 W or more; 10.2 to 14.4 V without.
#[test]
fn case_12_terminal() {
    let r = case("12-terminal.toml");
    near("preload", figure(&r, "under-least-load", "module.v1", "R"), 14.3, 0.05);
    let cure = cure(&r, "under-least-load", "module.v1");
    for part in ["10 Ω takes 500 mA", "burns 2.5 W", "wants 5 W"] {
        assert!(cure.contains(part), "{part} in {cure}");
    }
    let says = &r.findings.iter().find(|f| f.code == "under-least-load").unwrap().says;
    assert!(says.contains("10.2 V to 14.4 V"), "{says}");
}

/// With the preload of case 12 in the harness there is no stop left, for any value from 6.2 to 14.3 Ω.
#[test]
fn case_12_is_cured_by_the_preload() {
    let text = std::fs::read_to_string(root().join("suite/cases/12-terminal.toml")).unwrap();
    let wired = |ohms: f64, watts: f64| {
        let sockets = text
            .replace("draws.m12 = { run", "sockets.j1 = [\"p5\", \"m12\", \"com\"]\ndraws.m12 = { run")
            .replace("draws.p12 = { run", "sockets.j1 = [\"p12\", \"com\"]\ndraws.p12 = { run");
        format!(
            "{sockets}\n[part.preload]\nkind = \"resistor\"\nvalue = \"{ohms} Ω\"\npower = \"{watts} W\"\n\n[wiring]\nwires = [\n{}]\n",
            [
                ("module.v1.plus", "logic.j1.1"),
                ("module.v3.plus", "logic.j1.2"),
                ("module.v1.minus", "logic.j1.3"),
                ("module.v2.plus", "monitor.j1.1"),
                ("module.v2.minus", "monitor.j1.2"),
                ("module.v1.plus", "preload.1"),
                ("module.v1.minus", "preload.2"),
            ]
            .map(|(a, b)| format!(
                "  {{ from = \"{a}\", to = \"{b}\", size = \"1.0 mm²\", length = \"200 mm\" }},\n"
            ))
            .concat()
        )
    };
    for (ohms, stops) in [(6.2, false), (10.0, false), (14.2, false), (15.0, true), (22.0, true)] {
        let reading = voltwright_job::read(&wired(ohms, 10.0));
        assert!(reading.diagnostics.is_empty(), "{:?}", reading.diagnostics);
        let under = check(&reading.job).findings.iter().any(|f| f.code == "under-least-load");
        assert_eq!(under, stops, "{ohms} Ω");
    }
}

/// Acceptance case 17: all five companions; fan 4 times its power (56 W); X capacitor at 184 %; neon 5 mA and 0.83 W;
/// fuse 1 A; half winding about 65 VA of 60; the test reads 24 V or 0 V.
#[test]
fn case_17_tape_recorder() {
    let r = case("17-tape-recorder.toml");
    near("fan, times its power", figure(&r, "before-rectifier", "fan", "times"), 4.0, 0.01);
    near(
        "X capacitor, share of its rating",
        figure(&r, "before-rectifier", "x-capacitor", "share"),
        1.84,
        0.005,
    );
    near("neon, current", figure(&r, "before-rectifier", "neon", "I"), 5e-3, 1e-5);
    near("neon, heat", figure(&r, "before-rectifier", "neon", "P"), 0.83, 0.01);
    near("fuse", figure(&r, "fuse-after-strapping", "fuse", "I"), 1.0, 1e-6);
    near("half winding", figure(&r, "winding-share", "fan", "S"), 65.0, 1.0);
    let test = cure(&r, "winding-phase", "primaries");
    assert!(test.contains("24 V") && test.contains("0 V"), "{test}");
}

/// Acceptance case 14: nothing is wrong, and nothing is proposed.
#[test]
fn case_14_is_left_alone() {
    let r = case("14-pulse-generator.toml");
    let grave: Vec<_> = r.findings.iter().filter(|f| f.severity != Severity::Note).collect();
    assert!(grave.is_empty(), "{grave:#?}");
}

/// The same set to 115 V is a stop with the selector as its cure: the verdict follows the numbers.
#[test]
fn case_14_set_wrongly_is_not() {
    let text = std::fs::read_to_string(root().join("suite/cases/14-pulse-generator.toml")).unwrap();
    let report = check(&voltwright_job::read(&text.replace("set-to = \"230 V\"", "set-to = \"115 V\"")).job);
    assert!(cure(&report, "mains-over-nameplate", "machine").contains("set its selector to 230 V"));
}

/// The figures of acceptance case 1 move with its inputs: nothing is recognised by name.
#[test]
fn another_machine_with_other_numbers() {
    let text = std::fs::read_to_string(root().join("suite/cases/01-rhythm-box.toml"))
        .unwrap()
        .replace("Hoshida RX-7 rhythm box", "Some other box")
        .replace("run = \"1.2 A\"", "run = \"0.6 A\"");
    let report = check(&voltwright_job::read(&text).job);
    assert!(!report.findings.iter().any(|f| f.code == "regulator-hot"), "half the current must run cool");
    assert!(
        report.findings.iter().any(|f| f.code == "reservoir-unloaded"),
        "without load the current does not matter"
    );
}

/// Every finished example has no stop, every first draft at least two kinds of stop.
#[test]
fn examples_are_finished_or_not() {
    for folder in ["desk-computer", "synthesizer-rack", "plotter"] {
        let stops = |name: &str| {
            let (_, r) = report(&root().join("examples").join(folder).join(name));
            let codes = r.findings.iter().filter(|f| f.severity == Severity::Stop).map(|f| f.code);
            codes.collect::<std::collections::BTreeSet<_>>()
        };
        assert!(stops("finished.toml").is_empty(), "{folder}: {:?}", stops("finished.toml"));
        assert!(stops("first-draft.toml").len() >= 2, "{folder}: {:?}", stops("first-draft.toml"));
    }
}

/// Two threads follow the assumptions: the answer is the same to the last digit, and in the same order.
#[test]
fn the_same_file_gives_the_same_answer() {
    for folder in ["desk-computer", "synthesizer-rack", "plotter"] {
        let path = root().join("examples").join(folder).join("first-draft.toml");
        let answers: Vec<String> = (0..4).map(|_| format!("{:?}", report(&path).1)).collect();
        assert!(answers.windows(2).all(|pair| pair[0] == pair[1]), "{folder}");
    }
}

/// A job with a country and a nameplate only already says something, and what it needs next.
#[test]
fn a_nameplate_and_a_country_are_enough_to_begin() {
    let (_, r) = report(&root().join("examples/nameplate-only/job.toml"));
    assert!(!r.findings.is_empty() && !r.unjudged.is_empty());
}
