//! Plugs as one sees them, wires from terminal to terminal.

use super::Of;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use maud::{Markup, PreEscaped, html};
use voltwright_drawing::face::{Probes, Side, face};

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let job = &sight.reading.job;
    html! {
        h1 { "Wiring" }
        @if !job.plugs.is_empty() {
            h2 { "The plugs as you see them" }
            @for p in 0..job.plugs.len() {
                div.pair {
                    @for (side, key) in [(Side::Mating, "mating"), (Side::Wires, "wires")] {
                        figure { (PreEscaped(face(job, p, side, Probes::default(), &format!("{key}-{p}")).svg)) }
                    }
                }
            }
        }
        (edit::wires(sight, of))
        (edit::section(sight.text, of, Place::named("plug", "Plugs", "a plug")))
    }
}
