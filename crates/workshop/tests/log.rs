//! The log of a first power: exactly once, in order, all or none, and nothing of a number lost.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{Folder, full_job, reading};
use voltwright_workshop::{EntryId, Moment, NewEntry, Store, StoreError, Written};

fn keys(store: &Store, run: voltwright_workshop::RunId) -> Vec<String> {
    store.log(run).unwrap().into_iter().map(|entry| entry.what.key).collect()
}

#[test]
fn a_batch_sent_twice_is_written_once() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "", "first", Moment(1)).unwrap().job;
    let run = store.begin(job, 1, Moment(2)).unwrap().id;
    let batch = [reading("a", 1.0), reading("b", 2.0)];
    let first = store.write(job, run, &batch, Moment(10)).unwrap();
    let [Written::New(a), Written::New(b)] = first[..] else { panic!("{first:?}") };
    assert!(a < b);
    let again = store.write(job, run, &batch, Moment(20)).unwrap();
    assert_eq!(again, [Written::Known(a), Written::Known(b)]);
    // Known and new mixed, one of them twice in the batch, one with another value than before: that stays as it was.
    let mixed = [reading("c", 3.0), reading("a", 99.0), reading("d", 4.0), reading("c", 98.0)];
    let written = store.write(job, run, &mixed, Moment(30)).unwrap();
    let [Written::New(c), Written::Known(known), Written::New(d), Written::Known(twice)] = written[..] else {
        panic!("{written:?}")
    };
    assert_eq!((known, twice), (a, c));
    assert!(c < d);
    assert_eq!(keys(&store, run), ["a", "b", "c", "d"]);
    let log = store.log(run).unwrap();
    assert_eq!(log.iter().map(|e| e.what.value.unwrap()).collect::<Vec<_>>(), [1.0, 2.0, 3.0, 4.0]);
    assert_eq!(log.iter().map(|e| e.received.0).collect::<Vec<_>>(), [10, 10, 30, 30]);
    let listed = store.listed(job).unwrap();
    assert_eq!((listed.entries, listed.touched), (4, Moment(30)));
}

#[test]
fn a_key_is_known_in_every_run_of_the_job_and_of_no_other() {
    let folder = Folder::new();
    let store = folder.store();
    let [one, two] = ["A", "B"].map(|title| store.create(title, "", "first", Moment(1)).unwrap().job);
    let first = store.begin(one, 1, Moment(2)).unwrap();
    let second = store.begin(one, 1, Moment(3)).unwrap();
    let other = store.begin(two, 1, Moment(4)).unwrap();
    assert_eq!((first.number, second.number, other.number), (1, 2, 1));
    let batch = [reading("a", 1.0)];
    store.write(one, first.id, &batch, Moment(5)).unwrap();
    assert!(matches!(store.write(one, second.id, &batch, Moment(6)).unwrap()[..], [Written::Known(_)]));
    assert!(matches!(store.write(two, other.id, &batch, Moment(6)).unwrap()[..], [Written::New(_)]));
    assert!(keys(&store, second.id).is_empty());
    assert_eq!(store.runs(one).unwrap(), [first, second]);
}

#[test]
fn one_bad_entry_and_none_is_written() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "", "first", Moment(1)).unwrap().job;
    let run = store.begin(job, 1, Moment(2)).unwrap().id;
    let before = store.listed(job).unwrap();
    let refusal = |bad: NewEntry| {
        let refused = store.write(job, run, &[reading("good", 1.0), bad], Moment(9)).unwrap_err();
        assert_eq!(store.log(run).unwrap(), []);
        assert_eq!(store.listed(job).unwrap(), before);
        refused
    };
    let of = |change: fn(&mut NewEntry)| {
        let mut entry = reading("bad", 1.0);
        change(&mut entry);
        entry
    };
    assert!(matches!(refusal(of(|e| e.key.clear())), StoreError::BadKey(0)));
    assert!(matches!(refusal(of(|e| e.key = "k".repeat(65))), StoreError::BadKey(65)));
    assert!(matches!(refusal(of(|e| e.value = Some(f64::NAN))), StoreError::NotANumber(_)));
    assert!(matches!(refusal(of(|e| e.revision = 2)), StoreError::NoRevision(2)));
    assert!(matches!(refusal(of(|e| e.taken = Moment(u64::MAX))), StoreError::OutOfRange));
    assert!(matches!(refusal(of(|e| e.note = "n".repeat(65_537))), StoreError::TextTooLarge { .. }));
    // 64 characters are taken, however many bytes they have.
    let longest = of(|e| e.key = "Ω".repeat(64));
    assert!(matches!(store.write(job, run, &[longest], Moment(9)).unwrap()[..], [Written::New(EntryId(_))]));
}

#[test]
fn texts_and_numbers_survive() {
    let folder = Folder::new();
    let (made, run) = full_job(&folder.store());
    let entries = folder.store().entries(made.job).unwrap();
    let bits: Vec<_> = entries.iter().map(|e| e.what.value.map(f64::to_bits)).collect();
    let third: f64 = 1.0 / 3.0;
    assert_eq!(
        bits,
        [Some((-0.0_f64).to_bits()), Some(third.to_bits()), Some(f64::INFINITY.to_bits()), None]
    );
    assert_eq!(entries[0].what.note, "=HYPERLINK(\"x\"),\r\n\"quoted\" 'Ω' \0 end");
    assert_eq!(entries[0].what.answer.as_deref(), Some(""));
    assert_eq!(entries[1].what.answer, None);
    assert_eq!(keys(&folder.store(), run.id), ["odd", "third", "event"]);
}
