//! A part failed in its worst way: regulator or converter shorted through, feedback open, diode shorted or open,
//! capacitor shorted, an output that gives nothing.

use super::{Kind, Mistake};
use crate::change::{Change, Failure};
use crate::harness::Harness;
use voltwright_job::{PartKind, nets};

pub(super) static KIND: Kind =
    Kind { code: "part-failed", about: "a part failed in its worst way", weight: 1.0, all };

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let low = |p: &usize| {
        let terminals = (0..h.job.parts[*p].terminals.len()).map(|t| voltwright_job::Terminal::Part(*p, t));
        terminals.into_iter().any(|t| !h.wiring.is_on_mains(t) && h.wiring.is_wired(t))
    };
    (0..h.job.parts.len()).filter(low).flat_map(|p| failures(h, p)).collect()
}

fn failures(h: &Harness<'_>, p: usize) -> Vec<Mistake> {
    let part = &h.job.parts[p];
    let key = &part.key;
    let mistake = |says: String, failure| {
        Mistake::new(says, format!("{key}: measure it by itself"), vec![Change::Failed(p, failure)])
    };
    match &part.kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => {
            let mut all = Vec::new();
            for (i, o) in s.outputs.iter().enumerate() {
                all.push(mistake(
                    format!("{key}.{} is too high: its feedback is open", o.name),
                    Failure::High(i),
                ));
                all.push(mistake(format!("{key}.{} gives nothing", o.name), Failure::Dead(i)));
            }
            let one_ground = nets::joined_terminals(part).len() > 1;
            if matches!(part.kind, PartKind::Converter(_)) && one_ground {
                all.push(mistake(format!("{key} is shorted through from input to output"), Failure::Shorted));
            }
            all
        }
        PartKind::RawSupply(s) => {
            let dead = |(i, o): (usize, &voltwright_job::RawOutput)| {
                mistake(format!("{key}.{} gives nothing", o.name), Failure::Dead(i))
            };
            s.outputs.iter().enumerate().map(dead).collect()
        }
        PartKind::Regulator(_) => vec![
            mistake(format!("{key} is shorted through from input to output"), Failure::Shorted),
            mistake(format!("{key} gives nothing"), Failure::Open),
        ],
        PartKind::Diode(_) => vec![
            mistake(format!("{key} is shorted"), Failure::Shorted),
            mistake(format!("{key} is open"), Failure::Open),
        ],
        PartKind::Clamp(_) | PartKind::Capacitor(_) => {
            vec![mistake(format!("{key} is shorted"), Failure::Shorted)]
        }
        PartKind::Interlock(_) => vec![mistake(format!("{key} is stuck closed"), Failure::Stuck)],
        _ => Vec::new(),
    }
}
