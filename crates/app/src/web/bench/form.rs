//! What every form of the bench carries: where it goes, the token of the visit, a key of its own, which question it answers.

use maud::{Markup, html};
use std::sync::atomic::{AtomicU64, Ordering};

/// Where answers go, and with what.
pub struct Form {
    /// The path.
    pub action: String,
    /// The token of the visit.
    pub token: String,
    /// What keys begin with; random.
    key: String,
    /// How many keys were given out.
    given: AtomicU64,
}

impl Form {
    /// For a path and a visit.
    pub fn new(action: String, token: String, key: String) -> Self {
        Self { action, token, key, given: AtomicU64::new(0) }
    }

    /// A key for one answer: sent twice, it is written once.
    pub fn key(&self) -> String {
        format!("{}-{}", self.key, self.given.fetch_add(1, Ordering::Relaxed))
    }
}

/// The fields that are not shown.
pub fn hidden(form: &Form, kind: &str, stage: &str) -> Markup {
    html! {
        input type="hidden" name="token" value=(form.token);
        input type="hidden" name="key" value=(form.key());
        input type="hidden" name="kind" value=(kind);
        input type="hidden" name="stage" value=(stage);
    }
}
