//! Saving what a form says as a revision; trying it without saving, while it is typed.

use super::apply::{Fields, apply};
use crate::clock;
use crate::web::form::{Sent, SentJson};
use crate::web::pages::{Of, Page, spine};
use crate::web::problem::Problem;
use crate::web::site::Shared;
use crate::web::{digest, text};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Redirect, Response};
use serde::{Deserialize, Serialize};
use voltwright_workshop::StoreError;

/// Saves a form as a revision, and goes back to the page.
pub async fn edit(
    State(site): State<Shared>,
    Path(name): Path<String>,
    headers: HeaderMap,
    Sent(fields): Sent<Fields>,
) -> Result<Response, Problem> {
    let job = site.job(&name).await?;
    let field = |wanted: &str| fields.iter().find(|(n, _)| n == wanted).map_or("", |(_, v)| v.as_str());
    let upon: u32 =
        field("upon").parse().map_err(|_| Problem::unclear("The form does not say upon which revision."))?;
    let at = field("at").to_owned();
    let id = job.job;
    let old = site.store(move |store| store.revision(id, upon)).await?.text;
    let new = apply(&old, &fields).map_err(Problem::unclear)?;
    let title = digest::title(&new);
    let why = format!("{} {at}", if field("do") == "remove" { "removed" } else { "changed" });
    let saved = site.store(move |store| match store.save(id, upon, &title, &new, &why, clock::now()) {
        Err(StoreError::Conflict { newest, .. }) => Ok(Err((newest, new))),
        done => done.map(Ok),
    });
    match saved.await? {
        Ok(_) => {
            site.changes.tell(&name);
            Ok(Redirect::to(&format!("{}#{}", back(&headers, &name), anchor(&at))).into_response())
        }
        Err((newest, new)) => Ok(text::conflict(&job, &new, upon, newest, &field_token(&fields))),
    }
}

fn field_token(fields: &Fields) -> String {
    fields.iter().find(|(n, _)| n == "token").map_or(String::new(), |(_, v)| v.clone())
}

/// The page from which a form was sent, if it is one of the job's.
fn back(headers: &HeaderMap, name: &str) -> String {
    let referer = headers.get(header::REFERER).and_then(|v| v.to_str().ok()).unwrap_or_default();
    let page = Page::ALL.into_iter().find(|p| referer.contains(&format!("/job/{name}/{}", p.key())));
    format!("/job/{name}/{}", page.unwrap_or(Page::Survey).key())
}

/// The section that a path is in.
fn anchor(at: &str) -> &str {
    at.split(['.', '[']).next().unwrap_or_default()
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
    let new = apply(&old, &typed.fields).map_err(Problem::unclear)?;
    let of = Of { name, revision: upon, token: String::new(), search: String::new() };
    let told = site.desks.of(&new).look(move |sight| Told {
        path: spine::path(sight).into_string(),
        beside: spine::beside(sight, &of, page).into_string(),
    });
    told.await.map(Json)
}
