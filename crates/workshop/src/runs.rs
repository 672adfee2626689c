//! Runs, each one first power of a job, and the log of what was read, answered and done in them.

use rusqlite::{Connection, OptionalExtension, Row, Statement, params};

use crate::{EntryId, JobId, Moment, RunId, Store, StoreError, jobs, limits, number, revisions};

/// One first power of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// Its number in the workshop.
    pub id: RunId,
    /// The job it belongs to.
    pub job: JobId,
    /// Which of the job's first powers it is, from 1.
    pub number: u32,
    /// The revision it was begun with.
    pub revision: u32,
    /// When it was begun.
    pub begun: Moment,
}

/// A reading, an answer or an event, as a device sends it. What the words mean is the program's affair.
#[derive(Debug, Clone, PartialEq)]
pub struct NewEntry {
    /// The revision that was before the person's eyes.
    pub revision: u32,
    /// Given by the device, of 1 to 64 characters; unique within the job. An entry that comes again is known by it.
    pub key: String,
    /// When it was taken, by the device's clock.
    pub taken: Moment,
    /// The stage of first power.
    pub stage: String,
    /// What it is: "reading", "ready", and so on.
    pub kind: String,
    /// Where the red probe was.
    pub red: String,
    /// Where the black probe was.
    pub black: String,
    /// What the meter was set to.
    pub function: String,
    /// What was read, in the unit of the function; infinity where the meter showed an overload.
    pub value: Option<f64>,
    /// What was answered.
    pub answer: Option<String>,
    /// What the person wrote to it.
    pub note: String,
    /// The instrument it was read from.
    pub instrument: String,
    /// The device it came from.
    pub device: String,
}

/// An entry of the log. It is never changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its number; later entries have larger ones.
    pub id: EntryId,
    /// The job it belongs to.
    pub job: JobId,
    /// The first power it belongs to.
    pub run: RunId,
    /// When the store received it.
    pub received: Moment,
    /// What was entered.
    pub what: NewEntry,
}

/// What became of an entry that was to be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// It was added.
    New(EntryId),
    /// An entry with its key was there, and stays as it was.
    Known(EntryId),
}

const RUN: &str = "SELECT id, job, number, revision, begun FROM run WHERE job = ?1";

const ENTRY: &str =
    "SELECT id, job, run, received, revision, key, taken, stage, kind, red, black, function, value,
    answer, note, instrument, device FROM entry";

impl Store {
    /// Begins a first power with a revision of the job.
    ///
    /// # Errors
    /// There is no such job or revision; the file cannot be written.
    pub fn begin(&self, job: JobId, revision: u32, at: Moment) -> Result<Run, StoreError> {
        self.transact(|turn| {
            jobs::newest(turn, job)?;
            insert_run(turn, job, revision, at)
        })
    }

    /// The first powers of a job, the oldest first.
    ///
    /// # Errors
    /// There is no such job; the file cannot be read.
    pub fn runs(&self, job: JobId) -> Result<Vec<Run>, StoreError> {
        self.read(|view| {
            jobs::newest(view, job)?;
            all(view, job)
        })
    }

    /// Writes entries into the log of a run, in their order; all of them, or none if one is refused.
    ///
    /// An entry whose key the job has already is not written again and counts as done, so that a device can repeat
    /// what it is not sure of.
    ///
    /// # Errors
    /// The job has no such run or revision; a key, a value or a text is not one; the file cannot be written.
    pub fn write(
        &self,
        job: JobId,
        run: RunId,
        entries: &[NewEntry],
        at: Moment,
    ) -> Result<Vec<Written>, StoreError> {
        entries.iter().try_for_each(check)?;
        self.transact(|turn| {
            jobs::newest(turn, job)?;
            if !all(turn, job)?.iter().any(|known| known.id == run) {
                return Err(StoreError::NoRun(run));
            }
            let mut log = Log::of(turn, job)?;
            let written =
                entries.iter().map(|entry| log.write(run, entry, at)).collect::<Result<Vec<_>, _>>()?;
            log.close(at)?;
            Ok(written)
        })
    }

    /// The log of one run, in the order in which it was written.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn log(&self, run: RunId) -> Result<Vec<Entry>, StoreError> {
        self.read(|view| {
            let mut rows = view.prepare(&format!("{ENTRY} WHERE run = ?1 ORDER BY id"))?;
            Ok(rows.query_map(params![run], entry)?.collect::<Result<_, _>>()?)
        })
    }

    /// The logs of all runs of a job in one, in the order in which they were written.
    ///
    /// # Errors
    /// There is no such job; the file cannot be read.
    pub fn entries(&self, job: JobId) -> Result<Vec<Entry>, StoreError> {
        self.read(|view| {
            jobs::newest(view, job)?;
            all_entries(view, job)
        })
    }
}

/// Writes into the log of a job, and counts.
pub(crate) struct Log<'c> {
    turn: &'c Connection,
    known: Statement<'c>,
    add: Statement<'c>,
    has_revision: Statement<'c>,
    job: JobId,
    added: i64,
}

impl<'c> Log<'c> {
    /// The log of a job that is known to exist.
    pub(crate) fn of(turn: &'c Connection, job: JobId) -> Result<Self, StoreError> {
        Ok(Self {
            turn,
            known: turn.prepare("SELECT id FROM entry WHERE job = ?1 AND key = ?2")?,
            add: turn.prepare(
                "INSERT INTO entry (job, run, received, revision, key, taken, stage, kind, red, black, function, value,
                    answer, note, instrument, device)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
            )?,
            has_revision: turn
                .prepare("SELECT EXISTS (SELECT 1 FROM revision WHERE job = ?1 AND number = ?2)")?,
            job,
            added: 0,
        })
    }

    /// Adds one entry to a run of the job, unless the job has its key.
    pub(crate) fn write(
        &mut self,
        run: RunId,
        entry: &NewEntry,
        received: Moment,
    ) -> Result<Written, StoreError> {
        if let Some(id) = self.known.query_row(params![self.job, entry.key], |row| row.get(0)).optional()? {
            return Ok(Written::Known(id));
        }
        if !self.has_revision.query_row(params![self.job, entry.revision], |row| row.get(0))? {
            return Err(StoreError::NoRevision(entry.revision));
        }
        self.add.execute(params![
            self.job,
            run,
            received,
            entry.revision,
            entry.key,
            entry.taken,
            entry.stage,
            entry.kind,
            entry.red,
            entry.black,
            entry.function,
            entry.value.map(number::write),
            entry.answer,
            entry.note,
            entry.instrument,
            entry.device,
        ])?;
        self.added += 1;
        Ok(Written::New(EntryId(self.turn.last_insert_rowid())))
    }

    /// Brings the job's counters up.
    pub(crate) fn close(self, at: Moment) -> Result<(), StoreError> {
        if self.added == 0 {
            return Ok(());
        }
        let sql = "UPDATE job SET entries = entries + ?2 WHERE id = ?1";
        self.turn.execute(sql, params![self.job, self.added])?;
        jobs::touch(self.turn, self.job, at)
    }
}

/// Refuses an entry that the log cannot hold as it is.
pub(crate) fn check(entry: &NewEntry) -> Result<(), StoreError> {
    let letters = entry.key.chars().count();
    if !(1..=limits::KEY).contains(&letters) {
        return Err(StoreError::BadKey(letters));
    }
    if entry.value.is_some_and(f64::is_nan) {
        return Err(StoreError::NotANumber(entry.key.clone()));
    }
    let NewEntry { stage, kind, red, black, function, note, instrument, device, .. } = entry;
    let answer = entry.answer.as_ref();
    [stage, kind, red, black, function, note, instrument, device]
        .into_iter()
        .chain(answer)
        .try_for_each(|field| limits::text("A field of an entry", field, limits::FIELD))
}

pub(crate) fn insert_run(
    turn: &Connection,
    job: JobId,
    revision: u32,
    begun: Moment,
) -> Result<Run, StoreError> {
    revisions::of(turn, job, revision)?;
    let sql = "SELECT coalesce(max(number), 0) FROM run WHERE job = ?1";
    let last: u32 = turn.query_row(sql, params![job], |row| row.get(0))?;
    let number = last.checked_add(1).ok_or(StoreError::OutOfRange)?;
    turn.execute(
        "INSERT INTO run (job, number, revision, begun) VALUES (?1, ?2, ?3, ?4)",
        params![job, number, revision, begun],
    )?;
    let id = RunId(turn.last_insert_rowid());
    jobs::touch(turn, job, begun)?;
    Ok(Run { id, job, number, revision, begun })
}

/// The runs of a job, the oldest first.
pub(crate) fn all(view: &Connection, job: JobId) -> Result<Vec<Run>, StoreError> {
    let mut rows = view.prepare(&format!("{RUN} ORDER BY number"))?;
    Ok(rows.query_map(params![job], run)?.collect::<Result<_, _>>()?)
}

/// The entries of a job, the oldest first.
pub(crate) fn all_entries(view: &Connection, job: JobId) -> Result<Vec<Entry>, StoreError> {
    let mut rows = view.prepare(&format!("{ENTRY} WHERE job = ?1 ORDER BY id"))?;
    Ok(rows.query_map(params![job], entry)?.collect::<Result<_, _>>()?)
}

fn run(row: &Row<'_>) -> rusqlite::Result<Run> {
    Ok(Run {
        id: row.get(0)?,
        job: row.get(1)?,
        number: row.get(2)?,
        revision: row.get(3)?,
        begun: row.get(4)?,
    })
}

fn entry(row: &Row<'_>) -> rusqlite::Result<Entry> {
    let what = NewEntry {
        revision: row.get(4)?,
        key: row.get(5)?,
        taken: row.get(6)?,
        stage: row.get(7)?,
        kind: row.get(8)?,
        red: row.get(9)?,
        black: row.get(10)?,
        function: row.get(11)?,
        value: row.get::<_, Option<number::Stored>>(12)?.map(|number| number.0),
        answer: row.get(13)?,
        note: row.get(14)?,
        instrument: row.get(15)?,
        device: row.get(16)?,
    };
    Ok(Entry { id: row.get(0)?, job: row.get(1)?, run: row.get(2)?, received: row.get(3)?, what })
}
