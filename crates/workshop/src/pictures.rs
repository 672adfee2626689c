//! Pictures: their content by its hash, once each, and where they belong.

use std::fmt;

use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::{Hash, JobId, Moment, Store, StoreError, jobs, limits};

/// The kind of a picture, as its own first bytes tell it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Media {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
    /// WebP.
    Webp,
}

impl Media {
    const ALL: [Self; 3] = [Self::Jpeg, Self::Png, Self::Webp];

    /// The kind by the first bytes: JPEG by its start-of-image marker and the next (ITU-T T.81, B.1.1), PNG by its
    /// signature (ISO/IEC 15948, 5.2), WebP by its container's head (RFC 9649, 2.4). From memory.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Option<Self> {
        match bytes {
            [0xFF, 0xD8, 0xFF, ..] => Some(Self::Jpeg),
            [0x89, b'P', b'N', b'G', b'\r', b'\n', 0x1A, b'\n', ..] => Some(Self::Png),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(Self::Webp),
            _ => None,
        }
    }

    /// The media type: `image/png`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Webp => "image/webp",
        }
    }

    /// The ending of a file's name, without the dot.
    #[must_use]
    pub fn ending(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
            Self::Webp => "webp",
        }
    }
}

impl fmt::Display for Media {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl ToSql for Media {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        self.name().to_sql()
    }
}

impl FromSql for Media {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let name = value.as_str()?;
        Self::ALL.into_iter().find(|media| media.name() == name).ok_or(FromSqlError::InvalidType)
    }
}

/// A picture of a job, without its content.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// The hash of its content.
    pub hash: Hash,
    /// Its kind.
    pub media: Media,
    /// What it was called.
    pub name: String,
    /// What the person wrote to it.
    pub note: String,
    /// What it shows, in the program's words.
    pub view: String,
    /// When it was added.
    pub added: Moment,
}

/// The content of a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Image {
    /// Its kind.
    pub media: Media,
    /// Its bytes, as they came.
    pub bytes: Vec<u8>,
}

impl Store {
    /// Adds a picture to a job. The same picture with the same words is not added again.
    ///
    /// # Errors
    /// There is no such job; the bytes are too many or no picture; the file cannot be written.
    pub fn add_picture(
        &self,
        job: JobId,
        bytes: &[u8],
        name: &str,
        note: &str,
        view: &str,
        at: Moment,
    ) -> Result<Hash, StoreError> {
        let media = check(bytes)?;
        let picture = Picture {
            hash: Hash::of(bytes),
            media,
            name: name.to_owned(),
            note: note.to_owned(),
            view: view.to_owned(),
            added: at,
        };
        self.transact(|turn| {
            jobs::newest(turn, job)?;
            insert(turn, job, &picture, bytes)?;
            Ok(picture.hash)
        })
    }

    /// The pictures of a job, in the order in which they were added.
    ///
    /// # Errors
    /// There is no such job; the file cannot be read.
    pub fn pictures(&self, job: JobId) -> Result<Vec<Picture>, StoreError> {
        self.read(|view| {
            jobs::newest(view, job)?;
            all(view, job)
        })
    }

    /// The content of this hash, if the store has it.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn picture(&self, hash: Hash) -> Result<Option<Image>, StoreError> {
        self.read(|view| image(view, hash))
    }
}

/// The kind of a picture; refuses what is too large or no picture.
pub(crate) fn check(bytes: &[u8]) -> Result<Media, StoreError> {
    if bytes.len() > limits::PICTURE {
        return Err(StoreError::PictureTooLarge { bytes: bytes.len(), most: limits::PICTURE });
    }
    Media::of(bytes).ok_or(StoreError::NotAPicture)
}

/// Adds a picture, and its content unless that is known.
pub(crate) fn insert(
    turn: &Connection,
    job: JobId,
    picture: &Picture,
    bytes: &[u8],
) -> Result<(), StoreError> {
    let Picture { hash, media, name, note, view, added } = picture;
    for text in [name, note, view] {
        limits::text("A text of a picture", text, limits::FIELD)?;
    }
    if !exists(turn, "SELECT EXISTS (SELECT 1 FROM image WHERE hash = ?1)", params![hash])? {
        turn.execute(
            "INSERT INTO image (hash, media, bytes) VALUES (?1, ?2, ?3)",
            params![hash, media, bytes],
        )?;
    }
    let known =
        "SELECT EXISTS (SELECT 1 FROM picture WHERE job = ?1 AND hash = ?2 AND name = ?3 AND note = ?4
        AND view = ?5)";
    if !exists(turn, known, params![job, hash, name, note, view])? {
        turn.execute(
            "INSERT INTO picture (job, hash, name, note, view, added) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![job, hash, name, note, view, added],
        )?;
        jobs::touch(turn, job, *added)?;
    }
    Ok(())
}

fn exists(turn: &Connection, sql: &str, with: impl rusqlite::Params) -> Result<bool, StoreError> {
    Ok(turn.query_row(sql, with, |row| row.get(0))?)
}

pub(crate) fn all(view: &Connection, job: JobId) -> Result<Vec<Picture>, StoreError> {
    let mut rows = view.prepare(
        "SELECT hash, media, name, note, view, added FROM picture JOIN image USING (hash) WHERE job = ?1 ORDER BY id",
    )?;
    Ok(rows.query_map(params![job], picture)?.collect::<Result<_, _>>()?)
}

pub(crate) fn image(view: &Connection, hash: Hash) -> Result<Option<Image>, StoreError> {
    let content = |row: &Row<'_>| Ok(Image { media: row.get(0)?, bytes: row.get(1)? });
    Ok(view.query_row("SELECT media, bytes FROM image WHERE hash = ?1", params![hash], content).optional()?)
}

fn picture(row: &Row<'_>) -> rusqlite::Result<Picture> {
    Ok(Picture {
        hash: row.get(0)?,
        media: row.get(1)?,
        name: row.get(2)?,
        note: row.get(3)?,
        view: row.get(4)?,
        added: row.get(5)?,
    })
}
