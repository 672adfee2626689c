//! Plugs and parts as one sees them, wires from terminal to terminal, the wires to cut.

mod corners;
mod cut_list;
mod figures;

use super::Of;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use figures::Figures;
use maud::{Markup, PreEscaped, html};
use toml::{Table, Value};
use voltwright_drawing::face::{Side, choosing, choosing_socket, choosing_terminals};
use voltwright_job::Job;
use voltwright_model::Solved;

/// What the figures of the wires are taken at.
pub const TAKEN_AT: &str = "Current, drop and temperature at their worst: each draw at the end of its spread that loads the wire \
     most, the mains at their lowest, the air inside at its warmest.";

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let job = &sight.reading.job;
    let file: Table = sight.text.parse().unwrap_or_default();
    // As the file counts them: what cannot be read of them is there as well.
    let wires = wires(&file);
    let known: Vec<Option<String>> =
        known(job, wires).into_iter().map(|known| known.map(|known| known.words())).collect();
    html! {
        h1 { "Wiring" }
        div.choosing {
            @if !job.plugs.is_empty() { h2 { "The plugs as you see them" } }
            @for p in 0..job.plugs.len() { (plug(job, p)) }
            @let sockets = bare_sockets(job);
            @if !sockets.is_empty() {
                details.entry open {
                    summary { "Sockets that no plug goes into" }
                    div.drawings { @for (l, s) in sockets { figure { (PreEscaped(choosing_socket(job, l, s, &format!("socket-{l}-{s}")).svg)) } } }
                }
            }
            @if !job.parts.is_empty() {
                details.entry {
                    summary { "The parts' terminals: " (parts_named(job)) }
                    div.drawings { @for p in 0..job.parts.len() { figure { (PreEscaped(choosing_terminals(job, p, &format!("part-{p}")).svg)) } } }
                }
            }
        }
        (edit::wires(sight, of, TAKEN_AT, &known))
        (cut_list::list(wires))
        (edit::section(sight.text, of, Place::named("plug", "Plugs", "a plug")))
    }
}

/// The names of the parts, so that one sees what is folded here.
fn parts_named(job: &Job) -> String {
    job.parts.iter().map(|part| part.key.text.as_str()).collect::<Vec<_>>().join(", ")
}

/// The sockets of loads to which wires go themselves, by load and place: no plug mates them.
fn bare_sockets(job: &Job) -> Vec<(usize, usize)> {
    let is_bare = |at: &(usize, usize)| !job.plugs.iter().any(|plug| plug.mates == Some(*at));
    let all = (0..job.loads.len()).flat_map(|l| (0..job.loads[l].sockets.len()).map(move |s| (l, s)));
    all.filter(is_bare).collect()
}

/// The wires of a file.
pub fn wires(file: &Table) -> &[Value] {
    file.get("wiring").and_then(|w| w.get("wires")).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

/// What is known of each wire of the file.
pub fn known(job: &Job, wires: &[Value]) -> Vec<Option<Figures>> {
    if job.wires.is_empty() {
        return vec![None; wires.len()];
    }
    let known = figures::of(&Solved::new(job));
    figures::read(wires, job).into_iter().map(|w| known[w?]).collect()
}

/// A plug in both views, each in a box that scrolls sideways where the page is narrower still, and takes the focus for it.
fn plug(job: &Job, p: usize) -> Markup {
    let name = &job.plugs[p].key.text;
    html! {
        div.pair {
            @for (side, key) in [(Side::Mating, "mating"), (Side::Wires, "wires")] {
                figure tabindex="0" aria-label=(format!("Plug {name}, {}", side.words())) {
                    (PreEscaped(choosing(job, p, side, &format!("{key}-{p}")).svg))
                }
            }
        }
    }
}
