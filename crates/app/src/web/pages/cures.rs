//! Cures of escapes: each was tried in the model before it is offered, and is applied with one press.

use super::{Of, head};
use crate::clock;
use crate::proof::groups::{Group, groups};
use crate::proof::words;
use crate::web::desk::Bench;
use crate::web::digest;
use crate::web::form::Sent;
use crate::web::frame;
use crate::web::problem::Problem;
use crate::web::site::Shared;
use crate::web::visitor::Visitor;
use axum::Extension;
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;
use voltwright_proof::cure::{self, Cure};

/// The page.
pub async fn show(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
) -> Result<Html<String>, Problem> {
    let job = site.job(&name).await?;
    let id = job.job;
    let newest = site.store(move |store| store.newest(id)).await?;
    let (token, revision) = (site.token(&visitor), newest.made.number);
    let of = Of { revision, token, ..Of::new(name, super::Page::Proof) };
    let text = newest.text;
    let body = site.desks.of(&text).ask(move |bench| {
        let offered = cure::offered(&text, bench.proof, bench.threads());
        list(bench, &offered, &of)
    });
    Ok(Html(frame::page(&format!("Cures: {}", job.title), &body.await?).into_string()))
}

fn list(bench: &Bench<'_, '_>, offered: &[Cure], of: &Of) -> Markup {
    let groups = groups(bench.proof);
    html! {
        (head::title(of, &bench.job.title.text))
        (head::tabs(&of.name, super::Page::Proof.key()))
        h1 { "Cures" }
        @if bench.proof.escapes().is_empty() { p { "No mistake escapes: there is nothing to cure." } }
        @else { p { (words::count(bench.proof.escapes().len(), "mistake")) " no reading of the plan catches in time. Each of these changes was tried in the model; a press applies it as a revision, which can be undone." } }
        @if offered.is_empty() && !bench.proof.escapes().is_empty() { p { "None of the cures that are known closes any of them: see the list on the Proof page, and rewire." } }
        ol.suspects {
            @for (i, cure) in offered.iter().enumerate() {
                li {
                    p { strong { (cure.says) } }
                    p { "Closes " (cure.closes.len()) ", leaves " (cure.left) "." }
                    ul { @for (closed, group) in closed(&groups, cure) {
                        li { (how_many(closed, group)) ": " (words::harm(bench.job, &group.harm)) }
                    } }
                    form method="post" action=(format!("/job/{}/cures", of.name)) {
                        input type="hidden" name="token" value=(of.token);
                        input type="hidden" name="upon" value=(of.revision);
                        input type="hidden" name="number" value=(i);
                        button type="submit" { "Apply it" }
                    }
                }
            }
        }
    }
}

/// The groups of escapes of which a cure closes some, with how many.
fn closed<'g>(groups: &'g [Group], cure: &Cure) -> Vec<(usize, &'g Group)> {
    let of = |group: &Group| group.mistakes.iter().filter(|m| cure.closes.contains(m)).count();
    groups.iter().map(|group| (of(group), group)).filter(|(closed, _)| *closed > 0).collect()
}

/// "3 of 4, at worst", "all 8", "the only one"
fn how_many(closed: usize, group: &Group) -> String {
    let of = match group.mistakes.len() {
        1 => "the only one".to_owned(),
        all if all == closed => format!("all {all}"),
        all => format!("{closed} of {all}"),
    };
    of + group.at_worst()
}

/// Which cure.
#[derive(Deserialize)]
pub struct Chosen {
    upon: u32,
    number: usize,
}

/// Applies a cure, found anew for the very text that it was offered for.
pub async fn apply(
    State(site): State<Shared>,
    Path(name): Path<String>,
    Sent(Chosen { upon, number }): Sent<Chosen>,
) -> Result<Response, Problem> {
    let id = site.job(&name).await?.job;
    let text = site.store(move |store| store.revision(id, upon)).await?.text;
    let old = text.clone();
    let cured = site.desks.of(&text).ask(move |bench| {
        let offered = cure::offered(&old, bench.proof, bench.threads());
        offered.get(number).and_then(|cure| Some((cure::edited(&old, &cure.edits).ok()?, cure.says.clone())))
    });
    let (new, says) = cured.await?.ok_or_else(|| Problem::missing("cure of this number"))?;
    let title = digest::title(&new);
    let why = format!("cure: {says}");
    let saved = site.store(move |store| store.save(id, upon, &title, &new, &why, clock::now())).await?;
    digest::keep(&site, id, saved.number()).await;
    site.changes.tell(&name);
    Ok(Redirect::to(&format!("/job/{name}/proof")).into_response())
}
