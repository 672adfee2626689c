//! What readings say, as text.

use super::readings::CONNECTS;
use super::{suspects, words};
use crate::caution;
use crate::report::heading;
use crate::text::grid::grid;
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style};
use voltwright_job::Terminal;
use voltwright_proof::diagnosis::{CONNECTED, Diagnosis, Next, Suspect, Taken, Verdict};
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::{Function, Reading};

/// Suspects that are told one by one.
const TOLD: usize = 8;

/// All of it.
pub fn whole(proof: &Proof<'_>, taken: &[Taken], diagnosis: &Diagnosis, page: &Page) -> String {
    let job = proof.setup.job();
    let mut parts = vec![crate::report::head(job, page)];
    if job.wires.is_empty() {
        parts.push(paragraph(words::NOTHING_WIRED, Indent(0, 0), page));
    } else if taken.is_empty() {
        parts.push(paragraph("No reading yet.", Indent(0, 0), page));
        parts.push(left(proof, taken, page));
    } else {
        parts.push(readings(proof, taken, diagnosis, page));
        parts.push(verdict(proof, taken, diagnosis, page));
        if diagnosis.fails() {
            parts.push(explained(proof, &diagnosis.suspects, page));
            parts.extend(diagnosis.next.map(|n| next(proof, n, page)));
        } else {
            parts.push(left(proof, taken, page));
        }
    }
    parts.join("\n")
}

fn readings(proof: &Proof<'_>, taken: &[Taken], diagnosis: &Diagnosis, page: &Page) -> String {
    let job = proof.setup.job();
    let row = |(t, verdict): (&Taken, &Verdict)| {
        let reading = &proof.setup.readings[t.reading];
        let stage = proof.setup.stages[reading.stage].name.clone();
        let [red, black] = words::probe_cells(job, reading);
        let value = words::shown(reading.function, t);
        vec![stage, red, black, words::window(reading), value, short(*verdict).to_owned()]
    };
    // Of a trace only what is wrong is shown: the rest is as it should be, and long.
    let is_told = |(t, v): &(&Taken, &Verdict)| words::is_value(t) || **v != Verdict::Inside;
    let rows: Vec<Vec<String>> = taken.iter().zip(&diagnosis.verdicts).filter(is_told).map(row).collect();
    grid(&["stage", "red on", "black on", "must be", "read", "it is"], &rows, 0, page)
}

/// A verdict as it fits a column.
fn short(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Edge => "at the edge",
        other => word(other),
    }
}

/// A verdict as a word.
pub fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Inside => "inside",
        Verdict::Edge => "at the edge: measure again",
        Verdict::Low => "LOW",
        Verdict::High => "HIGH",
    }
}

fn verdict(proof: &Proof<'_>, taken: &[Taken], diagnosis: &Diagnosis, page: &Page) -> String {
    let failing =
        || taken.iter().zip(&diagnosis.verdicts).filter(|(_, v)| matches!(v, Verdict::Low | Verdict::High));
    let edges = diagnosis.verdicts.iter().filter(|v| **v == Verdict::Edge).count();
    match (failing().count(), edges) {
        (0, 0) => paragraph("All of these are in their windows.", Indent(0, 0), page),
        (0, _) => {
            let says = "None of these is outside its window, but at the edge only the accuracy of the meter may bring it in. Measure it again \
                 before going on, with another meter if there is one.";
            paragraph(says, Indent(0, 0), page)
        }
        (outside, _) => {
            let says = if outside == 1 {
                "A reading is outside its window.".into()
            } else {
                format!("{outside} readings are outside their windows.")
            };
            let live = failing().any(|(t, _)| proof.setup.stages[proof.setup.readings[t.reading].stage].live);
            let act = match (live, proof.setup.job().inlet()) {
                (true, Some(_)) => "Switch off, pull the mains plug, and do not go on.",
                (true, None) => "Switch off, and do not go on.",
                (false, Some(_)) => "Leave the mains plug out, and do not go on.",
                (false, None) => "Leave the power off, and do not go on.",
            };
            let spans = [
                Span("STOP", Style::Stop),
                Span(&says, Style::Strong),
                Span(act, Style::Plain),
                Span(caution::RESERVOIRS, Style::Plain),
            ];
            wrap(&spans, Indent(0, 5), page)
        }
    }
}

fn explained(proof: &Proof<'_>, all: &[Suspect], page: &Page) -> String {
    if all.is_empty() {
        return paragraph(suspects::NOTHING_EXPLAINS, Indent(0, 0), page);
    }
    let mut out = heading("What explains all readings, the likeliest first", page);
    for suspect in all.iter().take(TOLD) {
        let told = suspects::told(proof, suspect);
        let text = format!("– {}{} ({}).", told.says, told.same, told.share);
        let look = format!("Look at: {}.", told.look);
        out.push_str(&wrap(&[Span(&text, Style::Plain), Span(&look, Style::Plain)], Indent(2, 4), page));
    }
    if all.len() > TOLD {
        out.push_str(&paragraph(
            &format!("and {} more (`--json` has all).", all.len() - TOLD),
            Indent(2, 2),
            page,
        ));
    }
    out
}

/// What tells most; looking comes before it, and the cautions of its stage.
fn next(proof: &Proof<'_>, next: Next, page: &Page) -> String {
    let (title, stage, what) = match next {
        Next::Reading(r) => {
            let reading = &proof.setup.readings[r];
            ("The reading that tells them apart best", reading.stage, meter(proof, reading))
        }
        Next::Trace { stage, at } => ("The trace that tells them apart best", stage, trace(proof, stage, at)),
    };
    let look = if proof.setup.stages[stage].live {
        "Look first, with the power off, at the places above. Only if nothing is found there, power on again for:"
    } else {
        "Look first at the places above. If nothing is found there:"
    };
    heading(title, page)
        + &paragraph(look, Indent(2, 2), page)
        + &set_up(proof, stage, page)
        + &paragraph(&what, Indent(2, 2), page)
}

/// One probe that stays, the other going round.
fn trace(proof: &Proof<'_>, stage: usize, at: Terminal) -> String {
    let at = words::point(proof.setup.job(), at);
    let line = format!("{}; {at}; {CONNECTS}; …", proof.setup.stages[stage].name);
    format!(
        "Meter to ohms, one probe stays on {at}, the other goes to every other terminal: note those where it shows less than {}, and write \
         them as one line: `{line}`.",
        words::value(Function::Ohms, CONNECTED)
    )
}

/// The first reading of the plan that is not taken yet.
fn left(proof: &Proof<'_>, taken: &[Taken], page: &Page) -> String {
    let missing: Vec<usize> =
        proof.asked.iter().filter(|r| !taken.iter().any(|t| t.reading == **r)).copied().collect();
    let Some(first) = missing.first() else {
        let says = "All readings of the plan are taken. `voltwright prove` says what they cannot show.";
        return paragraph(says, Indent(0, 0), page);
    };
    let title =
        format!("Next, the first of {} of the plan not taken yet", words::count(missing.len(), "reading"));
    let reading = &proof.setup.readings[*first];
    heading(&title, page)
        + &set_up(proof, reading.stage, page)
        + &paragraph(&meter(proof, reading), Indent(2, 2), page)
}

/// The cautions of a stage, and what to set up.
fn set_up(proof: &Proof<'_>, stage: usize, page: &Page) -> String {
    let (job, stages) = (proof.setup.job(), &proof.setup.stages);
    let mut out = String::new();
    for caution in words::cautions(job, stages, stage) {
        out.push_str(&wrap(
            &[Span("Caution.", Style::Caution), Span(caution, Style::Plain)],
            Indent(2, 2),
            page,
        ));
    }
    let title = format!("Stage {}:", stages[stage].name);
    let set_up = words::set_up(job, stages, stage);
    out + &wrap(&[Span(&title, Style::Strong), Span(&set_up, Style::Plain)], Indent(2, 2), page)
}

/// Where the probes go, and the window.
fn meter(proof: &Proof<'_>, reading: &Reading) -> String {
    let (meter, probes) = (words::function(reading.function), words::probes(proof.setup.job(), reading));
    format!("Meter to {meter}, {probes}: it must be {}.", words::window(reading))
}
