//! Saving what a form says as a revision, upon whatever is the newest by then.

use super::apply::{Done, at, has_form};
use super::ask;
use super::last::{Fields, Last, Refusal, counted, value};
use super::merge::{Merged, answered, merge};
use super::notes::Notes;
use crate::clock;
use crate::web::form::Sent;
use crate::web::pages::{self, Of, Page};
use crate::web::problem::Problem;
use crate::web::site::Shared;
use crate::web::visitor::Visitor;
use crate::web::{digest, text};
use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use toml::{Table, Value};
use voltwright_workshop::{Listed, Revision, StoreError};

/// How often it is tried anew if others save at the same moment.
const TRIES: usize = 50;

/// Which page is looked at.
#[derive(Deserialize)]
pub struct On {
    /// The page.
    pub page: Page,
}

/// Saves a form as a revision, and goes back to the page; what cannot be written comes back in the form, and what others
/// changed since is asked for.
pub async fn edit(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
    Query(On { page }): Query<On>,
    Sent(fields): Sent<Fields>,
) -> Result<Response, Problem> {
    let job = site.job(&name).await?;
    let (fields, token, id) = (answered(counted(fields)?), site.token(&visitor), job.job);
    let upon = value(&fields, "upon").and_then(|upon| upon.parse::<u32>().ok());
    let upon = upon.ok_or_else(|| Problem::unclear("The form does not say upon which revision."))?;
    if !value(&fields, "at").is_some_and(has_form) {
        return Err(Problem::unclear(
            "The form is about nothing that has a form: change it on the Text page.",
        ));
    }
    for _ in 0..TRIES {
        let (base, newest) = site.store(move |s| Ok((s.revision(id, upon)?, s.newest(id)?))).await?;
        let number = newest.made.number;
        let (done, about) = match merge(&base.text, &newest.text, &fields) {
            Ok(Merged::Text(done, about)) => (done, about),
            Ok(Merged::Ask(asked)) => return Ok(ask::page(&job, page, (upon, number), &token, &asked)),
            Ok(Merged::Whole(mine)) => return Ok(text::conflict(&job, &mine, upon, number, &token)),
            Err(refusal) => return refused(&site, &job, base, (page, token), (fields, refusal)).await,
        };
        if done.text == newest.text || saved(&site, &job, &newest, (&base, &done, &about), &fields).await? {
            return Ok(Redirect::to(&after(&name, page, &about, &done.text, &fields)).into_response());
        }
    }
    let base = site.store(move |s| s.revision(id, upon)).await?;
    let refusal =
        Refusal::of("", "Others save at this moment, again and again. Nothing is lost: save once more.");
    refused(&site, &job, base, (page, token), (fields, refusal)).await
}

/// The page with the form as it was sent.
async fn refused(
    site: &Shared,
    job: &Listed,
    base: Revision,
    (page, token): (Page, String),
    (fields, refusal): (Fields, Refusal),
) -> Result<Response, Problem> {
    let at = value(&fields, "at").unwrap_or_default().to_owned();
    let last = Last { at, fields, refusal: Some(refusal) };
    let of = Of { token, last, ..Of::new(job.name.clone(), page) };
    let shown = pages::rendered(site, job, base, of).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, shown).into_response())
}

/// Whether it was saved upon the newest revision; not so if there is a newer one by now.
async fn saved(
    site: &Shared,
    job: &Listed,
    newest: &Revision,
    (base, done, about): (&Revision, &Done, &str),
    fields: &Fields,
) -> Result<bool, Problem> {
    let (id, upon, text) = (job.job, newest.made.number, done.text.clone());
    let mut why = why(fields, about, (&base.text, done));
    if base.made.number != upon {
        why = format!("{why} (typed upon revision {})", base.made.number);
    }
    let title = digest::title(&text);
    let saved = site.store(move |store| match store.save(id, upon, &title, &text, &why, clock::now()) {
        Err(StoreError::Conflict { .. }) => Ok(None),
        done => done.map(Some),
    });
    let Some(saved) = saved.await? else { return Ok(false) };
    digest::keep(site, id, saved.number()).await;
    site.changes.tell(&job.name);
    Ok(true)
}

fn is_removal(fields: &Fields) -> bool {
    value(fields, "do") == Some("remove")
}

/// Why there is a revision more.
fn why(fields: &Fields, about: &str, (base, done): (&str, &Done)) -> String {
    let is_new = value(fields, "at").is_some_and(|about| is_new(about, base));
    // What is taken away is named as it was.
    let (did, text) = match (is_removal(fields), is_new) {
        (true, _) => ("removed", base),
        (_, true) => ("added", done.text.as_str()),
        _ => ("changed", done.text.as_str()),
    };
    match done.renamed.as_slice() {
        [] => format!("{did} {}", called(about, text)),
        renamed if done.also => format!("renamed {}; other values changed as well", renamed.join(", ")),
        renamed => format!("renamed {}", renamed.join(", ")),
    }
}

/// Whether a form is of something that its text does not have yet: a name to be chosen, an entry behind the last of a list.
fn is_new(about: &str, base: &str) -> bool {
    let is_there = || base.parse::<Table>().is_ok_and(|held| at(&held, about).is_some());
    about.ends_with(".*") || (about.ends_with(']') && !is_there())
}

/// What a form is about, as people call it: a wire by its ends, an entry of a list by its number from one.
fn called(about: &str, text: &str) -> String {
    let held: Table = text.parse().unwrap_or_default();
    let end = |key: &str| at(&held, &format!("{about}.{key}")).and_then(Value::as_str);
    if let (Some(from), Some(to)) = (end("from"), end("to")) {
        return format!("wire {from} – {to}");
    }
    match about.strip_suffix(']').and_then(|at| at.split_once('[')) {
        Some((list, n)) => format!("{list} {}", n.parse::<usize>().unwrap_or_default().saturating_add(1)),
        None => about.replace('.', " "),
    }
}

/// Where one goes on: the entry that was changed stands open, at the first of its fields that is wrong; after a wire without
/// an error, the next one.
fn after(name: &str, page: Page, about: &str, text: &str, fields: &Fields) -> String {
    let section = about.split(['.', '[']).next().unwrap_or_default();
    let page = format!("/job/{name}/{}", page.key());
    if is_removal(fields) {
        return format!("{page}#{}", encoded(section));
    }
    let notes = Notes::new(text, &voltwright_job::read(text).diagnostics, &[]);
    let place = match notes.wrong_field(about) {
        Some(field) => field,
        None if section == "wiring" && !notes.is_wrong(about) => "add-wire",
        None => about,
    };
    format!("{page}?at={}#{}", encoded(about), encoded(place))
}

/// As an address takes it.
fn encoded(text: &str) -> String {
    serde_urlencoded::to_string([("", text)]).unwrap_or_default().trim_start_matches('=').to_owned()
}

/// The page from which a form was sent, if it is one of the job's; else the job itself.
pub fn back(headers: &HeaderMap, name: &str) -> String {
    let referer = headers.get(header::REFERER).and_then(|v| v.to_str().ok()).unwrap_or_default();
    let page = Page::ALL.into_iter().find(|p| referer.contains(&format!("/job/{name}/{}", p.key())));
    page.map_or_else(|| format!("/job/{name}"), |page| format!("/job/{name}/{}", page.key()))
}
