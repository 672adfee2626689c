//! The first-power plan as a sheet: stage by stage what to set up, the cautions that belong to it, where the probes go, the
//! window, and a place to write.

use super::words;
use crate::caution;
use crate::report::heading;
use crate::text::grid::grid;
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style};
use voltwright_job::nets;
use voltwright_proof::continuity;
use voltwright_proof::proof::Proof;

/// The whole sheet.
pub fn whole(proof: &Proof<'_>, page: &Page) -> String {
    let job = proof.setup.job();
    let mut out = crate::report::head(job, page);
    out.push('\n');
    let how = format!(
        "{} readings at {} stages, in this order. A reading outside its window: switch off, pull the plug, and do not go on; `voltwright judge` says what \
         explains it. Write down what the meter shows before looking at the window.",
        proof.plan.readings.len(),
        proof.setup.stages.len()
    );
    out.push_str(&paragraph(&how, Indent(0, 0), page));
    if !proof.plan.escapes.is_empty() {
        let says = format!("{} mistakes escape this plan: see `voltwright prove` before any power.", proof.escapes().len());
        out.push_str(&wrap(&[Span("STOP", Style::Stop), Span(&says, Style::Plain)], Indent(0, 5), page));
    }
    let mut number = 0;
    for s in 0..proof.setup.stages.len() {
        out.push('\n');
        out.push_str(&stage(proof, s, &mut number, page));
    }
    out.push('\n');
    out.push_str(&tables(proof, page));
    out
}

fn stage(proof: &Proof<'_>, s: usize, number: &mut usize, page: &Page) -> String {
    let job = proof.setup.job();
    let stage = &proof.setup.stages[s];
    let title = format!("{}. {}", s + 1, stage.name);
    let mut out = wrap(&[Span(&title, Style::Strong)], Indent(0, 3), page);
    for caution in caution::of_stage(job, stage) {
        out.push_str(&wrap(&[Span("Caution.", Style::Caution), Span(caution, Style::Plain)], Indent(3, 3), page));
    }
    out.push_str(&paragraph(&words::set_up(job, stage), Indent(3, 3), page));
    let mut rows = Vec::new();
    for r in proof.plan.readings.iter().filter(|r| proof.setup.readings[**r].stage == s) {
        let reading = &proof.setup.readings[*r];
        *number += 1;
        rows.push(vec![
            number.to_string(),
            words::function(reading.function).to_owned(),
            words::probes(job, reading),
            words::window(reading),
            "________".to_owned(),
        ]);
    }
    if rows.is_empty() {
        let says = if stage.live { "No reading is needed here; look, listen, smell, and go on." } else { "No reading is needed here." };
        out.push_str(&paragraph(says, Indent(3, 3), page));
    } else {
        out.push_str(&grid(&["no.", "meter", "probes", "must be", "read"], &rows, 3, page));
    }
    out
}

/// What must connect and what must not, before anything is plugged in.
fn tables(proof: &Proof<'_>, page: &Page) -> String {
    let Some(tables) = continuity::of(&proof.setup) else { return String::new() };
    let job = proof.setup.job();
    let name = |t| nets::name(job, t);
    let mut rows = Vec::new();
    for (i, (net, most)) in tables.connect.iter().enumerate() {
        let terminals: Vec<String> = net.iter().map(|t| name(*t)).collect();
        let most = if net.len() > 1 { format!("at most {}", words::value(voltwright_proof::reading::Function::Ohms, *most)) } else { String::new() };
        rows.push(vec![letter(i), terminals.join(", "), most]);
    }
    let mut out = heading("Must connect (nothing plugged in, power off, switches on)", page);
    out.push_str(&grid(&["", "one conductor", "between any two"], &rows, 2, page));
    out.push('\n');
    out.push_str(&heading("Must not connect", page));
    let between: Vec<Vec<String>> = tables
        .between
        .iter()
        .map(|(a, b, least)| {
            vec![format!("{} and {}", letter(*a), letter(*b)), format!("at least {}", words::value(voltwright_proof::reading::Function::Ohms, *least))]
        })
        .collect();
    out.push_str(&grid(&["conductors", "least"], &between, 2, page));
    out.push_str(&paragraph("All other pairs of these conductors: open.", Indent(2, 2), page));
    out
}

/// A, B, … Z, AA, AB, …
fn letter(i: usize) -> String {
    let last = char::from(b'A' + (i % 26) as u8);
    if i < 26 { last.to_string() } else { format!("{}{last}", letter(i / 26 - 1)) }
}
