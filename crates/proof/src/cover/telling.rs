//! Among covers of one cost, a more telling one.

use super::bits::Bits;
use super::{Column, Cover};

/// Exchanges chosen columns for unused ones of equal cost while the cover holds and the score rises.
///
/// Each exchange that betters the score is made as soon as it is met, columns tried in their order, until a whole round
/// betters nothing: cost and bound stay as they are.
pub fn more_telling(
    columns: &[Column],
    rows: usize,
    chosen: Cover,
    score: impl Fn(&[usize]) -> u64,
) -> Cover {
    let mut now = chosen;
    let mut best = score(&now.columns);
    let mut place = 0;
    let mut unchanged = 0;
    while unchanged < now.columns.len() {
        match exchange(columns, rows, &now.columns, place, best, &score) {
            Some((better, reached)) => {
                (now.columns, best, unchanged) = (better, reached, 0);
            }
            None => {
                unchanged += 1;
                place = (place + 1) % now.columns.len();
            }
        }
    }
    now
}

/// The first exchange of one chosen column that scores more than `best`.
fn exchange(
    columns: &[Column],
    rows: usize,
    chosen: &[usize],
    place: usize,
    best: u64,
    score: &impl Fn(&[usize]) -> u64,
) -> Option<(Vec<usize>, u64)> {
    let old = chosen[place];
    let mut needed = Bits::full(rows);
    chosen.iter().filter(|j| **j != old).for_each(|j| needed.subtract(&columns[*j].rows));
    let fits = |j: &usize| {
        let column = &columns[*j];
        column.cost == columns[old].cost && !chosen.contains(j) && needed.is_subset(&column.rows)
    };
    (0..columns.len()).filter(fits).find_map(|new| {
        let mut other = chosen.to_vec();
        other[place] = new;
        other.sort_unstable();
        let reached = score(&other);
        (reached > best).then_some((other, reached))
    })
}
