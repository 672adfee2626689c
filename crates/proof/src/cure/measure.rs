//! The resistance of a load measured by itself with the power off: a window instead of "anything".
//!
//! What it will come to is not known yet: it is tried with a few times the load's running voltage over current, as a board
//! usually shows, and with the meter's usual spread.

use super::{Candidate, TextEdit};
use crate::harm::Threat;
use crate::proof::Proof;
use voltwright_quantity::{Quantity, Resistance};

/// Times its running voltage over current that a board shows with the power off. Common practice.
const COLD: f64 = 6.0;

pub(super) fn candidates(proof: &Proof<'_>, escapes: &[usize]) -> Vec<Candidate> {
    let job = proof.setup.job();
    let mut candidates = Vec::new();
    for l in loads(proof, escapes) {
        let load = &job.loads[l];
        let unknown = load.draws.iter().filter(|d| d.cold.is_none());
        let mut edits = Vec::new();
        let mut rails = Vec::new();
        for draw in unknown {
            let rail = &job.rails[draw.rail];
            let running = rail.nominal.nominal().si().abs() / draw.run.nominal().si().max(1e-9);
            let ohms = format!("{} ± 20 %", Resistance::ohms(COLD * running)).replace('\u{2212}', "-");
            rails.push(rail.name.text.clone());
            edits.push(TextEdit::Set(format!("load.{}.draws.{}.cold", load.key, rail.name), ohms));
        }
        if !edits.is_empty() {
            candidates.push(Candidate {
                says: format!(
                    "measure {} by itself, power off, from {} to com, and enter what the meter shows as `cold` (tried here with what a board often shows)",
                    load.name,
                    rails.join(", ")
                ),
                edits,
            });
        }
    }
    candidates
}

/// The loads that are harmed, or that a plug of an escape goes to.
fn loads(proof: &Proof<'_>, escapes: &[usize]) -> Vec<usize> {
    let mut loads = Vec::new();
    for m in escapes {
        let harmed = proof.class(*m).outcome.harm.and_then(|(_, harm)| match harm.threat {
            Threat::Rail(l, _) | Threat::Order(l, _) => Some(l),
            Threat::Contact(p, _) => proof.setup.job().plugs[p].mates.map(|(l, _)| l),
            _ => None,
        });
        loads.extend(harmed.filter(|l| !loads.contains(l)).into_iter().collect::<Vec<_>>());
    }
    loads
}
