//! What is handed on, in its first form: the job, what was checked and on what that hangs, what was not.

use super::{Of, spine};
use crate::caution;
use crate::proof::words;
use crate::web::desk::Sight;
use maud::{Markup, html};
use voltwright_rules::{Report, Severity};

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let job = &sight.reading.job;
    let report = voltwright_rules::check(job);
    let proved = sight
        .bench()
        .ok()
        .map(|b| (b.proof.mistakes.len(), b.proof.plan.readings.len(), b.proof.escapes().len()));
    html! {
        h1 { "Record" }
        p.screen { "Print this page to hand it on. It says what was checked and what was not; nothing here says that the machine may be trusted." }
        dl.facts-list {
            dt { "Job" } dd { (job.title.text) ", revision " (of.revision) }
            dt { "Stops" } dd { (report.findings.iter().filter(|f| f.severity == Severity::Stop).count()) }
            dt { "Judgements made" } dd { (report.judged.iter().map(|r| r.judgements).sum::<usize>()) }
            dt { "Proof" }
            dd {
                @match proved {
                    Some((mistakes, readings, 0)) => { (words::count(mistakes, "single mistake")) " tried; each that does harm is caught in time by one of " (words::count(readings, "reading")) "." },
                    Some((mistakes, _, escapes)) => { (words::count(mistakes, "single mistake")) " tried; " strong.stops { (escapes) " not caught in time" } "." },
                    None => { "Not possible as it stands." },
                }
            }
        }
        p.caution { strong { "For whoever works on it next." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
        h2 { "What was found" }
        @if report.findings.is_empty() { p { "Nothing, in what was entered." } }
        @for finding in &report.findings { (spine::one(finding, sight.text, true)) }
        (hangs_on(&report))
        @if !report.unjudged.is_empty() {
            h2 { "What could not be judged" }
            ul { @for one in &report.unjudged { li { (one.subject) ": " (one.enter) " is not entered" } } }
        }
        h2 { "The first power" }
        p { a href=(format!("/job/{}/first-power", of.name)) { "As it was taken" } " · " a href=(format!("/job/{}/sheet", of.name)) { "as a sheet" } " · " a href=(format!("/job/{}/export", of.name)) { "the whole job as an archive" } }
    }
}

/// The assumed values that leave the verdict least room.
fn hangs_on(report: &Report) -> Markup {
    let followed = &report.assumptions.followed;
    html! {
        @if !followed.is_empty() {
            h2 { "What the verdict hangs on" }
            div.scroll tabindex="0" role="region" aria-label="Assumed values" { table {
                thead { tr { th scope="col" { "Value" } th scope="col" { "Is" } th scope="col" { "Turns below" } th scope="col" { "Turns above" } } }
                tbody { @for one in followed { tr {
                    td { (one.path) } td { (one.shown) }
                    @for turn in [&one.below, &one.above] { td { @match turn { Some(point) => (point.shown), None => "–" } } }
                } } }
            } }
        }
    }
}
