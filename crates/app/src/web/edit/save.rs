//! Saving what a form says as a revision; trying it without saving, while it is typed.

use super::apply::{about, apply};
use super::last::{Fields, Last, value};
use crate::clock;
use crate::web::form::{Sent, SentJson};
use crate::web::pages::{self, Of, Page, spine};
use crate::web::problem::Problem;
use crate::web::site::Shared;
use crate::web::visitor::Visitor;
use crate::web::{digest, text};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Extension, Json};
use maud::html;
use serde::{Deserialize, Serialize};
use voltwright_workshop::StoreError;

/// Saves a form as a revision, and goes back to the page; what cannot be written comes back in the form.
pub async fn edit(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path(name): Path<String>,
    Query(On { page }): Query<On>,
    Sent(fields): Sent<Fields>,
) -> Result<Response, Problem> {
    let job = site.job(&name).await?;
    let field = |wanted: &str| value(&fields, wanted).unwrap_or_default();
    let upon: u32 =
        field("upon").parse().map_err(|_| Problem::unclear("The form does not say upon which revision."))?;
    let id = job.job;
    let old = site.store(move |store| store.revision(id, upon)).await?;
    let new = match apply(&old.text, &fields) {
        Ok(new) => new,
        Err(refusal) => {
            let last = Last { at: field("at").to_owned(), fields, refusal: Some(refusal) };
            let of = Of { token: site.token(&visitor), last, ..Of::new(name, page) };
            let shown = pages::rendered(&site, &job, old, of).await?;
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, shown).into_response());
        }
    };
    let done = Redirect::to(&after(&name, page, &fields)).into_response();
    if new == old.text {
        return Ok(done);
    }
    let (title, why) = (digest::title(&new), why(&fields));
    let saved = site.store(move |store| match store.save(id, upon, &title, &new, &why, clock::now()) {
        Err(StoreError::Conflict { newest, .. }) => Ok(Err((newest, new))),
        done => done.map(Ok),
    });
    match saved.await? {
        Ok(saved) => {
            digest::keep(&site, id, saved.number()).await;
            site.changes.tell(&name);
            Ok(done)
        }
        Err((newest, new)) => Ok(text::conflict(&job, &new, upon, newest, &site.token(&visitor))),
    }
}

fn is_removal(fields: &Fields) -> bool {
    value(fields, "do") == Some("remove")
}

/// Why there is a revision more.
fn why(fields: &Fields) -> String {
    let at = value(fields, "at").unwrap_or_default();
    let did = if is_removal(fields) {
        "removed"
    } else if at.ends_with(".*") {
        "added"
    } else {
        "changed"
    };
    format!("{did} {}", called(&about(fields), fields))
}

/// What a form is about, as people call it: a wire by its ends, an entry of a list by its number from one.
fn called(about: &str, fields: &Fields) -> String {
    let end = |key: &str| value(fields, &format!("t:{about}.{key}"));
    if let (Some(from), Some(to)) = (end("from"), end("to")) {
        return format!("wire {from} – {to}");
    }
    match about.strip_suffix(']').and_then(|at| at.split_once('[')) {
        Some((list, n)) => format!("{list} {}", n.parse::<usize>().unwrap_or_default().saturating_add(1)),
        None => about.replace('.', " "),
    }
}

/// Where one goes on: the entry that was changed stands open; after a wire, the next one.
fn after(name: &str, page: Page, fields: &Fields) -> String {
    let about = about(fields);
    let section = about.split(['.', '[']).next().unwrap_or_default();
    let page = format!("/job/{name}/{}", page.key());
    if is_removal(fields) {
        return format!("{page}#{}", encoded(section));
    }
    let place = if section == "wiring" { "add-wire" } else { &about };
    format!("{page}?at={}#{}", encoded(&about), encoded(place))
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

/// Which page is looked at.
#[derive(Deserialize)]
pub struct On {
    page: Page,
}

/// What is being typed.
#[derive(Deserialize)]
pub struct Typed {
    upon: u32,
    fields: Fields,
}

/// What it would come to.
#[derive(Serialize)]
pub struct Told {
    path: String,
    beside: String,
}

/// What a form would come to, without saving it.
pub async fn attempt(
    State(site): State<Shared>,
    Path(name): Path<String>,
    Query(On { page }): Query<On>,
    SentJson(typed): SentJson<Typed>,
) -> Result<Json<Told>, Problem> {
    let job = site.job(&name).await?;
    let (id, upon) = (job.job, typed.upon);
    let old = site.store(move |store| store.revision(id, upon)).await?.text;
    let (text, refusal) = match apply(&old, &typed.fields) {
        Ok(new) => (new, None),
        Err(refusal) => (old, Some(refusal)),
    };
    let of = Of { revision: upon, ..Of::new(name, page) };
    let told = site.desks.trying(&text).look(move |sight| Told {
        path: spine::path(sight).into_string(),
        beside: html! {
            @if let Some(refusal) = &refusal { p.problem { (refusal.says) } }
            (spine::beside(sight, &of, page))
        }
        .into_string(),
    });
    told.await.map(Json)
}
