//! The store as a whole: one connection that writes, one that reads.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use rusqlite::{Connection, Transaction, TransactionBehavior};

use crate::{StoreError, open};

/// The workshop's file, open. It can be shared between threads, and other programs may have the same file open.
///
/// Each method is one transaction: it happens wholly or not at all, and what it returned as done is on the disk.
#[derive(Debug)]
pub struct Store {
    pub(crate) writer: Mutex<Connection>,
    reader: Mutex<Connection>,
    path: PathBuf,
}

impl Store {
    /// Opens the workshop's file; makes the folder and the file where they are absent.
    ///
    /// # Errors
    /// The file or folder cannot be opened, made or written; it is not ours; it is damaged; a newer program wrote it.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let (writer, reader) = open::open(path)?;
        Ok(Self { writer: Mutex::new(writer), reader: Mutex::new(reader), path: path.to_owned() })
    }

    /// Where the file is, as it was given.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Reads at one point of time, whatever is being written meanwhile.
    pub(crate) fn read<T>(
        &self,
        work: impl FnOnce(&Transaction<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        // A panic elsewhere leaves the connection sound: its transaction was rolled back when it was dropped.
        let mut connection = self.reader.lock().unwrap_or_else(PoisonError::into_inner);
        let view = connection.transaction()?;
        let result = work(&view)?;
        view.commit()?;
        Ok(result)
    }

    /// Writes all of it, or nothing if `work` fails.
    pub(crate) fn transact<T>(
        &self,
        work: impl FnOnce(&Transaction<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let mut connection = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        let turn = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let result = work(&turn)?;
        turn.commit()?;
        Ok(result)
    }
}
