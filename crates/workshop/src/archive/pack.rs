//! A job's contents as files, and files as a zip.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::contents::Contents;
use super::error::ArchiveError;
use super::manifest::{FileRow, Manifest};
use super::{readings, unpack};
use crate::{Hash, Media, Moment, StoreError};

/// Where the manifest is.
pub(crate) const MANIFEST: &str = "manifest.json";
/// Where the newest text is.
pub(crate) const JOB: &str = "job.toml";
/// Where the entries are.
pub(crate) const READINGS: &str = "readings.csv";

/// Where the text of a revision is.
pub(crate) fn history(number: u32) -> String {
    format!("history/{number:04}.toml")
}

/// Where the content of a picture is.
pub(crate) fn picture(hash: Hash, media: Media) -> String {
    format!("pictures/{hash}.{}", media.ending())
}

/// The files of a job by their paths, all but the manifest.
pub(crate) fn files(contents: &Contents) -> BTreeMap<String, Cow<'_, [u8]>> {
    let mut files = BTreeMap::new();
    if let Some(newest) = contents.newest() {
        files.insert(JOB.to_owned(), newest.text.as_bytes().into());
    }
    for revision in &contents.revisions {
        files.insert(history(revision.made.number), revision.text.as_bytes().into());
    }
    files.insert(READINGS.to_owned(), readings::write(&contents.lines).into_bytes().into());
    for (&hash, image) in &contents.images {
        files.insert(picture(hash, image.media), (&image.bytes).into());
    }
    files
}

/// The archive of a job: the manifest first, then the files in the order of their paths.
pub(crate) fn pack(contents: &Contents, program: &str, at: Moment) -> Result<Vec<u8>, ArchiveError> {
    let files = files(contents);
    let others = files.iter().map(|(path, bytes)| (path.as_str(), bytes.as_ref()));
    within_limits(others.clone())?;
    let rows = others.clone().map(|(path, bytes)| FileRow::of(path, bytes)).collect();
    let manifest = Manifest::of(contents, rows, program, at);
    let json = serde_json::to_vec_pretty(&manifest).map_err(|e| StoreError::Other(e.to_string()))?;
    let all = [(MANIFEST, json.as_slice())].into_iter().chain(others);
    within_limits(all.clone())?;
    zip(all).map_err(|e| StoreError::Other(e.to_string()).into())
}

fn within_limits<'f>(files: impl Iterator<Item = (&'f str, &'f [u8])>) -> Result<(), ArchiveError> {
    unpack::within_limits(files.map(|(path, bytes)| (path, bytes.len() as u64)))
        .map_err(|(path, wrong)| ArchiveError::Outgrown { path, wrong })
}

/// The same files give the same bytes: each is dated 1980-01-01, the first day a zip knows.
fn zip<'f>(files: impl Iterator<Item = (&'f str, &'f [u8])>) -> zip::result::ZipResult<Vec<u8>> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (path, bytes) in files {
        // Pictures are packed already.
        let method = match Media::of(bytes) {
            Some(_) => CompressionMethod::Stored,
            None => CompressionMethod::Deflated,
        };
        let options = SimpleFileOptions::default()
            .compression_method(method)
            .last_modified_time(DateTime::default())
            .unix_permissions(0o644);
        archive.start_file(path, options)?;
        archive.write_all(bytes)?;
    }
    Ok(archive.finish()?.into_inner())
}
