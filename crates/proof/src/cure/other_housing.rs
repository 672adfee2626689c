//! Another housing for one of two plugs of one shape, so that they cannot be exchanged.

use super::{Candidate, TextEdit, free_ways, plugs};
use crate::proof::Proof;

pub(super) fn candidates(proof: &Proof<'_>, escapes: &[usize]) -> Vec<Candidate> {
    let job = proof.setup.job();
    let twins = plugs(proof, escapes, &["twins-exchanged"]);
    let mut candidates = Vec::new();
    for p in twins {
        // Each pair once, whether one names the other or both do.
        let Some(q) = job.plugs[p].twin.filter(|q| !(*q < p && job.plugs[*q].twin == Some(p))) else {
            continue;
        };
        let (a, b) = (&job.plugs[p].key, &job.plugs[q].key);
        let spare = free_ways(job, proof, p) + free_ways(job, proof, q);
        let how = if spare == 0 {
            "neither has a way to spare for a key: change the housing of one, or make their leads so long that each reaches its own socket only, and tag leads and sockets"
        } else {
            "block different ways of the two, or change the housing of one"
        };
        candidates.push(Candidate {
            says: format!("make {a} and {b} differ ({how})"),
            edits: vec![
                TextEdit::Remove(format!("plug.{a}.twin")),
                TextEdit::Remove(format!("plug.{b}.twin")),
            ],
        });
    }
    candidates
}
