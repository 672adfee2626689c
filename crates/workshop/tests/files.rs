//! The file: made, brought up from the first layout, and refused in words where it is not ours or does not hold together.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use std::fs;
use std::path::Path;

use common::{Folder, full_job, raw, reading};
use voltwright_workshop::{JobId, Moment, RunId, Saved, Store, StoreError};

/// A file of layout 1 with a job in it, made without the store, from a copy of that layout's text as it was released.
fn first_layout(path: &Path) -> rusqlite::Connection {
    let file = raw(path);
    file.execute_batch(include_str!("layout-1.sql")).unwrap();
    file.execute_batch(
        "PRAGMA application_id = 1449948279;
         PRAGMA user_version = 1;
         INSERT INTO job VALUES (7, 'old-rack', 10, 'Old rack', 2, 1, 50);
         INSERT INTO revision VALUES (7, 1, 10, 'first', 'Rack', 'one'), (7, 2, 20, 'saved', 'Old rack', 'two');
         INSERT INTO run VALUES (3, 7, 1, 2, 30);
         INSERT INTO entry VALUES (5, 7, 3, 2, 'k', 40, 50, 'cold', 'reading', 'a', 'b', 'ohm', 'inf', NULL, '', '', '');",
    )
    .unwrap();
    file
}

fn number(path: &Path, sql: &str) -> i64 {
    raw(path).query_row(sql, [], |row| row.get(0)).unwrap()
}

#[test]
fn a_new_file_and_its_folder_are_made() {
    let folder = Folder::new();
    let path = folder.join("a/b/workshop.db");
    let store = Store::open(&path).unwrap();
    let job = store.create("A", "", "first", Moment(1)).unwrap().job;
    drop(store);
    assert_eq!(Store::open(&path).unwrap().listed(job).unwrap().title, "A");
    assert_eq!(number(&path, "PRAGMA application_id"), 0x566C_7477);
    assert_eq!(number(&path, "PRAGMA user_version"), 2);
    let mode: String = raw(&path).query_row("PRAGMA journal_mode", [], |row| row.get(0)).unwrap();
    assert_eq!(mode, "wal");
    // It holds the server's secret, so it is its owner's alone.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
    }
}

#[test]
fn an_empty_file_is_taken_as_new() {
    let folder = Folder::new();
    fs::write(folder.file(), "").unwrap();
    folder.store().check().unwrap();
}

/// A name that SQLite could take for an address or for memory is a name.
#[test]
fn a_path_is_a_path() {
    let folder = Folder::new();
    let path = folder.join("file:x?mode=memory");
    Store::open(&path).unwrap();
    assert!(fs::metadata(&path).unwrap().len() > 0);
}

#[test]
fn the_first_layout_is_brought_up() {
    let folder = Folder::new();
    drop(first_layout(&folder.file()));
    let store = folder.store();
    store.check().unwrap();
    let listed = store.named("old-rack").unwrap().unwrap();
    assert_eq!((listed.job, listed.newest, listed.entries, listed.touched), (JobId(7), 2, 1, Moment(50)));
    assert_eq!(store.log(RunId(3)).unwrap()[0].what.value, Some(f64::INFINITY));
    // What the second layout brought works, and the record can be added to.
    let device = store.pair("tablet", b"t", Moment(60)).unwrap();
    assert_eq!(store.devices().unwrap()[0].id, device);
    assert_eq!(store.save(JobId(7), 2, "Old rack", "three", "saved", Moment(70)).unwrap(), Saved::As(3));
    assert_eq!(number(&folder.file(), "PRAGMA user_version"), 2);
}

/// A step that fails leaves the file at the layout it had.
#[test]
fn a_step_is_taken_wholly_or_not_at_all() {
    let folder = Folder::new();
    // The last of the tables the step makes is in its way.
    first_layout(&folder.file()).execute_batch("CREATE TABLE digest (x)").unwrap();
    assert!(Store::open(&folder.file()).is_err());
    assert_eq!(number(&folder.file(), "PRAGMA user_version"), 1);
    assert_eq!(number(&folder.file(), "SELECT count(*) FROM sqlite_schema WHERE name = 'device'"), 0);
    raw(&folder.file()).execute_batch("DROP TABLE digest").unwrap();
    folder.store().check().unwrap();
}

#[test]
fn a_newer_file_is_left_as_it_is() {
    let folder = Folder::new();
    drop(folder.store());
    raw(&folder.file()).pragma_update(None, "user_version", 3).unwrap();
    let before = fs::read(folder.file()).unwrap();
    let refused = Store::open(&folder.file()).unwrap_err();
    assert!(matches!(refused, StoreError::Newer { found: 3, known: 2 }), "{refused:?}");
    assert!(refused.to_string().contains("newer Voltwright"), "{refused}");
    assert_eq!(fs::read(folder.file()).unwrap(), before);
}

#[test]
fn other_files_are_left_as_they_are() {
    let folder = Folder::new();
    let tables = folder.join("tables.db");
    raw(&tables).execute_batch("CREATE TABLE x (y)").unwrap();
    let marked = folder.join("marked.db");
    raw(&marked).execute_batch("PRAGMA application_id = 5; CREATE TABLE x (y); DROP TABLE x").unwrap();
    let numbered = folder.join("numbered.db");
    raw(&numbered).execute_batch("PRAGMA user_version = 1; CREATE TABLE x (y); DROP TABLE x").unwrap();
    let text = folder.join("notes.txt");
    fs::write(&text, "SQLite format 4, and other notes").unwrap();
    let short = folder.join("short.txt");
    fs::write(&short, "SQL").unwrap();
    for path in [tables, marked, numbered, text, short] {
        let before = fs::read(&path).unwrap();
        let refused = Store::open(&path).unwrap_err();
        assert!(matches!(refused, StoreError::Foreign), "{}: {refused:?}", path.display());
        assert!(refused.to_string().contains("not a Voltwright workshop"));
        assert_eq!(fs::read(&path).unwrap(), before, "{}", path.display());
    }
}

#[test]
fn a_place_where_no_file_can_be_is_said() {
    let folder = Folder::new();
    fs::write(folder.join("file"), "").unwrap();
    for path in [folder.join("file/workshop.db"), folder.path().to_owned(), "".into()] {
        let refused = Store::open(&path).unwrap_err();
        assert!(matches!(refused, StoreError::CannotOpen(_)), "{}: {refused:?}", path.display());
    }
}

/// Every page but the first overwritten, one at a time: no panic, and what is read as sound is what was there.
#[test]
fn damage_is_noticed() {
    const PAGE: usize = 4096;
    let folder = Folder::new();
    let made = full_job(&folder.store()).0;
    let sound = fs::read(folder.file()).unwrap();
    let noticed = (1..sound.len() / PAGE).filter(|page| {
        let mut bytes = sound.clone();
        bytes[page * PAGE..(page + 1) * PAGE].fill(0xA5);
        fs::write(folder.file(), bytes).unwrap();
        let opened = Store::open(&folder.file());
        let checked = opened.as_ref().map(Store::check);
        if let Ok(store) = &opened {
            let _ = (store.entries(made.job), store.pictures(made.job), store.jobs("deck"));
        }
        matches!(checked, Err(StoreError::Damaged(_)) | Ok(Err(StoreError::Damaged(_))))
    });
    assert_eq!(noticed.count(), sound.len() / PAGE - 1);
    // Cut off in the middle.
    fs::write(folder.file(), &sound[..sound.len() / 2]).unwrap();
    let cut = Store::open(&folder.file()).and_then(|store| store.check());
    assert!(matches!(cut, Err(StoreError::Damaged(_))), "{cut:?}");
}

/// What holds by itself in SQLite's eyes, but not in ours.
#[test]
fn wrong_counters_and_changed_pictures_are_noticed() {
    for (damage, words) in [
        ("UPDATE job SET entries = entries + 1", "counters"),
        ("UPDATE job SET newest = 1", "counters"),
        ("UPDATE job SET title = 'x'", "counters"),
        ("DROP TRIGGER image_kept; UPDATE image SET bytes = x'89504e47'", "picture"),
        ("PRAGMA foreign_keys = OFF; DROP TRIGGER run_stays; DELETE FROM run", "reference"),
    ] {
        let folder = Folder::new();
        full_job(&folder.store());
        folder.store().check().unwrap();
        raw(&folder.file()).execute_batch(damage).unwrap();
        let found = folder.store().check().unwrap_err();
        assert!(matches!(&found, StoreError::Damaged(what) if what.contains(words)), "{damage}: {found}");
    }
}

/// Another program holds the file: reading goes on, writing waits, then says so and works again later.
#[test]
fn a_held_file_is_said() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "", "first", Moment(1)).unwrap().job;
    let run = store.begin(job, 1, Moment(2)).unwrap().id;
    let other = raw(&folder.file());
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let refused = store.write(job, run, &[reading("a", 1.0)], Moment(3)).unwrap_err();
    assert!(matches!(refused, StoreError::Locked), "{refused:?}");
    assert_eq!(store.log(run).unwrap(), []);
    other.execute_batch("COMMIT").unwrap();
    store.write(job, run, &[reading("a", 1.0)], Moment(3)).unwrap();
    assert_eq!(store.log(run).unwrap().len(), 1);
}
