//! The survey: the machine, its nameplate, what was found; dangers first.

use super::Of;
use crate::caution;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use maud::{Markup, html};

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let job = &sight.reading.job;
    let dangers = job.found.iter().filter_map(|f| f.danger.as_ref().map(|d| (&f.what, d)));
    html! {
        h1 { "Survey" }
        p.caution { strong { "Before any work." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
        @for (what, danger) in dangers {
            p.caution { strong { "Danger." } " " (what.text) ": " (danger.text) }
        }
        (edit::section(sight.text, of, Place::table("job", "The job")))
        (edit::section(sight.text, of, Place::table("machine", "The machine")))
        (edit::section(sight.text, of, Place::list("found", "What was found", "Something found")))
        (edit::section(sight.text, of, Place::table("old-supply", "The machine's own supply")))
        (edit::section(sight.text, of, Place::named("battery", "Cells and accumulators", "a cell or accumulator")))
    }
}
