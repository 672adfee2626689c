//! Covers found quickly: some columns, what they miss by the best value, then what has become superfluous is put back.

use super::bits::Bits;
use super::core::Core;

/// Some columns and what they cost together.
#[derive(Clone)]
pub(super) struct Chosen {
    pub columns: Vec<usize>,
    pub cost: u64,
}

/// A cover from columns wished for, in their order: for each row then still open, those with the fewest columns first, the
/// column that is cheapest for what it adds. Such rows are noted in `met`.
pub(super) fn complete(core: &Core, wished: Vec<usize>, met: &mut Bits) -> Chosen {
    let mut open = Bits::full(core.rows.len());
    let mut chosen = Vec::new();
    for j in wished {
        if core.columns[j].count_common(&open) > 0 {
            open.subtract(&core.columns[j]);
            chosen.push(j);
        }
    }
    while let Some(row) = open.iter().min_by_key(|i| core.rows[*i].count()) {
        met.insert(row);
        let price = |j: usize| core.costs[j] as f64 / core.columns[j].count_common(&open) as f64;
        let priced = core.rows[row].iter().map(|j| (price(j), j));
        let Some((_, best)) = priced.min_by(|a, b| a.0.total_cmp(&b.0)) else { break };
        open.subtract(&core.columns[best]);
        chosen.push(best);
    }
    without_superfluous(&mut chosen, core.rows.len(), |j| core.costs[j], |j| core.columns[j].iter());
    Chosen { cost: chosen.iter().map(|j| core.costs[*j]).sum(), columns: chosen }
}

/// Puts back columns whose rows the others cover, the dearest first, of equal ones the last.
pub(super) fn without_superfluous<I: Iterator<Item = usize>>(
    chosen: &mut Vec<usize>,
    rows: usize,
    cost: impl Fn(usize) -> u64,
    covers: impl Fn(usize) -> I,
) {
    let mut times = vec![0_u32; rows];
    chosen.iter().flat_map(|j| covers(*j)).for_each(|i| times[i] += 1);
    chosen.sort_unstable_by_key(|j| std::cmp::Reverse((cost(*j), *j)));
    chosen.retain(|j| {
        let needed = covers(*j).any(|i| times[i] == 1);
        if !needed {
            covers(*j).for_each(|i| times[i] -= 1);
        }
        needed
    });
    chosen.sort_unstable();
}
