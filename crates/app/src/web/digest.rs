//! What the list of jobs says of each: computed when a job is saved or its log grows, and kept beside it.

use super::site::Shared;
use serde::{Deserialize, Serialize};
use voltwright_job::Job;
use voltwright_proof::first_power::{Ask, Walk};
use voltwright_rules::Severity;
use voltwright_workshop::{Entry, JobId, Listed};

/// The pages of a job, in order.
pub const MARKS: [&str; 7] = ["Survey", "Needs", "Options", "Wiring", "Proof", "First power", "Record"];
/// Findings and proofs of another version are computed anew.
const VERSION: &str = env!("CARGO_PKG_VERSION");

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
    /// Stops and escapes; none where the text has errors.
    pub stops: Option<usize>,
    /// One for each of [`MARKS`].
    pub marks: [Mark; 7],
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

/// Computes and keeps what the list says of a revision. A store that takes nothing more has said so where it mattered.
pub async fn keep(site: &Shared, job: JobId, revision: u32) {
    let Ok((text, log)) = site
        .store(move |store| {
            let runs = store.runs(job)?;
            let newest = runs.iter().rev().find(|r| r.revision == revision);
            let log = newest.map(|run| store.log(run.id)).transpose()?;
            Ok((store.revision(job, revision)?.text, log))
        })
        .await
    else {
        return;
    };
    let unproved = survey(&text);
    let proved = site
        .desks
        .of(&text)
        .ask(move |bench| (bench.proof.escapes().len(), log.map(|log| reached(bench.proof, &log))));
    let digest = match proved.await {
        Ok((escapes, first_power)) => with_proof(unproved, escapes, first_power),
        Err(_) => unproved,
    };
    if let Ok(text) = serde_json::to_string(&digest) {
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
    let stops = voltwright_rules::check(job).findings.iter().filter(|f| f.severity == Severity::Stop).count();
    let begun = |is: bool| if is { Mark::Begun } else { Mark::Nothing };
    let wired = !job.wires.is_empty();
    let wiring = if wired && stops == 0 {
        Mark::Done
    } else if wired {
        Mark::Stopped
    } else {
        Mark::Nothing
    };
    let marks = [
        begun(is_surveyed(job)),
        begun(!job.rails.is_empty() || !job.loads.is_empty()),
        begun(!job.parts.is_empty()),
        wiring,
        Mark::Nothing,
        Mark::Nothing,
        Mark::Nothing,
    ];
    Digest { stops: Some(stops), marks }
}

fn is_surveyed(job: &Job) -> bool {
    !job.found.is_empty() || job.old_supply.is_some() || job.machine.nameplate.is_some()
}

fn with_proof(mut digest: Digest, escapes: usize, first_power: Option<Mark>) -> Digest {
    digest.stops = digest.stops.map(|stops| stops + escapes);
    if digest.marks[3] != Mark::Nothing {
        digest.marks[4] = if escapes == 0 { Mark::Done } else { Mark::Stopped };
    }
    digest.marks[5] = first_power.unwrap_or_default();
    digest
}

/// How far a first power came.
fn reached(proof: &voltwright_proof::proof::Proof<'_>, log: &[Entry]) -> Mark {
    let walk: Walk<'_, '_> = super::bench::walk(proof, log);
    match walk.ask() {
        Ask::Done => Mark::Done,
        Ask::Stopped(_) => Mark::Stopped,
        _ if log.is_empty() => Mark::Nothing,
        _ => Mark::Begun,
    }
}
