//! What the list of jobs says of each: computed when a job is saved or its log grows, and kept beside it.

use super::pages::Page;
use super::site::Shared;
use crate::caution;
use crate::proof::words::count;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use std::time::Duration;
use voltwright_job::Job;
use voltwright_proof::first_power::{Ask, Power};
use voltwright_proof::proof::Proof;
use voltwright_rules::{Severity, Stretch};
use voltwright_workshop::{Entry, JobId, Listed, Run};

/// The pages of a job, in order.
pub const MARKS: [&str; 7] = ["Survey", "Needs", "Options", "Wiring", "Proof", "First power", "Record"];
/// Findings and proofs of another version are computed anew.
const VERSION: &str = concat!(env!("CARGO_PKG_VERSION"), ", escapes apart");

/// How far a page is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Mark {
    /// Nothing is entered.
    #[default]
    Nothing,
    /// Something is.
    Begun,
    /// Something says stop.
    Stopped,
    /// It is done as far as can be told.
    Done,
}

/// What the list says of a job.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Digest {
    /// Stops among the findings; none where the text has errors.
    pub stops: Option<usize>,
    /// Mistakes that no reading catches in time.
    pub escapes: usize,
    /// One for each of [`MARKS`].
    pub marks: [Mark; 7],
    /// The first power that has the power on, or waits for reservoirs: its number.
    #[serde(default)]
    pub powered: Option<Powered>,
}

impl Digest {
    /// Whether the job was checked and nothing stands against it.
    pub fn is_clear(&self) -> bool {
        (self.stops, self.escapes) == (Some(0), 0)
    }

    /// What stands against it, in a few words: "12 stops · 131 escapes".
    pub fn against(&self) -> String {
        let all = [(self.stops.unwrap_or_default(), "stop"), (self.escapes, "escape")];
        let told = all.iter().filter(|(n, _)| *n > 0).map(|(n, what)| count(*n, what));
        told.collect::<Vec<_>>().join(" · ")
    }

    /// The first power that is not to be left alone now, and what is said of it.
    pub fn powered_at(&self, now: u64) -> Option<(Powered, &'static str)> {
        self.powered.and_then(|p| Some((p, p.says(now)?)))
    }
}

/// A first power that is not to be left alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Powered {
    /// Its number.
    pub run: u32,
    /// Whether power is on, rather than gone a while ago.
    pub live: bool,
    /// When that began, milliseconds since the Unix epoch.
    pub since: u64,
}

impl Powered {
    /// As it is said, if it still holds.
    fn says(self, now: u64) -> Option<&'static str> {
        let waits = now < self.since + caution::DISCHARGE_SECONDS * 1000;
        match self.live {
            true => Some("LIVE: power is on"),
            false if waits => Some("Off, reservoirs may be charged"),
            false => None,
        }
    }
}

/// As kept; empty if it was not computed yet, or by another version.
pub fn of(job: &Listed) -> Digest {
    let kept = job.digest.as_ref().filter(|d| d.version == VERSION);
    kept.and_then(|d| serde_json::from_str(&d.text).ok()).unwrap_or_default()
}

/// The title in a job's text; a text without one has a name all the same.
pub fn title(text: &str) -> String {
    let title = voltwright_job::read(text).job.title.text;
    if title.trim().is_empty() { "Job without a title".into() } else { title }
}

/// How long somebody who saved is kept waiting for what the list will say.
const WAITED: Duration = Duration::from_secs(2);

/// Computes and keeps what the list says of a revision. What was saved is saved: a large proof goes on by itself.
pub async fn keep(site: &Shared, job: JobId, revision: u32) {
    let site = Arc::clone(site);
    let kept = tokio::spawn(async move { compute(&site, job, revision).await });
    let _ = tokio::time::timeout(WAITED, kept).await;
}

/// A store that takes nothing more has said so where it mattered.
async fn compute(site: &Shared, job: JobId, revision: u32) {
    let Ok((text, last)) = site
        .store(move |store| {
            let last = store.runs(job)?.into_iter().next_back();
            let log = last.map(|run| store.log(run.id).map(|log| (run, log))).transpose()?;
            Ok((store.revision(job, revision)?.text, log))
        })
        .await
    else {
        return;
    };
    let unproved = survey(&text);
    let proved = site.desks.of(&text).ask(move |bench| {
        (bench.proof.escapes().len(), last.map(|(run, log)| reached(bench.proof, &run, &log)))
    });
    let digest = match proved.await {
        Ok((escapes, last)) => with_proof(unproved, escapes, last),
        Err(_) => unproved,
    };
    put(site, job, revision, &digest).await;
}

/// Keeps how far a first power has come, after its log has grown.
pub async fn keep_first_power(site: &Shared, job: &Listed, run: &Run) {
    let (id, run) = (job.job, run.clone());
    let (of, revision) = (run.id, run.revision);
    let Ok((text, log)) =
        site.store(move |store| Ok((store.revision(id, revision)?.text, store.log(of)?))).await
    else {
        return;
    };
    let reached = site.desks.of(&text).ask(move |bench| reached(bench.proof, &run, &log)).await;
    let known = self::of(job);
    let Ok((mark, powered)) = reached else { return };
    if (known.marks[5], known.powered) != (mark, powered) {
        let mut digest = known;
        (digest.marks[5], digest.powered) = (mark, powered);
        put(site, id, job.newest, &digest).await;
    }
}

async fn put(site: &Shared, job: JobId, revision: u32, digest: &Digest) {
    if let Ok(text) = serde_json::to_string(digest) {
        let _ = site.store(move |store| store.put_digest(job, revision, VERSION, &text)).await;
    }
}

/// What the text and its findings say.
fn survey(text: &str) -> Digest {
    let reading = voltwright_job::read(text);
    if !reading.is_usable() {
        return Digest::default();
    }
    let job = &reading.job;
    let report = voltwright_rules::findings(job);
    let stops: Vec<Stretch> =
        report.findings.iter().filter(|f| f.severity == Severity::Stop).map(|f| f.stretch).collect();
    let mark =
        |page: Page, is: bool, done: Mark| match (is, stops.iter().any(|s| page.stretches().contains(s))) {
            (_, true) => Mark::Stopped,
            (true, false) => done,
            (false, false) => Mark::Nothing,
        };
    let needs = !job.rails.is_empty() || !job.loads.is_empty();
    let marks = [
        mark(Page::Survey, is_surveyed(job), Mark::Begun),
        mark(Page::Needs, needs, Mark::Begun),
        mark(Page::Options, !job.parts.is_empty(), Mark::Begun),
        mark(Page::Wiring, !job.wires.is_empty(), Mark::Done),
        Mark::Nothing,
        Mark::Nothing,
        Mark::Nothing,
    ];
    Digest { stops: Some(stops.len()), escapes: 0, marks, powered: None }
}

fn is_surveyed(job: &Job) -> bool {
    !job.found.is_empty() || job.old_supply.is_some() || job.machine.nameplate.is_some()
}

fn with_proof(mut digest: Digest, escapes: usize, last: Option<(Mark, Option<Powered>)>) -> Digest {
    digest.escapes = escapes;
    if digest.marks[3] != Mark::Nothing {
        digest.marks[4] = if escapes == 0 { Mark::Done } else { Mark::Stopped };
    }
    (digest.marks[5], digest.powered) = last.unwrap_or_default();
    digest
}

/// How far a first power came, and whether it has the power on.
fn reached(proof: &Proof<'_>, run: &Run, log: &[Entry]) -> (Mark, Option<Powered>) {
    let walk = super::bench::walk(proof, log);
    let mark = match walk.ask() {
        Ask::Done => Mark::Done,
        Ask::Stopped(_) => Mark::Stopped,
        _ if log.is_empty() => Mark::Nothing,
        _ => Mark::Begun,
    };
    let since = log.iter().rev().find(|e| matches!(e.what.kind.as_str(), "off" | "ready"));
    let since = since.map_or(run.begun, |e| e.received).0;
    let powered = (walk.power() != Power::Off).then_some(Powered {
        run: run.number,
        live: walk.power() == Power::Live,
        since,
    });
    (mark, powered)
}
