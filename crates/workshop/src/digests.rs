//! Digests: what a version of the program worked out for a revision. A cache; nothing is lost with it.

use rusqlite::{OptionalExtension, params};

use crate::{JobId, Store, StoreError, jobs, limits, revisions};

/// What was worked out for a revision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Digest {
    /// The version of the program that did.
    pub version: String,
    /// The result, in that program's words.
    pub text: String,
}

impl Store {
    /// Keeps a digest of a revision, in place of any before it.
    ///
    /// # Errors
    /// There is no such job or revision; the text is too large; the file cannot be written.
    pub fn put_digest(&self, job: JobId, revision: u32, version: &str, text: &str) -> Result<(), StoreError> {
        limits::text("The digest", text, limits::TEXT)?;
        limits::text("The digest's version", version, limits::FIELD)?;
        self.transact(|turn| {
            jobs::newest(turn, job)?;
            revisions::of(turn, job, revision)?;
            turn.execute(
                "INSERT OR REPLACE INTO digest (job, revision, version, text) VALUES (?1, ?2, ?3, ?4)",
                params![job, revision, version, text],
            )?;
            Ok(())
        })
    }

    /// The digest of a revision, if there is one.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn digest(&self, job: JobId, revision: u32) -> Result<Option<Digest>, StoreError> {
        self.read(|view| {
            let sql = "SELECT version, text FROM digest WHERE job = ?1 AND revision = ?2";
            let row = view.query_row(sql, params![job, revision], |row| {
                Ok(Digest { version: row.get(0)?, text: row.get(1)? })
            });
            Ok(row.optional()?)
        })
    }
}
