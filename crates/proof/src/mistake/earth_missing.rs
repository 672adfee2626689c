//! A protective earth wire left off.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::Harness;

pub(super) static KIND: Kind =
    Kind { code: "earth-missing", about: "a protective earth wire left off", weight: 2.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let wires = (0..h.job.wires.len()).filter(|w| h.is_earth_wire(*w));
    wires
        .map(|w| {
            Mistake::new(
                format!("{} is not connected", h.wire(w)),
                "its screw, its serrated washer, paint under it",
                vec![Change::Off(w)],
            )
        })
        .collect()
}
