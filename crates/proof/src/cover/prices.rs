//! A bound from below, by prices: if each row pays a price for being covered, what a cover costs beyond what its rows pay
//! is at least the sum of the columns that the rows overpay.
//!
//! For any prices u ≥ 0, no cover is cheaper than Σ uᵢ + Σ min(0, cⱼ − Σ uᵢ over the rows of j) (Lagrangian relaxation:
//! Geoffrion 1974, from memory). Of the many mistakes only few decide which readings are needed: so good prices are found
//! for a few rows, the others pay nothing, and rows that the best divided cover of the few leaves short are added to them.
//! Prices are whole numbers, a cost being `1 << shift` of them, so that the bound is exact however they were found.

use super::bits::Bits;
use super::core::Core;
use super::quick::{Chosen, complete};
use super::reduce::drop_columns;
use super::simplex::fair;

/// What prices tell of a problem.
pub(super) struct Bound {
    /// No cover is cheaper.
    pub cost: u64,
    /// What prices alone say of that, before rounding up, in prices.
    exact: i128,
    /// All costs are multiples of this.
    unit: u64,
    /// What each column costs beyond what its rows pay; negative where they overpay.
    pub beyond: Vec<i64>,
    /// The cheapest cover come upon.
    pub cover: Chosen,
    /// The best divided cover: columns and their shares.
    pub divided: Vec<(usize, f64)>,
}

/// Finds good prices, leaves them in `core.prices`, and tells the bound; stops once nothing below `budget` can be had.
pub(super) fn bound(core: &mut Core, budget: u64, shift: u32) -> Bound {
    let unit = core.costs.iter().fold(0, |unit, cost| common_divisor(unit, *cost)).max(1);
    let mut few: Bits = (0..core.rows.len()).filter(|i| core.prices[*i] > 0).collect();
    let mut cover = complete(core, Vec::new(), &mut few);
    let mut cost = 0;
    let mut divided;
    loop {
        divided = price(core, &few, shift);
        let (_, exact) = value(core, shift);
        cost = cost.max(rounded_up(exact, shift, unit));
        for at_least in [0.0, 0.5] {
            let mut order: Vec<&(usize, f64)> =
                divided.iter().filter(|(_, share)| *share > at_least).collect();
            order.sort_by(|a, b| b.1.total_cmp(&a.1));
            let other = complete(core, order.into_iter().map(|(j, _)| *j).collect(), &mut few);
            if other.cost < cover.cost {
                cover = other;
            }
        }
        if cost >= budget.min(cover.cost) || !add_short_rows(core, &divided, &mut few) {
            break;
        }
    }
    let (mut beyond, mut exact) = value(core, shift);
    exact += odd_one_out(core, &mut beyond);
    cost = cost.max(rounded_up(exact, shift, unit));
    Bound { cost, exact, unit, beyond, cover, divided }
}

/// Sets the prices of all rows to the best for a few; gives the columns of the best divided cover with their shares.
fn price(core: &mut Core, few: &Bits, shift: u32) -> Vec<(usize, f64)> {
    let mut small = core.keep(few, &Bits::full(core.names.len()));
    drop_columns(&mut small);
    let fair = fair(&small.costs, &small.columns, small.rows.len());
    core.prices.fill(0);
    let one = (1_u64 << shift) as f64;
    for (i, price) in few.iter().zip(&fair.prices) {
        // No price need be above that of the row's cheapest column.
        let most = core.rows[i].iter().map(|j| core.costs[j]).min().unwrap_or(0);
        core.prices[i] = ((price * one).round() as i64).clamp(0, (most as i64) << shift);
    }
    let shared = small.names.iter().zip(fair.shares).filter(|(_, share)| *share > SHORT);
    shared.filter_map(|(name, share)| Some((core.names.binary_search(name).ok()?, share))).collect()
}

/// A share below this is a rounding error.
const SHORT: f64 = 1e-6;

/// Adds rows that the divided cover leaves short, those most short first, unlike ones; false if there are none.
fn add_short_rows(core: &Core, divided: &[(usize, f64)], few: &mut Bits) -> bool {
    let mut covered = vec![0.0; core.rows.len()];
    for (j, share) in divided {
        core.columns[*j].iter().for_each(|i| covered[i] += share);
    }
    let mut short: Vec<usize> = (0..covered.len()).filter(|i| covered[*i] < 1.0 - SHORT).collect();
    short.sort_by(|a, b| covered[*a].total_cmp(&covered[*b]));
    let mut added: Vec<usize> = Vec::new();
    for i in short {
        let row = &core.rows[i];
        let alike = |other: &usize| 2 * core.rows[*other].count_common(row) > row.count();
        if !few.contains(i) && !added.iter().any(alike) {
            added.push(i);
            few.insert(i);
        }
    }
    !added.is_empty()
}

/// What each column costs beyond what its rows pay, and the bound that the prices give.
fn value(core: &Core, shift: u32) -> (Vec<i64>, i128) {
    let paying: Bits = (0..core.rows.len()).filter(|i| core.prices[*i] > 0).collect();
    let paid = |column: &Bits| column.common(&paying).map(|i| core.prices[i]).sum::<i64>();
    let pairs = core.costs.iter().zip(&core.columns);
    let beyond: Vec<i64> = pairs.map(|(cost, column)| ((*cost as i64) << shift) - paid(column)).collect();
    let prices: i128 = core.prices.iter().map(|price| i128::from(*price)).sum();
    let overpaid: i128 = beyond.iter().map(|beyond| i128::from(*beyond.min(&0))).sum();
    (beyond, prices + overpaid)
}

/// Raises the bound where an odd number of rows pay and columns cover them by twos: one row is left over for a column.
///
/// Half the sum of the rows of an odd set S says Σ ⌈kⱼ/2⌉ xⱼ ≥ (|S| + 1)/2, with kⱼ rows of S in column j (zero-half cut:
/// Caprara & Fischetti 1996, from memory). Shifting w from the price of each row of S to 2w on this inequality gains w, and
/// costs only columns of odd k their room: so w is the least of these and of the prices. Gives w.
fn odd_one_out(core: &Core, beyond: &mut [i64]) -> i128 {
    let paying: Bits = (0..core.rows.len()).filter(|i| core.prices[*i] > 0).collect();
    if paying.count().is_multiple_of(2) {
        return 0;
    }
    let odd: Vec<usize> =
        (0..beyond.len()).filter(|j| core.columns[*j].count_common(&paying) % 2 == 1).collect();
    let room = odd.iter().map(|j| beyond[*j]).chain(paying.iter().map(|i| core.prices[i]));
    let gain = room.min().unwrap_or(0).max(0);
    odd.into_iter().for_each(|j| beyond[j] -= gain);
    i128::from(gain)
}

impl Bound {
    /// Columns that no cover below `budget` can have, and columns that each such cover must have.
    pub fn settled(&self, budget: u64, shift: u32) -> (Bits, Bits) {
        let last = i128::from(budget.saturating_sub(1) / self.unit * self.unit) << shift;
        let mut settled = (Bits::default(), Bits::default());
        for (j, beyond) in self.beyond.iter().enumerate() {
            let other_way = self.exact + i128::from(beyond.abs());
            match (other_way > last, *beyond >= 0) {
                (true, true) => settled.0.insert(j),
                (true, false) => settled.1.insert(j),
                _ => {}
            }
        }
        settled
    }
}

/// The least sum of costs that is not below the bound; all costs are multiples of the unit.
fn rounded_up(exact: i128, shift: u32, unit: u64) -> u64 {
    let units = i128::from(unit) << shift;
    let whole = exact.max(0).div_euclid(units) + i128::from(exact.max(0).rem_euclid(units) > 0);
    u64::try_from(whole).unwrap_or(u64::MAX).saturating_mul(unit)
}

fn common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { common_divisor(b, a % b) }
}
