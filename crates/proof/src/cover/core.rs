//! The problem while it is worked on: only the rows and columns that are still open, numbered anew.

use super::Column;
use super::bits::Bits;

/// Open rows and columns, each seen from the other, with what has been learnt of the rows' prices.
pub(super) struct Core {
    /// The caller's number of each column.
    pub names: Vec<usize>,
    pub costs: Vec<u64>,
    /// The rows of each column; none is empty.
    pub columns: Vec<Bits>,
    /// The columns of each row.
    pub rows: Vec<Bits>,
    /// The price of each row, see `prices`.
    pub prices: Vec<i64>,
}

impl Core {
    /// The rows of `open`, equal ones once, and the columns that cover any of them, the cheapest of equal ones.
    pub fn new(columns: &[Column], open: &Bits) -> Self {
        let mut distinct: Vec<(Bits, u32, usize)> = Vec::new();
        for (name, column) in columns.iter().enumerate() {
            let mut rows = column.rows.clone();
            rows.intersect(open);
            distinct.push((rows, column.cost, name));
        }
        distinct.sort_unstable();
        distinct.dedup_by(|next, kept| next.0 == kept.0);
        distinct.sort_unstable_by_key(|(_, _, name)| *name);
        let most = open.iter().last().map_or(0, |last| last + 1);
        let mut rows = vec![Bits::new(distinct.len()); most];
        for (j, (covered, ..)) in distinct.iter().enumerate() {
            covered.iter().for_each(|i| rows[i].insert(j));
        }
        let all = Self {
            names: distinct.iter().map(|(_, _, name)| *name).collect(),
            costs: distinct.iter().map(|(_, cost, _)| u64::from(*cost)).collect(),
            columns: distinct.into_iter().map(|(rows, ..)| rows).collect(),
            prices: vec![0; rows.len()],
            rows,
        };
        let mut order: Vec<usize> = open.iter().collect();
        order.sort_by(|a, b| all.rows[*a].cmp(&all.rows[*b]));
        order.dedup_by(|next, kept| all.rows[*next] == all.rows[*kept]);
        all.keep(&order.into_iter().collect(), &Bits::full(all.names.len()))
    }

    /// This problem with only some rows and columns; columns left with no row go too.
    pub fn keep(&self, rows: &Bits, columns: &Bits) -> Self {
        let mut place = vec![0; self.rows.len()];
        rows.iter().enumerate().for_each(|(new, old)| place[old] = new);
        let height = rows.count();
        let mut kept = Self {
            names: Vec::new(),
            costs: Vec::new(),
            columns: Vec::new(),
            rows: vec![Bits::new(columns.count()); height],
            prices: rows.iter().map(|i| self.prices[i]).collect(),
        };
        for j in columns.iter() {
            let mut covered = Bits::new(height);
            for new in self.columns[j].common(rows).map(|old| place[old]) {
                covered.insert(new);
                kept.rows[new].insert(kept.names.len());
            }
            if !covered.is_empty() {
                kept.names.push(self.names[j]);
                kept.costs.push(self.costs[j]);
                kept.columns.push(covered);
            }
        }
        kept
    }

    /// This problem once some columns are chosen and others given up.
    pub fn after(&self, chosen: &Bits, given_up: &Bits) -> Self {
        let mut rows = Bits::full(self.rows.len());
        chosen.iter().for_each(|j| rows.subtract(&self.columns[j]));
        let mut columns = Bits::full(self.names.len());
        columns.subtract(chosen);
        columns.subtract(given_up);
        self.keep(&rows, &columns)
    }

    /// Parts that have no column in common, by their first row.
    pub fn parts(self) -> Vec<Self> {
        let mut open = Bits::full(self.rows.len());
        let mut parts = Vec::new();
        while let Some(first) = open.first() {
            let (mut rows, mut columns) = (Bits::new(self.rows.len()), Bits::new(self.names.len()));
            let mut ahead = vec![first];
            rows.insert(first);
            while let Some(row) = ahead.pop() {
                for j in self.rows[row].difference(&columns).iter() {
                    columns.insert(j);
                    ahead.extend(self.columns[j].difference(&rows).iter());
                    rows.unite(&self.columns[j]);
                }
            }
            if rows.count() == self.rows.len() {
                return vec![self];
            }
            open.subtract(&rows);
            parts.push(self.keep(&rows, &columns));
        }
        parts
    }
}
