//! A job kept ready: it is read once on a thread of its own, checked and proved when that is first asked for, and pages ask it.
//!
//! Findings and proof borrow the job, so all stay on the thread; what is asked is a closure, what comes back is owned. A few
//! desks are kept, the one that was used longest ago goes first.

use super::problem::Problem;
use std::cell::OnceCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, mpsc};
use tokio::sync::oneshot;
use voltwright_job::{Job, Reading};
use voltwright_proof::diagnosis::{Diagnosis, Dictionary, Taken, diagnose};
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;
use voltwright_rules::Report;

/// Desks that are kept.
const KEPT: usize = 6;

/// A job as it was read, with what is computed from it when it is first asked for.
pub struct Sight<'p, 'j> {
    /// The job's text.
    pub text: &'j str,
    /// The job, as much of it as reads, and what is wrong with its text.
    pub reading: &'j Reading,
    report: &'p OnceCell<Report>,
    proof: &'p OnceCell<Result<Proof<'j>, String>>,
    threads: usize,
    bench: Option<Bench<'p, 'j>>,
}

impl<'p, 'j> Sight<'p, 'j> {
    /// Computes findings and proof side by side, where both will be asked for.
    pub fn compute(&self) {
        if self.report.get().is_some() || self.proof.get().is_some() {
            return;
        }
        let (reading, threads) = (self.reading, self.threads);
        let (report, proof) = std::thread::scope(|scope| {
            let report = scope.spawn(|| voltwright_rules::findings(&reading.job));
            let proof = prove(reading, threads);
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
        let (reading, threads) = (self.reading, self.threads);
        let proof = self.proof.get_or_init(|| prove(reading, threads)).as_ref().map_err(String::as_str)?;
        Ok(self.bench.get_or_insert(Bench { job: &reading.job, proof, threads, dictionary: None }))
    }
}

fn prove(reading: &Reading, threads: usize) -> Result<Proof<'_>, String> {
    if !reading.is_usable() {
        return Err("the job's text has errors".into());
    }
    let proved = catch_unwind(AssertUnwindSafe(|| {
        Setup::new(&reading.job).map(|setup| Proof::of(setup, threads)).map_err(|none| {
            format!("without any mistake, stage `{}` finds no steady state: {}", none.stage, none.why)
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
}

impl Desk {
    fn open(text: Arc<str>, threads: usize) -> Self {
        let (tasks, inbox) = mpsc::channel();
        std::thread::spawn(move || work(&text, threads, &inbox));
        Self { tasks }
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
fn work(text: &str, threads: usize, inbox: &mpsc::Receiver<Task>) {
    let reading = voltwright_job::read(text);
    let (report, proof) = (OnceCell::new(), OnceCell::new());
    let mut sight = Sight { text, reading: &reading, report: &report, proof: &proof, threads, bench: None };
    inbox.iter().for_each(|task| task(&mut sight));
}

/// The desks that are kept, by the text of their jobs.
pub struct Desks {
    threads: usize,
    kept: Mutex<Vec<(Arc<str>, Desk)>>,
    /// The text that was last tried while it was typed: trying takes no place of the others.
    tried: Mutex<Option<(Arc<str>, Desk)>>,
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
            None => self.tried(text).unwrap_or_else(|| self.open(text)),
        };
        let desk = found.1.clone();
        if let Some((_, before)) = kept.last().filter(|_| !is_last) {
            before.rest();
        }
        kept.push(found);
        if kept.len() > KEPT {
            kept.remove(0);
        }
        desk
    }

    /// The desk of a text that is only tried.
    pub fn trying(&self, text: &str) -> Desk {
        if let Some((_, desk)) = locked(&self.kept).iter().find(|(known, _)| **known == *text) {
            return desk.clone();
        }
        let found = self.tried(text).unwrap_or_else(|| self.open(text));
        let desk = found.1.clone();
        *locked(&self.tried) = Some(found);
        desk
    }

    fn tried(&self, text: &str) -> Option<(Arc<str>, Desk)> {
        locked(&self.tried).clone().filter(|(known, _)| **known == *text)
    }

    fn open(&self, text: &str) -> (Arc<str>, Desk) {
        let text: Arc<str> = text.into();
        (Arc::clone(&text), Desk::open(text, self.threads))
    }
}

/// What a panic elsewhere left locked is whole all the same: each change of it is one step.
fn locked<T>(of: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    of.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}
