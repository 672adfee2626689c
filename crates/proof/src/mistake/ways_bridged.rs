//! Two neighbouring ways touch: a strand, a solder whisker, a lug turned sideways.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::{Harness, Thing};

pub(super) static KIND: Kind =
    Kind { code: "ways-bridged", about: "two neighbouring ways bridged", weight: 1.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let things = h.things().into_iter().filter(|t| *t != Thing::Chassis);
    let pairs = things.flat_map(|t| h.neighbours(t));
    pairs
        .map(|(a, b)| {
            Mistake::new(
                format!("{} and {} touch", h.name(a), h.name(b)),
                format!("between {} and {}: strands, solder, lugs", h.name(a), h.name(b)),
                vec![Change::Bridge(a, b)],
            )
        })
        .collect()
}
