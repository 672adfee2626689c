//! The pages of a job, one file each, all below the same spine: the power path from the wall to the board.

pub mod cures;
pub mod head;
mod key_path;
mod needs;
mod options;
mod parts;
mod proof;
mod record;
pub mod spine;
mod steps;
mod survey;
mod wiring;

use super::desk::Sight;
use super::edit::{Last, Notes};
use super::frame;
use super::problem::Problem;
use super::site::Shared;
use super::visitor::Visitor;
use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use record::Kept;
use serde::Deserialize;
use steps::Steps;
use voltwright_rules::Stretch;
use voltwright_workshop::{JobId, Listed, Picture, Revision, Store, StoreError};

/// A page of a job. First power has pages of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Page {
    /// The machine, what was found, dangers.
    Survey,
    /// What the machine needs.
    Needs,
    /// The parts of the power path that are there, and what the findings say of them.
    Options,
    /// Plugs, wires.
    Wiring,
    /// Every mistake tried.
    Proof,
    /// What is handed on.
    Record,
}

impl Page {
    /// All of them, in order.
    pub const ALL: [Page; 6] =
        [Page::Survey, Page::Needs, Page::Options, Page::Wiring, Page::Proof, Page::Record];

    /// As it stands in an address.
    pub const fn key(self) -> &'static str {
        match self {
            Page::Survey => "survey",
            Page::Needs => "needs",
            Page::Options => "options",
            Page::Wiring => "wiring",
            Page::Proof => "proof",
            Page::Record => "record",
        }
    }

    /// As it is called.
    pub const fn name(self) -> &'static str {
        match self {
            Page::Survey => "Survey",
            Page::Needs => "Needs",
            Page::Options => "Options",
            Page::Wiring => "Wiring",
            Page::Proof => "Proof",
            Page::Record => "Record",
        }
    }

    /// The findings that stand beside it.
    pub fn stretches(self) -> &'static [Stretch] {
        match self {
            Page::Survey => &[Stretch::Wall, Stretch::OldSupply],
            Page::Needs => &[Stretch::Load],
            Page::Options => &[Stretch::MainsSide, Stretch::Supply, Stretch::Case],
            Page::Wiring => &[Stretch::Wiring],
            Page::Proof | Page::Record => &[],
        }
    }

    fn body(self, sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
        match self {
            Page::Survey => survey::body(sight, of),
            Page::Needs => needs::body(sight, of),
            Page::Options => options::body(sight, of),
            Page::Wiring => wiring::body(sight, of),
            Page::Proof => proof::body(sight, of),
            Page::Record => record::body(sight, of),
        }
    }
}

/// The job that a page is of, beside its text.
pub struct Of {
    /// Its name in addresses.
    pub name: String,
    /// The revision that is shown, and upon which a change is made.
    pub revision: u32,
    /// The steps from it, back and on.
    pub steps: Steps,
    /// Which page it is.
    pub page: Page,
    /// The token that forms carry.
    pub token: String,
    /// What is looked for on the page.
    pub search: String,
    /// Its pictures, for the page that shows them.
    pub pictures: Vec<Picture>,
    /// What the store knows beside its text, for the page that hands it on.
    pub kept: Kept,
    /// The form that was sent last.
    pub last: Last,
    /// What is said of the values.
    pub notes: Notes,
}

impl Of {
    /// A page of a job, without what it shows.
    pub fn new(name: String, page: Page) -> Self {
        let (steps, token, search, pictures) = Default::default();
        let (kept, last, notes) = Default::default();
        Self { name, revision: 0, steps, page, token, search, pictures, kept, last, notes }
    }

    /// The address of one of its pages.
    pub fn at(&self, page: Page) -> String {
        format!("/job/{}/{}", self.name, page.key())
    }
}

/// What is looked for.
#[derive(Deserialize)]
pub struct Search {
    #[serde(default)]
    search: String,
    /// The entry that stands open.
    #[serde(default)]
    at: String,
}

/// A page.
pub async fn show(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Path((name, page)): Path<(String, String)>,
    Query(Search { search, at }): Query<Search>,
) -> Result<Html<String>, Problem> {
    let page = Page::ALL
        .into_iter()
        .find(|p| p.key() == page)
        .ok_or_else(|| Problem::missing("page of this name"))?;
    let job = site.job(&name).await?;
    let id = job.job;
    let newest = site.store(move |store| store.newest(id)).await?;
    let last = Last { at, ..Last::default() };
    let of = Of { token: site.token(&visitor), search, last, ..Of::new(name, page) };
    rendered(&site, &job, newest, of).await
}

/// A page of a revision of a job.
///
/// # Errors
/// The store cannot be read; a mistake of ours.
pub async fn rendered(site: &Shared, job: &Listed, shown: Revision, of: Of) -> Result<Html<String>, Problem> {
    let (id, page) = (job.job, of.page);
    let (pictures, mut history) =
        site.store(move |store| Ok((pictures(store, id, page)?, store.revisions(id)?))).await?;
    let revision = shown.made.number;
    history.retain(|made| made.number <= revision);
    let kept = if page == Page::Record { record::kept(site, id, revision).await? } else { Kept::default() };
    let of = Of { revision, steps: Steps::of(&history), pictures, kept, ..of };
    let body = site.desks.of(&shown.text).look(move |sight| {
        let of = Of { notes: Notes::of(sight), ..of };
        whole(sight, &of, page)
    });
    let body = body.await?;
    let title = format!("{}: {}", page.name(), job.title);
    Ok(Html(frame::with_scripts(&title, &["/static/job.js", "/static/fold.js"], &body).into_string()))
}

/// The pictures of a job, where the page shows them.
fn pictures(store: &Store, job: JobId, page: Page) -> Result<Vec<Picture>, StoreError> {
    if matches!(page, Page::Survey | Page::Record) { store.pictures(job) } else { Ok(Vec::new()) }
}

/// Everything of a page that hangs on the job's text.
fn whole(sight: &mut Sight<'_, '_>, of: &Of, page: Page) -> Markup {
    html! {
        div #job data-try=(format!("/job/{}/try?page={}", of.name, page.key())) data-token=(of.token) {
            (spine::above(sight, of, page))
            div.page {
                div #content { (page.body(sight, of)) }
                aside #beside aria-label="Findings" tabindex="0" { (spine::beside(sight, of, page)) }
            }
        }
    }
}
