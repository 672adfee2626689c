//! The workshop: the jobs, how far each is, and how a new one begins.

use super::bench;
use super::digest::{self, MARKS, Mark};
use super::form::{FIELD, Sent, SentFile};
use super::frame;
use super::problem::Problem;
use super::site::Shared;
use super::visitor::Visitor;
use crate::clock;
use axum::Extension;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;
use std::collections::BTreeMap;
use voltwright_tables::mains::{self, Mains};
use voltwright_workshop::{ArchiveError, Listed, StoreError, archive};

mod fresh;

use fresh::Fresh;
pub use fresh::empty;

/// Jobs to begin from: what they are called here, and their text.
pub const EXAMPLES: [(&str, &str, &str); 6] = [
    (
        "desk-computer",
        "Desk computer, finished",
        include_str!("../../../../examples/desk-computer/finished.toml"),
    ),
    (
        "desk-computer-draft",
        "Desk computer, first draft with honest mistakes",
        include_str!("../../../../examples/desk-computer/first-draft.toml"),
    ),
    (
        "synthesizer-rack",
        "Synthesizer rack, finished",
        include_str!("../../../../examples/synthesizer-rack/finished.toml"),
    ),
    (
        "synthesizer-rack-draft",
        "Synthesizer rack, first draft",
        include_str!("../../../../examples/synthesizer-rack/first-draft.toml"),
    ),
    ("plotter", "Plotter, finished", include_str!("../../../../examples/plotter/finished.toml")),
    ("plotter-draft", "Plotter, first draft", include_str!("../../../../examples/plotter/first-draft.toml")),
];

/// What is looked for.
#[derive(Deserialize)]
pub struct Search {
    #[serde(default)]
    search: String,
}

/// The page.
pub async fn list(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Query(Search { search }): Query<Search>,
) -> Result<Html<String>, Problem> {
    let wanted = search.clone();
    let jobs = site.store(move |store| store.jobs(&wanted)).await?;
    let token = site.token(&visitor);
    let body = html! {
        h1 { "Workshop" }
        form.search method="get" action="/" role="search" {
            label for="search" { "Search titles and job files" }
            input id="search" name="search" type="search" value=(search);
            button type="submit" { "Search" }
        }
        @if jobs.is_empty() && search.is_empty() { p { "No job yet. Begin with one of your own, or look at an example." } }
        @if jobs.is_empty() && !search.is_empty() { p { "No job has all of these words. " a href="/" { "Show all jobs" } } }
        @if !jobs.is_empty() { (Mark::legend()) }
        ul.jobs { @for job in &jobs { (row(job)) } }
        (beginnings(&token))
    };
    Ok(Html(frame::page("Workshop", &body).into_string()))
}

fn row(job: &Listed) -> Markup {
    let digest = digest::of(job);
    html! {
        li {
            a.title href=(format!("/job/{}", job.name)) { (job.title) }
            ol.marks {
                @for (name, mark) in MARKS.iter().zip(digest.marks) {
                    li { (mark.sign()) (name) span.hidden { ", " (mark.says()) } }
                }
            }
            @if let Some((powered, says)) = digest.powered_at(clock::now().0) {
                p.powered { a href=(bench::path(&job.name, powered.run)) { (says) ", first power " (powered.run) } }
            }
            p.facts {
                @match digest.stops {
                    None => "not checked yet",
                    Some(_) if digest.is_clear() => "no stop",
                    Some(_) => strong.stops { (digest.against()) },
                }
                " · revision " (job.newest) " · " (job.entries) " in the log · touched " (clock::shown(job.touched))
            }
        }
    }
}

/// The ways to begin.
fn beginnings(token: &str) -> Markup {
    html! {
        section.beginnings aria-labelledby="new" {
            h2 #new { "New job" }
            (fresh::form(token, &Fresh::default(), &BTreeMap::new()))
            form method="post" action="/new/example" {
                h3 { "From an example" }
                input type="hidden" name=(FIELD) value=(token);
                label for="new-example" { "Example" }
                select id="new-example" name="example" { @for (key, says, _) in EXAMPLES { option value=(key) { (says) } } }
                button type="submit" { "Begin with a copy" }
            }
            form method="post" action="/new/file" enctype="multipart/form-data" {
                h3 { "From a file" }
                input type="hidden" name=(FIELD) value=(token);
                label for="new-file" { "A job file, or a job's archive" }
                input id="new-file" name="file" type="file" required accept=".toml,.zip";
                button type="submit" { "Bring in" }
            }
        }
    }
}

/// As one looks for them.
pub fn countries() -> Vec<&'static Mains> {
    let mut all: Vec<&Mains> = mains::COUNTRIES.iter().collect();
    all.sort_by_key(|m| m.country);
    all
}

/// What the form of an example says.
#[derive(Deserialize)]
pub struct Example {
    example: String,
}

/// A copy of an example.
pub async fn example(State(site): State<Shared>, Sent(form): Sent<Example>) -> Result<Response, Problem> {
    let found = EXAMPLES.iter().find(|(key, ..)| *key == form.example);
    let (_, _, text) = found.ok_or_else(|| Problem::missing("example of this name"))?;
    created(&site, (*text).to_owned(), "copied from an example", "").await
}

/// A job from a file: its text, or an archive of the whole job.
pub async fn file(State(site): State<Shared>, file: SentFile) -> Result<Response, Problem> {
    if file.bytes.starts_with(b"PK") {
        let imported = site.store(move |store| Ok(archive::import(store, &file.bytes, clock::now()))).await?;
        let created = imported.map_err(refused)?;
        let job = site.job(&created.name).await?;
        digest::keep(&site, job.job, job.newest).await;
        return Ok(Redirect::to(&format!("/job/{}", created.name)).into_response());
    }
    let why = || format!("`{}` is neither a job file (UTF-8 text) nor a job's archive.", file.name);
    let text = String::from_utf8(file.bytes.clone()).map_err(|_| Problem::unclear(why()))?;
    created(&site, text, "brought in from a file", "").await
}

fn refused(error: ArchiveError) -> Problem {
    match error {
        ArchiveError::Store(error) => error.into(),
        other => Problem::new(StatusCode::UNPROCESSABLE_ENTITY, other.to_string(), None),
    }
}

/// Makes a job of a text and goes to a page of it.
async fn created(site: &Shared, text: String, why: &'static str, page: &str) -> Result<Response, Problem> {
    let title = digest::title(&text);
    let created = site
        .store(move |store| -> Result<_, StoreError> { store.create(&title, &text, why, clock::now()) })
        .await?;
    digest::keep(site, created.job, 1).await;
    Ok(Redirect::to(&format!("/job/{}{page}", created.name)).into_response())
}

impl Mark {
    const ALL: [Mark; 4] = [Mark::Nothing, Mark::Begun, Mark::Stopped, Mark::Done];

    fn class(self) -> &'static str {
        match self {
            Mark::Nothing => "nothing",
            Mark::Begun => "begun",
            Mark::Stopped => "stopped",
            Mark::Done => "done",
        }
    }

    /// The sign before a page's name; [`Mark::says`] says it in words.
    pub fn sign(self) -> Markup {
        let sign = match self {
            Mark::Nothing => "○",
            Mark::Begun => "◐",
            Mark::Stopped => "■",
            Mark::Done => "●",
        };
        html! { span.sign.(self.class()) aria-hidden="true" { (sign) } }
    }

    /// In words.
    pub fn says(self) -> &'static str {
        match self {
            Mark::Nothing => "nothing yet",
            Mark::Begun => "begun",
            Mark::Stopped => "has a stop",
            Mark::Done => "done",
        }
    }

    /// What the signs mean; what is read aloud says it beside each.
    pub fn legend() -> Markup {
        html! { p.legend aria-hidden="true" { @for mark in Mark::ALL { span { (mark.sign()) (mark.says()) } " " } } }
    }
}
