//! An end of a wire on another terminal: of the same plug, part or strip any, of another thing those within its reach.

use super::{Kind, Mistake};
use crate::change::{Change, End};
use crate::harness::{Harness, thing};
use voltwright_job::Terminal;

pub(super) static KIND: Kind =
    Kind { code: "wire-moved", about: "an end of a wire on another terminal", weight: 1.0, all };

/// How common, beside one on the neighbouring terminal, is one on the same thing further off, on another thing, and between
/// mains and low voltage. Our own estimates.
const SAME_THING: f64 = 0.5;
const ANOTHER_THING: f64 = 0.1;
pub(super) const ACROSS: f64 = 0.02;

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let wires = (0..h.job.wires.len()).filter(|w| !h.is_strap(*w));
    wires.flat_map(|w| End::BOTH.map(|end| moved(h, w, end))).flatten().collect()
}

/// Every place where this end could sit instead.
pub(super) fn moved(h: &Harness<'_>, wire: usize, end: End) -> Vec<Mistake> {
    let (here, far) = (end.of(h.job, wire), end.other().of(h.job, wire));
    let own = h.terminals(thing(here));
    let beside: Vec<_> =
        h.neighbours(thing(here)).into_iter().filter(|(a, b)| *a == here || *b == here).collect();
    let mut places = own.clone();
    places.extend(h.within_reach(wire, end).into_iter().flat_map(|t| h.terminals(t)));
    places.retain(|place| *place != here && *place != far);
    let share = |at: Terminal| match () {
        () if beside.iter().any(|(a, b)| *a == at || *b == at) => 1.0,
        () if own.contains(&at) => SAME_THING,
        () if h.wiring.is_on_mains(at) != h.wiring.is_on_mains(here) => ACROSS,
        () => ANOTHER_THING,
    };
    places
        .into_iter()
        .map(|at| {
            Mistake::new(
                format!("{}: its end at {} sits on {}", h.wire(wire), h.name(here), h.name(at)),
                format!("{} and {}", h.name(here), h.name(at)),
                vec![Change::End { wire, end, at }],
            )
            .sharing(share(at))
        })
        .collect()
}
