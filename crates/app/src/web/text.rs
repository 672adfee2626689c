//! The job file itself: read, changed, saved; an older revision to look at.

use super::form::{FIELD, Sent};
use super::pages::{self, Of, head};
use super::problem::Problem;
use super::site::Shared;
use super::visitor::Visitor;
use super::{digest, frame};
use crate::clock;
use crate::text::{Page, excerpt};
use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;
use voltwright_job::{Lines, Severity};
use voltwright_workshop::{Listed, StoreError};

/// Which revision is looked at; the newest if none is named.
#[derive(Deserialize)]
pub struct Which {
    revision: Option<u32>,
}

/// The page.
pub async fn text(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
    Query(Which { revision }): Query<Which>,
) -> Result<Html<String>, Problem> {
    let job = site.job(&name).await?;
    let (id, number) = (job.job, revision.unwrap_or(job.newest));
    let shown = site.store(move |store| store.revision(id, number)).await?;
    let body = html! {
        (head::title(&Of { revision: number, ..Of::new(name.clone(), pages::Page::Survey) }, &job.title))
        (head::tabs(&name, "text"))
        h1 { "The job file" @if number != job.newest { ", revision " (number) } }
        (errors(&shown.text))
        @if number == job.newest {
            (editor(&name, &shown.text, number, &site.token(&visitor), false))
        } @else {
            p { "An older revision, to look at. " a href=(format!("/job/{name}/text")) { "The newest is revision " (job.newest) } }
            pre.text tabindex="0" { (shown.text) }
        }
    };
    Ok(Html(framed(&job.title, &body).into_string()))
}

/// The page with the script that belongs to its text.
fn framed(title: &str, body: &Markup) -> Markup {
    frame::with_script(&format!("Job file: {title}"), "/static/text.js", body)
}

/// Every error of the text, at its place; each leads there.
fn errors(text: &str) -> Markup {
    let (reading, lines) = (voltwright_job::read(text), Lines::new(text));
    let page = Page { columns: 100, colour: false };
    html! {
        @if !reading.diagnostics.is_empty() {
            section.errors aria-label="Errors" {
                @for d in &reading.diagnostics {
                    ({
                        let (line, column) = (lines.line(d.span.start), lines.column(d.span.start));
                        html! {
                            p id=(format!("line-{line}")) {
                                a href="#job-text" data-line=(line) data-column=(column) { "Line " (line) ", column " (column) } ": "
                                @if d.severity == Severity::Warning { "a warning, " }
                                (frame::marked(&d.message)) "."
                            }
                            pre.excerpt tabindex="0" aria-label=(format!("Line {line}")) { (excerpt::below(d, &lines, &page)) }
                        }
                    })
                }
            }
        }
    }
}

/// The text to change, and on which revision the change is made.
fn editor(name: &str, text: &str, upon: u32, token: &str, is_unsaved: bool) -> Markup {
    html! {
        form method="post" action=(format!("/job/{name}/text")) {
            input type="hidden" name=(FIELD) value=(token);
            input type="hidden" name="upon" value=(upon);
            label for="job-text" { "Text of the job" }
            // A browser takes the first line end away.
            textarea id="job-text" name="text" rows="40" spellcheck="false" data-unsaved=[is_unsaved.then_some("yes")] { "\n" (text) }
            button type="submit" { "Save as revision " (upon + 1) }
        }
    }
}

/// What the form says.
#[derive(Deserialize)]
pub struct Edited {
    text: String,
    upon: u32,
}

/// Saves a revision; where another was saved in between, nothing is changed and the choice is plain. What cannot be saved stays
/// in the page.
pub async fn save(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
    Sent(edited): Sent<Edited>,
) -> Result<Response, Problem> {
    let job = site.job(&name).await?;
    let (id, upon) = (job.job, edited.upon);
    let before = site.store(move |store| store.revision(id, upon)).await.map_or(String::new(), |r| r.text);
    let text = with_ends_of(&before, &edited.text);
    let (title, sent) = (digest::title(&text), text.clone());
    let saved = site.store(move |store| match store.save(id, upon, &title, &sent, "saved", clock::now()) {
        Err(StoreError::Conflict { newest, .. }) => Ok(Err(newest)),
        done => done.map(Ok),
    });
    let saved = match saved.await {
        Ok(saved) => saved,
        Err(problem) => return Ok(not_saved(&job, &text, upon, &site.token(&visitor), &problem)),
    };
    match saved {
        Ok(saved) => {
            digest::keep(&site, id, saved.number()).await;
            site.changes.tell(&name);
            Ok(Redirect::to(&format!("/job/{name}/text")).into_response())
        }
        Err(newest) => Ok(conflict(&job, &text, upon, newest, &site.token(&visitor))),
    }
}

/// A text with the line ends of the one that it was made of: forms send theirs as networks have them.
fn with_ends_of(before: &str, sent: &str) -> String {
    let plain = sent.replace("\r\n", "\n");
    let (ends, long) = (before.matches('\n').count(), before.matches("\r\n").count());
    if 2 * long > ends { plain.replace('\n', "\r\n") } else { plain }
}

/// Why nothing was saved, above what was typed.
fn not_saved(job: &Listed, text: &str, upon: u32, token: &str, problem: &Problem) -> Response {
    let body = html! {
        p.crumbs { a href=(format!("/job/{}", job.name)) { (job.title) } }
        h1 { "Not saved" }
        p.problem role="alert" { (problem.words()) }
        (editor(&job.name, text, upon, token, true))
    };
    (problem.status(), Html(framed(&job.title, &body).into_string())).into_response()
}

/// Two changed the same revision: what the later one may do.
pub fn conflict(job: &Listed, text: &str, yours: u32, newest: u32, token: &str) -> Response {
    let name = &job.name;
    let body = html! {
        h1 { "Somebody else saved in between" }
        p.problem role="alert" {
            "Yours was written upon revision " (yours) "; the newest is revision " (newest) ". Nothing was changed, and nothing is merged by itself."
        }
        p { a href=(format!("/job/{name}/text?revision={newest}")) target="_blank" rel="noopener" { "Look at revision " (newest) } " in another tab, then choose:" }
        form method="post" action=(format!("/job/{name}/text")) {
            input type="hidden" name=(FIELD) value=(token);
            input type="hidden" name="upon" value=(newest);
            label for="job-text" { "Your text, as you sent it: take over what revision " (newest) " has" }
            textarea id="job-text" name="text" rows="40" spellcheck="false" data-unsaved="yes" { "\n" (text) }
            button type="submit" { "Save mine as revision " (newest + 1) "; revision " (newest) " stays in the history" }
        }
        p { a href=(format!("/job/{name}/text")) { "Leave mine, go on with revision " (newest) } }
    };
    (
        StatusCode::CONFLICT,
        Html(frame::with_script("Somebody else saved in between", "/static/text.js", &body).into_string()),
    )
        .into_response()
}

#[cfg(test)]
mod tests {
    use super::with_ends_of;

    #[test]
    fn line_ends_stay_as_the_file_had_them() {
        assert_eq!(with_ends_of("a\r\nb\r\n", "a\r\nc\r\n"), "a\r\nc\r\n");
        assert_eq!(with_ends_of("a\nb\n", "a\r\nc\r\n"), "a\nc\n");
        assert_eq!(with_ends_of("", "a\r\n"), "a\n");
    }
}
