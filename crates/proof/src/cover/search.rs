//! Branch and bound: what is left after the plain decisions is split into parts, bounded, and then tried.

use super::bits::Bits;
use super::core::Core;
use super::prices::{Bound, bound};
use super::quick::Chosen;
use super::reduce::{Reduced, reduce};

/// A search under way.
pub(super) struct Search {
    /// A cost is `1 << shift` prices.
    pub shift: u32,
    /// How many problems may still be split.
    pub effort: u64,
    pub explored: u64,
}

/// What was found of a problem.
pub(super) struct Found {
    /// A cover below the budget, by the caller's numbers, if one was found: if none, there is none or effort ran out.
    pub cover: Option<Chosen>,
    /// No cover of the problem is cheaper.
    pub bound: u64,
}

/// A part with its bound.
struct Part {
    core: Core,
    known: Bound,
}

impl Search {
    /// Covers a problem for less than the budget.
    pub fn cover(&mut self, core: Core, budget: u64) -> Found {
        let Some(Reduced { mut chosen, cost, core }) = reduce(core) else {
            return Found { cover: None, bound: u64::MAX };
        };
        let budget = budget.saturating_sub(cost);
        let start = |mut core| Part { known: bound(&mut core, budget, self.shift), core };
        let parts: Vec<Part> = core.parts().into_iter().map(start).collect();
        let mut total: u64 = parts.iter().map(|part| part.known.cost).sum();
        let mut whole = (total < budget).then_some(cost);
        for part in parts {
            let others = total - part.known.cost;
            let Some(sum) = whole else { break };
            let found = self.part(part, budget.saturating_sub(others));
            total = others.saturating_add(found.bound);
            whole = found.cover.map(|cover| {
                chosen.extend(cover.columns);
                sum + cover.cost
            });
        }
        Found { cover: whole.map(|cost| Chosen { columns: chosen, cost }), bound: total.saturating_add(cost) }
    }

    fn part(&mut self, Part { core, known }: Part, budget: u64) -> Found {
        let names = |columns: &[usize]| columns.iter().map(|j| core.names[*j]).collect();
        let quick = Chosen { columns: names(&known.cover.columns), cost: known.cover.cost };
        let mut best = Found { cover: (quick.cost < budget).then_some(quick), bound: known.cost };
        let budget = budget.min(known.cover.cost);
        if known.cost >= budget || self.explored >= self.effort {
            return best;
        }
        self.explored += 1;
        let (never, always) = known.settled(budget, self.shift);
        let found = if never.is_empty() && always.is_empty() {
            self.branch(&core, &known, budget)
        } else {
            let mut found = self.with(&core, &always, &never, budget);
            // What was settled holds only for covers below the budget.
            found.bound = found.bound.min(budget);
            found
        };
        best.bound = best.bound.max(found.bound);
        best.cover = found.cover.or(best.cover);
        best
    }

    /// One of the columns of a row must be chosen: tries each, the cheapest by prices first, then gives it up.
    ///
    /// A row that is covered by parts of columns is taken, for the bound says least there.
    fn branch(&mut self, core: &Core, known: &Bound, mut budget: u64) -> Found {
        let mut undivided = Bits::new(core.rows.len());
        let whole = known.divided.iter().filter(|(_, share)| *share > 0.999);
        whole.for_each(|(j, _)| undivided.unite(&core.columns[*j]));
        let order = |i: &usize| {
            (undivided.contains(*i), core.rows[*i].count(), std::cmp::Reverse(core.prices[*i]), *i)
        };
        let row = (0..core.rows.len()).min_by_key(order);
        let mut columns: Vec<usize> = row.iter().flat_map(|i| core.rows[*i].iter()).collect();
        columns.sort_by_key(|j| (known.beyond[*j], *j));
        let mut best = Found { cover: None, bound: u64::MAX };
        let mut given_up = Bits::default();
        for j in columns {
            let found = self.with(core, &[j].into_iter().collect(), &given_up, budget);
            best.bound = best.bound.min(found.bound);
            if let Some(cover) = found.cover {
                budget = cover.cost;
                best.cover = Some(cover);
            }
            given_up.insert(j);
        }
        best
    }

    /// Covers a problem with some columns chosen and others given up.
    fn with(&mut self, core: &Core, chosen: &Bits, given_up: &Bits, budget: u64) -> Found {
        let cost: u64 = chosen.iter().map(|j| core.costs[j]).sum();
        let mut found = self.cover(core.after(chosen, given_up), budget.saturating_sub(cost));
        found.bound = found.bound.saturating_add(cost);
        if let Some(cover) = &mut found.cover {
            cover.columns.extend(chosen.iter().map(|j| core.names[j]));
            cover.cost += cost;
        }
        found
    }
}
