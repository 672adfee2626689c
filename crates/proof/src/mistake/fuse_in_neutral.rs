//! A mains fuse or a single-pole switch wired into the neutral: the line goes past it.

use super::{Kind, Mistake};
use crate::change::{Change, End};
use crate::harness::{Harness, Thing, thing};
use voltwright_job::{PartKind, Terminal};

pub(super) static KIND: Kind =
    Kind { code: "fuse-in-neutral", about: "a fuse or single-pole switch in the neutral", weight: 1.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let guards = (0..h.job.parts.len()).filter(|p| {
        let one_pole = match &h.job.parts[*p].kind {
            PartKind::Fuse(_) => true,
            PartKind::Switch(s) => s.poles == 1,
            _ => false,
        };
        one_pole && h.wiring.is_on_mains(Terminal::Part(*p, 0))
    });
    guards.filter_map(|p| in_neutral(h, p)).collect()
}

/// In: line to the guard. Out: from the guard to a thing where a neutral wire goes too. The line wire takes the place of
/// the outgoing one, the neutral comes to the guard, and the outgoing one goes where the neutral went.
fn in_neutral(h: &Harness<'_>, p: usize) -> Option<Mistake> {
    let ends = h.ends_on(Thing::Part(p));
    let [(into, into_end), (out, out_end)] = ends[..] else { return None };
    let entry = into_end.of(h.job, into);
    let exit = out_end.other().of(h.job, out);
    let is_neutral = |t: Terminal| {
        h.job.inlet().and_then(|i| h.job.terminal(i, "neutral")).is_some_and(|n| h.wiring.paths.same(n, t))
    };
    let (neutral, end) = h.ends_on(thing(exit)).into_iter().find(|(w, e)| {
        *w != out && *w != into && is_neutral(e.of(h.job, *w)) && is_neutral(e.other().of(h.job, *w))
    })?;
    let went = end.of(h.job, neutral);
    let swap = |wire: usize, end: End, at: Terminal| Change::End { wire, end, at };
    let key = &h.job.parts[p].key;
    Some(Mistake::new(
        format!("{key} is in the neutral, the line goes past it"),
        format!("{key}: which of its leads comes from the line"),
        vec![swap(into, into_end, exit), swap(out, out_end.other(), went), swap(neutral, end, entry)],
    ))
}
