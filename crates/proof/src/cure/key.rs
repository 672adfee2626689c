//! A key: the plug then fits in one position only.

use super::{Candidate, TextEdit, free_ways, plugs};
use crate::proof::Proof;

pub(super) fn candidates(proof: &Proof<'_>, escapes: &[usize]) -> Vec<Candidate> {
    let job = proof.setup.job();
    let open = plugs(proof, escapes, &["plug-turned", "plug-shifted"]);
    open.into_iter()
        .map(|p| {
            let key = &job.plugs[p].key;
            let how = match free_ways(job, proof, p) {
                0 => "it has no way to spare for a blocked one: a housing with a rib or a latch",
                _ => "block a way that carries nothing and cut its pin, or a housing with a rib",
            };
            Candidate {
                says: format!("make {key} fit in one position only ({how})"),
                edits: vec![TextEdit::Flag(format!("plug.{key}.keyed"), true)],
            }
        })
        .collect()
}
