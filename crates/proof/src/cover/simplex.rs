//! The best prices of a small problem, and the share of each column in the best cover that may divide columns.
//!
//! Highest prices that no column's rows overpay: max Σ uᵢ, Σ uᵢ over the rows of j ≤ cⱼ, u ≥ 0, by the simplex method with
//! a dense tableau (Dantzig's rule). It starts from no prices at all, and every step on the way keeps prices that nobody
//! overpays, so that it can stop anywhere. What is exact about a bound is not found here, see `prices`.

use super::bits::Bits;

/// Prices of the rows, shares of the columns.
pub(super) struct Fair {
    pub prices: Vec<f64>,
    pub shares: Vec<f64>,
}

/// Entries below this are taken for rounding errors: all costs and counts are whole numbers, so true ones are larger.
const NOTHING: f64 = 1e-9;

/// Solves for prices and shares.
pub(super) fn fair(costs: &[u64], columns: &[Bits], rows: usize) -> Fair {
    let mut tableau = Tableau::new(costs, columns, rows);
    // Some three pivots a row are usual; the limit only guards against rounding errors going round in circles.
    for _ in 0..50 * (rows + 10) {
        let Some((row, column)) = tableau.choose() else { break };
        tableau.pivot(row, column);
    }
    tableau.read()
}

/// One line for each column of the problem and a last one for the gain; one entry for each row of the problem and a last
/// one for what is left of the column's cost.
struct Tableau {
    width: usize,
    entries: Vec<f64>,
    /// What stands at each line and at each entry: a price (below `rows`), or the slack of a column.
    lines: Vec<usize>,
    heads: Vec<usize>,
}

impl Tableau {
    fn new(costs: &[u64], columns: &[Bits], rows: usize) -> Self {
        let width = rows + 1;
        let mut entries = vec![0.0; width * (costs.len() + 1)];
        for (j, (cost, covered)) in costs.iter().zip(columns).enumerate() {
            covered.iter().for_each(|i| entries[j * width + i] = 1.0);
            // Costs that differ by a trace never tie, and what never ties never goes round in circles.
            let trace = ((j * 7919 + 1) % 1009) as f64 * 1e-9;
            entries[j * width + rows] = *cost as f64 * (1.0 + trace);
        }
        let gain = costs.len() * width;
        entries[gain..gain + rows].fill(1.0);
        let lines = (rows..rows + costs.len()).collect();
        Self { width, entries, lines, heads: (0..rows).collect() }
    }

    /// The entry of most gain, and the line that gives out first as it grows.
    fn choose(&self) -> Option<(usize, usize)> {
        let last = self.width - 1;
        let gain = &self.entries[self.lines.len() * self.width..][..last];
        let better = |best: Option<(f64, usize)>, (i, gain): (usize, &f64)| match best {
            Some((most, _)) if *gain <= most => best,
            _ if *gain > NOTHING => Some((*gain, i)),
            _ => best,
        };
        let (_, column) = gain.iter().enumerate().fold(None, better)?;
        let mut first: Option<(f64, usize)> = None;
        for (line, entries) in self.entries.chunks_exact(self.width).take(self.lines.len()).enumerate() {
            if entries[column] > NOTHING {
                let room = entries[last] / entries[column];
                if first.is_none_or(|(least, _)| room < least) {
                    first = Some((room, line));
                }
            }
        }
        first.map(|(_, line)| (line, column))
    }

    /// Exchanges what stands at a line and at an entry.
    fn pivot(&mut self, line: usize, column: usize) {
        let width = self.width;
        let (above, rest) = self.entries.split_at_mut(line * width);
        let (own, below) = rest.split_at_mut(width);
        let pivot = 1.0 / own[column];
        own[column] = 1.0;
        own.iter_mut().for_each(|entry| *entry *= pivot);
        for other in above.chunks_exact_mut(width).chain(below.chunks_exact_mut(width)) {
            let times = std::mem::take(&mut other[column]);
            if times.abs() > 0.0 {
                other.iter_mut().zip(own.iter()).for_each(|(entry, own)| *entry -= times * own);
            }
        }
        std::mem::swap(&mut self.lines[line], &mut self.heads[column]);
    }

    fn read(&self) -> Fair {
        let rows = self.width - 1;
        let mut fair = Fair { prices: vec![0.0; rows], shares: vec![0.0; self.lines.len()] };
        for (line, what) in self.lines.iter().enumerate().filter(|(_, what)| **what < rows) {
            fair.prices[*what] = self.entries[line * self.width + rows];
        }
        let gain = self.lines.len() * self.width;
        for (column, what) in self.heads.iter().enumerate().filter(|(_, what)| **what >= rows) {
            fair.shares[what - rows] = -self.entries[gain + column];
        }
        fair
    }
}
