//! Where first power of a job begins: the cautions, how to read, and earlier first powers.

use super::super::form::Sent;
use super::super::frame;
use super::super::pages::{Of, Page, head};
use super::super::problem::Problem;
use super::super::site::Shared;
use super::super::visitor::Visitor;
use super::super::{digest, secret};
use super::standing::Standing;
use super::{answer, path};
use crate::caution;
use crate::clock;
use crate::proof::{sheet, words};
use axum::Extension;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::html;
use serde::Deserialize;
use voltwright_proof::first_power::set_up;

/// The page.
pub async fn start(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
) -> Result<Html<String>, Problem> {
    let job = site.job(&name).await?;
    let id = job.job;
    let (newest, runs) = site.store(move |store| Ok((store.newest(id)?, store.runs(id)?))).await?;
    let powered = digest::of(&job).powered_at(clock::now().0);
    let facts = site.desks.of(&newest.text).look(|sight| {
        let standing = Standing::of(sight).map_err(Problem::not_provable)?;
        let proof = sight.bench().map_err(Problem::not_provable)?.proof;
        let stages = set_up(proof).len();
        let words = (
            words::count(proof.asked.len(), "reading"),
            words::count(stages, "stage"),
            words::minutes(proof.asked_cost()),
        );
        Ok::<_, Problem>((words, standing))
    });
    let ((readings, stages, time), standing) = facts.await??;
    let body = html! {
        (head::title(&Of { revision: newest.made.number, ..Of::new(name.clone(), Page::Record) }, &job.title))
        (head::tabs(&name, "first-power"))
        h1 { "First power" }
        p.caution { strong { "Before any work." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
        (standing.told(&format!("/job/{name}")))
        p { (readings) " at " (stages) ", about " (time) " at the bench. " (sheet::HOW) }
        @if let Some((powered, says)) = powered {
            p.powered { a href=(path(&name, powered.run)) { (says) ", first power " (powered.run) } }
            p { "Another can be begun when that one is off and its reservoirs are discharged." }
        } @else { form method="post" action=(format!("/job/{name}/first-power")) {
            input type="hidden" name="token" value=(site.token(&visitor));
            input type="hidden" name="revision" value=(newest.made.number);
            @if !standing.is_clear() {
                div.field {
                    label for="why" { "Begin all the same? Say why: the record keeps it." }
                    input id="why" name="why" required maxlength="500";
                }
            }
            div.buttons {
                button.big type="submit" { "Begin" @if !runs.is_empty() { " anew" } " with revision " (newest.made.number) }
            }
        } }
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
    #[serde(default)]
    why: String,
}

/// Begins a first power of a revision.
pub async fn begin(
    State(site): State<Shared>,
    Path(name): Path<String>,
    Extension(visitor): Extension<Visitor>,
    Sent(Begin { revision, why }): Sent<Begin>,
) -> Result<Response, Problem> {
    let job = site.job(&name).await?;
    if digest::of(&job).powered_at(clock::now().0).is_some() {
        let hint = "Finish that one first, or say there that the plug is out.";
        return Err(Problem::new(
            StatusCode::CONFLICT,
            "Another first power of this job has the power on, or had it a moment ago.",
            Some(hint),
        ));
    }
    let id = job.job;
    let text = site.store(move |store| store.revision(id, revision)).await?.text;
    let standing =
        site.desks.of(&text).look(|sight| Standing::of(sight).map_err(Problem::not_provable)).await??;
    if !standing.is_clear() && why.trim().is_empty() {
        let what = format!("Against it: {}. Say why it is begun all the same.", standing.words());
        return Err(Problem::unclear(what));
    }
    let key = secret::name().map_err(|why| Problem::ours(&why))?;
    let noted = (!standing.is_clear()).then(|| {
        let note = format!("begun with {}: {}", standing.words(), why.trim());
        let fields = [("key", key), ("kind", "note".into()), ("note", note)];
        fields.map(|(name, value)| (name.to_owned(), value)).to_vec()
    });
    let mut entries = Vec::new();
    for posted in noted.into_iter().flat_map(|fields| answer::entries(clock::now().0, &fields)).flatten() {
        entries.push(posted.kept(revision, visitor.device())?);
    }
    let run = site.store(move |store| {
        let run = store.begin(id, revision, clock::now())?;
        store.write(id, run.id, &entries, clock::now())?;
        Ok(run)
    });
    let run = run.await?;
    site.changes.tell(&name);
    Ok(Redirect::to(&path(&name, run.number)).into_response())
}
