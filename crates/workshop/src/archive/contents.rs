//! All of a job as an archive carries it: numbers that hold within the job, none of the store's own.

use std::collections::BTreeMap;

use rusqlite::Connection;

use crate::runs::Log;
use crate::{
    Created, Hash, Image, JobId, Moment, NewEntry, Picture, Revision, RunId, StoreError, jobs, name,
    pictures, revisions, runs,
};

/// A job with its history, first powers, log and pictures. There is at least one revision.
#[derive(Debug)]
pub(crate) struct Contents {
    pub(crate) name: String,
    pub(crate) created: Moment,
    pub(crate) revisions: Vec<Revision>,
    pub(crate) runs: Vec<Begun>,
    pub(crate) lines: Vec<Line>,
    pub(crate) pictures: Vec<Picture>,
    pub(crate) images: BTreeMap<Hash, Image>,
}

/// A run: the first is number 1.
#[derive(Debug)]
pub(crate) struct Begun {
    pub(crate) number: u32,
    pub(crate) revision: u32,
    pub(crate) begun: Moment,
}

/// An entry, in the run of that number.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    pub(crate) run: u32,
    pub(crate) received: Moment,
    pub(crate) what: NewEntry,
}

impl Contents {
    /// Reads all of a job.
    pub(crate) fn gather(view: &Connection, job: JobId) -> Result<Self, StoreError> {
        let (name, created) = jobs::birth(view, job)?;
        let runs = runs::all(view, job)?;
        let numbers: BTreeMap<RunId, u32> = runs.iter().map(|run| (run.id, run.number)).collect();
        let lines = runs::all_entries(view, job)?.into_iter().filter_map(|entry| {
            // The file's own references see to it that the run is the job's.
            numbers.get(&entry.run).map(|&run| Line { run, received: entry.received, what: entry.what })
        });
        let pictures = pictures::all(view, job)?;
        Ok(Self {
            name,
            created,
            revisions: revisions::all(view, job)?,
            lines: lines.collect(),
            runs: runs
                .iter()
                .map(|r| Begun { number: r.number, revision: r.revision, begun: r.begun })
                .collect(),
            images: images(view, &pictures)?,
            pictures,
        })
    }

    /// The newest revision.
    pub(crate) fn newest(&self) -> Option<&Revision> {
        self.revisions.last()
    }

    /// Writes all of it as a new job, under its name if that is free.
    pub(crate) fn settle(&self, turn: &Connection, at: Moment) -> Result<Created, StoreError> {
        let name = name::free(turn, &self.name)?;
        let job = jobs::insert(turn, &name, "", self.created)?;
        for Revision { made, text } in &self.revisions {
            revisions::check(&made.title, text, &made.why)?;
            revisions::insert(turn, job, made.number, &made.title, text, &made.why, made.made)?;
        }
        let mut ids = BTreeMap::new();
        for run in &self.runs {
            ids.insert(run.number, runs::insert_run(turn, job, run.revision, run.begun)?.id);
        }
        let mut log = Log::of(turn, job)?;
        for line in &self.lines {
            runs::check(&line.what)?;
            let run = *ids.get(&line.run).ok_or(StoreError::NoRun(RunId(line.run.into())))?;
            log.write(run, &line.what, line.received)?;
        }
        log.close(at)?;
        for picture in &self.pictures {
            let bytes = self.images.get(&picture.hash).map_or(&[][..], |image| &image.bytes);
            pictures::check(bytes)?;
            pictures::insert(turn, job, picture, bytes)?;
        }
        jobs::touch(turn, job, at)?;
        Ok(Created { job, name })
    }
}

fn images(view: &Connection, pictures: &[Picture]) -> Result<BTreeMap<Hash, Image>, StoreError> {
    let mut images = BTreeMap::new();
    for picture in pictures {
        if let Some(image) = pictures::image(view, picture.hash)? {
            images.insert(picture.hash, image);
        }
    }
    Ok(images)
}
