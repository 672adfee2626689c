//! The workshop as pages: made here, served on loopback, and to paired devices of the network where that is asked for.
//!
//! - [`server`] listens, with [`patience`]; [`guard`] sees every request in and out; [`visitor`] says who asks; [`form`] takes what is sent.
//! - [`site`] is what all pages share; [`desk`] keeps proofs ready; [`live`] tells pages that look on.
//! - [`workshop`], [`job`], [`text`], [`devices`], [`bench`], [`pictures`], [`shelf`]: the pages, one file or folder each; [`frame`] is around them all.

mod bench;
mod desk;
mod devices;
mod digest;
mod edit;
mod form;
mod frame;
mod guard;
mod job;
mod live;
mod pages;
mod pairing;
mod patience;
mod pictures;
mod problem;
mod qr;
mod secret;
pub mod server;
mod shelf;
pub mod site;
mod statics;
mod tables;
#[cfg(test)]
mod tests;
mod text;
mod visitor;
mod workshop;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn_with_state, map_response};
use axum::routing::{get, post};
use problem::Problem;
use site::{Shared, Site};
use std::sync::Arc;

/// What a form may send.
const FORM: usize = 1 << 20;
/// What the form of a job file may send: 8 MiB, each byte as three at worst.
const TEXT: usize = 25 << 20;
/// What a file may be.
const FILE: usize = 64 << 20;

/// All pages.
pub fn router(site: Site) -> Router {
    let site: Shared = Arc::new(site);
    Router::new()
        .route("/", get(workshop::list))
        .route("/new/empty", post(workshop::empty))
        .route("/new/example", post(workshop::example))
        .route("/new/file", post(workshop::file).layer(DefaultBodyLimit::max(FILE)))
        .route("/job/{job}", get(job::job))
        .route("/job/{job}/{page}", get(pages::show))
        .route("/job/{job}/cures", get(pages::cures::show).post(pages::cures::apply))
        .route("/job/{job}/edit", post(edit::edit))
        .route("/job/{job}/try", post(edit::attempt))
        .route("/job/{job}/back", post(job::back))
        .route("/job/{job}/export", get(job::export))
        .route("/job/{job}/picture", post(pictures::add).layer(DefaultBodyLimit::max(pictures::SENT)))
        .route("/picture/{hash}", get(pictures::show))
        .route("/job/{job}/text", get(text::text).post(text::save).layer(DefaultBodyLimit::max(TEXT)))
        .route("/job/{job}/sheet", get(bench::sheet::sheet))
        .route("/job/{job}/first-power", get(bench::start).post(bench::begin))
        .route("/job/{job}/first-power/{run}", get(bench::bench))
        .route("/job/{job}/first-power/{run}/now", get(bench::now))
        .route("/job/{job}/first-power/{run}/log", post(bench::log))
        .route("/job/{job}/first-power/{run}/answer", post(bench::answer))
        .route("/job/{job}/first-power/{run}/meter", post(bench::meter::meter))
        .route("/shelf", get(shelf::list))
        .route("/shelf/part", get(shelf::one).post(shelf::copy))
        .route("/tables", get(tables::list))
        .route("/tables/{table}", get(tables::one))
        .route("/devices", get(devices::devices))
        .route("/devices/invite", post(devices::invite))
        .route("/devices/revoke", post(devices::revoke))
        .route("/pair", get(devices::ask).post(devices::pair))
        .route("/live", get(live::stream))
        .route("/static/{file}", get(statics::file))
        .fallback(|| async { Problem::missing("page of this address") })
        .layer(DefaultBodyLimit::max(FORM))
        .layer(map_response(problem::in_words))
        .layer(from_fn_with_state(Arc::clone(&site), guard::guard))
        .with_state(site)
}
