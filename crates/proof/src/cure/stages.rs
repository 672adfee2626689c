//! The stages that the program would make, where the job has its own.

use super::{Candidate, TextEdit};
use crate::proof::Proof;
use crate::stage;

pub(super) fn candidates(proof: &Proof<'_>, _: &[usize]) -> Vec<Candidate> {
    if proof.setup.job().stages.is_none() {
        return Vec::new();
    }
    let have: Vec<&str> = proof.setup.stages.iter().map(|s| s.name.as_str()).collect();
    let derived = stage::derived(&proof.setup.harness);
    let missing: Vec<String> =
        derived.into_iter().map(|s| s.name).filter(|n| !have.contains(&n.as_str())).collect();
    vec![Candidate {
        says: format!("go through all stages: {} are missing", missing.join(", ")),
        edits: vec![TextEdit::Remove("first-power.stages".to_owned())],
    }]
}
