//! A hostile request by name, and what must be answered.

use crate::common::http::{Answer, exchange};

/// How the line of a case begins that was answered as it must not be.
pub const WRONG: &str = "WRONG";
/// As a status: the connection is closed without an answer.
pub const CLOSED: u16 = 0;

/// A hostile request.
pub struct Case {
    name: String,
    bytes: Vec<u8>,
    /// The statuses that are right.
    right: &'static [u16],
    /// What the answer must say, so that it is refused for the reason that is meant; empty where it does not matter.
    says: &'static str,
}

impl Case {
    /// A request, and the statuses that are right.
    pub fn new(name: impl Into<String>, bytes: Vec<u8>, right: &'static [u16]) -> Self {
        Self { name: name.into(), bytes, right, says: "" }
    }

    /// What the answer must say as well.
    pub fn says(self, says: &'static str) -> Self {
        Self { says, ..self }
    }

    /// Sends it; tells its name and what was answered.
    pub fn run(self, port: u16) -> String {
        judged(&self.name, exchange(port, &self.bytes).as_ref(), self.right, self.says)
    }
}

/// The line of a case: its name and what was answered.
pub fn judged(name: &str, answer: Option<&Answer>, right: &[u16], says: &str) -> String {
    let status = answer.map_or(CLOSED, |a| a.status);
    let wrong = match answer {
        _ if !right.contains(&status) => Some(format!("must be one of {right:?}")),
        Some(answer) if !is_sealed(answer) => Some("without the headers that every answer has".to_owned()),
        Some(answer) if !is_told(answer) => Some("without a page that says so in words".to_owned()),
        Some(answer) if !answer.text().contains(says) => Some(format!("does not say `{says}`")),
        _ => None,
    };
    let shown = if status == CLOSED { "closed".to_owned() } else { status.to_string() };
    match wrong {
        None => format!("{name}: {shown}"),
        Some(why) => {
            format!("{WRONG} {name}: {shown}, {why}: {}", answer.map(Answer::text).unwrap_or_default())
        }
    }
}

/// Whether a refusal is a page or data of ours, unless the protocol itself refused.
fn is_told(answer: &Answer) -> bool {
    let kind = answer.header("content-type").unwrap_or_default();
    let is_ours = ["text/html", "application/json"].iter().any(|ours| kind.starts_with(ours));
    is_ours || !(400..500).contains(&answer.status) || answer.header("content-security-policy").is_none()
}

/// Whether an answer forbids foreign content. What the protocol itself refuses has no content at all: nothing to forbid.
fn is_sealed(answer: &Answer) -> bool {
    let policy = answer.header("content-security-policy").unwrap_or_default();
    let is_strict = ["default-src 'none'", "script-src 'self'", "frame-ancestors 'none'", "base-uri 'none'"]
        .iter()
        .all(|part| policy.contains(part));
    let is_plain = !policy.contains("unsafe") && answer.header("x-content-type-options") == Some("nosniff");
    let is_bare =
        answer.body.is_empty() && matches!(answer.status, 400 | 408 | 414 | 431) && policy.is_empty();
    is_strict && is_plain || is_bare
}
