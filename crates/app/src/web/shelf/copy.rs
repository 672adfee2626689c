//! Copying a part into a job: value by value, under a name that is free there.

use super::stock::{self, Leaf};
use crate::clock;
use crate::web::digest;
use crate::web::form::Sent;
use crate::web::pages::Page;
use crate::web::problem::Problem;
use crate::web::site::Shared;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use toml::Table;
use voltwright_job::edit;

/// The tables whose entries wires are joined to by name, so that each needs a name of its own; others are told by the reader.
const NAMED: [&str; 3] = ["load", "part", "plug"];

/// What the form says: which part, as it was in which revision of its job, and where it goes.
#[derive(Deserialize)]
pub struct Wanted {
    job: String,
    part: String,
    revision: u32,
    into: String,
}

/// Copies a part, saves that as a revision, and goes to the job that has it now.
pub async fn copy(
    State(site): State<Shared>,
    Sent(Wanted { job, part, revision, into }): Sent<Wanted>,
) -> Result<Response, Problem> {
    let (from, to) = (site.job(&job).await?, site.job(&into).await?);
    let (from, id) = (from.job, to.job);
    let texts = site.store(move |store| Ok((store.revision(from, revision)?.text, store.newest(id)?)));
    let (text, newest) = texts.await?;
    let values = stock::values(&text, &part).ok_or_else(|| Problem::missing("part of this name"))?;
    let (name, new) = added(&newest.text, &part, &values).map_err(refused)?;
    let (title, upon) = (digest::title(&new), newest.made.number);
    let why = format!("part {name} copied from {job}");
    let saved = site.store(move |store| store.save(id, upon, &title, &new, &why, clock::now())).await?;
    digest::keep(&site, id, saved.number()).await;
    site.changes.tell(&into);
    Ok(Redirect::to(&format!("/job/{into}/{}#part", Page::Options.key())).into_response())
}

fn refused(why: String) -> Problem {
    let hint = "Nothing was changed. The job's text page shows where it stands.";
    Problem::new(StatusCode::UNPROCESSABLE_ENTITY, format!("The part cannot be copied: {why}."), Some(hint))
}

/// The text with the part in it, and the name that it has there.
fn added(text: &str, part: &str, values: &[Leaf]) -> Result<(String, String), String> {
    let whole: Table =
        text.parse().map_err(|_| "the other job's text has an error that hides its structure".to_owned())?;
    let name = free(&whole, part);
    let all_named = values.iter().flat_map(|value| &value.keys).chain([&name]);
    if let Some(key) = all_named.into_iter().find(|key| !is_name(key)) {
        return Err(format!("\"{key}\" is no name"));
    }
    let put = |text: String, value: &Leaf| {
        let path = format!("part.{name}.{}", value.path());
        edit::put(&text, &path, &value.literal).map_err(|why| why.to_string())
    };
    let new = values.iter().try_fold(text.to_owned(), put)?;
    Ok((name, new))
}

/// The part's own name, or the first with a number behind it that nothing in the job has.
fn free(job: &Table, wish: &str) -> String {
    let is_free =
        |name: &String| NAMED.iter().all(|table| job.get(*table).and_then(|t| t.get(name)).is_none());
    let numbered = (2_u64..).map(|number| format!("{wish}-{number}"));
    std::iter::once(wish.to_owned()).chain(numbered).find(is_free).unwrap_or_default()
}

/// Whether a path can have it as a key.
fn is_name(key: &str) -> bool {
    !key.is_empty() && key.chars().all(|c| c.is_alphanumeric() || c == '-' || c == '_')
}

#[cfg(test)]
mod tests {
    use super::*;

    const RACK: &str = include_str!("../../../../../examples/synthesizer-rack/finished.toml");
    const PLOTTER: &str = include_str!("../../../../../examples/plotter/finished.toml");

    fn part(text: &str, name: &str) -> toml::Value {
        text.parse::<Table>().unwrap()["part"][name].clone()
    }

    #[test]
    fn each_part_of_a_job_is_copied_whole_and_nothing_else_changes() {
        let names: Vec<String> =
            RACK.parse::<Table>().unwrap()["part"].as_table().unwrap().keys().cloned().collect();
        assert!(names.len() > 3);
        for name in names {
            let (called, text) = added(PLOTTER, &name, &stock::values(RACK, &name).unwrap()).unwrap();
            assert_eq!(part(&text, &called), part(RACK, &name));
            let mut rest: Table = text.parse().unwrap();
            rest["part"].as_table_mut().unwrap().remove(&called);
            assert_eq!(rest, PLOTTER.parse::<Table>().unwrap(), "{name}");
            let comments = |text: &str| text.matches('#').count();
            assert_eq!(comments(&text), comments(PLOTTER), "{name}");
        }
    }

    #[test]
    fn a_name_that_something_has_gets_a_number() {
        let job =
            "[part.a]\nkind = \"fuse\"\n[part.a-2]\nkind = \"fuse\"\n[load.b]\n[plug.c]\n".parse().unwrap();
        assert_eq!(["a", "b", "c", "d"].map(|wish| free(&job, wish)), ["a-3", "b-2", "c-2", "d"]);
    }

    #[test]
    fn into_a_job_that_has_nothing_yet() {
        let short = "format = 1\n\n[job]\ntitle = \"x\"\n";
        let (name, text) = added(short, "fuse", &stock::values(RACK, "fuse").unwrap()).unwrap();
        let block = "\n[part.fuse]\nkind = \"fuse\"\nrating = \"1.6 A\"\nspeed = \"T\"\nbreaks = \"1500 A at 250 V AC\"\n";
        assert_eq!((name.as_str(), text), ("fuse", format!("{short}{block}")));
    }

    #[test]
    fn what_has_no_place_in_a_path_is_refused() {
        let odd = "[part.a]\nkind = \"fuse\"\n\"b.c\" = 1\n";
        assert!(added(RACK, "a", &stock::values(odd, "a").unwrap()).is_err());
        let odd = "[part.\"x y\"]\nkind = \"fuse\"\n";
        assert!(added(RACK, "x y", &stock::values(odd, "x y").unwrap()).is_err());
        assert!(added("= 1", "fuse", &stock::values(RACK, "fuse").unwrap()).is_err());
    }
}
