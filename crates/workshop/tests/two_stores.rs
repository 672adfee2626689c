//! Several stores and threads on one file at once: nothing is lost, nothing is written twice.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use std::collections::BTreeSet;
use std::thread;

use common::{Folder, reading};
use voltwright_workshop::{Moment, Saved, Store, StoreError, Written};

/// Saves until it is the newest, as a person would who looks again at each conflict.
fn save_upon_the_newest(store: &Store, job: voltwright_workshop::JobId, line: &str) {
    loop {
        let newest = store.newest(job).unwrap();
        let text = format!("{}{line}\n", newest.text);
        match store.save(job, newest.made.number, "A", &text, "saved", Moment(1)) {
            Ok(Saved::As(_)) => return,
            Err(StoreError::Conflict { .. }) => {}
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn two_programs_lose_nothing() {
    const EACH: u32 = 40;
    let folder = Folder::new();
    let first = folder.store();
    let job = first.create("A", "", "first", Moment(1)).unwrap().job;
    let run = first.begin(job, 1, Moment(2)).unwrap().id;
    let work = |store: Store, who: char| {
        for i in 0..EACH {
            save_upon_the_newest(&store, job, &format!("{who}{i}"));
            let batch = [reading(&format!("{who}{i}"), 1.0), reading(&format!("both{i}"), 2.0)];
            store.write(job, run, &batch, Moment(u64::from(i))).unwrap();
        }
    };
    let second = folder.store();
    thread::scope(|scope| {
        scope.spawn(|| work(first, 'a'));
        scope.spawn(|| work(second, 'b'));
    });
    let store = folder.store();
    store.check().unwrap();
    let keys: Vec<String> = store.log(run).unwrap().into_iter().map(|e| e.what.key).collect();
    let each = |who: &str| (0..EACH).map(|i| format!("{who}{i}")).collect::<Vec<_>>();
    let expected: BTreeSet<_> = [each("a"), each("b"), each("both")].concat().into_iter().collect();
    assert_eq!(keys.len(), expected.len());
    assert_eq!(keys.iter().cloned().collect::<BTreeSet<_>>(), expected);
    // Each program's lines stand in the order in which it wrote them, in the newest text as in the log.
    let newest = store.newest(job).unwrap();
    assert_eq!(newest.made.number, 1 + 2 * EACH);
    for who in ["a", "b"] {
        let of = |all: Vec<String>| {
            all.into_iter().filter(|l| l.starts_with(who) && !l.starts_with("both")).collect::<Vec<_>>()
        };
        assert_eq!(of(newest.text.lines().map(str::to_owned).collect()), each(who));
        assert_eq!(of(keys.clone()), each(who));
    }
}

#[test]
fn one_store_serves_many_threads() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "", "first", Moment(1)).unwrap().job;
    let run = store.begin(job, 1, Moment(2)).unwrap().id;
    let store = &store;
    let written: Vec<Written> = thread::scope(|scope| {
        let write = |_| {
            scope.spawn(move || {
                let all = (0..20)
                    .map(|i| store.write(job, run, &[reading(&format!("{i}"), 1.0)], Moment(3)).unwrap()[0]);
                all.collect::<Vec<_>>()
            })
        };
        let threads: Vec<_> = (0..4).map(write).collect();
        threads.into_iter().flat_map(|thread| thread.join().unwrap()).collect()
    });
    let new: BTreeSet<_> =
        written.iter().filter_map(|w| if let Written::New(id) = w { Some(id) } else { None }).collect();
    assert_eq!((written.len(), new.len()), (80, 20));
    assert_eq!(store.log(run).unwrap().len(), 20);
}

/// Several programs start at once where there is no file yet.
#[test]
fn a_file_is_made_once() {
    for _ in 0..10 {
        let folder = Folder::new();
        let path = &folder.join("new/workshop.db");
        thread::scope(|scope| {
            let start = |i| {
                scope.spawn(move || {
                    let store = Store::open(path).unwrap();
                    store.create("Same", "", "first", Moment(i)).unwrap().name
                })
            };
            let threads: Vec<_> = (0..4).map(start).collect();
            let names: BTreeSet<_> = threads.into_iter().map(|thread| thread.join().unwrap()).collect();
            assert_eq!(names.into_iter().collect::<Vec<_>>(), ["same", "same-2", "same-3", "same-4"]);
        });
        Store::open(path).unwrap().check().unwrap();
    }
}
