//! Wires: each by its two ends, with what it carries; a new one by choosing two terminals.

use super::form;
use crate::web::desk::Sight;
use crate::web::pages::Of;
use maud::{Markup, html};
use voltwright_job::nets;

/// Colours of conductors, IEC 60757.
const COLOURS: [&str; 14] =
    ["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "GNYE", "SR"];

/// The list of wires, and the form of a new one.
pub fn wires(sight: &Sight<'_, '_>, of: &Of) -> Markup {
    let job = &sight.reading.job;
    let terminals: Vec<String> = nets::all(job).into_iter().map(|t| nets::name(job, t)).collect();
    html! {
        section.forms #wiring {
            h2 { "Wires" }
            datalist #terminals { @for t in &terminals { option value=(t) {} } }
            datalist #colours { @for c in COLOURS { option value=(c) {} } }
            @for w in 0..job.wires.len() { (wire(sight, w, of)) }
            details.entry.fresh open {
                summary { "Add a wire" }
                (form(of, "wiring.wires", &html! {
                    (ends(&format!("wiring.wires[{}]", job.wires.len()), ["", "", "", "", ""]))
                    (super::fields::save(false))
                }))
            }
        }
    }
}

fn wire(sight: &Sight<'_, '_>, w: usize, of: &Of) -> Markup {
    let wire = &sight.reading.job.wires[w];
    let colour = wire.colour.as_ref().map_or("", |c| c.text.as_str());
    let length = sight.text.get(wire.length.span.clone()).unwrap_or_default().trim_matches('"');
    let path = format!("wiring.wires[{w}]");
    html! {
        details.entry {
            summary { (wire.from_text.text) " – " (wire.to_text.text) span.faint { " " (colour) " " (wire.size_text.text) } }
            (form(of, &path, &html! {
                (ends(&path, [&wire.from_text.text, &wire.to_text.text, colour, &wire.size_text.text, length]))
                (super::fields::save(true))
            }))
        }
    }
}

fn ends(path: &str, [from, to, colour, size, length]: [&str; 5]) -> Markup {
    let field = |key: &str, label: &str, value: &str, list: Option<&str>, example: &str| {
        let name = format!("t:{path}.{key}");
        html! {
            div.field {
                label for=(name) { (label) }
                input id=(name) name=(name) value=(value) list=[list] placeholder=(example);
            }
        }
    };
    html! {
        div.ends {
            (field("from", "From", from, Some("terminals"), "supply.v1.plus"))
            (field("to", "To", to, Some("terminals"), "p1.3"))
            (field("colour", "Colour", colour, Some("colours"), "RD"))
            (field("size", "Size", size, None, "0.75 mm²"))
            (field("length", "Length", length, None, "320 mm"))
        }
    }
}
