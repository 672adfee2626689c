//! The files of an archive as a job's contents: read, then compared with what those contents would be exported as.
//!
//! The comparison is what makes the check complete: whatever was read, if writing it again gives other files or another
//! manifest, something in the archive contradicts the rest.

use std::collections::{BTreeMap, BTreeSet};

use super::contents::{Begun, Contents, Line};
use super::error::{ArchiveError, Wrong, refused};
use super::manifest::{FileRow, Manifest, PictureRow, RevisionRow};
use super::{pack, readings};
use crate::{
    Hash, Image, Made, Moment, Picture, Revision, StoreError, limits, name, pictures, revisions, runs,
};

type Files = BTreeMap<String, Vec<u8>>;

/// The job in these files.
pub(crate) fn accept(manifest: &Manifest, files: &Files) -> Result<Contents, ArchiveError> {
    shape(manifest).map_err(|what| refused(pack::MANIFEST, Wrong::Unreadable(what)))?;
    let revisions = manifest.revisions.iter().map(|row| revision(row, files)).collect::<Result<_, _>>()?;
    let mut images = BTreeMap::new();
    let mut pictures = Vec::new();
    for row in &manifest.pictures {
        let picture = picture(row, files, &mut images)?;
        pictures.push(picture);
    }
    let runs = manifest.runs.iter();
    let contents = Contents {
        name: manifest.name.clone(),
        created: manifest.created,
        revisions,
        runs: runs.map(|r| Begun { number: r.number, revision: r.revision, begun: r.begun }).collect(),
        lines: lines(manifest, files)?,
        pictures,
        images,
    };
    compare(&contents, manifest, files)?;
    Ok(contents)
}

/// Numbers count from 1, refer to what is there, and times are such as the store can hold.
fn shape(manifest: &Manifest) -> Result<(), String> {
    let Manifest { name, revisions, runs, pictures, created, exported, .. } = manifest;
    if !name::is_one(name) {
        return Err("the name is none that a job can have".to_owned());
    }
    if revisions.is_empty() || !revisions.iter().map(|r| r.number).eq(1..=count(revisions.len())) {
        return Err("the revisions are not numbered 1, 2, 3 ..".to_owned());
    }
    if !runs.iter().map(|r| r.number).eq(1..=count(runs.len())) {
        return Err("the runs are not numbered 1, 2, 3 ..".to_owned());
    }
    if let Some(run) = runs.iter().find(|run| !has_revision(manifest, run.revision)) {
        return Err(format!(
            "run {} was begun with revision {}, which is not there",
            run.number, run.revision
        ));
    }
    let times = revisions.iter().map(|r| r.made).chain(runs.iter().map(|r| r.begun));
    let mut times = times.chain(pictures.iter().map(|p| p.added)).chain([*created, *exported]);
    if times.any(|Moment(millis)| i64::try_from(millis).is_err()) {
        return Err("a time is out of range".to_owned());
    }
    let words = pictures.iter().map(|p| (&p.hash, &p.name, &p.note, &p.view)).collect::<BTreeSet<_>>();
    if words.len() < pictures.len() { Err("a picture is listed twice".to_owned()) } else { Ok(()) }
}

fn count(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}

fn has_revision(manifest: &Manifest, number: u32) -> bool {
    (1..=count(manifest.revisions.len())).contains(&number)
}

fn revision(row: &RevisionRow, files: &Files) -> Result<Revision, ArchiveError> {
    let path = pack::history(row.number);
    let text = text(&path, files)?.to_owned();
    revisions::check(&row.title, &text, &row.why).map_err(|e| unreadable(&path, &e))?;
    let made = Made { number: row.number, made: row.made, why: row.why.clone(), title: row.title.clone() };
    Ok(Revision { made, text })
}

fn picture(
    row: &PictureRow,
    files: &Files,
    images: &mut BTreeMap<Hash, Image>,
) -> Result<Picture, ArchiveError> {
    let no_hash = || refused(pack::MANIFEST, Wrong::Unreadable("a picture's hash is none".to_owned()));
    let hash = Hash::parse(&row.hash).ok_or_else(no_hash)?;
    let head = format!("pictures/{hash}.");
    let found = files.range(head.clone()..).next().filter(|(path, _)| path.starts_with(&head));
    let (path, bytes) = found.ok_or_else(|| refused(&format!("picture {hash}"), Wrong::Missing))?;
    let media = pictures::check(bytes).map_err(|e| unreadable(path, &e))?;
    if Hash::of(bytes) != hash {
        return Err(refused(path, Wrong::Unfit));
    }
    for text in [&row.name, &row.note, &row.view] {
        limits::text("A text of a picture", text, limits::FIELD)
            .map_err(|e| unreadable(pack::MANIFEST, &e))?;
    }
    images.entry(hash).or_insert_with(|| Image { media, bytes: bytes.clone() });
    let PictureRow { name, note, view, added, .. } = row.clone();
    Ok(Picture { hash, media, name, note, view, added })
}

fn lines(manifest: &Manifest, files: &Files) -> Result<Vec<Line>, ArchiveError> {
    let lines =
        readings::read(text(pack::READINGS, files)?).map_err(|wrong| refused(pack::READINGS, wrong))?;
    let mut keys = BTreeSet::new();
    for (i, line) in lines.iter().enumerate() {
        let what = match () {
            () if !(1..=count(manifest.runs.len())).contains(&line.run) => "its run is not there".to_owned(),
            () if !has_revision(manifest, line.what.revision) => "its revision is not there".to_owned(),
            () if !keys.insert(&line.what.key) => "its key is there twice".to_owned(),
            () => match runs::check(&line.what) {
                Ok(()) => continue,
                Err(e) => e.to_string(),
            },
        };
        // The header is row 1.
        return Err(refused(pack::READINGS, Wrong::Row { row: i + 2, what }));
    }
    Ok(lines)
}

fn text<'f>(path: &str, files: &'f Files) -> Result<&'f str, ArchiveError> {
    let bytes = files.get(path).ok_or_else(|| refused(path, Wrong::Missing))?;
    std::str::from_utf8(bytes).map_err(|e| refused(path, Wrong::Unreadable(e.to_string())))
}

fn unreadable(path: &str, error: &StoreError) -> ArchiveError {
    refused(path, Wrong::Unreadable(error.to_string()))
}

/// Refuses the first file that would be written otherwise.
fn compare(contents: &Contents, manifest: &Manifest, files: &Files) -> Result<(), ArchiveError> {
    let again = pack::files(contents);
    let missing = again.keys().find(|path| !files.contains_key(*path));
    if let Some(path) = missing {
        return Err(refused(path, Wrong::Missing));
    }
    if let Some((path, _)) =
        files.iter().find(|(path, bytes)| again.get(*path).map(AsRef::as_ref) != Some(bytes.as_slice()))
    {
        return Err(refused(path, Wrong::Unfit));
    }
    let mut rows = manifest.files.clone();
    rows.sort_by(|a, b| a.path.cmp(&b.path));
    let fresh = again.iter().map(|(path, bytes)| FileRow::of(path, bytes)).collect();
    let fresh = Manifest::of(contents, fresh, &manifest.program, manifest.exported);
    // What the program says about itself may differ; what it says about the job may not.
    let given = Manifest { files: rows, about: fresh.about.clone(), ..manifest.clone() };
    if given == fresh { Ok(()) } else { Err(refused(pack::MANIFEST, Wrong::Unfit)) }
}
