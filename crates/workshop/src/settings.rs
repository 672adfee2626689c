//! Settings of the workshop: bytes by name, such as the server's secret.

use rusqlite::{OptionalExtension, params};

use crate::{Store, StoreError, limits};

impl Store {
    /// The setting of this name, if there is one.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn setting(&self, name: &str) -> Result<Option<Vec<u8>>, StoreError> {
        self.read(|view| {
            let sql = "SELECT value FROM setting WHERE name = ?1";
            Ok(view.query_row(sql, params![name], |row| row.get(0)).optional()?)
        })
    }

    /// Keeps a setting, in place of any before it.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn put_setting(&self, name: &str, value: &[u8]) -> Result<(), StoreError> {
        limits::text("The setting's name", name, limits::FIELD)?;
        self.transact(|turn| {
            turn.execute(
                "INSERT OR REPLACE INTO setting (name, value) VALUES (?1, ?2)",
                params![name, value],
            )?;
            Ok(())
        })
    }
}
