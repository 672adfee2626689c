//! Wires: each by its two ends, with what it carries; a new one by choosing two terminals.

use super::fields::{Seat, save};
use super::{apply, entry, form, unreadable};
use crate::web::desk::Sight;
use crate::web::pages::Of;
use maud::{Markup, html};
use toml::{Table, Value};
use voltwright_job::keys::{Form, JOB, Section};
use voltwright_job::nets;

/// Colours of conductors, IEC 60757.
const COLOURS: [&str; 14] =
    ["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "GNYE", "SR"];

/// The form of a new wire, and the wires that are there, each with what is known of it; `taken_at` says what for.
pub fn wires(sight: &Sight<'_, '_>, of: &Of, taken_at: &str, known: &[Option<String>]) -> Markup {
    let Ok(text) = sight.text.parse::<Table>() else { return unreadable(of, "Wires") };
    let job = &sight.reading.job;
    let terminals: Vec<String> = nets::all(job).into_iter().map(|t| nets::name(job, t)).collect();
    // As the file counts them: what cannot be read of them is there as well.
    let wires = apply::at(&text, "wiring.wires").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    html! {
        section.forms #wiring {
            datalist #terminals { @for t in &terminals { option value=(t) {} } }
            datalist #colours { @for c in COLOURS { option value=(c) {} } }
            details.entry.fresh #add-wire open {
                summary { "Add a wire" }
                p.help #chosen role="status" {
                    @if job.plugs.is_empty() && job.parts.is_empty() { "Choose its two ends from the lists here. Plugs and parts are drawn above once they are entered." }
                    @else { "Choose its two ends in the drawings above, or from the lists here." }
                }
                (form(of, &format!("wiring.wires[{}]", wires.len()), "Add a wire", |seat| html! { (ends(seat, None)) (save(false)) }))
            }
            h2 { "Wires" }
            @if wires.is_empty() { p { "None yet." } }
            @if known.iter().any(Option::is_some) { p.faint { (taken_at) } }
            @for (w, wire) in wires.iter().enumerate() {
                (one(of, &format!("wiring.wires[{w}]"), wire.as_table(), known.get(w).and_then(Option::as_deref)))
            }
        }
    }
}

fn one(of: &Of, path: &str, wire: Option<&Table>, known: Option<&str>) -> Markup {
    let told = |key: &str| wire.and_then(|w| w.get(key)).and_then(Value::as_str).unwrap_or("?");
    let ends_of = format!("{} – {}", told("from"), told("to"));
    let summary = html! { (ends_of) span.faint { " " (told("colour")) " " (told("size")) @if let Some(known) = known { span.known { (known) } } } };
    let fields = form(of, path, &format!("Wire {ends_of}"), |seat| html! { (ends(seat, wire)) (save(true)) });
    entry(of, path, &summary, fields)
}

fn ends(seat: Seat<'_>, held: Option<&Table>) -> Markup {
    let list = |key: &str| match key {
        "from" | "to" => Some("terminals"),
        "colour" => Some("colours"),
        _ => None,
    };
    html! {
        div.ends {
            @for key in section().into_iter().flat_map(|s| s.keys) {
                (seat.plain(key, held.and_then(|w| w.get(key.name)), list(key.name)))
            }
        }
    }
}

/// The keys of a wire.
fn section() -> Option<&'static Section> {
    let Form::Table(wiring) = JOB.key("wiring", None)?.form else { return None };
    let Form::Tables(wire) = wiring.key("wires", None)?.form else { return None };
    Some(wire)
}
