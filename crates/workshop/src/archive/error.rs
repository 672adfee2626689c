//! Why an archive was not made or not taken, naming the file in it.

use thiserror::Error;

use crate::StoreError;

/// Why an archive was not made or not taken.
#[derive(Debug, Error)]
pub enum ArchiveError {
    /// The bytes are no zip file.
    #[error(
        "This is not an archive of a job ({0}): nothing was changed. Choose a file that was exported from a workshop."
    )]
    NotAnArchive(String),
    /// A file in the archive is not as it must be.
    #[error(
        "The archive was not taken: {path} {wrong}. Nothing was changed. Export the job anew, or take an earlier archive."
    )]
    Refused {
        /// The file's path in the archive, made printable.
        path: String,
        /// What is wrong with it.
        wrong: Wrong,
    },
    /// The job has more in it than an archive may have.
    #[error(
        "The archive was not made: {path} {wrong}. The job is kept; make a backup of the whole workshop instead."
    )]
    Outgrown {
        /// The file's path in the archive.
        path: String,
        /// What is too much.
        wrong: Wrong,
    },
    /// The store did not do it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What is wrong with a file in an archive; a path goes before it to make a sentence.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Wrong {
    /// The manifest, or a file it lists, is absent.
    #[error("is missing")]
    Missing,
    /// The manifest does not list it.
    #[error("is not in the manifest")]
    NotListed,
    /// It is there twice, or listed twice.
    #[error("is there twice")]
    Twice,
    /// Its path leads out of the archive or is none of ours.
    #[error("has a path that an archive may not have")]
    Path,
    /// It is a folder, a link or encrypted.
    #[error("is not a plain file")]
    NotPlain,
    /// It shares bytes with another.
    #[error("lies over another file")]
    Overlaps,
    /// It cannot be unpacked.
    #[error("cannot be unpacked ({0})")]
    Packing(String),
    /// There are too many files.
    #[error("is one file too many (at most {0})")]
    TooMany(usize),
    /// It is larger than a file in an archive may be.
    #[error("is too large (at most {0} bytes)")]
    TooLarge(u64),
    /// With it, the archive is larger than it may be.
    #[error("is too much (at most {0} bytes in all)")]
    TooMuch(u64),
    /// Its size is not the manifest's.
    #[error("has {found} bytes, where the manifest says {listed}")]
    Size {
        /// Bytes found; one more than listed if there are more.
        found: u64,
        /// Bytes listed.
        listed: u64,
    },
    /// Its hash is not the manifest's.
    #[error("was changed: its SHA-256 is not the manifest's")]
    Changed,
    /// The archive's form is one this program does not know.
    #[error("says format {0}, which this program does not know; a newer Voltwright may")]
    Format(u64),
    /// It does not read as what it must be.
    #[error("cannot be read: {0}")]
    Unreadable(String),
    /// A row of the readings does not read.
    #[error("has a mistake in row {row}: {what}")]
    Row {
        /// The row, from 1 for the header.
        row: usize,
        /// What is wrong.
        what: String,
    },
    /// It contradicts the rest of the archive.
    #[error("does not fit the rest of the archive")]
    Unfit,
}

/// A refusal of the file at `path`, whose name may hold anything and is made printable.
pub(crate) fn refused(path: &str, wrong: Wrong) -> ArchiveError {
    const LONGEST: usize = 200;
    let mut shown: String = path.chars().take(LONGEST).flat_map(char::escape_debug).collect();
    if path.chars().count() > LONGEST {
        shown.push('…');
    }
    let path = if shown.is_empty() { "a file without a name".to_owned() } else { shown };
    ArchiveError::Refused { path, wrong }
}
