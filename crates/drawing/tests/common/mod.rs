//! Jobs and drawings for tests, and what a test reads out of an SVG.

#![allow(dead_code, clippy::unwrap_used, clippy::panic, reason = "test support; each file uses its own part")]

use roxmltree::{Document, Node};
use std::path::{Path, PathBuf};
use voltwright_drawing::face::{Probes, Side, choosing, choosing_terminals, face};
use voltwright_drawing::{Drawing, Width, dial, elevation, probes, sieve, tank, timeline};
use voltwright_job::Job;
use voltwright_model::{Solved, stage};
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;

/// Every job that drawings are made of.
pub const JOBS: [&str; 9] = [
    "examples/desk-computer/finished.toml",
    "examples/desk-computer/first-draft.toml",
    "examples/nameplate-only/job.toml",
    "examples/plotter/finished.toml",
    "examples/plotter/first-draft.toml",
    "examples/synthesizer-rack/finished.toml",
    "examples/synthesizer-rack/first-draft.toml",
    "suite/proof/20-for-24.toml",
    "crates/drawing/tests/jobs/crowded.toml",
];

/// A file of the repository.
pub fn path(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(file)
}

/// The text of a file of the repository.
pub fn text(file: &str) -> String {
    std::fs::read_to_string(path(file)).unwrap_or_else(|e| panic!("{file}: {e}"))
}

/// The job in a file of the repository.
pub fn job(file: &str) -> Job {
    let reading = voltwright_job::read(&text(file));
    assert!(reading.is_usable(), "{file}: {:?}", reading.diagnostics);
    reading.job
}

/// All drawings of a job but those of its readings, with a name each.
pub fn drawings(job: &Job) -> Vec<(String, Drawing)> {
    let mut all = Vec::new();
    for (p, plug) in job.plugs.iter().enumerate() {
        let probes = Probes { red: Some(0), black: plug.ways.checked_sub(1), lead: None };
        for (side, name) in [(Side::Wires, "wires"), (Side::Mating, "mating")] {
            let name = format!("face-{}-{name}", plug.key);
            all.push((name.clone(), face(job, p, side, probes, &name)));
            let name = format!("{name}-choosing");
            all.push((name.clone(), choosing(job, p, side, &name)));
        }
    }
    for (p, part) in job.parts.iter().enumerate() {
        let name = format!("terminals-{}-choosing", part.key);
        all.push((name.clone(), choosing_terminals(job, p, &name)));
    }
    let solved = Solved::new(job);
    let findings = voltwright_rules::findings(job).findings;
    for (width, name) in [(Width::Phone, "phone"), (Width::Desk, "desk")] {
        let name = format!("elevation-{name}");
        all.push((name.clone(), elevation::elevation(&solved, &[], &findings, width, &name)));
    }
    let mut early = Solved::new(job);
    early.stage = stage::stages(job).swap_remove(0);
    let name = "elevation-source".to_owned();
    all.push((name.clone(), elevation::elevation(&early, &[], &[], Width::Phone, &name)));
    let tanks = tank::tanks(&solved, "tank");
    all.extend(tanks.into_iter().enumerate().map(|(i, d)| (format!("tank-{}", i + 1), d)));
    all.push(("timeline".into(), timeline::timeline(&solved, "timeline")));
    all
}

/// The drawings of a proof: the sieve, and probes and dial of some readings of the plan.
pub fn proved(job: &Job) -> Vec<(String, Drawing)> {
    let Ok(setup) = Setup::new(job) else { return Vec::new() };
    let proof = Proof::of(setup, 2);
    let mut all = vec![("sieve".to_owned(), sieve::sieve(&proof, "sieve"))];
    for (i, r) in proof.plan.readings.iter().enumerate() {
        let reading = &proof.setup.readings[*r];
        let name = format!("probes-{}", i + 1);
        let drawn = probes::probes(job, reading, Side::Wires, &name);
        all.extend(drawn.into_iter().enumerate().map(|(k, d)| (format!("{name}-{k}"), d)));
        let shown = [None, Some(reading.range.low), Some(reading.window.low - 0.5)][i % 3];
        let name = format!("dial-{}", i + 1);
        all.push((name.clone(), dial::dial(reading, shown, &name)));
    }
    all
}

/// Parses a drawing.
pub fn parsed(svg: &str) -> Document<'_> {
    Document::parse(svg).unwrap_or_else(|e| panic!("{e}: {svg}"))
}

/// A number in an attribute.
pub fn number(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).and_then(|a| a.parse().ok()).unwrap_or_else(|| panic!("{name} of {node:?}"))
}

/// The elements with a class.
pub fn of_class<'a, 'i>(document: &'a Document<'i>, class: &str) -> Vec<Node<'a, 'i>> {
    let has = |n: &Node<'_, '_>| n.attribute("class").is_some_and(|c| c.split(' ').any(|one| one == class));
    document.descendants().filter(has).collect()
}

/// Texts with what they say and where they stand.
pub fn texts(document: &Document<'_>) -> Vec<(String, f64, f64)> {
    let texts = document.descendants().filter(|n| n.has_tag_name("text"));
    texts.map(|n| (n.text().unwrap_or_default().to_owned(), number(n, "x"), number(n, "y"))).collect()
}
