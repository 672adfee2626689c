//! What a form or a page's script sends, taken only with the token of its visit.

use super::problem::Problem;
use super::secret;
use super::site::Shared;
use super::visitor::Visitor;
use axum::body::Bytes;
use axum::extract::multipart::{Field, Multipart};
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

/// A file that a form sent after its token.
pub struct SentFile {
    /// Its name, as the browser gives it.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

impl FromRequest<Shared> for SentFile {
    type Rejection = Problem;

    async fn from_request(request: Request, site: &Shared) -> Result<Self, Problem> {
        let mut parts = after_token(request, site).await?;
        let Some(file) = parts.next_field().await.map_err(too_much)? else {
            return Err(Problem::unclear("The form came without a file."));
        };
        Self::of(file).await
    }
}

impl SentFile {
    async fn of(part: Field<'_>) -> Result<Self, Problem> {
        let name = part.file_name().unwrap_or_default().to_owned();
        let bytes = part.bytes().await.map_err(too_much)?.to_vec();
        Ok(Self { name, bytes })
    }
}

/// Files that a form sent after its token, among its other fields.
#[derive(Default)]
pub struct SentFiles {
    /// The fields that are no files, in order.
    pub fields: Vec<(String, String)>,
    /// Those that were chosen: a browser sends a nameless, empty one where none was.
    pub files: Vec<SentFile>,
    /// Why what came after that was not taken.
    pub broken_off: Option<Problem>,
}

impl FromRequest<Shared> for SentFiles {
    type Rejection = Problem;

    async fn from_request(request: Request, site: &Shared) -> Result<Self, Problem> {
        let mut parts = after_token(request, site).await?;
        let mut sent = Self::default();
        sent.broken_off = sent.take(&mut parts).await.err();
        Ok(sent)
    }
}

impl SentFiles {
    /// What a field says; nothing if it was not sent.
    pub fn field(&self, name: &str) -> &str {
        self.fields.iter().find(|(n, _)| n == name).map_or("", |(_, value)| value.as_str())
    }

    async fn take(&mut self, parts: &mut Multipart) -> Result<(), Problem> {
        while let Some(part) = parts.next_field().await.map_err(too_much)? {
            if part.file_name().is_none() {
                let name = part.name().unwrap_or_default().to_owned();
                self.fields.push((name, part.text().await.map_err(too_much)?));
                continue;
            }
            let file = SentFile::of(part).await?;
            if !(file.name.is_empty() && file.bytes.is_empty()) {
                self.files.push(file);
            }
        }
        Ok(())
    }
}

/// The parts of a form behind the token, which is its first.
async fn after_token(request: Request, site: &Shared) -> Result<Multipart, Problem> {
    let (expected, _) = expected(&request, site);
    let expects = |_| Problem::unclear("A file was expected.");
    let mut parts = Multipart::from_request(request, site).await.map_err(expects)?;
    let first = parts.next_field().await.map_err(too_much)?;
    let Some(first) = first.filter(|f| f.name() == Some(FIELD)) else { return Err(stale()) };
    checked(&expected, &first.text().await.map_err(too_much)?)?;
    Ok(parts)
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
