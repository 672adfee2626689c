//! Tells pages that look on that something has changed: server-sent events, without what changed; the page asks for that
//! itself, as it may.

use super::problem::Problem;
use super::site::Shared;
use super::visitor::Visitor;
use axum::Extension;
use axum::extract::{Query, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use serde::Deserialize;
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::broadcast;

/// Changes that a slow listener may lag behind before it is only told that there were some.
const KEPT: usize = 64;
/// Stands for all paired devices.
pub const DEVICES: &str = "devices";

/// Where changes are told.
pub struct Changes(broadcast::Sender<String>);

impl Changes {
    /// Nobody listens yet.
    pub fn new() -> Self {
        Self(broadcast::channel(KEPT).0)
    }

    /// Tells that something has changed: a job by its name, or [`DEVICES`].
    pub fn tell(&self, about: &str) {
        // That nobody listens is no error.
        let _ = self.0.send(about.to_owned());
    }
}

/// What a page looks on to.
#[derive(Deserialize)]
pub struct About {
    about: String,
}

/// The stream of changes for one page. Ends when the device that listens is paired no more.
pub async fn stream(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Query(About { about }): Query<About>,
) -> Result<Sse<impl futures_core::Stream<Item = Result<Event, Infallible>>>, Problem> {
    let changes = site.changes.0.subscribe();
    let state = (changes, site, visitor, about, true);
    let stream =
        futures_util::stream::unfold(state, |(mut changes, site, visitor, about, first)| async move {
            if first {
                return Some((
                    Ok(Event::default().comment("listening")),
                    (changes, site, visitor, about, false),
                ));
            }
            loop {
                let changed = match changes.recv().await {
                    Ok(changed) => Some(changed),
                    Err(broadcast::error::RecvError::Lagged(_)) => None,
                    Err(broadcast::error::RecvError::Closed) => return None,
                };
                // What was lost on the way may have been that this device was put out.
                let devices = changed.as_deref().is_none_or(|changed| changed == DEVICES);
                if devices && !is_still_paired(&site, &visitor).await {
                    return None;
                }
                if changed.is_none_or(|changed| changed == about) {
                    // An event without data is not told by browsers.
                    let event = Event::default().event("changed").data("now");
                    return Some((Ok(event), (changes, site, visitor, about, false)));
                }
            }
        });
    Ok(Sse::new(stream).keep_alive(KeepAlive::new().interval(Duration::from_secs(15))))
}

async fn is_still_paired(site: &Shared, visitor: &Visitor) -> bool {
    let Visitor::Device { id, .. } = *visitor else { return visitor.is_owner() };
    let devices = site.store(|store| store.devices()).await;
    devices.is_ok_and(|all| all.iter().any(|d| d.id == id && d.revoked.is_none()))
}
