//! A wrong strap: the wire to an enable, sense or power-good terminal left open or on a neighbour.

use super::{Kind, Mistake, wire_moved};
use crate::change::{Change, End};
use crate::harness::Harness;

pub(super) static KIND: Kind =
    Kind { code: "strap-wrong", about: "a strap or sense wire open or misplaced", weight: 2.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    for w in (0..h.job.wires.len()).filter(|w| h.is_strap(*w)) {
        mistakes.push(Mistake::new(
            format!("{} is open", h.wire(w)),
            "both ends: pull each gently, look for a contact that is not home",
            vec![Change::Off(w)],
        ));
        mistakes.extend(End::BOTH.into_iter().flat_map(|end| wire_moved::moved(h, w, end)));
    }
    mistakes
}
