//! An end of a wire on another terminal: of the same plug, part or strip any, of another thing those within its reach.

use super::{Kind, Mistake};
use crate::change::{Change, End};
use crate::harness::{Harness, thing};

pub(super) static KIND: Kind =
    Kind { code: "wire-moved", about: "an end of a wire on another terminal", weight: 1.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let wires = (0..h.job.wires.len()).filter(|w| !h.is_strap(*w));
    wires.flat_map(|w| End::BOTH.map(|end| moved(h, w, end))).flatten().collect()
}

/// Every place where this end could sit instead.
pub(super) fn moved(h: &Harness<'_>, wire: usize, end: End) -> Vec<Mistake> {
    let (here, far) = (end.of(h.job, wire), end.other().of(h.job, wire));
    let mut places = h.terminals(thing(here));
    places.extend(h.within_reach(wire, end).into_iter().flat_map(|t| h.terminals(t)));
    places.retain(|place| *place != here && *place != far);
    places
        .into_iter()
        .map(|at| {
            Mistake::new(
                format!("{}: its end at {} sits on {}", h.wire(wire), h.name(here), h.name(at)),
                format!("{} and {}", h.name(here), h.name(at)),
                vec![Change::End { wire, end, at }],
            )
        })
        .collect()
}
