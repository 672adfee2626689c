//! What is handed on, in its first form: the job, what was checked, what was not.

use super::Of;
use crate::caution;
use crate::proof::words;
use crate::web::desk::Sight;
use maud::{Markup, html};

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let job = &sight.reading.job;
    let judged = sight.report().judged.iter().map(|r| r.judgements).sum::<usize>();
    let escapes = sight.bench().ok().map(|bench| bench.proof.escapes().len());
    html! {
        h1 { "Record" }
        p { "Print this page to hand it on. It says what was checked and what was not; nothing here says that the machine may be trusted." }
        dl.facts-list {
            dt { "Job" } dd { (job.title.text) }
            dt { "Revision" } dd { (of.revision) }
            dt { "Judgements made" } dd { (judged) }
            dt { "Mistakes that no reading catches in time" }
            dd { @match escapes { Some(n) => (n), None => "not proved" } }
        }
        p.caution { strong { "For whoever works on it next." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
        p { a href=(format!("/job/{}/sheet", of.name)) { "The first power as a sheet" } " · " a href=(format!("/job/{}/export", of.name)) { "The whole job as an archive" } }
        @if let Some(0) = escapes { p { "Every single wiring mistake of the kinds that are known was tried; each harmful one is caught by " (words::count(sight.bench().map_or(0, |b| b.proof.plan.readings.len()), "reading")) " before it does harm." } }
    }
}
