//! A plug put in the other way round: way n meets way N + 1 − n. A plug with two rows turns both rows.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::Harness;
use voltwright_job::Terminal;

pub(super) static KIND: Kind =
    Kind { code: "plug-turned", about: "a plug put in the other way round", weight: 2.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let open = h.job.plugs.iter().enumerate().filter(|(_, plug)| !plug.keyed && plug.ways > 1);
    open.filter_map(|(p, plug)| {
        let (load, socket) = plug.mates?;
        let ways = (0..plug.ways).rev().map(|w| Some(Terminal::Socket(load, socket, w))).collect();
        Some(Mistake::new(
            format!("{} is in the other way round", plug.key),
            format!("{}: which end way 1 is at", plug.key),
            vec![Change::Mate { plug: p, ways }],
        ))
    })
    .collect()
}
