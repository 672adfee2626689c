//! The job document: what is known of one machine's power restoration, read from text and edited in place.
//!
//! - [`read`](fn@read): text to [`Job`] and diagnostics; never gives up at the first error.
//! - [`document`]: the types of a job, all with their places in the text.
//! - [`keys`]: every key a job file may hold; the reader, the JSON Schema and the reference page come from it.
//! - [`nets`]: which terminals are one conductor.
//! - `shape`: what must hold between the parts of a job before anything can be computed.
//! - [`edit`]: changes of the text that keep comments, order and spacing.
//! - [`changes`]: what differs between two texts, told for people.
//! - [`inputs`]: all values with a spread, one after the other, to be moved or sampled.

pub mod changes;
pub mod diagnostic;
pub mod document;
pub mod edit;
#[cfg(test)]
mod every_key;
mod fields;
pub mod inputs;
pub mod keys;
pub mod nets;
mod read;
pub mod schema;
mod shape;
mod sheet;

pub use diagnostic::{Diagnostic, Lines, Severity};
pub use document::*;
pub use read::{Reading, read};
pub use voltwright_tables::near;
