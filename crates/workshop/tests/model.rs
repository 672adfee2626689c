//! The store beside a plain model of it: random work, the file closed and opened at random moments, all of it compared.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use std::collections::BTreeMap;

use common::{Folder, png, reading};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use voltwright_workshop::{
    EntryId, Hash, JobId, Moment, NewEntry, RunId, Saved, Store, StoreError, Written, archive,
};

#[derive(Debug, Clone)]
enum Work {
    Create { title: usize, text: usize },
    Save { job: usize, behind: u32, text: usize },
    BackTo { job: usize, number: u32, behind: u32 },
    Begin { job: usize, revision: u32 },
    Write { job: usize, run: usize, keys: Vec<u8>, value: usize },
    Picture { job: usize, tail: u8, note: usize },
    Digest { job: usize, text: usize },
    Pass { job: usize },
    Reopen,
}

const TITLES: [&str; 4] = ["Rack", "Rack 2", "Ω", "tape deck"];
const TEXTS: [&str; 4] = ["", "one\n", "two\r\n", "=three \"Ω\""];
const VALUES: [Option<f64>; 6] =
    [None, Some(4.97), Some(-0.0), Some(f64::INFINITY), Some(f64::NEG_INFINITY), Some(5e-324)];

fn work() -> impl Strategy<Value = Work> {
    prop_oneof![
        1 => (0..4_usize, 0..4_usize).prop_map(|(title, text)| Work::Create { title, text }),
        4 => (0..4_usize, 0..2_u32, 0..4_usize).prop_map(|(job, behind, text)| Work::Save { job, behind, text }),
        2 => (0..4_usize, 0..5_u32, 0..2_u32)
            .prop_map(|(job, number, behind)| Work::BackTo { job, number, behind }),
        2 => (0..4_usize, 0..4_u32).prop_map(|(job, revision)| Work::Begin { job, revision }),
        6 => (0..4_usize, 0..3_usize, prop::collection::vec(0..20_u8, 0..5), 0..6_usize)
            .prop_map(|(job, run, keys, value)| Work::Write { job, run, keys, value }),
        2 => (0..4_usize, 0..3_u8, 0..4_usize).prop_map(|(job, tail, note)| Work::Picture { job, tail, note }),
        1 => (0..4_usize, 0..4_usize).prop_map(|(job, text)| Work::Digest { job, text }),
        1 => (0..4_usize).prop_map(|job| Work::Pass { job }),
        1 => Just(Work::Reopen),
    ]
}

/// A job as plain lists.
#[derive(Debug, Clone, Default)]
struct Job {
    name: String,
    created: u64,
    touched: u64,
    revisions: Vec<(u64, String, String, String)>,
    runs: Vec<(RunId, u32, u64)>,
    entries: Vec<(RunId, u64, NewEntry)>,
    ids: Vec<EntryId>,
    pictures: Vec<(Hash, String, u64)>,
    digests: BTreeMap<u32, String>,
}

impl Job {
    fn newest(&self) -> u32 {
        u32::try_from(self.revisions.len()).unwrap()
    }

    fn has(&self, revision: u32) -> bool {
        (1..=self.newest()).contains(&revision)
    }

    fn add(&mut self, based_on: u32, title: &str, text: &str, why: &str, at: u64) -> Option<Saved> {
        let newest = self.newest();
        if self.revisions.last().unwrap().3 == text {
            return Some(Saved::Same(newest));
        }
        (based_on == newest).then(|| {
            self.revisions.push((at, why.into(), title.into(), text.into()));
            self.touched = at;
            Saved::As(newest + 1)
        })
    }
}

struct Pair {
    folder: Folder,
    store: Option<Store>,
    /// In the order of their making.
    jobs: Vec<(JobId, Job)>,
    now: u64,
}

impl Pair {
    fn store(&self) -> &Store {
        self.store.as_ref().unwrap()
    }

    /// The name the store must choose: the first free of `wish`, `wish-2` ..
    fn free(&self, wish: &str) -> String {
        let wishes = std::iter::once(wish.to_owned()).chain((2..).map(|n| format!("{wish}-{n}")));
        let mut free = wishes.filter(|name| self.jobs.iter().all(|(_, job)| job.name != *name));
        free.next().unwrap()
    }

    fn do_all(&mut self, all: &[Work]) {
        for work in all {
            self.now += 10;
            match work {
                Work::Create { title, text } => self.create(TITLES[*title], TEXTS[*text]),
                Work::Reopen => {
                    self.store = None;
                    self.store = Some(self.folder.store());
                }
                Work::Save { job, .. }
                | Work::BackTo { job, .. }
                | Work::Begin { job, .. }
                | Work::Write { job, .. }
                | Work::Picture { job, .. }
                | Work::Digest { job, .. }
                | Work::Pass { job } => {
                    if !self.jobs.is_empty() {
                        self.on(job % self.jobs.len(), work);
                    }
                }
            }
        }
    }

    fn create(&mut self, title: &str, text: &str) {
        let wish = match title {
            "Ω" => "job".to_owned(),
            title => title.to_lowercase().replace(' ', "-"),
        };
        let (name, at) = (self.free(&wish), self.now);
        let made = self.store().create(title, text, "first", Moment(at)).unwrap();
        assert_eq!(made.name, name);
        let revisions = vec![(at, "first".into(), title.into(), text.into())];
        self.jobs.push((made.job, Job { name, created: at, touched: at, revisions, ..Job::default() }));
    }

    fn on(&mut self, place: usize, work: &Work) {
        let store = self.store.take().unwrap();
        let at = self.now;
        let (id, job) = &mut self.jobs[place];
        match work {
            Work::Save { behind, text, .. } => {
                let based_on = job.newest() - (*behind).min(job.newest());
                let expected = job.add(based_on, "Saved", TEXTS[*text], "saved", at);
                let saved = store.save(*id, based_on, "Saved", TEXTS[*text], "saved", Moment(at));
                same_or_conflict(saved, expected);
            }
            Work::BackTo { number, behind, .. } => {
                let based_on = job.newest() - (*behind).min(job.newest());
                let saved = store.back_to(*id, *number, based_on, Moment(at));
                if job.has(*number) {
                    let (_, _, title, text) = job.revisions[*number as usize - 1].clone();
                    let expected =
                        job.add(based_on, &title, &text, &format!("back to revision {number}"), at);
                    same_or_conflict(saved, expected);
                } else {
                    assert!(matches!(saved, Err(StoreError::NoRevision(n)) if n == *number));
                }
            }
            Work::Begin { revision, .. } => begin(&store, *id, job, *revision, at),
            Work::Write { run, keys, value, .. } => write(&store, *id, job, *run, keys, VALUES[*value], at),
            Work::Picture { tail, note, .. } => {
                let (bytes, note) = (png(&[*tail]), TEXTS[*note]);
                assert_eq!(
                    store.add_picture(*id, &bytes, "p", note, "v", Moment(at)).unwrap(),
                    Hash::of(&bytes)
                );
                if !job.pictures.iter().any(|(hash, known, _)| *hash == Hash::of(&bytes) && known == note) {
                    job.pictures.push((Hash::of(&bytes), note.into(), at));
                    job.touched = at;
                }
            }
            Work::Digest { text, .. } => {
                store.put_digest(*id, job.newest(), "1", TEXTS[*text]).unwrap();
                job.digests.insert(job.newest(), TEXTS[*text].into());
            }
            Work::Pass { .. } => {
                let passed = pass(&store, *id, job, at);
                let name = self.free(&passed.1.name);
                assert_eq!(store.listed(passed.0).unwrap().name, name);
                self.jobs.push((passed.0, Job { name, ..passed.1 }));
            }
            Work::Create { .. } | Work::Reopen => unreachable!(),
        }
        self.store = Some(store);
    }

    fn compare(&self) {
        let store = self.store();
        store.check().unwrap();
        let mut order: Vec<_> = self.jobs.iter().map(|(id, job)| (job.touched, *id)).collect();
        order.sort_unstable();
        let listed = store.jobs("").unwrap();
        assert_eq!(listed.iter().rev().map(|l| (l.touched.0, l.job)).collect::<Vec<_>>(), order);
        for (id, job) in &self.jobs {
            compare_job(store, *id, job);
        }
    }
}

fn same_or_conflict(saved: Result<Saved, StoreError>, expected: Option<Saved>) {
    match expected {
        Some(expected) => assert_eq!(saved.unwrap(), expected),
        None => assert!(matches!(saved, Err(StoreError::Conflict { .. }))),
    }
}

fn begin(store: &Store, id: JobId, job: &mut Job, revision: u32, at: u64) {
    let begun = store.begin(id, revision, Moment(at));
    if job.has(revision) {
        let run = begun.unwrap();
        assert_eq!(run.number as usize, job.runs.len() + 1);
        job.runs.push((run.id, revision, at));
        job.touched = at;
    } else {
        assert!(matches!(begun, Err(StoreError::NoRevision(n)) if n == revision));
    }
}

fn write(store: &Store, id: JobId, job: &mut Job, run: usize, keys: &[u8], value: Option<f64>, at: u64) {
    let Some(&(run, _, _)) = job.runs.get(run % job.runs.len().max(1)) else {
        assert!(matches!(store.write(id, RunId(0), &[], Moment(at)), Err(StoreError::NoRun(_))));
        return;
    };
    let entry = |key: &u8| NewEntry {
        revision: 1 + u32::from(*key) % job.newest(),
        value,
        note: TEXTS[usize::from(*key) % 4].into(),
        answer: [None, Some(String::new()), Some("yes".into())][usize::from(*key) % 3].clone(),
        ..reading(&key.to_string(), 0.0)
    };
    let batch: Vec<_> = keys.iter().map(entry).collect();
    let written = store.write(id, run, &batch, Moment(at)).unwrap();
    assert_eq!(written.len(), batch.len());
    for (entry, written) in batch.into_iter().zip(written) {
        let known = job.entries.iter().position(|(_, _, old)| old.key == entry.key);
        match (known, written) {
            (Some(place), Written::Known(id)) => assert_eq!(id, job.ids[place]),
            (None, Written::New(id)) => {
                assert!(job.ids.iter().all(|&earlier| earlier < id));
                job.ids.push(id);
                job.entries.push((run, at, entry));
                job.touched = at;
            }
            other => panic!("{other:?}"),
        }
    }
}

/// The job exported and imported again: the model has a second one like it, with other numbers and no digests.
fn pass(store: &Store, id: JobId, job: &Job, at: u64) -> (JobId, Job) {
    let made =
        archive::import(store, &archive::export(store, id, "1", Moment(at)).unwrap(), Moment(at)).unwrap();
    let runs = store.runs(made.job).unwrap();
    let place = |run: RunId| job.runs.iter().position(|(old, _, _)| *old == run).unwrap();
    let entries = job.entries.iter().map(|(run, at, what)| (runs[place(*run)].id, *at, what.clone()));
    let again = Job {
        touched: at,
        runs: job.runs.iter().zip(&runs).map(|(old, new)| (new.id, old.1, old.2)).collect(),
        entries: entries.collect(),
        ids: store.entries(made.job).unwrap().iter().map(|entry| entry.id).collect(),
        digests: BTreeMap::new(),
        ..job.clone()
    };
    (made.job, again)
}

fn compare_job(store: &Store, id: JobId, job: &Job) {
    let listed = store.named(&job.name).unwrap().unwrap();
    assert_eq!(listed, store.listed(id).unwrap());
    let title = &job.revisions.last().unwrap().2;
    assert_eq!((&listed.title, listed.newest, listed.created.0), (title, job.newest(), job.created));
    assert_eq!((listed.entries as usize, listed.touched.0), (job.entries.len(), job.touched));
    assert_eq!(listed.digest.map(|d| d.text).as_ref(), job.digests.get(&job.newest()));
    for (number, revision) in (1..).zip(&job.revisions) {
        let kept = store.revision(id, number).unwrap();
        assert_eq!(&(kept.made.made.0, kept.made.why, kept.made.title, kept.text), revision);
        let was = store.as_it_was(id, Moment(revision.0)).unwrap().unwrap();
        assert_eq!(was.made.number, number);
    }
    assert_eq!(store.revisions(id).unwrap().len(), job.revisions.len());
    let runs = store.runs(id).unwrap();
    assert_eq!(runs.iter().map(|r| (r.id, r.revision, r.begun.0)).collect::<Vec<_>>(), job.runs);
    let bits = |value: Option<f64>| value.map(f64::to_bits);
    let entries = store.entries(id).unwrap();
    assert_eq!(entries.iter().map(|e| e.id).collect::<Vec<_>>(), job.ids);
    for (kept, (run, received, what)) in entries.iter().zip(&job.entries) {
        assert_eq!((kept.run, kept.received.0, &kept.what), (*run, *received, what));
        assert_eq!(bits(kept.what.value), bits(what.value));
    }
    for (run, _, _) in &job.runs {
        let of_run: Vec<_> = entries.iter().filter(|entry| entry.run == *run).cloned().collect();
        assert_eq!(store.log(*run).unwrap(), of_run);
    }
    let pictures = store.pictures(id).unwrap();
    assert_eq!(pictures.into_iter().map(|p| (p.hash, p.note, p.added.0)).collect::<Vec<_>>(), job.pictures);
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 60, rng_seed: RngSeed::Fixed(44), failure_persistence: None, ..ProptestConfig::default()
    })]

    #[test]
    fn as_the_model(all in prop::collection::vec(work(), 1..60)) {
        let folder = Folder::new();
        let store = Some(folder.store());
        let mut pair = Pair { folder, store, jobs: Vec::new(), now: 0 };
        pair.create("Rack", "one\n");
        for some in all.chunks(10) {
            pair.do_all(some);
            pair.compare();
        }
        pair.do_all(&[Work::Reopen]);
        pair.compare();
    }
}
