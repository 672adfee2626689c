//! A job kept ready: it is read once on a thread of its own, checked and proved when that is first asked for, and pages ask it.
//!
//! Findings and proof borrow the job, so all stay on the thread; what is asked is a closure, what comes back is owned. A few
//! desks are kept, the one that was used longest ago goes first.

use super::problem::Problem;
use std::cell::OnceCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, mpsc};
use tokio::sync::oneshot;
use voltwright_job::{Job, Reading};
use voltwright_proof::bounds::{Bounds, Unproved};
use voltwright_proof::diagnosis::{Diagnosis, Dictionary, Taken, diagnose};
use voltwright_proof::proof::Proof;
use voltwright_rules::Report;

/// Desks that are kept, and the bytes that all their proofs together may take, about; the newest is kept in any case.
const KEPT: usize = 6;
const ROOM: usize = 512 << 20;
/// Bytes that a proof may take that is made while one types: about a second's work.
const TYPED: usize = 32 << 20;

/// A job as it was read, with what is computed from it when it is first asked for.
pub struct Sight<'p, 'j> {
    /// The job's text.
    pub text: &'j str,
    /// The job, as much of it as reads, and what is wrong with its text.
    pub reading: &'j Reading,
    report: &'p OnceCell<Report>,
    proof: &'p OnceCell<Result<Proof<'j>, String>>,
    threads: usize,
    bounds: Bounds<'p>,
    bench: Option<Bench<'p, 'j>>,
}

impl<'p, 'j> Sight<'p, 'j> {
    /// Computes findings and proof side by side, where both will be asked for.
    pub fn compute(&self) {
        if self.report.get().is_some() || self.proof.get().is_some() {
            return;
        }
        let (reading, threads, bounds) = (self.reading, self.threads, self.bounds);
        let (report, proof) = std::thread::scope(|scope| {
            let report = scope.spawn(|| voltwright_rules::findings(&reading.job));
            let proof = prove(reading, threads, bounds);
            (report.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)), proof)
        });
        // Neither is there yet, as was looked at first.
        let _ = self.report.set(report);
        let _ = self.proof.set(proof);
    }

    /// The findings.
    pub fn report(&self) -> &'p Report {
        self.report.get_or_init(|| voltwright_rules::findings(&self.reading.job))
    }

    /// The job with its proof.
    ///
    /// # Errors
    /// Why it cannot be proved.
    pub fn bench(&mut self) -> Result<&mut Bench<'p, 'j>, &'p str> {
        let (reading, threads, bounds) = (self.reading, self.threads, self.bounds);
        let proof =
            self.proof.get_or_init(|| prove(reading, threads, bounds)).as_ref().map_err(String::as_str)?;
        Ok(self.bench.get_or_insert(Bench { job: &reading.job, proof, threads, dictionary: None }))
    }
}

fn prove<'j>(reading: &'j Reading, threads: usize, bounds: Bounds<'_>) -> Result<Proof<'j>, String> {
    if !reading.is_usable() {
        return Err("the job's text has errors".into());
    }
    let proved = catch_unwind(AssertUnwindSafe(|| {
        Proof::within(&reading.job, threads, bounds).map_err(|why| match why {
            Unproved::TooLarge { .. } if bounds.room == TYPED => {
                "it is too large to be proved while you type, and is proved once it is saved".into()
            }
            why => why.to_string(),
        })
    }));
    proved
        .unwrap_or_else(|_| Err("a mistake in Voltwright, not in your job, kept it from being proved".into()))
}

/// A job with its proof.
pub struct Bench<'p, 'j> {
    /// The job.
    pub job: &'j Job,
    /// Every mistake tried.
    pub proof: &'p Proof<'j>,
    threads: usize,
    dictionary: Option<Dictionary<'p, 'j>>,
}

impl Bench<'_, '_> {
    /// Threads that it may work on.
    pub fn threads(&self) -> usize {
        self.threads
    }

    /// What readings say of the mistakes.
    pub fn diagnose(&mut self, taken: &[Taken]) -> Diagnosis {
        let last = self.proof.setup.stages.len().saturating_sub(1);
        let (proof, threads) = (self.proof, self.threads);
        let dictionary = self.dictionary.get_or_insert_with(|| Dictionary::new(proof, last, threads));
        diagnose(dictionary, taken)
    }
}

/// Something to do on the thread.
type Task = Box<dyn FnOnce(&mut Sight<'_, '_>) + Send>;

/// A thread with a job.
#[derive(Clone)]
pub struct Desk {
    tasks: mpsc::Sender<Task>,
    /// Set when nobody needs its proof any more.
    stop: Arc<AtomicBool>,
    /// Bytes that its proof takes, about.
    weight: Arc<AtomicUsize>,
}

impl Desk {
    fn open(text: Arc<str>, threads: usize, room: usize) -> Self {
        let (tasks, inbox) = mpsc::channel();
        let (stop, weight) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicUsize::new(0)));
        let (stopped, weighed) = (Arc::clone(&stop), Arc::clone(&weight));
        std::thread::spawn(move || {
            work(&text, threads, Bounds { stop: &stopped, room }, &weighed, &inbox);
        });
        Self { tasks, stop, weight }
    }

    /// Lets go of what explains readings: it is large, and quickly made again.
    fn rest(&self) {
        // A desk whose thread has ended holds nothing.
        let _ = self.tasks.send(Box::new(|sight| {
            if let Some(bench) = &mut sight.bench {
                bench.dictionary = None;
            }
        }));
    }

    /// Asks something of the proof.
    ///
    /// # Errors
    /// The job has errors, or no steady state to compare with; or a mistake of ours.
    pub async fn ask<T: Send + 'static>(
        self,
        what: impl FnOnce(&mut Bench<'_, '_>) -> T + Send + 'static,
    ) -> Result<T, Problem> {
        self.look(|sight| match sight.bench() {
            Ok(bench) => Ok(what(bench)),
            Err(why) => Err(Problem::not_provable(why)),
        })
        .await?
    }

    /// Asks something of the job, whatever state its text is in.
    ///
    /// # Errors
    /// A mistake of ours.
    pub async fn look<T: Send + 'static>(
        self,
        what: impl FnOnce(&mut Sight<'_, '_>) -> T + Send + 'static,
    ) -> Result<T, Problem> {
        let (answer, told) = oneshot::channel();
        let task: Task = Box::new(move |sight| {
            let result = catch_unwind(AssertUnwindSafe(|| what(sight)));
            // Whoever asked may have gone away.
            let _ = answer.send(result.map_err(|_| Problem::ours("a page could not be made")));
        });
        self.tasks.send(task).map_err(|_| Problem::ours("the job's desk has ended"))?;
        told.await.map_err(|_| Problem::ours("the job's desk gave no answer"))?
    }
}

/// The life of the thread: read, then do what is asked until nobody can ask any more.
fn work(text: &str, threads: usize, bounds: Bounds<'_>, weight: &AtomicUsize, inbox: &mpsc::Receiver<Task>) {
    let reading = voltwright_job::read(text);
    let (report, proof) = (OnceCell::new(), OnceCell::new());
    let mut sight =
        Sight { text, reading: &reading, report: &report, proof: &proof, threads, bounds, bench: None };
    for task in inbox {
        task(&mut sight);
        if let Some(Ok(proof)) = proof.get() {
            weight.store(proof.weight(), Ordering::Relaxed);
        }
    }
}

/// A desk behind its text.
type Known = (Arc<str>, Desk);

/// The desks that are kept, by the text of their jobs.
pub struct Desks {
    threads: usize,
    kept: Mutex<Vec<Known>>,
    /// The text that was last tried while it was typed, behind the job that it is of: trying takes no place of the others.
    tried: Mutex<Option<(String, Known)>>,
}

impl Desks {
    /// None yet; proofs will work on so many threads.
    pub fn new(threads: usize) -> Self {
        Self { threads, kept: Mutex::default(), tried: Mutex::default() }
    }

    /// The desk of a text.
    pub fn of(&self, text: &str) -> Desk {
        let mut kept = locked(&self.kept);
        let is_last = kept.last().is_some_and(|(known, _)| **known == *text);
        let found = match kept.iter().position(|(known, _)| **known == *text) {
            Some(i) => kept.remove(i),
            None => self.tried(text).filter(is_proved).unwrap_or_else(|| self.open(text, ROOM)),
        };
        let desk = found.1.clone();
        if let Some((_, before)) = kept.last().filter(|_| !is_last) {
            before.rest();
        }
        kept.push(found);
        let weight = |kept: &[Known]| -> usize {
            kept.iter().map(|(_, desk)| desk.weight.load(Ordering::Relaxed)).sum()
        };
        while kept.len() > KEPT || (kept.len() > 1 && weight(&kept) > ROOM) {
            kept.remove(0);
        }
        desk
    }

    /// The desk of a text that is only tried. What was tried of the same job before it need not be proved to its end, unless it
    /// was saved.
    pub fn trying(&self, job: &str, text: &str) -> Desk {
        let kept = locked(&self.kept);
        if let Some((_, desk)) = kept.iter().find(|(known, _)| **known == *text) {
            return desk.clone();
        }
        let found = self.tried(text).unwrap_or_else(|| self.open(text, TYPED));
        let desk = found.1.clone();
        let before = locked(&self.tried).replace((job.to_owned(), found));
        let is_needed =
            |before: &Arc<str>| **before == *text || kept.iter().any(|(known, _)| known == before);
        let given_up = |(of, (text, _)): &(String, Known)| of == job && !is_needed(text);
        if let Some((_, (_, before))) = before.filter(given_up) {
            before.stop.store(true, Ordering::Relaxed);
        }
        desk
    }

    fn tried(&self, text: &str) -> Option<Known> {
        locked(&self.tried).clone().map(|(_, found)| found).filter(|(known, _)| **known == *text)
    }

    fn open(&self, text: &str, room: usize) -> Known {
        let text: Arc<str> = text.into();
        (Arc::clone(&text), Desk::open(text, self.threads, room))
    }
}

/// Whether the proof of a desk is there: one that was too large while it was typed may be made all the same.
fn is_proved((_, desk): &Known) -> bool {
    desk.weight.load(Ordering::Relaxed) > 0
}

/// What a panic elsewhere left locked is whole all the same: each change of it is one step.
fn locked<T>(of: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    of.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_tried_before_is_given_up_unless_it_was_saved() {
        let desks = Desks::new(1);
        let is_stopped = |desk: &Desk| desk.stop.load(Ordering::Relaxed);
        let (first, second) = (desks.trying("x", "format = 1"), desks.trying("x", "format = 1\n# two"));
        assert!(is_stopped(&first) && !is_stopped(&second));
        let saved = desks.of("format = 1\n# two");
        let third = desks.trying("x", "format = 1\n# three");
        assert!(!is_stopped(&saved) && !is_stopped(&third));
        assert!(!is_stopped(&desks.trying("x", "format = 1\n# three")), "the same again goes on");
        let other = desks.trying("y", "format = 1\n# of another job");
        assert!(!is_stopped(&third) && !is_stopped(&other), "whoever types in another job disturbs nobody");
    }
}
