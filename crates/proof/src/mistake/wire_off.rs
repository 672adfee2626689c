//! A wire left off, or an end of it that was never made.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::Harness;

pub(super) static KIND: Kind = Kind { code: "wire-off", about: "a wire left off", weight: 3.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let wires = (0..h.job.wires.len()).filter(|w| !h.is_strap(*w) && !h.is_earth_wire(*w));
    wires
        .map(|w| {
            Mistake::new(
                format!("{} is not connected", h.wire(w)),
                "both ends: pull each gently, look for a contact that is not home",
                vec![Change::Off(w)],
            )
        })
        .collect()
}
