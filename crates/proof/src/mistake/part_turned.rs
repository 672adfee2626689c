//! A polarised part the other way round: diode, clamp, capacitor, or the two leads of a supply's output.

use super::{Kind, Mistake};
use crate::change::{Change, End};
use crate::harness::{Harness, Thing};
use voltwright_job::{PartKind, Terminal};

pub(super) static KIND: Kind =
    Kind { code: "part-turned", about: "a polarised part turned round", weight: 1.5, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    for (p, part) in h.job.parts.iter().enumerate() {
        let key = &part.key;
        match &part.kind {
            PartKind::Diode(_) | PartKind::Clamp(_) | PartKind::Capacitor(_) => mistakes.push(Mistake::new(
                format!("{key} is the other way round"),
                format!("{key}: its mark"),
                vec![Change::Turned(p)],
            )),
            PartKind::MainsSupply(_) | PartKind::RawSupply(_) | PartKind::Converter(_) => {
                mistakes.extend(leads_turned(h, p));
            }
            _ => {}
        }
    }
    mistakes
}

/// Plus and minus leads of each pair of terminals of a part exchanged.
fn leads_turned(h: &Harness<'_>, p: usize) -> Vec<Mistake> {
    let part = &h.job.parts[p];
    let mut mistakes = Vec::new();
    for (plus, name) in part.terminals.iter().enumerate() {
        let Some(stem) = name.strip_suffix(".plus") else { continue };
        let Some(minus) = part.terminals.iter().position(|t| *t == format!("{stem}.minus")) else { continue };
        let mut changes = Vec::new();
        for (wire, end) in h.ends_on(Thing::Part(p)) {
            let Terminal::Part(_, t) = end.of(h.job, wire) else { continue };
            if t == plus || t == minus {
                changes.push(Change::End { wire, end, at: Terminal::Part(p, plus + minus - t) });
            }
        }
        let both_ends_here =
            |w: &usize| End::BOTH.iter().all(|e| matches!(e.of(h.job, *w), Terminal::Part(q, _) if q == p));
        changes.retain(|c| !matches!(c, Change::End { wire, .. } if both_ends_here(wire)));
        if !changes.is_empty() {
            mistakes.push(Mistake::new(
                format!("plus and minus of {}.{stem} are exchanged", part.key),
                format!("{}.{stem}: its two leads", part.key),
                changes,
            ));
        }
    }
    mistakes
}
