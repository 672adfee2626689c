//! A proof kept ready: a job is read and proved once on a thread of its own, and pages ask it.
//!
//! The proof borrows the job, so both stay on the thread; what is asked is a closure, what comes back is owned. A few
//! desks are kept, the one that was used longest ago goes first.

use super::problem::Problem;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, mpsc};
use tokio::sync::oneshot;
use voltwright_job::Job;
use voltwright_proof::diagnosis::{Diagnosis, Dictionary, Taken, diagnose};
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;

/// Desks that are kept.
const KEPT: usize = 6;

/// A job with its proof, on its thread.
pub struct Bench<'p, 'j> {
    /// The job.
    pub job: &'j Job,
    /// Every mistake tried.
    pub proof: &'p Proof<'j>,
    threads: usize,
    dictionary: Option<Dictionary<'p, 'j>>,
}

impl Bench<'_, '_> {
    /// What readings say of the mistakes.
    pub fn diagnose(&mut self, taken: &[Taken]) -> Diagnosis {
        let last = self.proof.setup.stages.len().saturating_sub(1);
        let (proof, threads) = (self.proof, self.threads);
        let dictionary = self.dictionary.get_or_insert_with(|| Dictionary::new(proof, last, threads));
        diagnose(dictionary, taken)
    }
}

/// Something to do on the thread.
type Task = Box<dyn FnOnce(Result<&mut Bench<'_, '_>, &str>) + Send>;

/// A thread with a proof.
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
        let _ = self.tasks.send(Box::new(|bench| {
            if let Ok(bench) = bench {
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
        let (answer, told) = oneshot::channel();
        let task: Task = Box::new(move |bench| {
            let result = match bench {
                Ok(bench) => catch_unwind(AssertUnwindSafe(|| what(bench)))
                    .map_err(|_| Problem::ours("a page could not be made")),
                Err(why) => Err(Problem::not_provable(why)),
            };
            // Whoever asked may have gone away.
            let _ = answer.send(result);
        });
        self.tasks.send(task).map_err(|_| Problem::ours("the proof has ended"))?;
        told.await.map_err(|_| Problem::ours("the proof gave no answer"))?
    }
}

/// The life of the thread: prove, then do what is asked until nobody can ask any more.
fn work(text: &str, threads: usize, inbox: &mpsc::Receiver<Task>) {
    let reading = voltwright_job::read(text);
    let refuse = |why: &str| inbox.iter().for_each(|task| task(Err(why)));
    if !reading.is_usable() {
        return refuse("the job's text has errors");
    }
    let proved = catch_unwind(AssertUnwindSafe(|| {
        Setup::new(&reading.job).map(|setup| Proof::of(setup, threads)).map_err(|none| {
            format!("without any mistake, stage `{}` finds no steady state: {}", none.stage, none.why)
        })
    }));
    match proved {
        Ok(Ok(proof)) => {
            let mut bench = Bench { job: &reading.job, proof: &proof, threads, dictionary: None };
            inbox.iter().for_each(|task| task(Ok(&mut bench)));
        }
        Ok(Err(why)) => refuse(&why),
        Err(_) => refuse("a mistake in Voltwright, not in your job, kept it from being proved"),
    }
}

/// The desks that are kept, by the text of their jobs.
pub struct Desks {
    threads: usize,
    kept: Mutex<Vec<(Arc<str>, Desk)>>,
}

impl Desks {
    /// None yet; proofs will work on so many threads.
    pub fn new(threads: usize) -> Self {
        Self { threads, kept: Mutex::new(Vec::new()) }
    }

    /// The desk of a text.
    pub fn of(&self, text: &str) -> Desk {
        let mut kept = self.kept.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let is_last = kept.last().is_some_and(|(known, _)| **known == *text);
        let found = match kept.iter().position(|(known, _)| **known == *text) {
            Some(i) => kept.remove(i),
            None => {
                let text: Arc<str> = text.into();
                (Arc::clone(&text), Desk::open(text, self.threads))
            }
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
}
