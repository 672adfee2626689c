//! Two ends of wires exchanged on one plug or part.

use super::wire_moved::ACROSS;
use super::{Kind, Mistake};
use crate::change::Change;
use crate::harness::Harness;

pub(super) static KIND: Kind =
    Kind { code: "ends-exchanged", about: "two ends of wires exchanged", weight: 2.0, all };

/// How common it is for ends that are not neighbours, beside those that are: our own estimate.
const FURTHER: f64 = 0.3;

fn all(h: &Harness<'_>) -> Vec<Mistake> {
    let mut mistakes = Vec::new();
    for on in h.things() {
        let (ends, beside) = (h.ends_on(on), h.neighbours(on));
        for (i, (wa, ea)) in ends.iter().enumerate() {
            for (wb, eb) in &ends[i + 1..] {
                let (a, b) = (ea.of(h.job, *wa), eb.of(h.job, *wb));
                if a == b || wa == wb {
                    continue;
                }
                let mistake = Mistake::new(
                    format!(
                        "{} and {} are exchanged at {} and {}",
                        h.wire(*wa),
                        h.wire(*wb),
                        h.name(a),
                        h.name(b)
                    ),
                    format!("{} and {}", h.name(a), h.name(b)),
                    vec![
                        Change::End { wire: *wa, end: *ea, at: b },
                        Change::End { wire: *wb, end: *eb, at: a },
                    ],
                );
                mistakes.push(mistake.sharing(match () {
                    () if h.wiring.is_on_mains(a) != h.wiring.is_on_mains(b) => ACROSS,
                    () if beside.contains(&(a, b)) || beside.contains(&(b, a)) => 1.0,
                    () => FURTHER,
                }));
            }
        }
    }
    mistakes
}
