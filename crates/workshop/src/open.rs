//! Opening the workshop's file: made if absent, refused if it is not ours.

use std::fs::{self, OpenOptions};
use std::io::{self, Read};
use std::path::Path;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

use crate::{StoreError, migrate};

/// How long to wait for another program that is writing.
const PATIENCE: Duration = Duration::from_secs(5);

/// The first bytes of every SQLite 3 file (SQLite's "Database File Format", 1.3.1).
const MAGIC: &[u8] = b"SQLite format 3\0";

/// A connection for writing and one for reading, of a file at the newest layout.
pub(crate) fn open(path: &Path) -> Result<(Connection, Connection), StoreError> {
    let path = std::path::absolute(path)?;
    make(&path)?;
    refuse_other_files(&path)?;
    let mut writer = connect(&path)?;
    // Before the write-ahead log is asked for: a foreign file must stay as it is.
    migrate::layout(&mut writer)?;
    write_ahead(&writer)?;
    migrate::bring_up(&mut writer)?;
    let reader = connect(&path)?;
    reader.pragma_update(None, "query_only", true)?;
    Ok((writer, reader))
}

/// Makes the folder and an empty file, where they are absent.
fn make(path: &Path) -> Result<(), StoreError> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    match create_private(path) {
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        done => Ok(done?),
    }
}

/// Makes an empty file that only its owner can read, since the workshop holds the server's secret.
pub(crate) fn create_private(path: &Path) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path).map(drop)
}

fn refuse_other_files(path: &Path) -> Result<(), StoreError> {
    let mut head = Vec::new();
    fs::File::open(path)?.take(MAGIC.len() as u64).read_to_end(&mut head)?;
    if head.is_empty() || head == MAGIC { Ok(()) } else { Err(StoreError::Foreign) }
}

/// A connection with our settings. A path is a path: no `file:` address is read into it.
fn connect(path: &Path) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    connection.busy_timeout(PATIENCE)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "cell_size_check", true)?;
    Ok(connection)
}

/// Turns the write-ahead log on, which stays on in the file. SQLite does not wait here where another program is doing
/// the same, so we do.
fn write_ahead(connection: &Connection) -> Result<(), StoreError> {
    const PAUSE: Duration = Duration::from_millis(20);
    let mut waited = Duration::ZERO;
    loop {
        match ask_for_log(connection) {
            Err(StoreError::Locked) if waited < PATIENCE => std::thread::sleep(PAUSE),
            done => return done,
        }
        waited += PAUSE;
    }
}

fn ask_for_log(connection: &Connection) -> Result<(), StoreError> {
    let mode: String = connection.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0))?;
    if mode == "wal" { Ok(()) } else { Err(StoreError::CannotOpen(format!("journal mode {mode}"))) }
}
