//! A plug wired mirror-image: numbered from the wrong face. In a row of n ways, way k has what belongs on n + 1 − k.

use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::{Harness, Thing};
use voltwright_job::Terminal;

pub(super) static KIND: Kind =
    Kind { code: "plug-mirrored", about: "a plug wired mirror-image", weight: 2.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let plugs = h.job.plugs.iter().enumerate().filter(|(_, plug)| plug.ways > 1);
    plugs
        .filter_map(|(p, plug)| {
            let row = h.row(Thing::Plug(p));
            let changes = renumbered(h, p, |way| Some(mirrored(way, plug.ways, row)));
            (!changes.is_empty()).then(|| {
                Mistake::new(
                    format!("{} is wired mirror-image", plug.key),
                    format!("{}: from which face its ways were counted", plug.key),
                    changes,
                )
            })
        })
        .collect()
}

/// The way opposite in its row.
pub(crate) fn mirrored(way: usize, ways: usize, row: usize) -> usize {
    let start = way / row * row;
    let end = (start + row).min(ways);
    start + end - 1 - way
}

/// Every wire of a plug on the way that another numbering gives it, or left off where that has none.
pub(super) fn renumbered(h: &Harness<'_>, plug: usize, to: impl Fn(usize) -> Option<usize>) -> Vec<Change> {
    let mut changes = Vec::new();
    for (wire, end) in h.ends_on(Thing::Plug(plug)) {
        let Terminal::Plug(_, way) = end.of(h.job, wire) else { continue };
        match to(way) {
            Some(at) if at == way => {}
            Some(at) => changes.push(Change::End { wire, end, at: Terminal::Plug(plug, at) }),
            None => changes.push(Change::Off(wire)),
        }
    }
    changes
}

#[cfg(test)]
mod tests {
    use super::mirrored;

    #[test]
    fn one_row_and_two() {
        assert_eq!((0..6).map(|w| mirrored(w, 6, 6)).collect::<Vec<_>>(), [5, 4, 3, 2, 1, 0]);
        assert_eq!((0..8).map(|w| mirrored(w, 8, 4)).collect::<Vec<_>>(), [3, 2, 1, 0, 7, 6, 5, 4]);
    }
}
