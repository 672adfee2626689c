//! Plugs and parts as one sees them, wires from terminal to terminal.

use super::Of;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use maud::{Markup, PreEscaped, html};
use voltwright_drawing::face::{Probes, Side, face, terminals};
use voltwright_job::Job;

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let job = &sight.reading.job;
    html! {
        h1 { "Wiring" }
        div.choosing {
            @if !job.plugs.is_empty() { h2 { "The plugs as you see them" } }
            @for p in 0..job.plugs.len() { (plug(job, p)) }
            @if !job.parts.is_empty() {
                details.entry {
                    summary { "The parts' terminals" }
                    div.drawings { @for p in 0..job.parts.len() { figure { (PreEscaped(terminals(job, p, Probes::default(), &format!("part-{p}")).svg)) } } }
                }
            }
        }
        (edit::wires(sight, of))
        (edit::section(sight.text, of, Place::named("plug", "Plugs", "a plug")))
    }
}

/// A plug in both views.
fn plug(job: &Job, p: usize) -> Markup {
    html! {
        div.pair {
            @for (side, key) in [(Side::Mating, "mating"), (Side::Wires, "wires")] {
                figure { (PreEscaped(face(job, p, side, Probes::default(), &format!("{key}-{p}")).svg)) }
            }
        }
    }
}
