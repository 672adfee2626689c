//! Two plugs of one shape, each in the other's socket.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::Harness;
use voltwright_job::Terminal;

pub(super) static KIND: Kind =
    Kind { code: "twins-exchanged", about: "two plugs of one shape exchanged", weight: 3.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    for (a, plug) in h.job.plugs.iter().enumerate() {
        let Some(b) = plug.twin else { continue };
        let named_back = h.job.plugs[b].twin == Some(a);
        let (Some(here), Some(there)) = (plug.mates, h.job.plugs[b].mates) else { continue };
        // Each pair once, whether one names the other or both do.
        if named_back && b < a {
            continue;
        }
        mistakes.push(Mistake::new(
            format!("{} and {} are exchanged", plug.key, h.job.plugs[b].key),
            format!("{} and {}: the tags on lead and socket", plug.key, h.job.plugs[b].key),
            vec![into(h, a, there), into(h, b, here)],
        ));
    }
    mistakes
}

/// A plug in another socket; ways that the socket has not meet nothing.
fn into(h: &Harness<'_>, plug: usize, (load, socket): (usize, usize)) -> Change {
    let there = h.job.loads[load].sockets[socket].ways.len();
    let way = |w: usize| (w < there).then_some(Terminal::Socket(load, socket, w));
    Change::Mate { plug, ways: (0..h.job.plugs[plug].ways).map(way).collect() }
}
