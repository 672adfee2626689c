//! What can go wrong in the store, in sentences for a person, each with what to do.

use std::io;

use rusqlite::ErrorCode;
use rusqlite::ffi;
use thiserror::Error;

use crate::{JobId, RunId};

/// Why the store did not do what was asked. Nothing was changed in any of these cases.
#[derive(Debug, Error)]
pub enum StoreError {
    /// No room is left on the disk.
    #[error(
        "The disk is full: nothing was changed, and all that was entered before is kept. Make room on the disk, then enter this again."
    )]
    Full,
    /// The disk gave an error while it was read or written.
    #[error(
        "The disk could not be read or written ({0}): nothing was changed. Look whether the disk is still there and in order, then try again."
    )]
    Disk(String),
    /// The file, its folder or the disk may not be written.
    #[error(
        "The workshop's file or its folder may only be read, not written: nothing was changed. Give yourself the right to write there, or choose another folder."
    )]
    ReadOnly,
    /// The file or its folder cannot be opened or made.
    #[error(
        "The workshop's file cannot be opened or made ({0}). Look whether its folder exists and is yours to write to."
    )]
    CannotOpen(String),
    /// Another program has held the file for longer than we wait.
    #[error(
        "Another program is holding the workshop's file: nothing was changed. Close that program, or wait until it is done, and try again."
    )]
    Locked,
    /// The file's contents do not hold together.
    #[error(
        "The workshop's file is damaged ({0}). Copy it to another place before anything else, then go back to the newest backup."
    )]
    Damaged(String),
    /// The file belongs to something else.
    #[error("This file is not a Voltwright workshop: it was left as it is. Choose another file.")]
    Foreign,
    /// The file has a layout that this program does not know yet.
    #[error(
        "This workshop was written by a newer Voltwright (layout {found}, and this program knows up to {known}): it was left as it is. Use the newer program."
    )]
    Newer {
        /// The layout's number in the file.
        found: i64,
        /// The newest layout this program knows.
        known: i64,
    },
    /// A backup would overwrite a file.
    #[error("There is already a file at {0}: it was left as it is. Choose another name for the backup.")]
    Exists(String),
    /// No job has this number.
    #[error("There is no job {0} in this workshop. Look in the list of jobs.")]
    NoJob(JobId),
    /// The job has no revision of this number.
    #[error("This job has no revision {0}. Look in its history.")]
    NoRevision(u32),
    /// The job has no such first power.
    #[error("This job has no first power {0}. Look in the list of its first powers.")]
    NoRun(RunId),
    /// Someone else saved the job in between.
    #[error(
        "This was written upon revision {yours}, but revision {newest} is the newest: nothing was changed. Look at what is new in revision {newest}, then save upon it."
    )]
    Conflict {
        /// The revision the writer began with.
        yours: u32,
        /// The newest revision.
        newest: u32,
    },
    /// A text is longer than the store takes.
    #[error("{what} is too large ({bytes} bytes; at most {most}): nothing was changed. Make it shorter.")]
    TextTooLarge {
        /// Which text.
        what: &'static str,
        /// Its length in bytes.
        bytes: usize,
        /// The most that is taken.
        most: usize,
    },
    /// A picture is larger than the store takes.
    #[error(
        "The picture is too large ({bytes} bytes; at most {most}): nothing was changed. Save it with fewer pixels."
    )]
    PictureTooLarge {
        /// Its length in bytes.
        bytes: usize,
        /// The most that is taken.
        most: usize,
    },
    /// The bytes begin like no picture we know.
    #[error("This is not a JPEG, PNG or WebP picture: nothing was changed. Save it as one of these.")]
    NotAPicture,
    /// The key of an entry is empty or too long.
    #[error("An entry's key has {0} characters; it must have 1 to 64: nothing was changed.")]
    BadKey(usize),
    /// The value of an entry is not a number.
    #[error(
        "The value of entry \"{0}\" is not a number: nothing was changed. Enter the reading, or leave it empty."
    )]
    NotANumber(String),
    /// A time or number is larger than the file can hold.
    #[error(
        "A time or a number is larger than can be stored: nothing was changed. Look at the device's clock."
    )]
    OutOfRange,
    /// Anything else.
    #[error(
        "The workshop's file gave an error ({0}): nothing was changed. Try again, and report it if it comes back."
    )]
    Other(String),
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        match &error {
            rusqlite::Error::SqliteFailure(code, _) => of_code(code.code, code.extended_code, &error),
            rusqlite::Error::ToSqlConversionFailure(_) => Self::OutOfRange,
            rusqlite::Error::FromSqlConversionFailure(..)
            | rusqlite::Error::IntegralValueOutOfRange(..)
            | rusqlite::Error::InvalidColumnType(..)
            | rusqlite::Error::Utf8Error(..) => Self::Damaged(error.to_string()),
            _ => Self::Other(error.to_string()),
        }
    }
}

fn of_code(code: ErrorCode, extended: i32, error: &rusqlite::Error) -> StoreError {
    match code {
        ErrorCode::DiskFull => StoreError::Full,
        ErrorCode::ReadOnly | ErrorCode::PermissionDenied => StoreError::ReadOnly,
        ErrorCode::CannotOpen => StoreError::CannotOpen(error.to_string()),
        ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => StoreError::Locked,
        ErrorCode::DatabaseCorrupt => StoreError::Damaged(error.to_string()),
        ErrorCode::NotADatabase => StoreError::Foreign,
        // The file ends too early: it was cut off, the disk is not to blame.
        ErrorCode::SystemIoFailure if extended == ffi::SQLITE_IOERR_SHORT_READ => {
            StoreError::Damaged(error.to_string())
        }
        // The file beside the log, for which SQLite has no other code when there is no room to make it larger.
        ErrorCode::SystemIoFailure if extended == ffi::SQLITE_IOERR_SHMSIZE => StoreError::Full,
        ErrorCode::SystemIoFailure => StoreError::Disk(error.to_string()),
        _ => StoreError::Other(error.to_string()),
    }
}

impl From<io::Error> for StoreError {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full,
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly,
            _ => Self::CannotOpen(error.to_string()),
        }
    }
}
