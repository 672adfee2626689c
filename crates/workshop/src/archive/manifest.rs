//! `manifest.json`: what the job is made of, and the size and hash of every other file.

use serde::{Deserialize, Serialize};

use super::contents::Contents;
use crate::{Hash, Moment};

/// The one form of archive there is so far.
pub(crate) const FORMAT: u64 = 1;

/// What the manifest tells people who open `readings.csv` themselves.
const ABOUT: &str = "readings.csv has every text exactly as it was entered, in quotes (RFC 4180). A spreadsheet may \
    take a text that begins with = + - or @ for a formula: let it import the columns as text. Times are milliseconds \
    since 1970-01-01 UTC.";

/// The manifest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Manifest {
    pub(crate) format: u64,
    pub(crate) about: String,
    /// The version of the program that made it.
    pub(crate) program: String,
    pub(crate) exported: Moment,
    pub(crate) name: String,
    pub(crate) title: String,
    pub(crate) created: Moment,
    pub(crate) revisions: Vec<RevisionRow>,
    pub(crate) runs: Vec<RunRow>,
    pub(crate) pictures: Vec<PictureRow>,
    pub(crate) files: Vec<FileRow>,
}

/// A revision; its text is in `history/`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RevisionRow {
    pub(crate) number: u32,
    pub(crate) made: Moment,
    pub(crate) why: String,
    pub(crate) title: String,
}

/// A run; its entries are in `readings.csv`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RunRow {
    pub(crate) number: u32,
    pub(crate) revision: u32,
    pub(crate) begun: Moment,
}

/// A picture; its content is in `pictures/`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PictureRow {
    pub(crate) hash: String,
    pub(crate) name: String,
    pub(crate) note: String,
    pub(crate) view: String,
    pub(crate) added: Moment,
}

/// A file of the archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FileRow {
    pub(crate) path: String,
    pub(crate) bytes: u64,
    pub(crate) sha256: String,
}

impl FileRow {
    pub(crate) fn of(path: &str, bytes: &[u8]) -> Self {
        Self { path: path.to_owned(), bytes: bytes.len() as u64, sha256: Hash::of(bytes).to_string() }
    }
}

impl Manifest {
    /// The manifest of a job with these files.
    pub(crate) fn of(contents: &Contents, files: Vec<FileRow>, program: &str, exported: Moment) -> Self {
        let revisions = contents.revisions.iter().map(|revision| RevisionRow {
            number: revision.made.number,
            made: revision.made.made,
            why: revision.made.why.clone(),
            title: revision.made.title.clone(),
        });
        let runs = contents.runs.iter();
        let runs = runs.map(|run| RunRow { number: run.number, revision: run.revision, begun: run.begun });
        let pictures = contents.pictures.iter().map(|picture| PictureRow {
            hash: picture.hash.to_string(),
            name: picture.name.clone(),
            note: picture.note.clone(),
            view: picture.view.clone(),
            added: picture.added,
        });
        Self {
            format: FORMAT,
            about: ABOUT.to_owned(),
            program: program.to_owned(),
            exported,
            name: contents.name.clone(),
            title: contents.newest().map(|newest| newest.made.title.clone()).unwrap_or_default(),
            created: contents.created,
            revisions: revisions.collect(),
            runs: runs.collect(),
            pictures: pictures.collect(),
            files,
        }
    }
}
