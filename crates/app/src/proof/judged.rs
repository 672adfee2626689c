//! What readings say, as text.

use super::words;
use crate::caution;
use crate::report::heading;
use crate::text::grid::grid;
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style};
use voltwright_proof::diagnosis::{Diagnosis, Suspect, Taken, Verdict};
use voltwright_proof::proof::Proof;

/// Suspects that are told one by one.
const TOLD: usize = 8;

/// All of it.
pub fn whole(proof: &Proof<'_>, taken: &[Taken], diagnosis: &Diagnosis, page: &Page) -> String {
    let mut parts = vec![crate::report::head(proof.setup.job(), page), readings(proof, taken, diagnosis, page)];
    parts.push(verdict(proof, diagnosis, page));
    if diagnosis.fails() {
        parts.push(suspects(proof, &diagnosis.suspects, page));
        parts.extend(diagnosis.next.map(|r| next(proof, r, page)));
    } else {
        parts.push(left(proof, taken, page));
    }
    parts.retain(|p| !p.is_empty());
    parts.join("\n")
}

fn readings(proof: &Proof<'_>, taken: &[Taken], diagnosis: &Diagnosis, page: &Page) -> String {
    let job = proof.setup.job();
    let row = |(t, verdict): (&Taken, &Verdict)| {
        let reading = &proof.setup.readings[t.reading];
        vec![
            proof.setup.stages[reading.stage].name.clone(),
            words::probes(job, reading),
            words::window(reading),
            words::value(reading.function, t.value),
            word(*verdict).to_owned(),
        ]
    };
    let rows: Vec<Vec<String>> = taken.iter().zip(&diagnosis.verdicts).map(row).collect();
    grid(&["stage", "probes", "must be", "read", ""], &rows, 0, page)
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

fn verdict(proof: &Proof<'_>, diagnosis: &Diagnosis, page: &Page) -> String {
    if !diagnosis.fails() {
        return paragraph("All readings are in their windows.", Indent(0, 0), page);
    }
    let says = "a reading is outside its window. Switch off, pull the plug, wait for the reservoirs, and do not go on.";
    let mut out = wrap(&[Span("STOP", Style::Stop), Span(says, Style::Plain)], Indent(0, 5), page);
    let _ = proof;
    out.push_str(&paragraph(caution::RESERVOIRS, Indent(5, 5), page));
    out
}

fn suspects(proof: &Proof<'_>, suspects: &[Suspect], page: &Page) -> String {
    if suspects.is_empty() {
        let says = "Nothing in the model explains these readings, no mistake and no pair of mistakes that it knows: measure again, check the meter and its \
             leads, and look for what the job file does not say.";
        return paragraph(says, Indent(0, 0), page);
    }
    let mut out = heading("What explains all of them, the likeliest first", page);
    for suspect in suspects.iter().take(TOLD) {
        let mistakes: Vec<&voltwright_proof::mistake::Mistake> =
            suspect.classes.iter().map(|c| &proof.mistakes[proof.classes[*c].mistakes[0]]).collect();
        let says: Vec<&str> = mistakes.iter().map(|m| m.says.as_str()).collect();
        let look: Vec<&str> = mistakes.iter().map(|m| m.look.as_str()).collect();
        let same: usize = suspect.classes.iter().map(|c| proof.classes[*c].mistakes.len() - 1).sum();
        let same = if same > 0 { format!(" ({same} more look the same)") } else { String::new() };
        let share = format!("{:>3.0} %", suspect.share * 100.0);
        let text = format!("{}{same}. Look at: {}.", says.join(", and "), look.join("; "));
        out.push_str(&wrap(&[Span(&share, Style::Strong), Span(&text, Style::Plain)], Indent(2, 8), page));
    }
    if suspects.len() > TOLD {
        out.push_str(&paragraph(&format!("and {} less likely ones (all with --json).", suspects.len() - TOLD), Indent(2, 2), page));
    }
    out
}

fn next(proof: &Proof<'_>, reading: usize, page: &Page) -> String {
    let r = &proof.setup.readings[reading];
    let says = format!(
        "stage {}, {}, {}.",
        proof.setup.stages[r.stage].name,
        words::function(r.function),
        words::probes(proof.setup.job(), r)
    );
    heading("The reading that tells them apart best", page) + &paragraph(&says, Indent(2, 2), page)
}

/// The readings of the plan that are not taken yet.
fn left(proof: &Proof<'_>, taken: &[Taken], page: &Page) -> String {
    let next = proof.plan.readings.iter().find(|r| !taken.iter().any(|t| t.reading == **r));
    let Some(r) = next else {
        return paragraph("The plan is done. What it cannot know is said by `voltwright prove`.", Indent(0, 0), page);
    };
    let reading = &proof.setup.readings[*r];
    let says = format!(
        "Next: stage {}, {}, {}; it must be {}.",
        proof.setup.stages[reading.stage].name,
        words::function(reading.function),
        words::probes(proof.setup.job(), reading),
        words::window(reading)
    );
    paragraph(&says, Indent(0, 0), page)
}
