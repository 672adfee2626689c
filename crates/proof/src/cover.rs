//! Minimum-cost cover: the cheapest set of columns that between them cover every row.
//!
//! Exact and the same each time: what is plain is decided (`reduce`), what is left falls into parts (`core`), prices give
//! a bound from below (`prices`, found by `simplex`) and guide quick covers (`quick`), and branch and bound closes the gap
//! (`search`).
//!
//! ```
//! use voltwright_proof::cover::{Column, least_cost};
//! let reading = |cost, rows: &[usize]| Column { cost, rows: rows.iter().copied().collect() };
//! let menu = [reading(30, &[0, 1, 2]), reading(10, &[0, 1]), reading(10, &[2]), reading(10, &[1, 2])];
//! let cover = least_cost(&menu, 3, 1000)?;
//! assert_eq!((cover.cost, cover.bound), (20, 20));
//! # Ok::<(), voltwright_proof::cover::Uncoverable>(())
//! ```

mod bits;
mod core;
mod prices;
mod quick;
mod reduce;
mod search;
mod simplex;
mod telling;

pub use bits::Bits;
pub use telling::more_telling;

use self::core::Core;
use quick::without_superfluous;
use search::Search;
use std::fmt;

/// A reading: what it costs and the rows that it covers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// What choosing it costs.
    pub cost: u32,
    /// The rows that it covers.
    pub rows: Bits,
}

/// Columns that cover every row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cover {
    /// The chosen columns, ascending; none of them is superfluous.
    pub columns: Vec<usize>,
    /// What they cost together.
    pub cost: u64,
    /// No cover is cheaper than this; equal to the cost when that is proven to be the least.
    pub bound: u64,
    /// How many problems were split in the search.
    pub explored: u64,
}

/// Rows that no column covers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Uncoverable {
    /// The rows, ascending.
    pub rows: Vec<usize>,
}

impl fmt::Display for Uncoverable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rows: Vec<String> = self.rows.iter().map(usize::to_string).collect();
        write!(f, "no column covers row {}", rows.join(", "))
    }
}

impl std::error::Error for Uncoverable {}

/// Finds the cheapest columns that cover the rows `0..rows`.
///
/// At most `effort` problems are split; if that is not enough, the cheapest cover found comes with the bound proven so far.
/// Rows of a column that are not below `rows` do not count.
pub fn least_cost(columns: &[Column], rows: usize, effort: u64) -> Result<Cover, Uncoverable> {
    let mut open = Bits::full(rows);
    columns.iter().for_each(|column| open.subtract(&column.rows));
    if !open.is_empty() {
        return Err(Uncoverable { rows: open.iter().collect() });
    }
    // What is free is taken at once, and put back in the end if it is superfluous.
    let (free, paid): (Vec<usize>, Vec<usize>) = (0..columns.len()).partition(|j| columns[*j].cost == 0);
    let mut open = Bits::full(rows);
    free.iter().for_each(|j| open.subtract(&columns[*j].rows));
    let dearest = paid.iter().map(|j| columns[*j].cost).max().unwrap_or(0);
    let mut search = Search { shift: shift(dearest, rows), effort, explored: 0 };
    let found = search.cover(Core::new(columns, &open), u64::MAX);
    let mut chosen = found.cover.map_or(paid, |cover| cover.columns);
    chosen.extend(free);
    let covers = |j: usize| columns[j].rows.iter().filter(|i| *i < rows);
    without_superfluous(&mut chosen, rows, |j| u64::from(columns[j].cost), covers);
    let cost = chosen.iter().map(|j| u64::from(columns[*j].cost)).sum();
    Ok(Cover { columns: chosen, cost, bound: found.bound.min(cost), explored: search.explored })
}

/// How fine prices are: as fine as is useful, and so coarse that the prices of all rows never overflow a sum.
fn shift(dearest: u32, rows: usize) -> u32 {
    let bits = (u32::BITS - dearest.leading_zeros()) + (usize::BITS - rows.leading_zeros());
    62_u32.saturating_sub(bits).min(16)
}
