//! What a page says when something could not be done: by whose fault, and what to do.

use super::frame;
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use maud::html;
use voltwright_workshop::StoreError;

/// Why a request could not be done.
#[derive(Debug)]
pub struct Problem {
    status: StatusCode,
    what: String,
    hint: Option<String>,
}

impl Problem {
    /// With a status, what is wrong, and what to do.
    pub fn new(status: StatusCode, what: impl Into<String>, hint: Option<&str>) -> Self {
        Self { status, what: what.into(), hint: hint.map(str::to_owned) }
    }

    /// There is no such thing.
    pub fn missing(what: &str) -> Self {
        let hint = Some(
            "It may have been renamed or typed wrong: the workshop's list has everything that is there.",
        );
        Self::new(StatusCode::NOT_FOUND, format!("There is no {what} here."), hint)
    }

    /// What was sent cannot be understood.
    pub fn unclear(what: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, what, None)
    }

    /// Nobody may do that from where the request came.
    pub fn refused(what: &str, hint: &str) -> Self {
        Self::new(StatusCode::FORBIDDEN, what, Some(hint))
    }

    /// A job that cannot be proved.
    pub fn not_provable(why: &str) -> Self {
        let hint = "Open the job's text: its errors and findings say what to change.";
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, format!("This job cannot be proved: {why}."), Some(hint))
    }

    /// The status that says so to programs.
    pub fn status(&self) -> StatusCode {
        self.status
    }

    /// What is wrong and what to do, in one piece.
    pub fn words(&self) -> String {
        match &self.hint {
            Some(hint) => format!("{} {hint}", self.what),
            None => self.what.clone(),
        }
    }

    /// A mistake of ours.
    pub fn ours(what: &str) -> Self {
        let hint = "This is a mistake in Voltwright, not in your job. Nothing that was entered is lost. Please report it.";
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, format!("Something went wrong: {what}."), Some(hint))
    }
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        let status = match error {
            StoreError::NoJob(_) | StoreError::NoRevision(_) | StoreError::NoRun(_) => StatusCode::NOT_FOUND,
            StoreError::Conflict { .. } => StatusCode::CONFLICT,
            StoreError::Full => StatusCode::INSUFFICIENT_STORAGE,
            StoreError::TextTooLarge { .. }
            | StoreError::PictureTooLarge { .. }
            | StoreError::NotAPicture
            | StoreError::BadKey(_)
            | StoreError::NotANumber(_)
            | StoreError::OutOfRange => StatusCode::BAD_REQUEST,
            _ => StatusCode::SERVICE_UNAVAILABLE,
        };
        Self::new(status, error.to_string(), None)
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let body = html! {
            h1 { "Not done" }
            p.problem role="alert" { (self.what) }
            @if let Some(hint) = &self.hint { p { (hint) } }
            p { a href="/" { "To the workshop" } }
        };
        (self.status, Html(frame::page("Not done", &body).into_string())).into_response()
    }
}

/// What was refused before any page of ours saw it (an address that does not read, a method that no page takes) said in words.
pub async fn in_words(response: Response) -> Response {
    let kind = response.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    let is_ours =
        kind.is_some_and(|kind| kind.starts_with("text/html") || kind.starts_with("application/json"));
    if is_ours || !response.status().is_client_error() {
        return response;
    }
    let what = match response.status() {
        StatusCode::METHOD_NOT_ALLOWED => "This page cannot be asked in that way.",
        _ => "Something in the address or in what was sent does not read.",
    };
    let hint = Some("Go back and try again from the page; if it stays so, reload that page first.");
    let mut told = Problem::new(response.status(), what, hint).into_response();
    if let Some(allow) = response.headers().get(header::ALLOW) {
        told.headers_mut().insert(header::ALLOW, allow.clone());
    }
    told
}
