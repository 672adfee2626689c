//! What happened so far, the newest first.

use super::entry;
use crate::clock;
use crate::proof::{judged, words};
use maud::{Markup, html};
use voltwright_proof::first_power::{self, Event};
use voltwright_proof::proof::Proof;
use voltwright_workshop::Entry;

/// The log as a table.
pub fn table(proof: &Proof<'_>, entries: &[Entry]) -> Markup {
    html! {
        h2 { "What happened so far" }
        @if entries.is_empty() {
            p { "Nothing yet." }
        } @else {
            div.scroll tabindex="0" role="region" aria-label="Log" {
                table {
                    thead { tr { th scope="col" { "When" } th scope="col" { "Stage" } th scope="col" { "What" } th scope="col" { "It is" } } }
                    tbody { @for group in groups(entries).iter().rev() { (row(proof, group)) } }
                }
            }
        }
    }
}

/// A trace was entered at once, and is one row.
fn groups(entries: &[Entry]) -> Vec<&[Entry]> {
    entries.chunk_by(|a, b| is_traced(a) && is_traced(b) && sent(a) == sent(b)).collect()
}

fn is_traced(one: &Entry) -> bool {
    matches!(one.what.answer.as_deref(), Some("connected" | "not connected"))
}

/// What the keys of entries that were sent at once have in common.
fn sent(one: &Entry) -> &str {
    one.what.key.rsplit_once('-').map_or(one.what.key.as_str(), |(sent, _)| sent)
}

fn row(proof: &Proof<'_>, group: &[Entry]) -> Markup {
    let one = &group[0];
    let verdict = if is_traced(one) { String::new() } else { verdict(proof, one) };
    html! {
        tr class=[matches!(verdict.as_str(), "LOW" | "HIGH").then_some("fails")] {
            td { (clock::time(one.what.taken)) }
            td { (one.what.stage) }
            td {
                @if is_traced(one) { (traced(group)) } @else { (what(proof, one)) }
                @if !one.what.note.is_empty() { " – " (one.what.note) }
                @if !one.what.instrument.is_empty() { " (" (one.what.instrument) ")" }
                @if !one.what.device.is_empty() { span.faint { " · " (one.what.device) } }
            }
            td { (verdict) }
        }
    }
}

/// What a trace says: the one terminal that is in all its pairs, and those that it is connected to.
fn traced(group: &[Entry]) -> String {
    let in_all = |name: &str| group.iter().all(|e| e.what.red == name || e.what.black == name);
    let first = &group[0].what;
    let at = if in_all(&first.red) { &first.red } else { &first.black };
    let other = |e: &Entry| if e.what.red == *at { e.what.black.clone() } else { e.what.red.clone() };
    let (yes, no): (Vec<&Entry>, Vec<&Entry>) =
        group.iter().partition(|e| e.what.answer.as_deref() == Some("connected"));
    let names: Vec<String> = yes.into_iter().map(other).collect();
    let list = if names.is_empty() { "nothing".to_owned() } else { names.join(", ") };
    format!("from {at} one probe went round: connected to {list}; not to {} others", no.len())
}

/// What an entry says.
fn what(proof: &Proof<'_>, one: &Entry) -> String {
    let entered = &one.what;
    match entered.kind.as_str() {
        "ready" => "set up".into(),
        "off" => "power off".into(),
        "discharged" => "reservoirs measured, discharged, measured again".into(),
        "note" => "noted".into(),
        "overruled" => "went on without it".into(),
        "mended" => "mended; all readings again".into(),
        "again" => "to be measured again".into(),
        "reading" => {
            let probes = format!("{} to {}", entered.red, entered.black);
            match (entered.value, entry::reading(proof, one)) {
                (Some(value), Some(r)) => {
                    format!("{probes}: {}", words::value(proof.setup.readings[r].function, value))
                }
                (Some(value), None) => format!("{probes}: {value} {}", entered.function),
                (None, _) => format!("{probes}: {}", entered.answer.as_deref().unwrap_or("–")),
            }
        }
        other => other.to_owned(),
    }
}

/// What a reading is by itself.
fn verdict(proof: &Proof<'_>, one: &Entry) -> String {
    match entry::event(proof, one) {
        Some(Event::Taken(r, answer)) => match first_power::judge(&proof.setup.readings[r], answer) {
            Ok(verdict) => judged::word(verdict).to_owned(),
            Err(_) => "–".into(),
        },
        Some(_) => String::new(),
        None if one.what.kind == "note" => String::new(),
        None => "not of this plan".into(),
    }
}
