//! A plug wired by the numbers of a look-alike with fewer ways in two rows: 20 for 24. The first row of the smaller ends
//! earlier, so its second row begins at a lower number: way 11 of 20 sits where 24 ways have number 13.

use super::plug_mirrored::renumbered;
use super::{Kind, Mistake};
use crate::harness::Harness;

pub(super) static KIND: Kind =
    Kind { code: "look-alike", about: "a plug wired by a look-alike's numbers", weight: 1.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    for (p, plug) in h.job.plugs.iter().enumerate() {
        let Some(like) = plug.look_alike else { continue };
        let readings = [
            ("numbered as if it had", placed as fn(usize, usize, usize) -> Option<usize>),
            ("wired from the pin list of", listed),
        ];
        for (says, to) in readings {
            let changes = renumbered(h, p, |way| to(way, plug.ways, like));
            if !changes.is_empty() {
                mistakes.push(Mistake::new(
                    format!("{} is {says} {like} ways", plug.key),
                    format!("{}: which list its numbers were taken from", plug.key),
                    changes,
                ));
            }
        }
    }
    mistakes
}

/// Where a way lands if the housing is counted as the smaller one, from the same end: the row breaks earlier.
fn placed(way: usize, ways: usize, like: usize) -> Option<usize> {
    let (row, short) = (ways / 2, like / 2);
    match way {
        _ if way < short => Some(way),
        _ if way < like => Some(row + way - short),
        _ => None,
    }
}

/// Where a way lands if it is put under the number that the smaller one gives to the same place.
fn listed(way: usize, ways: usize, like: usize) -> Option<usize> {
    let (row, short) = (ways / 2, like / 2);
    match way {
        _ if way % row >= short => None,
        _ if way < row => Some(way),
        _ => Some(way - row + short),
    }
}

#[cfg(test)]
mod tests {
    use super::{listed, placed};

    #[test]
    fn twenty_for_twenty_four() {
        assert_eq!(placed(9, 24, 20), Some(9));
        assert_eq!(placed(10, 24, 20), Some(12)); // way 11 of 20 sits where 24 ways have 13
        assert_eq!(placed(20, 24, 20), None);
        assert_eq!(listed(12, 24, 20), Some(10));
        assert_eq!(listed(10, 24, 20), None);
        // One undoes the other.
        assert!((0..20).all(|way| placed(way, 24, 20).and_then(|w| listed(w, 24, 20)) == Some(way)));
    }
}
