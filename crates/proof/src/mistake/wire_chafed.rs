//! A wire chafed through to the case.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::Harness;
use voltwright_job::Terminal;

pub(super) static KIND: Kind =
    Kind { code: "wire-chafed", about: "a wire chafed through to the case", weight: 0.5, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let wires = (0..h.job.wires.len()).filter(|w| !h.is_earth_wire(*w));
    wires
        .map(|w| {
            Mistake::new(
                format!("{} is chafed through to the case", h.wire(w)),
                "its whole way: edges, screws, holes without a bush",
                vec![Change::Bridge(h.job.wires[w].from, Terminal::Chassis)],
            )
        })
        .collect()
}
