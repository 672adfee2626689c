//! Where first power of a job begins: the cautions, how to read, and earlier first powers.

use super::super::form::Sent;
use super::super::frame;
use super::super::problem::Problem;
use super::super::site::Shared;
use super::super::visitor::Visitor;
use super::path;
use crate::caution;
use crate::clock;
use crate::proof::{sheet, words};
use axum::Extension;
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::html;
use serde::Deserialize;

/// The page.
pub async fn start(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
) -> Result<Html<String>, Problem> {
    let job = site.job(&name).await?;
    let id = job.job;
    let (newest, runs) = site.store(move |store| Ok((store.newest(id)?, store.runs(id)?))).await?;
    let facts = site.desks.of(&newest.text).ask(|bench| {
        let proof = bench.proof;
        let (readings, stages) = (proof.plan.readings.len(), proof.setup.stages.len());
        (
            words::count(readings, "reading"),
            words::count(stages, "stage"),
            words::minutes(proof.plan.cost),
            proof.escapes().len(),
        )
    });
    let (readings, stages, time, escapes) = facts.await?;
    let body = html! {
        p.crumbs { a href=(format!("/job/{name}")) { (job.title) } }
        h1 { "First power" }
        p.caution { strong { "Before any work." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
        @if escapes > 0 {
            p.caution { strong { "STOP." } " " (words::count(escapes, "mistake")) " no reading of the plan catches in time. See them and their cures before any power." }
        }
        p { (readings) " at " (stages) ", about " (time) " at the bench. " (sheet::HOW) }
        form method="post" action=(format!("/job/{name}/first-power")) {
            input type="hidden" name="token" value=(site.token(&visitor));
            input type="hidden" name="revision" value=(newest.made.number);
            button.big type="submit" { "Begin" @if !runs.is_empty() { " anew" } " with revision " (newest.made.number) }
        }
        p { a href=(format!("/job/{name}/sheet")) { "On paper instead" } }
        @if !runs.is_empty() {
            h2 { "Begun before" }
            ul.runs {
                @for run in runs.iter().rev() {
                    li {
                        a href=(path(&name, run.number)) { "First power " (run.number) }
                        ", begun " (clock::shown(run.begun)) ", revision " (run.revision)
                        @if run.revision != newest.made.number { " (the job has changed since)" }
                    }
                }
            }
        }
    };
    Ok(Html(frame::page(&format!("First power: {}", job.title), &body).into_string()))
}

/// What the form says.
#[derive(Deserialize)]
pub struct Begin {
    revision: u32,
}

/// Begins a first power of a revision.
pub async fn begin(
    State(site): State<Shared>,
    Path(name): Path<String>,
    Sent(Begin { revision }): Sent<Begin>,
) -> Result<Response, Problem> {
    let job = site.job(&name).await?;
    let id = job.job;
    let run = site.store(move |store| store.begin(id, revision, clock::now())).await?;
    site.changes.tell(&name);
    Ok(Redirect::to(&path(&name, run.number)).into_response())
}
