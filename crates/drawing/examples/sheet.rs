//! Writes one HTML page with all drawings of all examples, to be looked at:
//! `cargo run -p voltwright-drawing --example sheet -- OUT.html [dark|light] [JOB…]`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a tool for developers")]

use std::fmt::Write;
use std::path::Path;
use voltwright_drawing::elevation::elevation;
use voltwright_drawing::face::{Probes, Side, face};
use voltwright_drawing::{Drawing, STYLE, Width, dial, probes, sieve, tank, timeline};
use voltwright_job::Job;
use voltwright_model::Solved;
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;

const FILES: [&str; 8] = [
    "examples/desk-computer/finished.toml",
    "examples/desk-computer/first-draft.toml",
    "examples/synthesizer-rack/finished.toml",
    "examples/synthesizer-rack/first-draft.toml",
    "examples/plotter/finished.toml",
    "examples/plotter/first-draft.toml",
    "suite/proof/20-for-24.toml",
    "crates/drawing/tests/jobs/crowded.toml",
];

fn main() {
    let mut arguments = std::env::args().skip(1);
    let only = std::env::var("ONLY").ok();
    let out = arguments.next().unwrap_or("sheet.html".into());
    let dark = arguments.next().is_some_and(|a| a == "dark");
    let style = if dark { STYLE.replace("(prefers-color-scheme: dark)", "screen") } else { STYLE.to_owned() };
    let ground = if dark { "#171716; color: #eceae4" } else { "#fff" };
    let mut page = format!(
        "<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content='width=device-width'><title>Drawings</title>\
         <style>{style} body {{ margin: 16px; background: {ground}; font-family: system-ui }} section {{ display: flex; \
         flex-wrap: wrap; align-items: start; gap: 24px }} h2, h3 {{ font-weight: 600; font-size: 16px }}</style>"
    );
    let own: Vec<String> = arguments.collect();
    let files: Vec<&str> =
        if own.is_empty() { FILES.to_vec() } else { own.iter().map(String::as_str).collect() };
    for (n, file) in files.iter().enumerate() {
        if only.as_ref().is_some_and(|o| !file.contains(o.as_str())) {
            continue;
        }
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(file);
        let reading = voltwright_job::read(&std::fs::read_to_string(path).unwrap());
        if !reading.is_usable() {
            eprintln!("{file}: {:?}", reading.diagnostics);
        }
        _ = write!(page, "<h2>{file}</h2>");
        job(&mut page, &reading.job, n);
    }
    std::fs::write(out, page).unwrap();
}

fn job(page: &mut String, job: &Job, n: usize) {
    let solved = Solved::new(job);
    let findings = voltwright_rules::findings(job).findings;
    let needs_only = std::env::var("PART").is_ok_and(|p| p == "needs");
    let wide = [(Width::Phone, "p"), (Width::Desk, "d")]
        .map(|(width, name)| elevation(&solved, &[], &findings, width, &format!("e{n}-{name}")));
    if !needs_only {
        section(page, "Elevation", &wide);
    }
    let mut early = Solved::new(job);
    early.stage = voltwright_model::stage::stages(job).swap_remove(0);
    let open: Vec<usize> = job.part("fuse").into_iter().collect();
    let parts = [
        elevation(&early, &[], &[], Width::Desk, &format!("e{n}-s")),
        elevation(&solved, &open, &[], Width::Phone, &format!("e{n}-o")),
    ];
    if !needs_only {
        section(page, "Elevation at the source's stage; with the fuse out", &parts);
    }
    if std::env::var("PART").is_ok_and(|p| p == "elevation") {
        return;
    }
    let mut needs = tank::tanks(&solved, &format!("t{n}"));
    needs.push(timeline::timeline(&solved, &format!("s{n}")));
    let proof = Setup::new(job).ok().map(|setup| Proof::of(setup, 1));
    needs.extend(proof.as_ref().map(|p| sieve::sieve(p, &format!("v{n}"))));
    section(page, "Tanks, start-up, sieve", &needs);
    if std::env::var("PART").is_ok_and(|p| p == "needs") {
        return;
    }
    let mut faces = Vec::new();
    for p in 0..job.plugs.len() {
        for (side, name) in [(Side::Wires, "w"), (Side::Mating, "m")] {
            let probes =
                Probes { red: Some(2), black: job.plugs[p].ways.checked_sub(4), ..Probes::default() };
            faces.push(face(job, p, side, probes, &format!("f{n}-{p}-{name}")));
        }
    }
    section(page, "Faces", &faces);
    let Some(proof) = proof else { return };
    let mut steps = Vec::new();
    for r in proof.plan.readings.iter().take(12) {
        let reading = &proof.setup.readings[*r];
        steps.extend(probes::probes(job, reading, Side::Wires, &format!("p{n}-{r}")));
        let values = [
            None,
            Some(middle(reading.range.low, reading.range.high)),
            Some(reading.window.high * 1.3 + 0.2),
        ];
        steps.push(dial::dial(reading, values[r % 3], &format!("d{n}-{r}")));
    }
    section(page, "Readings", &steps);
}

fn middle(low: f64, high: f64) -> f64 {
    if high.is_infinite() { low } else { (low + high) / 2.0 }
}

fn section(page: &mut String, name: &str, drawings: &[Drawing]) {
    _ = write!(page, "<h3>{name}</h3><section>");
    for drawing in drawings {
        page.push_str(&drawing.svg);
    }
    page.push_str("</section>");
}
