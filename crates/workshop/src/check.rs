//! Does the file hold together?

use rusqlite::Connection;

use crate::{Hash, Store, StoreError};

/// Jobs whose counters are not what they count.
const MISCOUNTED: &str = "SELECT name FROM job WHERE
    newest IS NOT (SELECT max(number) FROM revision WHERE job = job.id)
    OR newest IS NOT (SELECT count(*) FROM revision WHERE job = job.id)
    OR title IS NOT (SELECT title FROM revision WHERE job = job.id AND number = newest)
    OR entries IS NOT (SELECT count(*) FROM entry WHERE job = job.id)";

impl Store {
    /// Reads everything: the file's structure, what refers to what, the counters, the hash of every picture.
    ///
    /// # Errors
    /// Something does not hold together; the file cannot be read.
    pub fn check(&self) -> Result<(), StoreError> {
        self.read(|view| {
            structure(view)?;
            none(view, "SELECT \"table\" FROM pragma_foreign_key_check", "a reference leads nowhere in")?;
            none(view, MISCOUNTED, "the counters are wrong in job")?;
            pictures(view)
        })
    }
}

fn structure(view: &Connection) -> Result<(), StoreError> {
    let first: String = view.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if first == "ok" { Ok(()) } else { Err(StoreError::Damaged(first)) }
}

/// Refuses if the query finds anything.
fn none(view: &Connection, sql: &str, trouble: &str) -> Result<(), StoreError> {
    let mut rows = view.prepare(sql)?;
    let first: Option<String> = rows.query_map([], |row| row.get(0))?.next().transpose()?;
    first.map_or(Ok(()), |place| Err(StoreError::Damaged(format!("{trouble} {place}"))))
}

fn pictures(view: &Connection) -> Result<(), StoreError> {
    let mut images = view.prepare("SELECT hash, bytes FROM image ORDER BY hash")?;
    let mut rows = images.query([])?;
    while let Some(row) = rows.next()? {
        let (hash, bytes): (Hash, Vec<u8>) = (row.get(0)?, row.get(1)?);
        if Hash::of(&bytes) != hash {
            return Err(StoreError::Damaged(format!("picture {hash} is not what it was")));
        }
    }
    Ok(())
}
