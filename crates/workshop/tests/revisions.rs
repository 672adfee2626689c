//! Jobs and their revisions: saved, gone back to, looked up, in conflict; the list and its search.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{Folder, reading};
use voltwright_workshop::{JobId, Moment, Saved, StoreError};

#[test]
fn a_text_is_kept_in_every_revision() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "one", "first", Moment(10)).unwrap().job;
    assert_eq!(store.save(job, 1, "B", "two", "saved", Moment(20)).unwrap(), Saved::As(2));
    assert_eq!(store.save(job, 2, "B", "two", "saved", Moment(30)).unwrap(), Saved::Same(2));
    assert_eq!(store.back_to(job, 1, 2, Moment(40)).unwrap(), Saved::As(3));
    let all: Vec<_> = (1..=3).map(|number| store.revision(job, number).unwrap()).collect();
    assert_eq!(all.iter().map(|r| r.text.as_str()).collect::<Vec<_>>(), ["one", "two", "one"]);
    assert_eq!(all.iter().map(|r| r.made.title.as_str()).collect::<Vec<_>>(), ["A", "B", "A"]);
    assert_eq!(all[2].made.why, "back to revision 1");
    assert_eq!(store.revisions(job).unwrap(), all.iter().map(|r| r.made.clone()).collect::<Vec<_>>());
    assert_eq!(store.newest(job).unwrap(), all[2]);
}

#[test]
fn as_it_was_on_a_day() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "one", "first", Moment(10)).unwrap().job;
    store.save(job, 1, "A", "two", "saved", Moment(20)).unwrap();
    for (at, number) in [(9, None), (10, Some(1)), (19, Some(1)), (20, Some(2)), (u64::MAX, Some(2))] {
        let was = store.as_it_was(job, Moment(at)).unwrap();
        assert_eq!(was.map(|r| r.made.number), number, "at {at}");
    }
}

/// Two people open revision 1; the second to save is told, and nothing of the first's is lost.
#[test]
fn the_later_of_two_writers_is_refused() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "one", "first", Moment(10)).unwrap().job;
    store.save(job, 1, "A", "mine", "saved", Moment(20)).unwrap();
    let before = store.jobs("").unwrap();
    let refused = store.save(job, 1, "A", "yours", "saved", Moment(30)).unwrap_err();
    assert!(matches!(refused, StoreError::Conflict { yours: 1, newest: 2 }), "{refused:?}");
    assert!(refused.to_string().contains("revision 1") && refused.to_string().contains("revision 2"));
    assert!(matches!(
        store.save(job, 3, "A", "yours", "saved", Moment(30)),
        Err(StoreError::Conflict { .. })
    ));
    assert!(matches!(store.back_to(job, 1, 1, Moment(30)), Err(StoreError::Conflict { .. })));
    assert_eq!(store.newest(job).unwrap().text, "mine");
    assert_eq!(store.jobs("").unwrap(), before);
}

/// The answer to a save was lost on the way, and the device saves again upon the revision it knows of.
#[test]
fn a_save_can_be_repeated() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "one", "first", Moment(10)).unwrap().job;
    assert_eq!(store.save(job, 1, "A", "two", "saved", Moment(20)).unwrap().number(), 2);
    assert_eq!(store.save(job, 1, "A", "two", "saved", Moment(21)).unwrap(), Saved::Same(2));
    assert_eq!(store.revisions(job).unwrap().len(), 2);
}

#[test]
fn what_is_not_there_is_said() {
    let folder = Folder::new();
    let store = folder.store();
    let job = store.create("A", "one", "first", Moment(10)).unwrap().job;
    let none = JobId(99);
    assert!(matches!(store.newest(none), Err(StoreError::NoJob(JobId(99)))));
    assert!(matches!(store.save(none, 1, "A", "x", "", Moment(1)), Err(StoreError::NoJob(_))));
    assert!(matches!(store.begin(none, 1, Moment(1)), Err(StoreError::NoJob(_))));
    assert!(matches!(store.revision(job, 2), Err(StoreError::NoRevision(2))));
    assert!(matches!(store.back_to(job, 0, 1, Moment(1)), Err(StoreError::NoRevision(0))));
    assert!(matches!(store.begin(job, 2, Moment(1)), Err(StoreError::NoRevision(2))));
    assert!(matches!(store.put_digest(job, 2, "1", "{}"), Err(StoreError::NoRevision(2))));
    let other = store.create("B", "one", "first", Moment(10)).unwrap().job;
    let run = store.begin(other, 1, Moment(1)).unwrap().id;
    assert!(matches!(store.write(job, run, &[], Moment(1)), Err(StoreError::NoRun(_))));
    assert!(matches!(store.write(job, run, &[reading("a", 1.0)], Moment(1)), Err(StoreError::NoRun(_))));
    assert!(store.named("no-such").unwrap().is_none());
}

#[test]
fn names_are_unique() {
    let folder = Folder::new();
    let store = folder.store();
    let name = |title: &str| store.create(title, "", "first", Moment(1)).unwrap().name;
    assert_eq!(
        ["Rack 2", "Rack", "rack!", "RACK", "Ω", "?"].map(name),
        ["rack-2", "rack", "rack-3", "rack-4", "job", "job-2"]
    );
    assert_eq!(store.named("rack-3").unwrap().unwrap().title, "rack!");
}

#[test]
fn the_list_is_searched_and_ordered() {
    let folder = Folder::new();
    let store = folder.store();
    let plotter = store.create("Plotter, flat", "maker = 'Ärmel & Co'", "first", Moment(10)).unwrap().job;
    let rack = store.create("Rack", "the PLOTTER's drive", "first", Moment(20)).unwrap().job;
    let found = |search: &str| store.jobs(search).unwrap().iter().map(|j| j.job).collect::<Vec<_>>();
    assert_eq!(found(""), [rack, plotter]);
    assert_eq!(found("plotter"), [rack, plotter]);
    assert_eq!(found(" FLAT  plot "), [plotter]);
    assert_eq!(found("ärmel"), [plotter]);
    assert_eq!(found("drive rack"), [rack]);
    assert_eq!(found("drive flat"), []);
    // The newest text alone is searched, and what is touched goes to the head, also by a clock that was put back.
    store.save(plotter, 1, "Plotter, flat", "maker = 'nobody'", "saved", Moment(30)).unwrap();
    assert_eq!(found("ärmel"), []);
    assert_eq!(found(""), [plotter, rack]);
    store.begin(plotter, 1, Moment(5)).unwrap();
    assert_eq!(store.listed(plotter).unwrap().touched, Moment(30));
}

#[test]
fn what_is_too_large_is_refused() {
    let folder = Folder::new();
    let store = folder.store();
    let most = "x".repeat(8 << 20);
    let job = store.create("A", &most, "first", Moment(1)).unwrap().job;
    let more = format!("{most}x");
    assert!(matches!(store.create("B", &more, "", Moment(1)), Err(StoreError::TextTooLarge { .. })));
    let refused = store.save(job, 1, "A", &more, "saved", Moment(1)).unwrap_err();
    assert!(
        matches!(refused, StoreError::TextTooLarge { bytes: 8_388_609, most: 8_388_608, .. }),
        "{refused}"
    );
    assert_eq!(store.jobs("").unwrap().len(), 1);
    assert_eq!(store.newest(job).unwrap().made.number, 1);
    assert!(matches!(store.create("B", "", "", Moment(u64::MAX)), Err(StoreError::OutOfRange)));
}
