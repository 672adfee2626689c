//! First power at the bench: one question a screen, every answer kept.
//!
//! - [`entry`]: the log's entries and what they mean; [`answer`]: a form as entries.
//! - [`page`]: the whole page; [`step`], [`reading`], [`stop`], [`done`]: its screens; [`log`]: what happened so far.
//! - [`meter`]: a reading from a meter that speaks; [`sheet`]: the same on paper.

mod answer;
mod done;
mod entry;
mod form;
mod log;
pub mod meter;
mod page;
mod reading;
pub mod sheet;
mod standing;
mod start;
mod step;
mod stop;

pub use entry::walk;
pub use start::{begin, start};

use super::digest;
use super::form::{Sent, SentJson};
use super::problem::Problem;
use super::secret;
use super::site::Shared;
use super::visitor::Visitor;
use crate::clock;
use answer::Fields;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::{Extension, Json};
use form::Form;
use page::Now;
use serde::{Deserialize, Serialize};
use voltwright_workshop::{Entry, Listed, NewEntry, Run};

/// A job's first power, by name and number.
type Which = Path<(String, u32)>;

/// The path of a first power.
pub fn path(job: &str, run: u32) -> String {
    format!("/job/{job}/first-power/{run}")
}

/// The whole page.
pub async fn bench(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path((name, number)): Which,
) -> Result<Html<String>, Problem> {
    let of = Of::find(&site, &name, number).await?;
    let form = of.form(&site, &visitor)?;
    let (now, has_meter) = (clock::now().0, site.meter.is_some());
    let log = of.log(&site).await?;
    let whole = of
        .desk(&site)
        .await?
        .ask(move |bench| page::whole(bench, &of.job, &of.run, &log, &form, has_meter, now));
    Ok(Html(whole.await?.into_string()))
}

/// What is asked now, for a page that looks on.
pub async fn now(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path((name, number)): Which,
) -> Result<Json<Now>, Problem> {
    let of = Of::find(&site, &name, number).await?;
    of.now(&site, &visitor).await.map(Json)
}

/// Answers as a script sends them: all that wait, in order.
#[derive(Deserialize)]
pub struct Waiting {
    sent: Vec<Answered>,
}

#[derive(Deserialize)]
struct Answered {
    taken: u64,
    fields: Fields,
}

/// What a script is told when something it sent cannot be kept.
#[derive(Serialize)]
pub struct Refusal {
    problem: String,
}

/// Takes answers that a script sends, all or none, each once; tells what is asked now.
pub async fn log(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path((name, number)): Which,
    SentJson(waiting): SentJson<Waiting>,
) -> Result<Json<Now>, (StatusCode, Json<Refusal>)> {
    let take = async {
        let of = Of::find(&site, &name, number).await?;
        let mut entries = Vec::new();
        for answered in &waiting.sent {
            entries.extend(of.entries(&visitor, answered.taken, &answered.fields)?);
        }
        of.write(&site, entries).await?;
        of.now(&site, &visitor).await
    };
    let refused = |problem: Problem| (problem.status(), Json(Refusal { problem: problem.words() }));
    take.await.map(Json).map_err(refused)
}

/// Takes one answer that a form sends by itself.
pub async fn answer(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path((name, number)): Which,
    Sent(fields): Sent<Fields>,
) -> Result<Response, Problem> {
    let of = Of::find(&site, &name, number).await?;
    let entries = of.entries(&visitor, clock::now().0, &fields)?;
    of.write(&site, entries).await?;
    Ok(Redirect::to(&path(&name, number)).into_response())
}

/// A first power that was found.
struct Of {
    job: Listed,
    run: Run,
}

impl Of {
    async fn find(site: &Shared, name: &str, number: u32) -> Result<Self, Problem> {
        let job = site.job(name).await?;
        let id = job.job;
        let runs = site.store(move |store| store.runs(id)).await?;
        let run = runs.into_iter().find(|r| r.number == number);
        Ok(Self { job, run: run.ok_or_else(|| Problem::missing("first power of this number"))? })
    }

    async fn log(&self, site: &Shared) -> Result<Vec<Entry>, Problem> {
        let run = self.run.id;
        site.store(move |store| store.log(run)).await
    }

    /// The proof of the revision with which it was begun.
    async fn desk(&self, site: &Shared) -> Result<super::desk::Desk, Problem> {
        let (job, revision) = (self.job.job, self.run.revision);
        let text = site.store(move |store| store.revision(job, revision)).await?.text;
        Ok(site.desks.of(&text))
    }

    fn form(&self, site: &Shared, visitor: &Visitor) -> Result<Form, Problem> {
        let key = secret::name().map_err(|why| Problem::ours(&why))?;
        let action = format!("{}/answer", path(&self.job.name, self.run.number));
        Ok(Form::new(action, site.token(visitor), key))
    }

    fn entries(&self, visitor: &Visitor, taken: u64, fields: &Fields) -> Result<Vec<NewEntry>, Problem> {
        let entries = answer::entries(taken, fields)?;
        entries.into_iter().map(|e| e.kept(self.run.revision, visitor.device())).collect()
    }

    /// Writes entries, and tells those who look on.
    async fn write(&self, site: &Shared, entries: Vec<NewEntry>) -> Result<(), Problem> {
        let (job, run) = (self.job.job, self.run.id);
        site.store(move |store| store.write(job, run, &entries, clock::now())).await?;
        digest::keep_first_power(site, &self.job, &self.run).await;
        site.changes.tell(&self.job.name);
        Ok(())
    }

    async fn now(&self, site: &Shared, visitor: &Visitor) -> Result<Now, Problem> {
        let log = self.log(site).await?;
        let form = self.form(site, visitor)?;
        let now = clock::now().0;
        self.desk(site).await?.ask(move |bench| Now::of(bench, &log, &form, now)).await
    }
}
