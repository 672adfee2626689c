//! A copy of the whole workshop in one file, while it is in use.

use std::fs::{self, File};
use std::io;
use std::path::Path;
use std::sync::PoisonError;

use rusqlite::{Connection, params};

use crate::{Store, StoreError, open};

impl Store {
    /// Writes a copy of the workshop, as it is at this moment, to a new file. The copy can be opened as a workshop;
    /// it holds the server's secret too.
    ///
    /// # Errors
    /// There is a file already; the copy cannot be written, and then nothing of it is left.
    pub fn back_up(&self, to: &Path) -> Result<(), StoreError> {
        let to = std::path::absolute(to)?;
        let name = to.to_str().ok_or_else(|| StoreError::CannotOpen("its name is not Unicode".to_owned()))?;
        match open::create_private(&to) {
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {
                return Err(StoreError::Exists(to.display().to_string()));
            }
            made => made?,
        }
        let connection = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        copy(&connection, name).inspect_err(|_| {
            // The reason why the copy failed is worth more than a reason why its rest stays.
            let _ = fs::remove_file(&to);
        })
    }
}

fn copy(connection: &Connection, to: &str) -> Result<(), StoreError> {
    connection.execute("VACUUM INTO ?1", params![to])?;
    Ok(File::open(to)?.sync_all()?)
}
