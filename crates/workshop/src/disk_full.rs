//! A test from within: the disk is full, seen through the writer's own limit of pages.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::fs;
use std::path::PathBuf;

use crate::{Entry, JobId, Listed, Moment, NewEntry, Picture, Revision, Run, Store, StoreError, archive};

type Everything = (Vec<Listed>, Vec<Revision>, Vec<Run>, Vec<Entry>, Vec<Picture>);

fn everything(store: &Store, job: JobId) -> Everything {
    let numbers = store.revisions(job).unwrap().into_iter();
    (
        store.jobs("").unwrap(),
        numbers.map(|made| store.revision(job, made.number).unwrap()).collect(),
        store.runs(job).unwrap(),
        store.entries(job).unwrap(),
        store.pictures(job).unwrap(),
    )
}

/// Room for so many pages more than the file has.
fn leave_room(store: &Store, pages: i64) {
    let writer = store.writer.lock().unwrap();
    let now: i64 = writer.query_row("PRAGMA page_count", [], |row| row.get(0)).unwrap();
    let most: i64 =
        writer.query_row(&format!("PRAGMA max_page_count = {}", now + pages), [], |row| row.get(0)).unwrap();
    assert_eq!(most, now + pages);
}

fn entry(key: &str) -> NewEntry {
    NewEntry {
        revision: 1,
        key: key.to_owned(),
        taken: Moment(1),
        stage: String::new(),
        kind: "reading".to_owned(),
        red: String::new(),
        black: String::new(),
        function: String::new(),
        value: Some(1.0),
        answer: None,
        note: "n".repeat(3_000),
        instrument: String::new(),
        device: String::new(),
    }
}

/// Every kind of writing, with room for none of it, a little of it, and all: it is done or it is refused as too much
/// for the disk, and a refusal changes nothing.
#[test]
fn a_full_disk_changes_nothing() {
    let folder = Folder(std::env::temp_dir().join(format!("voltwright-full-{}", std::process::id())));
    let store = Store::open(&folder.0.join("workshop.db")).unwrap();
    let job = store.create("Rack", "one", "first", Moment(1)).unwrap().job;
    let run = store.begin(job, 1, Moment(2)).unwrap().id;
    store.write(job, run, &[entry("before")], Moment(3)).unwrap();
    let other = archive::export(&store, job, "test", Moment(9)).unwrap();
    let (mut full, mut done) = ([0; 4], [0; 4]);
    for room in 0..12 {
        for kind in 0..4 {
            leave_room(&store, room);
            let before = everything(&store, job);
            let tail = format!("{room}").repeat(8_000);
            let result = match kind {
                0 => store
                    .save(
                        job,
                        before.0.iter().find(|j| j.job == job).unwrap().newest,
                        "Rack",
                        &tail,
                        "saved",
                        Moment(4),
                    )
                    .map(drop),
                1 => store
                    .write(
                        job,
                        run,
                        &(0..6).map(|i| entry(&format!("{room}-{i}"))).collect::<Vec<_>>(),
                        Moment(5),
                    )
                    .map(drop),
                2 => store
                    .add_picture(job, &[b"\xff\xd8\xff", tail.as_bytes()].concat(), "p", "", "", Moment(6))
                    .map(drop),
                _ => archive::import(&store, &other, Moment(7)).map(drop).map_err(|e| match e {
                    archive::ArchiveError::Store(e) => e,
                    other => panic!("{other}"),
                }),
            };
            match result {
                Ok(()) => {
                    done[kind] += 1;
                    assert_ne!(everything(&store, job), before, "kind {kind}, room {room}");
                }
                Err(StoreError::Full) => {
                    full[kind] += 1;
                    assert_eq!(everything(&store, job), before, "kind {kind}, room {room}");
                }
                Err(other) => panic!("kind {kind}, room {room}: {other:?}"),
            }
        }
    }
    assert!(full.iter().chain(&done).all(|&count| count > 0), "full {full:?}, done {done:?}");
    leave_room(&store, 1_000_000);
    store.write(job, run, &[entry("after")], Moment(8)).unwrap();
    store.check().unwrap();
    assert_eq!(store.entries(job).unwrap().first().unwrap().what.key, "before");
    assert_eq!(store.entries(job).unwrap().last().unwrap().what.key, "after");
}

/// Removed with all in it at the end, whatever the end is.
struct Folder(PathBuf);

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}
