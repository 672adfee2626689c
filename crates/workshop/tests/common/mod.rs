//! What the tests of the store share: a folder that goes away, entries, a picture.

#![allow(dead_code, reason = "each test file uses some of it")]

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use voltwright_workshop::{Created, Moment, NewEntry, Run, Store};

/// A fresh folder, removed with all in it at the end.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new() -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = std::env::temp_dir().join(format!("voltwright-workshop-{}-{count}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub fn file(&self) -> PathBuf {
        self.join("workshop.db")
    }

    pub fn join(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub fn store(&self) -> Store {
        Store::open(&self.file()).unwrap()
    }

    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A raw connection, as any other program might open.
pub fn raw(path: &Path) -> rusqlite::Connection {
    rusqlite::Connection::open(path).unwrap()
}

/// A reading with this key, at revision 1.
pub fn reading(key: &str, value: f64) -> NewEntry {
    NewEntry {
        revision: 1,
        key: key.to_owned(),
        taken: Moment(5),
        stage: "cold".to_owned(),
        kind: "reading".to_owned(),
        red: "P1.4".to_owned(),
        black: "P1.1".to_owned(),
        function: "V DC".to_owned(),
        value: Some(value),
        answer: None,
        note: String::new(),
        instrument: "bench meter".to_owned(),
        device: "tablet".to_owned(),
    }
}

/// The least that begins like a PNG, made different by its tail.
pub fn png(tail: &[u8]) -> Vec<u8> {
    [b"\x89PNG\r\n\x1a\n", tail].concat()
}

/// A job with two revisions, two first powers, entries with every awkward text and number, and pictures.
pub fn full_job(store: &Store) -> (Created, Run) {
    let made = store.create("Tape \"deck\" =1+1", "title = 'one'\n", "first", Moment(10)).unwrap();
    store.save(made.job, 1, "Tape deck", "title = 'two'\r\n# Ω\n", "saved", Moment(20)).unwrap();
    let first = store.begin(made.job, 1, Moment(30)).unwrap();
    let second = store.begin(made.job, 2, Moment(40)).unwrap();
    let mut odd = reading("odd", -0.0);
    odd.note = "=HYPERLINK(\"x\"),\r\n\"quoted\" 'Ω' \0 end".to_owned();
    odd.answer = Some(String::new());
    let mut over = reading("over", f64::INFINITY);
    over.revision = 2;
    let mut event = reading("event", 0.0);
    event.value = None;
    event.answer = Some("yes, off".to_owned());
    store.write(made.job, first.id, &[odd, reading("third", 1.0 / 3.0)], Moment(50)).unwrap();
    store.write(made.job, second.id, &[over], Moment(60)).unwrap();
    store.write(made.job, first.id, &[event], Moment(70)).unwrap();
    store.add_picture(made.job, &png(b"a"), "front.png", "as found, \"dusty\"", "front", Moment(80)).unwrap();
    store.add_picture(made.job, &png(b"a"), "front.png", "the same", "front", Moment(81)).unwrap();
    store.add_picture(made.job, b"\xff\xd8\xff\xe0rest", "../x.png", "", "", Moment(82)).unwrap();
    (made, first)
}
