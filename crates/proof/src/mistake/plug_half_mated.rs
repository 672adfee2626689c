//! A plug half on, so that only the ways at one end make contact; this happens to keyed plugs too.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::Harness;
use voltwright_job::Terminal;

pub(super) static KIND: Kind = Kind { code: "plug-half-mated", about: "a plug half on", weight: 1.5, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    for (p, plug) in h.job.plugs.iter().enumerate().filter(|(_, plug)| plug.ways > 1) {
        let Some((load, socket)) = plug.mates else { continue };
        let half = plug.ways / 2;
        for (touches, which) in [(0..plug.ways - half, "first"), (half..plug.ways, "last")] {
            let here = |w: usize| touches.contains(&w).then_some(Terminal::Socket(load, socket, w));
            mistakes.push(Mistake::new(
                format!("{} is half on: only its {which} ways make contact", plug.key),
                format!("{}: pushed home along its whole length", plug.key),
                vec![Change::Mate { plug: p, ways: (0..plug.ways).map(here).collect() }],
            ));
        }
    }
    mistakes
}
