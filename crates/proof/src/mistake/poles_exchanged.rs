//! Line and neutral exchanged at the inlet.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::{Harness, Thing};

pub(super) static KIND: Kind =
    Kind { code: "poles-exchanged", about: "line and neutral exchanged", weight: 1.5, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let Some(inlet) = h.job.inlet() else { return Vec::new() };
    let poles = ["line", "neutral"].map(|name| h.job.terminal(inlet, name));
    let [Some(line), Some(neutral)] = poles else { return Vec::new() };
    let mut changes = Vec::new();
    for (wire, end) in h.ends_on(Thing::Part(inlet)) {
        let here = end.of(h.job, wire);
        let at = if here == line { neutral } else { line };
        if here == line || here == neutral {
            changes.push(Change::End { wire, end, at });
        }
    }
    if changes.is_empty() {
        return Vec::new();
    }
    let key = &h.job.parts[inlet].key;
    vec![Mistake::new(
        format!("line and neutral are exchanged at {key}"),
        format!("{key}: the letters beside its terminals"),
        changes,
    )]
}
