//! A job as a zip file, out of the store and into it.
//!
//! | file | holds |
//! |---|---|
//! | `manifest.json` | what the job is made of, and the size and SHA-256 of every other file |
//! | `job.toml` | the newest text |
//! | `history/0001.toml` .. | the text of every revision |
//! | `readings.csv` | the entries of all first powers (RFC 4180) |
//! | `pictures/HASH.jpg` (`.png`, `.webp`) | the pictures' content |
//!
//! The same job exported at the same moment gives the same bytes. What was entered is never altered, so a text that
//! begins with `=` stands in `readings.csv` as it was entered, in quotes; the manifest tells people whose spreadsheet
//! takes such a text for a formula what to do.
//!
//! An archive comes from anywhere, so on the way in nothing in it is believed: see `unpack` for the files and `accept`
//! for their contents. It is taken wholly or not at all.

mod accept;
mod contents;
mod csv;
mod error;
mod manifest;
mod pack;
mod readings;
mod unpack;

pub use error::{ArchiveError, Wrong};

use contents::Contents;

use crate::{Created, JobId, Moment, Store};

/// The job as an archive; `program` is the version that makes it.
///
/// # Errors
/// There is no such job; the store cannot be read; the job has more in it than an archive may have.
pub fn export(store: &Store, job: JobId, program: &str, at: Moment) -> Result<Vec<u8>, ArchiveError> {
    let contents = store.read(|view| Contents::gather(view, job))?;
    pack::pack(&contents, program, at)
}

/// Makes a new job of an archive. It keeps its name if no job has it, else a number is put after it.
///
/// # Errors
/// Something in the archive is not as [`export`] makes it; the store cannot be written. Nothing was changed then.
pub fn import(store: &Store, bytes: &[u8], at: Moment) -> Result<Created, ArchiveError> {
    let (manifest, files) = unpack::unpack(bytes)?;
    let contents = accept::accept(&manifest, &files)?;
    Ok(store.transact(|turn| contents.settle(turn, at))?)
}
