//! What two have changed, to choose between: as it stands now, or as it was typed.

use super::label::label;
use super::merge::{Ask, Question};
use crate::web::form::FIELD;
use crate::web::frame;
use crate::web::pages::Page;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use voltwright_workshop::Listed;

/// The page that asks. Nothing is chosen beforehand.
pub fn page(job: &Listed, page: Page, (upon, newest): (u32, u32), token: &str, ask: &Ask) -> Response {
    let (name, at) = (&job.name, page.key());
    let body = html! {
        p.crumbs { a href=(format!("/job/{name}/{at}")) { (job.title) ": " (page.name()) } }
        h1 { "Changed by two" }
        p.problem role="alert" {
            "Yours was typed upon revision " (upon) "; revision " (newest) " was saved since. "
            @match &ask.why {
                None => "What both changed is asked here; nothing was saved yet.",
                Some(why) => { "Each reads by itself, but not both together: " (why) ". Nothing was saved yet." },
            }
        }
        form.asked method="post" action=(format!("/job/{name}/edit?page={at}")) autocomplete="off" aria-label="What both changed" {
            input type="hidden" name=(FIELD) value=(token);
            input type="hidden" name="upon" value=(newest);
            @for (name, value) in &ask.kept { input type="hidden" name=(name) value=(value); }
            @for (n, question) in ask.questions.iter().enumerate() { (asked(n, question)) }
            div.buttons { button type="submit" { "Save as chosen" } }
        }
        p { a href=(format!("/job/{name}/{at}")) { "Leave mine, go on with revision " (newest) } }
    };
    (StatusCode::CONFLICT, Html(frame::page("Changed by two", &body).into_string())).into_response()
}

fn asked(n: usize, question: &Question) -> Markup {
    let key = question.path.rsplit('.').next().unwrap_or_default();
    html! {
        @for field in &question.fields { input type="hidden" name=(format!("of:{n}")) value=(field); }
        fieldset {
            legend { (label(key)) " " code.key { (question.path) } }
            @if !question.note.is_empty() { p.help { (question.note) } }
            @for (choice, says, value) in [("now", "As it stands now", &question.now), ("typed", "As you typed it", &question.typed)] {
                label.choice {
                    input type="radio" name=(format!("keep:{n}")) value=(choice) required;
                    span { (says) ": " @if value.is_empty() { em { "nothing" } } @else { strong { (value) } } }
                }
            }
        }
    }
}
