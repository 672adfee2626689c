//! The commands, one file each; every one is `run(&arguments) -> Result<Verdict, Failure>`.

pub mod check;
pub mod completions;
pub mod man;
pub mod network;
pub mod new;
pub mod schema;
pub mod tables;

use crate::failure::Failure;

/// Data as JSON with a line end.
fn json(value: &impl serde::Serialize, pretty: bool) -> Result<String, Failure> {
    let text = if pretty { serde_json::to_string_pretty(value) } else { serde_json::to_string(value) };
    // Only a map with keys that are no texts could fail, and none of ours is.
    text.map(|t| t + "\n").map_err(|e| Failure::Ours(format!("the result could not be written as JSON: {e}")))
}
