//! A mains terminal that touches the case.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::{Harness, Thing};
use voltwright_job::Terminal;

pub(super) static KIND: Kind =
    Kind { code: "line-to-chassis", about: "a mains terminal that touches the case", weight: 0.5, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let parts = h.things().into_iter().filter(|t| matches!(t, Thing::Part(_)));
    let live = parts.flat_map(|t| h.terminals(t)).filter(|t| h.wiring.is_on_mains(*t));
    live.map(|t| {
        Mistake::new(
            format!("{} touches the case", h.name(t)),
            format!("{}: lug, strand, cover", h.name(t)),
            vec![Change::Bridge(t, Terminal::Chassis)],
        )
    })
    .collect()
}
