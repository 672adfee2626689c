//! A job: where its pages are, what its check says in short, its history.

use super::bench;
use super::digest;
use super::edit;
use super::form::{FIELD, Sent};
use super::frame;
use super::pages::head;
use super::problem::Problem;
use super::site::Shared;
use super::visitor::Visitor;
use crate::clock;
use crate::command::export::PROGRAM;
use axum::Extension;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;
use voltwright_job::changes::changes;
use voltwright_workshop::{Listed, Made, Revision, archive};

/// Revisions whose differences are told.
const TOLD: usize = 30;

/// The page.
pub async fn job(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
) -> Result<Html<String>, Problem> {
    let job = site.job(&name).await?;
    let id = job.job;
    let (revisions, texts) = site
        .store(move |store| {
            let revisions = store.revisions(id)?;
            let last = revisions.iter().rev().take(TOLD + 1).map(|made| store.revision(id, made.number));
            let texts = last.collect::<Result<Vec<_>, _>>()?;
            Ok((revisions, texts))
        })
        .await?;
    let at = format!("/job/{name}");
    let digest = digest::of(&job);
    let body = html! {
        h1 { (job.title) }
        p.facts {
            @match digest.stops {
                None => "Its text has errors: mend them in the job file, then it can be checked and brought up.",
                Some(_) if digest.is_clear() => "No stop in what was checked.",
                Some(_) => { strong.stops { (digest.against()) } " – " a href=(format!("{at}/record#stops")) { "all findings" } },
            }
        }
        @if let Some((powered, says)) = digest.powered_at(clock::now().0) {
            p.powered { a href=(bench::path(&name, powered.run)) { (says) ", first power " (powered.run) } }
        }
        (head::tabs_with_marks(&name, &digest.marks))
        ul.pages {
            @if digest.stops.is_some() {
                li { a.big[digest.is_clear()] href=(format!("{at}/first-power")) { "First power at the bench" } }
                li { a href=(format!("{at}/sheet")) { "First power on paper" } }
            }
            li { a href=(format!("{at}/export")) download { "Export the whole job" } " – job file, readings, pictures, history" }
        }
        (history(&job, &revisions, &texts, &site.token(&visitor)))
    };
    Ok(Html(frame::page(&job.title, &body).into_string()))
}

/// Every revision, the newest first; each older one can be gone back to.
fn history(job: &Listed, revisions: &[Made], texts: &[Revision], token: &str) -> Markup {
    let at = format!("/job/{}", job.name);
    html! {
        h2 { "As it was on…" }
        ol.history reversed {
            @for made in revisions.iter().rev() {
                li {
                    a href=(format!("{at}/text?revision={}", made.number)) { "Revision " (made.number) }
                    ", " (clock::shown(made.made)) ", " (made.why)
                    (differences(texts, made.number))
                    @if made.number != job.newest {
                        form.inline method="post" action=(format!("{at}/back")) {
                            input type="hidden" name=(FIELD) value=(token);
                            input type="hidden" name="number" value=(made.number);
                            input type="hidden" name="upon" value=(job.newest);
                            button type="submit" { "Go back to it" }
                        }
                    }
                }
            }
        }
    }
}

/// What a revision changed, in plain words, where both texts are at hand.
fn differences(texts: &[Revision], number: u32) -> Markup {
    let text = |n: u32| texts.iter().find(|r| r.made.number == n).map(|r| r.text.as_str());
    let all = match (number.checked_sub(1).and_then(text), text(number)) {
        (Some(old), Some(new)) => changes(old, new),
        _ => Vec::new(),
    };
    html! {
        @match all.as_slice() {
            [] => {},
            [one] => { ": " (one.says()) },
            many => details { summary { (many.len()) " differences" } ul { @for one in many { li { (one.says()) } } } },
        }
    }
}

/// What the form that goes back says.
#[derive(Deserialize)]
pub struct Back {
    number: u32,
    upon: u32,
}

/// Makes the newest revision of an older one's text.
pub async fn back(
    State(site): State<Shared>,
    Path(name): Path<String>,
    headers: HeaderMap,
    Sent(Back { number, upon }): Sent<Back>,
) -> Result<Response, Problem> {
    let job = site.job(&name).await?;
    let id = job.job;
    let saved = site.store(move |store| store.back_to(id, number, upon, clock::now())).await?;
    digest::keep(&site, id, saved.number()).await;
    site.changes.tell(&name);
    Ok(Redirect::to(&edit::back(&headers, &name)).into_response())
}

/// The whole job as an archive.
pub async fn export(State(site): State<Shared>, Path(name): Path<String>) -> Result<Response, Problem> {
    let id = site.job(&name).await?.job;
    let made = site.store(move |store| Ok(archive::export(store, id, PROGRAM, clock::now()))).await?;
    let bytes = made.map_err(|e| Problem::ours(&e.to_string()))?;
    let headers = [
        (header::CONTENT_TYPE, "application/zip".to_owned()),
        // Names of jobs are letters, digits and hyphens.
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}.zip\"")),
    ];
    Ok((headers, bytes).into_response())
}
