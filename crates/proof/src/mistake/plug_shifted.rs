//! A plug put in one way off, to either side.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::{Harness, Thing};
use voltwright_job::Terminal;

pub(super) static KIND: Kind =
    Kind { code: "plug-shifted", about: "a plug put in one way off", weight: 2.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    for (p, plug) in h.job.plugs.iter().enumerate().filter(|(_, plug)| !plug.keyed && plug.ways > 1) {
        let Some((load, socket)) = plug.mates else { continue };
        for (by, side) in [(1isize, "towards its last way"), (-1, "towards way 1")] {
            let ways = shifted(plug.ways, h.row(Thing::Plug(p)), by);
            let ways = ways.into_iter().map(|w| w.map(|w| Terminal::Socket(load, socket, w))).collect();
            mistakes.push(Mistake::new(
                format!("{} sits one way off, {side}", plug.key),
                format!("{}: no bare pin may show at either end", plug.key),
                vec![Change::Mate { plug: p, ways }],
            ));
        }
    }
    mistakes
}

/// The way that each way meets when every row is moved by so many.
pub(crate) fn shifted(ways: usize, row: usize, by: isize) -> Vec<Option<usize>> {
    let target = |w: usize| {
        let within = (w % row).checked_add_signed(by).filter(|at| *at < row)?;
        Some(w / row * row + within).filter(|at| *at < ways)
    };
    (0..ways).map(target).collect()
}
