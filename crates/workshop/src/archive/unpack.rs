//! A zip as files, believing nothing in it: names, numbers, sizes and hashes are checked against the manifest, and the
//! limits hold while unpacking, whatever a header says.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read};

use serde::Deserialize;
use zip::ZipArchive;

use super::error::{ArchiveError, Wrong, refused};
use super::manifest::{FORMAT, FileRow, Manifest};
use super::pack::MANIFEST;
use crate::Hash;

/// The most a file may have, unpacked.
const FILE: u64 = 32 << 20;
/// The most all files together may have, unpacked.
const TOTAL: u64 = 256 << 20;
/// The most files.
const FILES: usize = 20_000;

/// The file that is too many, too large, or too much with those before it.
pub(crate) type Excess = (String, Wrong);

type Zip<'b> = ZipArchive<Cursor<&'b [u8]>>;

/// The manifest, and the files it lists by their paths; there are no others, and each is as it says.
pub(crate) fn unpack(bytes: &[u8]) -> Result<(Manifest, BTreeMap<String, Vec<u8>>), ArchiveError> {
    let mut zip =
        ZipArchive::new(Cursor::new(bytes)).map_err(|e| ArchiveError::NotAnArchive(e.to_string()))?;
    let mut places = places(&mut zip)?;
    let place = places.remove(MANIFEST).ok_or_else(|| refused(MANIFEST, Wrong::Missing))?;
    let json =
        content(&mut zip, MANIFEST, place, FILE)?.ok_or_else(|| refused(MANIFEST, Wrong::TooLarge(FILE)))?;
    let manifest = manifest(&json)?;
    let sizes = manifest.files.iter().map(|file| (file.path.as_str(), file.bytes));
    let all = [(MANIFEST, json.len() as u64)].into_iter().chain(sizes);
    within_limits(all).map_err(|(path, wrong)| refused(&path, wrong))?;
    listed(&manifest, &places)?;
    let mut files = BTreeMap::new();
    for row in &manifest.files {
        let place = *places.get(&row.path).ok_or_else(|| refused(&row.path, Wrong::Missing))?;
        files.insert(row.path.clone(), file(&mut zip, row, place)?);
    }
    Ok((manifest, files))
}

/// Are these files, by path and size, few and small enough? If not, the first that goes beyond.
pub(crate) fn within_limits<'p>(files: impl Iterator<Item = (&'p str, u64)>) -> Result<(), Excess> {
    let mut total = 0_u64;
    for (i, (path, bytes)) in files.enumerate() {
        total = total.saturating_add(bytes);
        let wrong = match () {
            () if i >= FILES => Wrong::TooMany(FILES),
            () if bytes > FILE => Wrong::TooLarge(FILE),
            () if total > TOTAL => Wrong::TooMuch(TOTAL),
            () => continue,
        };
        return Err((path.to_owned(), wrong));
    }
    Ok(())
}

/// Where each file is in the zip, by its path. All are plain files with paths that stay within the archive.
fn places(zip: &mut Zip<'_>) -> Result<BTreeMap<String, usize>, ArchiveError> {
    let mut places = BTreeMap::new();
    for i in 0..zip.len() {
        let file = zip.by_index_raw(i).map_err(|e| ArchiveError::NotAnArchive(e.to_string()))?;
        let path = String::from_utf8_lossy(file.name_raw()).into_owned();
        if i >= FILES {
            return Err(refused(&path, Wrong::TooMany(FILES)));
        }
        if !stays_within(&path) || path.as_bytes() != file.name_raw() {
            return Err(refused(&path, Wrong::Path));
        }
        if !file.is_file() || file.encrypted() {
            return Err(refused(&path, Wrong::NotPlain));
        }
        places.insert(path, i);
    }
    whole_zip(zip)?;
    Ok(places)
}

/// What no single file shows: two of one name, of which the library keeps one; two in the same bytes.
fn whole_zip(zip: &mut Zip<'_>) -> Result<(), ArchiveError> {
    if zip.has_duplicate_names() {
        return Err(refused("a file of the archive", Wrong::Twice));
    }
    let overlaps = zip.has_overlapping_entries().map_err(|e| ArchiveError::NotAnArchive(e.to_string()))?;
    if overlaps { Err(refused("a file of the archive", Wrong::Overlaps)) } else { Ok(()) }
}

/// Folders and names of plain parts, joined by `/`: nothing absolute, no step up, no backslash or drive.
fn stays_within(path: &str) -> bool {
    let is_plain = |part: &str| !matches!(part, "" | "." | "..");
    path.split('/').all(is_plain) && !path.contains(['\\', ':', '\0'])
}

fn manifest(json: &[u8]) -> Result<Manifest, ArchiveError> {
    #[derive(Deserialize)]
    struct Head {
        format: u64,
    }
    let unreadable = |e: serde_json::Error| refused(MANIFEST, Wrong::Unreadable(e.to_string()));
    let head: Head = serde_json::from_slice(json).map_err(unreadable)?;
    if head.format != FORMAT {
        return Err(refused(MANIFEST, Wrong::Format(head.format)));
    }
    serde_json::from_slice(json).map_err(unreadable)
}

/// The manifest lists each file once, and the zip has no others.
fn listed(manifest: &Manifest, places: &BTreeMap<String, usize>) -> Result<(), ArchiveError> {
    let mut paths = BTreeSet::new();
    for row in &manifest.files {
        if !paths.insert(&row.path) {
            return Err(refused(&row.path, Wrong::Twice));
        }
    }
    let extra = places.keys().find(|path| !paths.contains(path));
    extra.map_or(Ok(()), |path| Err(refused(path, Wrong::NotListed)))
}

/// A file's bytes, if they are those the manifest lists.
fn file(zip: &mut Zip<'_>, row: &FileRow, place: usize) -> Result<Vec<u8>, ArchiveError> {
    let more = Wrong::Size { found: row.bytes.saturating_add(1), listed: row.bytes };
    let bytes = content(zip, &row.path, place, row.bytes)?.ok_or_else(|| refused(&row.path, more))?;
    let found = bytes.len() as u64;
    if found != row.bytes {
        return Err(refused(&row.path, Wrong::Size { found, listed: row.bytes }));
    }
    if Hash::of(&bytes).to_string() != row.sha256 {
        return Err(refused(&row.path, Wrong::Changed));
    }
    Ok(bytes)
}

/// The bytes of a file, or none if there are more than `most`; no more than one beyond that is ever unpacked.
fn content(zip: &mut Zip<'_>, path: &str, place: usize, most: u64) -> Result<Option<Vec<u8>>, ArchiveError> {
    let packing = |e: &dyn std::error::Error| refused(path, Wrong::Packing(e.to_string()));
    let file = zip.by_index(place).map_err(|e| packing(&e))?;
    let mut bytes = Vec::new();
    file.take(most.saturating_add(1)).read_to_end(&mut bytes).map_err(|e| packing(&e))?;
    Ok((bytes.len() as u64 <= most).then_some(bytes))
}
