//! The survey: the machine, its nameplate, what was found; dangers first.

use super::Of;
use crate::caution;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use crate::web::pictures;
use maud::{Markup, html};

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let next = next(sight, of);
    let job = &sight.reading.job;
    let dangers = job.found.iter().filter_map(|f| f.danger.as_ref().map(|d| (&f.what, d)));
    html! {
        h1 { "Survey" }
        (next)
        p.caution { strong { "Before any work." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
        @for (what, danger) in dangers {
            p.caution { strong { "Danger." } " " (what.text) ": " (danger.text) }
        }
        (pictures::shown(of, &of.pictures))
        (edit::section(sight.text, of, Place::table("job", "The job")))
        (edit::section(sight.text, of, Place::table("machine", "The machine")))
        (edit::section(sight.text, of, Place::list("found", "What was found", "Something found")))
        (edit::section(sight.text, of, Place::table("old-supply", "The machine's own supply")))
        (edit::section(sight.text, of, Place::named("battery", "Cells and accumulators", "a cell or accumulator")))
    }
}

/// What can be said already, and what to enter next: the entries that let most be judged.
fn next(sight: &Sight<'_, '_>, of: &Of) -> Markup {
    let report = sight.report();
    let mut wanted: Vec<(&str, Vec<&str>)> = Vec::new();
    for one in &report.unjudged {
        match wanted.iter_mut().find(|(enter, _)| *enter == one.enter) {
            Some((_, tells)) => tells.push(&one.tells),
            None => wanted.push((&one.enter, vec![&one.tells])),
        }
    }
    wanted.sort_by_key(|(_, tells)| std::cmp::Reverse(tells.len()));
    let said = report.findings.len();
    let wired = !sight.reading.job.wires.is_empty();
    html! {
        @if !wanted.is_empty() || !wired {
            section.next aria-labelledby="next" {
                h2 #next { "What next" }
                p { @if said == 0 { "Nothing can be said yet." } @else { (crate::proof::words::count(said, "finding")) " can be given already, beside this page and on the others." } }
                @if let Some((enter, tells)) = wanted.first() {
                    p { "The most valuable entry now: " strong { (enter) } ". It tells " (tells.join("; ")) "." }
                }
                @if wanted.is_empty() && !wired {
                    p { "Then what the machine needs: " a href=(of.at(super::Page::Needs)) { "its rails and loads" } "." }
                }
            }
        }
    }
}
