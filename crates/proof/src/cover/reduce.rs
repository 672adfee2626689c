//! What can be decided without search: columns that must be chosen, rows and columns that do not matter.

use super::bits::Bits;
use super::core::Core;

/// A problem with all that is plain decided.
pub(super) struct Reduced {
    /// Columns that every cover of what was left needs, by the caller's numbers.
    pub chosen: Vec<usize>,
    pub cost: u64,
    pub core: Core,
}

/// Takes what must be taken and drops what does not matter until nothing changes; `None` if a row has no column.
pub(super) fn reduce(core: Core) -> Option<Reduced> {
    let mut now = Reduced { chosen: Vec::new(), cost: 0, core };
    loop {
        let size = (now.core.rows.len(), now.core.names.len());
        choose_sole_columns(&mut now)?;
        drop_rows(&mut now.core);
        drop_columns(&mut now.core);
        if size == (now.core.rows.len(), now.core.names.len()) {
            return Some(now);
        }
    }
}

/// A row with one column left has it chosen.
fn choose_sole_columns(now: &mut Reduced) -> Option<()> {
    let core = &now.core;
    let mut sole = Bits::new(core.names.len());
    for row in &core.rows {
        let mut columns = row.iter();
        let first = columns.next()?;
        if columns.next().is_none() {
            sole.insert(first);
        }
    }
    if !sole.is_empty() {
        now.chosen.extend(sole.iter().map(|j| core.names[j]));
        now.cost += sole.iter().map(|j| core.costs[j]).sum::<u64>();
        now.core = core.after(&sole, &Bits::default());
    }
    Some(())
}

/// A row goes if the columns of another are all among its own: covering the other covers it. Of equal rows the first stays.
fn drop_rows(core: &mut Core) {
    let sizes: Vec<usize> = core.columns.iter().map(Bits::count).collect();
    let mut kept = Bits::full(core.rows.len());
    for (i, row) in core.rows.iter().enumerate() {
        // All rows that hold this one's columns are in each of its columns, so in its shortest.
        let shortest = row.iter().min_by_key(|j| sizes[*j]);
        for other in shortest.filter(|_| kept.contains(i)).iter().flat_map(|j| core.columns[*j].iter()) {
            let wider = &core.rows[other];
            if other != i && row.is_subset(wider) && (i < other || row != wider) {
                kept.remove(other);
            }
        }
    }
    if kept.count() < core.rows.len() {
        *core = core.keep(&kept, &Bits::full(core.names.len()));
    }
}

/// A column goes if another covers as much for no more.
pub(super) fn drop_columns(core: &mut Core) {
    merge_columns(core);
    let sizes: Vec<usize> = core.rows.iter().map(Bits::count).collect();
    let better = |j: usize, other: usize| {
        let (mine, its) = (&core.columns[j], &core.columns[other]);
        let no_dearer = other != j && core.costs[other] <= core.costs[j];
        no_dearer && mine.is_subset(its)
    };
    let stays = |j: &usize| {
        // All columns that hold this one's rows are in each of its rows, so in its shortest.
        let shortest = core.columns[*j].iter().min_by_key(|i| sizes[*i]);
        !shortest.is_some_and(|i| core.rows[i].iter().any(|other| better(*j, other)))
    };
    let kept: Bits = (0..core.names.len()).filter(stays).collect();
    if kept.count() < core.names.len() {
        *core = core.keep(&Bits::full(core.rows.len()), &kept);
    }
}

/// Of columns with the same rows the cheapest stays, of these the first.
fn merge_columns(core: &mut Core) {
    let mut order: Vec<usize> = (0..core.names.len()).collect();
    order.sort_by(|a, b| (&core.columns[*a], core.costs[*a]).cmp(&(&core.columns[*b], core.costs[*b])));
    order.dedup_by(|next, kept| core.columns[*next] == core.columns[*kept]);
    if order.len() < core.names.len() {
        *core = core.keep(&Bits::full(core.rows.len()), &order.into_iter().collect());
    }
}
