//! The shelf: every part that stands in a job of this workshop, to be found again and copied into another job.
//!
//! - [`stock`] finds the parts in the jobs' texts, [`ratings`] tells each in short; [`copy`] writes one into another job; here are
//!   the pages.

mod copy;
mod ratings;
mod stock;

pub use copy::copy;

use super::form::FIELD;
use super::frame;
use super::pages::Page;
use super::problem::Problem;
use super::site::Shared;
use super::visitor::Visitor;
use axum::Extension;
use axum::extract::{Query, State};
use axum::response::Html;
use maud::{Markup, html};
use serde::Deserialize;
use stock::{Found, Stock};
use voltwright_workshop::Listed;

/// Parts that are listed at once.
const LISTED: usize = 100;
/// The most letters of ratings in the list; a part's own page has all of them.
const SHORT: usize = 140;

/// What is looked for.
#[derive(Deserialize)]
pub struct Search {
    #[serde(default)]
    search: String,
    #[serde(default)]
    kind: String,
}

/// The list.
pub async fn list(
    State(site): State<Shared>,
    Query(Search { search, kind }): Query<Search>,
) -> Result<Html<String>, Problem> {
    let (words, wanted) = (search.clone(), kind.clone());
    let stock = site.store(move |store| Stock::of(store, &words, &wanted)).await?;
    let body = html! {
        h1 { "Shelf" }
        p.faint { "Every part that stands in a job of this workshop. What the findings say of it depends on the job: look at it again where it is copied to." }
        (filter(&search, &kind))
        p role="status" { (told(&stock)) }
        ul.jobs { @for part in stock.found.iter().take(LISTED) { li { (row(part)) } } }
        @if !stock.unread.is_empty() { (unread(&stock.unread)) }
    };
    Ok(Html(frame::page("Shelf", &body).into_string()))
}

fn filter(search: &str, kind: &str) -> Markup {
    let kinds = ratings::parts().map_or(&[][..], |section| section.kinds);
    html! {
        form.search method="get" action="/shelf" role="search" {
            div {
                label for="search" { "Search names, ratings and jobs" }
                input id="search" name="search" type="search" value=(search);
            }
            div {
                label for="kind" { "Kind" }
                select id="kind" name="kind" {
                    option value="" { "all kinds" }
                    @for (one, _) in kinds { option value=(one) selected[*one == kind] { (one) } }
                }
            }
            button type="submit" { "Search" }
        }
    }
}

fn told(stock: &Stock) -> String {
    match stock.found.len() {
        0 if stock.all == 0 => "No job has a part yet.".into(),
        0 => format!("None of {} parts is so.", stock.all),
        1 => "1 part.".into(),
        n if n > LISTED => format!("{n} parts; the first {LISTED} are listed. Search for fewer."),
        n => format!("{n} parts."),
    }
}

fn row(part: &Found) -> Markup {
    html! {
        a.title href=(address(&part.job, &part.name)) { (part.kind) @if part.name != part.kind { " " span.own { (part.name) } } }
        p { (short(&part.ratings)) }
        p.facts.within {
            "in " a href=(format!("/job/{}/{}", part.job, Page::Options.key())) { (part.title) }
            @if part.also > 0 { "; the same in " (part.also) @if part.also == 1 { " other job" } @else { " other jobs" } }
        }
    }
}

/// The page of a part.
fn address(job: &str, part: &str) -> String {
    format!("/shelf/part?{}", serde_urlencoded::to_string([("job", job), ("part", part)]).unwrap_or_default())
}

fn short(ratings: &str) -> String {
    match ratings.char_indices().nth(SHORT) {
        Some((end, _)) => format!("{} …", ratings[..end].rsplit_once(' ').map_or("", |(kept, _)| kept)),
        None => ratings.to_owned(),
    }
}

fn unread(jobs: &[(String, String)]) -> Markup {
    html! {
        p { "The parts of " (jobs.len()) @if jobs.len() == 1 { " job" } @else { " jobs" } " are not here, since the text has an error that hides them:" }
        ul { @for (name, title) in jobs.iter().take(LISTED) { li { a href=(format!("/job/{name}/text")) { (title) } } } }
    }
}

/// Which part.
#[derive(Deserialize)]
pub struct Which {
    job: String,
    part: String,
}

/// A part with all that is entered of it, and the form that copies it.
pub async fn one(
    State(site): State<Shared>,
    Extension(visitor): Extension<Visitor>,
    Query(Which { job, part }): Query<Which>,
) -> Result<Html<String>, Problem> {
    let from = site.job(&job).await?;
    let id = from.job;
    let (newest, jobs) = site.store(move |store| Ok((store.newest(id)?, store.jobs("")?))).await?;
    let values = stock::values(&newest.text, &part).ok_or_else(|| Problem::missing("part of this name"))?;
    let body = html! {
        p.crumbs { a href="/shelf" { "Shelf" } }
        h1 { "Part " (part) }
        p.within { "In " a href=(format!("/job/{job}/{}", Page::Options.key())) { (from.title) } ", revision " (newest.made.number) "." }
        dl.facts-list { @for value in &values { dt { (value.path()) } dd { (value.shown()) } } }
        (into(&jobs, &from, &part, newest.made.number, &site.token(&visitor)))
    };
    Ok(Html(frame::page(&format!("Part {part}"), &body).into_string()))
}

fn into(jobs: &[Listed], from: &Listed, part: &str, revision: u32, token: &str) -> Markup {
    html! {
        h2 { "Use it again" }
        form method="post" action="/shelf/part" {
            input type="hidden" name=(FIELD) value=(token);
            input type="hidden" name="job" value=(from.name);
            input type="hidden" name="part" value=(part);
            input type="hidden" name="revision" value=(revision);
            label for="into" { "Copy into job" }
            select id="into" name="into" required {
                option value="" { "choose a job" }
                @for job in jobs { option value=(job.name) { (job.title) @if job.job == from.job { " (this one, once more)" } } }
            }
            p.help { "All its values are copied, under a name that is free there; its wires are not." }
            div.buttons { button type="submit" { "Copy" } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ratings_are_cut_between_words() {
        assert_eq!(short("1.6 A, T"), "1.6 A, T");
        let long = "12.5 V ".repeat(40);
        let cut = short(&long);
        assert!(cut.ends_with("V …") || cut.ends_with("12.5 …"), "{cut}");
        assert!(cut.chars().count() <= SHORT + 2);
        assert_eq!(short(&"Ω".repeat(200)), " …");
    }

    #[test]
    fn an_address_carries_any_name() {
        assert_eq!(address("rack", "a b&c=\"/é"), "/shelf/part?job=rack&part=a+b%26c%3D%22%2F%C3%A9");
    }
}
