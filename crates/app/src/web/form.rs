//! What a form or a page's script sends, taken only with the token of its visit.

use super::problem::Problem;
use super::secret;
use super::site::Shared;
use super::visitor::Visitor;
use axum::body::Bytes;
use axum::extract::multipart::Multipart;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// The header in which a script sends the token.
const TOKEN: &str = "x-voltwright-token";
/// The field in which a form sends it.
pub const FIELD: &str = "token";

/// What a form sent.
pub struct Sent<T>(pub T);

#[derive(Deserialize)]
struct WithToken {
    #[serde(default)]
    token: String,
}

impl<T: DeserializeOwned> FromRequest<Shared> for Sent<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, site: &Shared) -> Result<Self, Problem> {
        let (expected, _) = expected(&request, site);
        let body = Bytes::from_request(request, site).await.map_err(too_much)?;
        let WithToken { token } = decoded(&body)?;
        checked(&expected, &token)?;
        decoded(&body).map(Sent)
    }
}

/// What a script sent as JSON.
pub struct SentJson<T>(pub T);

impl<T: DeserializeOwned> FromRequest<Shared> for SentJson<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, site: &Shared) -> Result<Self, Problem> {
        let (expected, given) = expected(&request, site);
        checked(&expected, &given)?;
        let body = Bytes::from_request(request, site).await.map_err(too_much)?;
        let wrong = |e| Problem::unclear(format!("What was sent cannot be understood: {e}."));
        serde_json::from_slice(&body).map(SentJson).map_err(wrong)
    }
}

/// A file that a form sent, with the form's other fields before it in any order after the token.
pub struct SentFile {
    /// Its name, as the browser gives it.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

impl FromRequest<Shared> for SentFile {
    type Rejection = Problem;

    async fn from_request(request: Request, site: &Shared) -> Result<Self, Problem> {
        let (expected, _) = expected(&request, site);
        let mut parts = Multipart::from_request(request, site)
            .await
            .map_err(|_| Problem::unclear("A file was expected."))?;
        let first = parts.next_field().await.map_err(too_much)?;
        let Some(first) = first.filter(|f| f.name() == Some(FIELD)) else { return Err(stale()) };
        checked(&expected, &first.text().await.map_err(too_much)?)?;
        let Some(file) = parts.next_field().await.map_err(too_much)? else {
            return Err(Problem::unclear("The form came without a file."));
        };
        let name = file.file_name().unwrap_or_default().to_owned();
        let bytes = file.bytes().await.map_err(too_much)?.to_vec();
        Ok(Self { name, bytes })
    }
}

/// The token that a request must carry, and the one in its header.
fn expected(request: &Request, site: &Shared) -> (String, String) {
    let visitor = request.extensions().get::<Visitor>().unwrap_or(&Visitor::Stranger);
    let given = request.headers().get(TOKEN).and_then(|v| v.to_str().ok()).unwrap_or_default();
    (site.token(visitor), given.to_owned())
}

fn checked(expected: &str, given: &str) -> Result<(), Problem> {
    if secret::same(expected, given) { Ok(()) } else { Err(stale()) }
}

fn stale() -> Problem {
    let hint = "Reload the page and send it again; what you typed is still in the form if you go back.";
    Problem::refused("The form is not of this visit.", hint)
}

fn decoded<T: DeserializeOwned>(body: &[u8]) -> Result<T, Problem> {
    serde_urlencoded::from_bytes(body)
        .map_err(|e| Problem::unclear(format!("The form cannot be understood: {e}.")))
}

fn too_much(rejection: impl axum::response::IntoResponse) -> Problem {
    match rejection.into_response().status() {
        StatusCode::PAYLOAD_TOO_LARGE => {
            Problem::new(StatusCode::PAYLOAD_TOO_LARGE, "That is more than may be sent at once.", None)
        }
        // What broke off on the way is no mistake of ours, whatever the reader of the parts calls it.
        _ => Problem::unclear("The form did not arrive whole."),
    }
}
