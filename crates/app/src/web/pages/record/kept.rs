//! What the store knows of a job beside its text: its revisions, and how the last first power went.

use crate::proof::words;
use crate::web::bench::walk;
use crate::web::problem::Problem;
use crate::web::site::Shared;
use voltwright_proof::first_power::{Ask, Power, Walk};
use voltwright_proof::proof::Proof;
use voltwright_workshop::{Entry, JobId, Made, Moment, Run};

/// What is kept of a job.
#[derive(Debug, Default)]
pub struct Kept {
    /// Its revisions up to the one that is shown, the oldest first.
    pub history: Vec<Made>,
    /// The first power that was begun last.
    pub last: Option<Last>,
}

/// A first power.
#[derive(Debug)]
pub struct Last {
    /// Its number.
    pub number: u32,
    /// The revision it was begun with.
    pub revision: u32,
    /// When.
    pub begun: Moment,
    /// What came of it, in a sentence.
    pub verdict: String,
}

/// What is kept of a job at a revision.
///
/// # Errors
/// The store cannot be read; a mistake of ours.
pub async fn kept(site: &Shared, job: JobId, revision: u32) -> Result<Kept, Problem> {
    let (mut history, last) = site
        .store(move |store| {
            let last = store.runs(job)?.into_iter().next_back();
            let last = last.map(|run| {
                let (log, text) = (store.log(run.id)?, store.revision(job, run.revision)?.text);
                Ok::<_, voltwright_workshop::StoreError>((run, log, text))
            });
            Ok((store.revisions(job)?, last.transpose()?))
        })
        .await?;
    history.retain(|made| made.number <= revision);
    let last = match last {
        Some((run, log, text)) => Some(self::last(site, run, log, &text).await),
        None => None,
    };
    Ok(Kept { history, last })
}

async fn last(site: &Shared, run: Run, log: Vec<Entry>, text: &str) -> Last {
    let told = site.desks.of(text).ask(move |bench| verdict(bench.proof, &walk(bench.proof, &log)));
    // A revision that cannot be proved any more has its log all the same.
    let verdict = told
        .await
        .unwrap_or_else(|_| "what came of it cannot be told, since that revision cannot be proved.".into());
    Last { number: run.number, revision: run.revision, begun: run.begun, verdict }
}

/// How a first power stands.
fn verdict(proof: &Proof<'_>, walk: &Walk<'_, '_>) -> String {
    let stage = |s: usize| &proof.setup.stages[s].name;
    let stands = match walk.ask() {
        Ask::Done => done(proof, walk),
        Ask::Stopped(stop) => {
            let at = stage(proof.setup.readings[stop.reading].stage);
            format!("stopped at stage “{at}” by a reading, and not dealt with since.")
        }
        Ask::SetUp(s) | Ask::Off(s) => format!("not finished: it stands at stage “{}”.", stage(s)),
        Ask::Read(r) => format!(
            "not finished: it stands at a reading of stage “{}”.",
            stage(proof.setup.readings[r].stage)
        ),
        Ask::Discharge => "not finished: reservoirs were to be measured and discharged.".into(),
    };
    match walk.power() {
        Power::Live => format!("{stands} The log ends with the power on."),
        Power::Off | Power::Discharging => stands,
    }
}

fn done(proof: &Proof<'_>, walk: &Walk<'_, '_>) -> String {
    let (planned, passed) = (proof.asked.len(), walk.gaps().len());
    let taken = words::count(planned - passed, "reading");
    let passed = match passed {
        0 => String::new(),
        n => format!("; {} passed over", words::count(n, "reading")),
    };
    let mended = match walk.mends() {
        0 => String::new(),
        n => format!("; {} on the way, all readings taken again after it", words::count(n, "mend")),
    };
    format!("its plan was done: {taken}, each inside its window or at its edge twice{passed}{mended}.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use voltwright_proof::setup::Setup;

    const JOB: &str = include_str!("../../../../../../examples/plotter/finished.toml");

    #[test]
    fn a_first_power_without_a_log_stands_at_its_first_stage() {
        let reading = voltwright_job::read(JOB);
        let proof = Proof::of(Setup::new(&reading.job).ok().unwrap(), 2);
        let told = verdict(&proof, &walk(&proof, &[]));
        assert_eq!(told, format!("not finished: it stands at stage “{}”.", proof.setup.stages[0].name));
    }
}
