//! `voltwright schema`: the JSON Schema of job files.

use crate::failure::{Failure, Verdict};
use crate::terminal;

/// Prints the schema.
pub fn run() -> Result<Verdict, Failure> {
    terminal::print(&super::json(&voltwright_job::schema::schema(), true)?)?;
    Ok(Verdict::NoStop)
}
