//! The commands, one file each; every one is `run(&arguments) -> Result<Verdict, Failure>`.

pub mod check;
pub mod completions;
pub mod export;
pub mod import;
pub mod judge;
pub mod man;
pub mod network;
pub mod new;
pub mod prove;
pub mod schema;
pub mod steps;
pub mod tables;
pub mod workshop;

use crate::failure::Failure;
use voltwright_job::Job;
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;

/// All mistakes of a job tried, on as many threads as there are.
fn proof_of(job: &Job) -> Result<Proof<'_>, Failure> {
    let setup = Setup::new(job)
        .map_err(|none| Failure::NoProof { stage: none.stage.clone(), why: none.why.to_string() })?;
    Ok(Proof::of(setup, threads()))
}

/// Threads to work on: the machine's, or as VOLTWRIGHT_THREADS says. No result depends on it.
fn threads() -> usize {
    let given = std::env::var("VOLTWRIGHT_THREADS").ok().and_then(|n| n.parse().ok());
    given.unwrap_or_else(|| std::thread::available_parallelism().map_or(1, usize::from)).max(1)
}

/// Data as JSON with a line end.
fn json(value: &impl serde::Serialize, pretty: bool) -> Result<String, Failure> {
    let text = if pretty { serde_json::to_string_pretty(value) } else { serde_json::to_string(value) };
    // Only a map with keys that are no texts could fail, and none of ours is.
    text.map(|t| t + "\n").map_err(|e| Failure::Ours(format!("the result could not be written as JSON: {e}")))
}
