//! Trying a form without saving it, while it is typed: what it would come to, and what is wrong at which field.

use super::apply::{apply, at};
use super::last::{Fields, Refusal, counted};
use super::merge::upon_newest;
use super::names::{about, landed, real};
use super::notes::{Known, Notes, Weight};
use super::save::On;
use super::written::Written;
use crate::web::desk::Sight;
use crate::web::form::SentJson;
use crate::web::pages::{Of, Page, spine};
use crate::web::problem::Problem;
use crate::web::site::Shared;
use axum::Json;
use axum::extract::{Path, Query, State};
use maud::html;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use toml::{Table, Value};

/// What is being typed.
#[derive(Deserialize)]
pub struct Typed {
    upon: u32,
    fields: Fields,
}

/// What it would come to.
#[derive(Serialize)]
pub struct Told {
    path: String,
    beside: String,
    /// What is wrong, at its field.
    fields: Vec<Wrong>,
    /// The foot of the form.
    foot: String,
}

/// What is wrong with a field.
#[derive(Debug, PartialEq, Eq, Serialize)]
pub struct Wrong {
    name: String,
    says: String,
    gravity: &'static str,
}

/// What a form would come to, without saving it.
pub async fn attempt(
    State(site): State<Shared>,
    Path(name): Path<String>,
    Query(On { page }): Query<On>,
    SentJson(typed): SentJson<Typed>,
) -> Result<Json<Told>, Problem> {
    let job = site.job(&name).await?;
    let (id, upon) = (job.job, typed.upon);
    let (base, newest) = site.store(move |s| Ok((s.revision(id, upon)?, s.newest(id)?))).await?;
    let mut tried = Tried::of(&base.text, counted(typed.fields)?);
    let is_old = newest.made.number != upon;
    let saved = if is_old && tried.move_to(&newest.text) { &newest } else { &base };
    let of = Of { revision: saved.made.number, ..Of::new(name, page) };
    let known = site.desks.of(&saved.text).look(|sight| Known::of(sight)).await?;
    let told = site.desks.trying(&job.name, &tried.text).look(move |sight| {
        let notes = Notes::of(sight).since(&known, sight, page.stretches());
        let refused: Vec<&Refusal> = tried.refused().collect();
        Told {
            path: spine::path(sight).into_string(),
            beside: beside(sight, &of, page, &tried),
            fields: tried.wrong(&notes),
            foot: notes.foot(&about(&tried.fields), &refused).into_string(),
        }
    });
    told.await.map(Json)
}

fn beside(sight: &mut Sight<'_, '_>, of: &Of, page: Page, tried: &Tried) -> String {
    // What a field tells need not be told beside it as well.
    let early = tried.refusals.iter().filter(|refusal| refusal.is_early || refusal.field.is_empty());
    html! {
        @for refusal in early { p.problem { (refusal.says) } }
        (spine::beside(sight, of, page))
    }
    .into_string()
}

/// What something is called before it has a name: so its values are judged as they are typed.
const UNNAMED: &str = "unnamed";
/// How many fields that cannot be written are left out of what is tried.
const LEFT_OUT: usize = 20;

/// A form as far as it can be written.
struct Tried {
    old: String,
    text: String,
    fields: Fields,
    refusals: Vec<Refusal>,
    /// The entries of lists that the form shows, and whether anything is typed for them.
    filled: BTreeMap<String, BTreeMap<usize, bool>>,
}

impl Tried {
    /// Fields that cannot be written are left out.
    fn of(old: &str, mut fields: Fields) -> Self {
        let mut refusals: Vec<Refusal> = Vec::new();
        let text = loop {
            match apply(old, &fields) {
                Ok(text) => break text,
                Err(refusal) => {
                    let wrong = fields.iter().position(|(name, _)| *name == refusal.field);
                    let is_early = refusal.is_early;
                    if refusals.iter().all(|known| known.field != refusal.field) {
                        refusals.push(refusal);
                    }
                    match wrong {
                        Some(i) if is_early && fields[i].1.trim().is_empty() => fields[i].1 = UNNAMED.into(),
                        Some(i) if refusals.len() <= LEFT_OUT => drop(fields.remove(i)),
                        _ => break old.to_owned(),
                    }
                }
            }
        };
        let mut filled: BTreeMap<String, BTreeMap<usize, bool>> = BTreeMap::new();
        for (name, value) in &fields {
            if let Some((list, n, _)) = Written::of(name).and_then(|(_, path)| entry(path)) {
                *filled.entry(list.to_owned()).or_default().entry(n).or_default() |= !value.trim().is_empty();
            }
        }
        Self { old: old.to_owned(), text, fields, refusals, filled }
    }

    /// Takes over what others have saved since, where that leaves the form as it is; whether it did.
    fn move_to(&mut self, newest: &str) -> bool {
        let Some(text) = upon_newest(&self.old, newest, &self.fields) else { return false };
        self.text = text;
        true
    }

    /// What cannot be written, at a field.
    fn refused(&self) -> impl Iterator<Item = &Refusal> {
        self.refusals.iter().filter(|r| !r.is_early && !r.field.is_empty())
    }

    /// What is wrong at which field: what cannot be written, and what the text says of the values that were.
    fn wrong(&self, notes: &Notes) -> Vec<Wrong> {
        let wrong = |name: &str, says: &str, weight: Weight| Wrong {
            name: name.to_owned(),
            says: says.to_owned(),
            gravity: weight.key(),
        };
        let mut all: Vec<Wrong> = self.refused().map(|r| wrong(&r.field, &r.says, Weight::Error)).collect();
        let (held, made) = (self.old.parse().unwrap_or_default(), self.text.parse().unwrap_or_default());
        for (name, _) in self.fields.iter().filter(|(_, value)| !value.trim().is_empty()) {
            let path = Written::of(name).and_then(|(_, path)| self.path(path, &held, &made));
            if let Some((weight, says)) = path.as_deref().and_then(|path| notes.at(path)) {
                all.push(wrong(name, says, weight));
            }
        }
        all
    }

    /// Where the value of a field stands in the text: what is new has its name, what is renamed its other one, and entries of a
    /// list have moved up to where others were emptied. Nothing where that is in doubt.
    fn path(&self, path: &str, held: &Table, made: &Table) -> Option<String> {
        let path = real(path, &self.fields).ok()?;
        let Some((list, number, rest)) = entry(&path) else { return Some(landed(&path, &self.fields)) };
        let (was, is) = (length(held, list), length(made, list));
        let shown = self.filled.get(list)?;
        let emptied = |until: usize| shown.range(..until).filter(|(_, filled)| !**filled).count();
        let is_longer = shown.get(&was).is_some_and(|filled| *filled);
        if is + emptied(was) != was + usize::from(is_longer) {
            return None;
        }
        Some(landed(&format!("{list}[{}]{rest}", number - emptied(number.min(was))), &self.fields))
    }
}

/// The list that a path leads through first, the number in it, and the rest.
fn entry(path: &str) -> Option<(&str, usize, &str)> {
    let (list, rest) = path.split_once('[')?;
    let (number, rest) = rest.split_once(']')?;
    Some((list, number.parse().ok()?, rest))
}

fn length(table: &Table, list: &str) -> usize {
    at(table, list).and_then(Value::as_array).map_or(0, Vec::len)
}

#[cfg(test)]
mod tests;
