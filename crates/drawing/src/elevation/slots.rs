//! What stands side by side on the way from the wall to the loads, and in which order.

use std::collections::BTreeMap;
use voltwright_job::{Job, Terminal};

/// A thing on the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Slot {
    /// A part.
    Part(usize),
    /// The case.
    Chassis,
    /// A plug that goes into nothing.
    Plug(usize),
    /// A load with its plugs and sockets.
    Load(usize),
}

impl Slot {
    /// Where a terminal is.
    pub fn of(job: &Job, terminal: Terminal) -> Self {
        match terminal {
            Terminal::Part(p, _) => Slot::Part(p),
            Terminal::Plug(p, _) => job.plugs[p].mates.map_or(Slot::Plug(p), |(l, _)| Slot::Load(l)),
            Terminal::Socket(l, ..) => Slot::Load(l),
            Terminal::Chassis => Slot::Chassis,
        }
    }

    /// Its name for people.
    pub fn name(self, job: &Job) -> &str {
        match self {
            Slot::Part(p) => &job.parts[p].key.text,
            Slot::Plug(p) => &job.plugs[p].key.text,
            Slot::Load(l) => &job.loads[l].name,
            Slot::Chassis => "chassis",
        }
    }
}

/// A wire as a step on the way.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    pub ends: (Slot, Slot),
    /// Wires that bring power out come first, then those that bring it back, then the rest.
    pub turn: u8,
}

/// All things that a wire goes to, and all loads, from the wall outwards; loads that are not plugged in come last.
pub(super) fn order(job: &Job, links: &[Link], connected: &[bool]) -> Vec<Slot> {
    let mut slots: Vec<Slot> = links.iter().flat_map(|l| [l.ends.0, l.ends.1]).collect();
    slots.extend((0..job.loads.len()).map(Slot::Load));
    slots.sort();
    slots.dedup();
    let start: Vec<Slot> = match job.inlet().map(Slot::Part).filter(|s| slots.contains(s)) {
        Some(inlet) => vec![inlet],
        None => slots.iter().copied().filter(|s| is_source(job, *s)).collect(),
    };
    let distance = distances(&start, links);
    let ranks = ranks(&slots, links, &distance);
    let is_out = |s: &Slot| matches!(s, Slot::Load(l) if !connected[*l]);
    let half = |s: &Slot| if *s == Slot::Chassis { -1 } else { 0 };
    slots.sort_by_key(|s| (is_out(s), 2 * ranks[s] as i64 + half(s), *s));
    slots
}

fn is_source(job: &Job, slot: Slot) -> bool {
    use voltwright_job::PartKind::{MainsSupply, RawSupply};
    matches!(slot, Slot::Part(p) if matches!(job.parts[p].kind, MainsSupply(_) | RawSupply(_)))
}

/// Steps from the start to each thing, along wires of an earlier turn first.
fn distances(start: &[Slot], links: &[Link]) -> BTreeMap<Slot, usize> {
    let mut known: BTreeMap<Slot, usize> = start.iter().map(|s| (*s, 0)).collect();
    for turn in 0..3 {
        loop {
            let mut found: BTreeMap<Slot, usize> = BTreeMap::new();
            for link in links.iter().filter(|l| l.turn <= turn) {
                for (a, b) in [link.ends, (link.ends.1, link.ends.0)] {
                    if let (Some(d), None) = (known.get(&a), known.get(&b)) {
                        let nearest = found.entry(b).or_insert(d + 1);
                        *nearest = (*nearest).min(d + 1);
                    }
                }
            }
            // The nearest first: a breadth-first walk.
            let Some(least) = found.values().min().copied() else { break };
            known.extend(found.into_iter().filter(|(_, d)| *d == least));
        }
    }
    known
}

/// The longest way to each thing along wires that lead away from the start; between equally far ones parts come first.
fn ranks(slots: &[Slot], links: &[Link], distance: &BTreeMap<Slot, usize>) -> BTreeMap<Slot, usize> {
    let far = |s: &Slot| (distance.get(s).copied().unwrap_or(usize::MAX), *s);
    let mut ranks: BTreeMap<Slot, usize> = slots.iter().map(|s| (*s, 0)).collect();
    let mut by_distance = slots.to_vec();
    by_distance.sort_by_key(far);
    for slot in &by_distance {
        let before = links.iter().filter(|l| l.turn == 0).filter_map(|l| match l.ends {
            (a, b) if b == *slot && far(&a) < far(slot) => Some(a),
            (a, b) if a == *slot && far(&b) < far(slot) => Some(b),
            _ => None,
        });
        let rank = before.map(|s| ranks[&s] + 1).max().unwrap_or(0);
        let least = distance.get(slot).copied().unwrap_or(slots.len());
        ranks.insert(*slot, rank.max(least));
    }
    ranks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_way_counts() {
        let [a, b, c, d] = [0, 1, 2, 3].map(Slot::Part);
        let link = |x, y, turn| Link { ends: (x, y), turn };
        // a feeds b and c, b feeds c too; d hangs on a return wire only.
        let links = [link(a, b, 0), link(c, a, 0), link(b, c, 0), link(d, a, 1)];
        let distance = distances(&[a], &links);
        let ranks = ranks(&[a, b, c, d], &links, &distance);
        assert_eq!([a, b, c, d].map(|s| ranks[&s]), [0, 1, 2, 1]);
    }
}
