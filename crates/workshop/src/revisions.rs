//! Revisions of a job: saved, gone back to, looked up. They are only ever added.

use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::{JobId, Moment, Store, StoreError, jobs, limits};

/// What became of a text that was to be saved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Saved {
    /// It is the new revision of this number.
    As(u32),
    /// It is the newest revision's text already, so nothing was added.
    Same(u32),
}

impl Saved {
    /// The revision that now has the text.
    #[must_use]
    pub fn number(self) -> u32 {
        let (Self::As(number) | Self::Same(number)) = self;
        number
    }
}

/// How a revision came to be: all of it but the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// Its number, from 1.
    pub number: u32,
    /// When it was made.
    pub made: Moment,
    /// Why, in a few words: "saved", "back to revision 3".
    pub why: String,
    /// The job's title in it.
    pub title: String,
}

/// A revision with its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// How it came to be.
    pub made: Made,
    /// The text of the job.
    pub text: String,
}

const REVISION: &str = "SELECT number, made, why, title, text FROM revision WHERE job = ?1";

impl Store {
    /// Adds a revision with this text, written upon revision `based_on`.
    ///
    /// A text that is the newest one already is not added again, whatever it was based on: so a save whose answer was
    /// lost can be repeated.
    ///
    /// # Errors
    /// `based_on` is not the newest revision; there is no such job; the text is too large; the file cannot be written.
    pub fn save(
        &self,
        job: JobId,
        based_on: u32,
        title: &str,
        text: &str,
        why: &str,
        at: Moment,
    ) -> Result<Saved, StoreError> {
        check(title, text, why)?;
        self.transact(|turn| add(turn, job, based_on, title, text, why, at))
    }

    /// Adds a revision with the text of revision `number`: a step back, or to how it was on some day.
    ///
    /// # Errors
    /// As [`Store::save`]; there is no such revision.
    pub fn back_to(&self, job: JobId, number: u32, based_on: u32, at: Moment) -> Result<Saved, StoreError> {
        self.transact(|turn| {
            jobs::newest(turn, job)?;
            let old = of(turn, job, number)?;
            let why = format!("back to revision {number}");
            add(turn, job, based_on, &old.made.title, &old.text, &why, at)
        })
    }

    /// One revision.
    ///
    /// # Errors
    /// There is no such job or revision; the file cannot be read.
    pub fn revision(&self, job: JobId, number: u32) -> Result<Revision, StoreError> {
        self.read(|view| {
            jobs::newest(view, job)?;
            of(view, job, number)
        })
    }

    /// The newest revision.
    ///
    /// # Errors
    /// There is no such job; the file cannot be read.
    pub fn newest(&self, job: JobId) -> Result<Revision, StoreError> {
        self.read(|view| of(view, job, jobs::newest(view, job)?))
    }

    /// The history: every revision without its text, the oldest first.
    ///
    /// # Errors
    /// There is no such job; the file cannot be read.
    pub fn revisions(&self, job: JobId) -> Result<Vec<Made>, StoreError> {
        self.read(|view| {
            jobs::newest(view, job)?;
            let mut rows =
                view.prepare("SELECT number, made, why, title FROM revision WHERE job = ?1 ORDER BY number")?;
            Ok(rows.query_map(params![job], made)?.collect::<Result<_, _>>()?)
        })
    }

    /// The newest of the revisions made until then, if there was one.
    ///
    /// # Errors
    /// There is no such job; the file cannot be read.
    pub fn as_it_was(&self, job: JobId, at: Moment) -> Result<Option<Revision>, StoreError> {
        self.read(|view| {
            jobs::newest(view, job)?;
            let sql = format!("{REVISION} AND made <= ?2 ORDER BY number DESC LIMIT 1");
            // No revision was made later than the file can hold.
            let at = Moment(at.0.min(i64::MAX.cast_unsigned()));
            Ok(view.query_row(&sql, params![job, at], revision).optional()?)
        })
    }
}

/// Refuses what is too large for a revision.
pub(crate) fn check(title: &str, text: &str, why: &str) -> Result<(), StoreError> {
    limits::text("The title", title, limits::FIELD)?;
    limits::text("The reason of the revision", why, limits::FIELD)?;
    limits::text("The job's text", text, limits::TEXT)
}

/// A row for a revision whose number the caller has found to be right.
pub(crate) fn insert(
    turn: &Connection,
    job: JobId,
    number: u32,
    title: &str,
    text: &str,
    why: &str,
    at: Moment,
) -> Result<(), StoreError> {
    turn.execute(
        "INSERT INTO revision (job, number, made, why, title, text) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![job, number, at, why, title, text],
    )?;
    turn.execute("UPDATE job SET title = ?2, newest = ?3 WHERE id = ?1", params![job, title, number])?;
    jobs::touch(turn, job, at)
}

/// The revision with its text; the job is known to exist.
pub(crate) fn of(view: &Connection, job: JobId, number: u32) -> Result<Revision, StoreError> {
    let sql = format!("{REVISION} AND number = ?2");
    let row = view.query_row(&sql, params![job, number], revision).optional()?;
    row.ok_or(StoreError::NoRevision(number))
}

/// Every revision with its text, the oldest first.
pub(crate) fn all(view: &Connection, job: JobId) -> Result<Vec<Revision>, StoreError> {
    let mut rows = view.prepare(&format!("{REVISION} ORDER BY number"))?;
    Ok(rows.query_map(params![job], revision)?.collect::<Result<_, _>>()?)
}

fn add(
    turn: &Connection,
    job: JobId,
    based_on: u32,
    title: &str,
    text: &str,
    why: &str,
    at: Moment,
) -> Result<Saved, StoreError> {
    let newest = jobs::newest(turn, job)?;
    if of(turn, job, newest)?.text == text {
        return Ok(Saved::Same(newest));
    }
    if based_on != newest {
        return Err(StoreError::Conflict { yours: based_on, newest });
    }
    let number = newest.checked_add(1).ok_or(StoreError::OutOfRange)?;
    insert(turn, job, number, title, text, why, at)?;
    Ok(Saved::As(number))
}

fn made(row: &Row<'_>) -> rusqlite::Result<Made> {
    Ok(Made { number: row.get(0)?, made: row.get(1)?, why: row.get(2)?, title: row.get(3)? })
}

fn revision(row: &Row<'_>) -> rusqlite::Result<Revision> {
    Ok(Revision { made: made(row)?, text: row.get(4)? })
}
