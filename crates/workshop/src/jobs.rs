//! Jobs: made, listed, found by name.

use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::{Digest, JobId, Moment, Store, StoreError, limits, name, revisions};

/// A job just made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Created {
    /// Its number.
    pub job: JobId,
    /// Its name, unique in the workshop: lower-case letters, digits and hyphens.
    pub name: String,
}

/// A job as the list of jobs shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Its number.
    pub job: JobId,
    /// Its name.
    pub name: String,
    /// The title of its newest revision.
    pub title: String,
    /// The number of its newest revision.
    pub newest: u32,
    /// When it was made.
    pub created: Moment,
    /// When anything was last added to it.
    pub touched: Moment,
    /// How many entries its log has.
    pub entries: u64,
    /// What the program worked out for the newest revision, if it did.
    pub digest: Option<Digest>,
}

const LISTED: &str = "SELECT job.id, name, job.title, newest, created, touched, entries, version, digest.text
    FROM job LEFT JOIN digest ON digest.job = job.id AND digest.revision = newest";

impl Store {
    /// Makes a job with its first revision. Its name is made from the title; if that is taken, a number is put after it.
    ///
    /// # Errors
    /// The text or the title is too large; the file cannot be written.
    pub fn create(&self, title: &str, text: &str, why: &str, at: Moment) -> Result<Created, StoreError> {
        revisions::check(title, text, why)?;
        self.transact(|turn| {
            let name = name::free(turn, &name::slug(title))?;
            let job = insert(turn, &name, title, at)?;
            revisions::insert(turn, job, 1, title, text, why, at)?;
            Ok(Created { job, name })
        })
    }

    /// The jobs in whose title, name or newest text every word of `search` occurs, whatever the case of its letters;
    /// with no word in `search`, all. The newest touched is first.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn jobs(&self, search: &str) -> Result<Vec<Listed>, StoreError> {
        let words: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
        self.read(|view| {
            let mut all = view.prepare(&format!("{LISTED} ORDER BY touched DESC, job.id DESC"))?;
            let mut found = Vec::new();
            for job in all.query_map([], listed)? {
                let job = job?;
                if holds(view, &job, &words)? {
                    found.push(job);
                }
            }
            Ok(found)
        })
    }

    /// The job of this name.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn named(&self, name: &str) -> Result<Option<Listed>, StoreError> {
        self.read(|view| {
            Ok(view.query_row(&format!("{LISTED} WHERE name = ?1"), params![name], listed).optional()?)
        })
    }

    /// The job of this number.
    ///
    /// # Errors
    /// There is no such job; the file cannot be read.
    pub fn listed(&self, job: JobId) -> Result<Listed, StoreError> {
        self.read(|view| {
            let row = view.query_row(&format!("{LISTED} WHERE job.id = ?1"), params![job], listed);
            row.optional()?.ok_or(StoreError::NoJob(job))
        })
    }
}

/// A new row for a job at its first revision, without entries.
pub(crate) fn insert(
    turn: &Connection,
    name: &str,
    title: &str,
    created: Moment,
) -> Result<JobId, StoreError> {
    limits::text("The title", title, limits::FIELD)?;
    turn.execute(
        "INSERT INTO job (name, created, title, newest, entries, touched) VALUES (?1, ?2, ?3, 1, 0, ?2)",
        params![name, created, title],
    )?;
    Ok(JobId(turn.last_insert_rowid()))
}

/// Notes that something was added to the job. A clock put back does not make the job older.
pub(crate) fn touch(turn: &Connection, job: JobId, at: Moment) -> Result<(), StoreError> {
    turn.execute("UPDATE job SET touched = max(touched, ?2) WHERE id = ?1", params![job, at])?;
    Ok(())
}

/// The number of the newest revision; refuses if there is no such job.
pub(crate) fn newest(view: &Connection, job: JobId) -> Result<u32, StoreError> {
    let row = view.query_row("SELECT newest FROM job WHERE id = ?1", params![job], |row| row.get(0));
    row.optional()?.ok_or(StoreError::NoJob(job))
}

/// The name of a job and when it was made, neither of which ever changes.
pub(crate) fn birth(view: &Connection, job: JobId) -> Result<(String, Moment), StoreError> {
    let sql = "SELECT name, created FROM job WHERE id = ?1";
    let row = view.query_row(sql, params![job], |row| Ok((row.get(0)?, row.get(1)?)));
    row.optional()?.ok_or(StoreError::NoJob(job))
}

fn listed(row: &Row<'_>) -> rusqlite::Result<Listed> {
    let digest = match (row.get(7)?, row.get(8)?) {
        (Some(version), Some(text)) => Some(Digest { version, text }),
        _ => None,
    };
    Ok(Listed {
        job: row.get(0)?,
        name: row.get(1)?,
        title: row.get(2)?,
        newest: row.get(3)?,
        created: row.get(4)?,
        touched: row.get(5)?,
        entries: row.get::<_, i64>(6)?.cast_unsigned(),
        digest,
    })
}

fn holds(view: &Connection, job: &Listed, words: &[String]) -> Result<bool, StoreError> {
    let (title, name) = (job.title.to_lowercase(), &job.name);
    let mut left = words.iter().filter(|word| !title.contains(*word) && !name.contains(*word)).peekable();
    if left.peek().is_none() {
        return Ok(true);
    }
    let text = revisions::of(view, job.job, job.newest)?.text.to_lowercase();
    Ok(left.all(|word| text.contains(word)))
}
