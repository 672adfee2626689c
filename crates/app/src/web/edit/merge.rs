//! A form that was filled in upon an older revision: what it changes is made upon the newest, if that was not changed since by
//! others; else the person is asked, key by key.

mod asking;

use super::apply::{Done, Step, What, section, steps, write};
use super::last::{Fields, Refusal};
use super::names::{NEW, about, new_names};
use super::written::Written;
use asking::Asking;
use std::collections::{BTreeMap, BTreeSet};
use toml::Table;
use voltwright_job::Severity;
use voltwright_job::edit::{Common, referred};

/// What a form comes to upon the newest text.
#[derive(Debug, PartialEq, Eq)]
pub enum Merged {
    /// The text with the changes, and what they are about in it.
    Text(Done, String),
    /// Others changed the same.
    Ask(Ask),
    /// The newest text has no structure that a form could be held against: the form's own text as a whole.
    Whole(String),
}

/// What is asked, and what is kept for the answer.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Ask {
    /// What is sent again with the answers; only what differs from the newest text is in it.
    pub kept: Fields,
    /// One a key, or one for a whole entry.
    pub questions: Vec<Question>,
    /// Why all of it is asked, where no key was changed by both.
    pub why: Option<String>,
}

/// One thing that two have changed.
#[derive(Debug, PartialEq, Eq)]
pub struct Question {
    /// The fields that go as it is answered.
    pub fields: Vec<String>,
    /// What it is about.
    pub path: String,
    /// What that was called and is called now, and what has become of what the typed value refers to; may be empty.
    pub note: String,
    /// As it stands now.
    pub now: String,
    /// As it was typed.
    pub typed: String,
}

/// What a form that was filled in upon `base` comes to upon `newest`.
///
/// # Errors
/// What cannot be written, for a person.
pub fn merge(base: &str, newest: &str, fields: &Fields) -> Result<Merged, Refusal> {
    let steps = steps(base, fields)?;
    let mine = write(base, &steps)?;
    if base == newest {
        return Ok(Merged::Text(mine, about(fields)));
    }
    let (Ok(common), Ok(held)) = (Common::of(base, newest), newest.parse::<Table>()) else {
        return Ok(Merged::Whole(mine.text));
    };
    // The same was sent twice.
    if Common::of(&mine.text, newest).is_ok_and(|both| both.is_same()) {
        return Ok(Merged::Text(Done { text: newest.to_owned(), ..mine }, about(fields)));
    }
    new_names(&held, fields)?;
    let (clear, open) = divided(&common, base, &steps);
    let asking = Asking::new(&common, (base, newest), &held, fields);
    if !open.is_empty() {
        return Ok(Merged::Ask(asking.ask(&clear, &open)));
    }
    let done = write(newest, &clear)?;
    if let Some(why) = falls_out(base, &mine.text, newest, &done.text) {
        let all: Vec<Step> =
            steps.iter().filter(|step| clear.iter().any(|c| c.field == step.field)).cloned().collect();
        return Ok(Merged::Ask(Ask { why: Some(why), ..asking.ask(&[], &all) }));
    }
    let about = about(fields);
    Ok(Merged::Text(done, common.now(&about).unwrap_or(about)))
}

/// The newest text with what a form changes, where nothing is asked for that, and all that the form shows stands where it did.
pub fn upon_newest(base: &str, newest: &str, fields: &Fields) -> Option<String> {
    let Ok(Merged::Text(done, now)) = merge(base, newest, fields) else { return None };
    let common = Common::of(base, newest).ok()?;
    let stays = |path: &str| {
        let place = common.place(path);
        place.path == path && !place.is_gone
    };
    let mut shown = fields.iter().filter_map(|(name, _)| Written::of(name));
    (now == about(fields) && shown.all(|(_, path)| stays(path))).then_some(done.text)
}

/// The changes that can be made as they are, with their paths in the newest text; and those of fields of which something was
/// changed since, or what it refers to. What others did as well is in neither.
fn divided(common: &Common, base: &str, steps: &[Step]) -> (Vec<Step>, Vec<Step>) {
    let now: Vec<(&Step, Option<String>)> = steps.iter().map(|step| (step, now(common, step))).collect();
    let is_open = |(step, now): &&(&Step, Option<String>)| match now {
        None => !is_settled(common, step),
        Some(_) => !strange(common, base, step).is_empty(),
    };
    let open: Vec<&str> = now.iter().filter(is_open).map(|(step, _)| step.field.as_str()).collect();
    let is_open = |step: &Step| open.contains(&step.field.as_str());
    let clear = now.iter().filter(|(step, _)| !is_open(step));
    let clear =
        clear.filter_map(|(step, now)| Some(Step { path: now.clone()?, ..(*step).clone() })).collect();
    (clear, steps.iter().filter(|step| is_open(step)).cloned().collect())
}

/// What the value of a change refers to that is gone, is called otherwise or means something else since.
fn strange(common: &Common, base: &str, step: &Step) -> Vec<String> {
    let What::Put(literal) = &step.what else { return Vec::new() };
    let all = referred(base, &step.path, literal).into_iter();
    all.filter(|target| !means_the_same(common, target)).collect()
}

/// Whether what stands at a path is what it was to those who refer to it, whatever else of it was changed.
fn means_the_same(common: &Common, target: &str) -> bool {
    let place = common.place(target);
    let keys: &[&str] = match target.split('.').collect::<Vec<_>>()[..] {
        ["rail", _] => &["nominal"],
        ["plug", _] => &["mates", "ways"],
        ["part", _] => &["kind"],
        ["part", _, "output", _] => &["volts"],
        ["load", _] => &[],
        _ => return common.now(target).is_some(),
    };
    let same = |key: &&str| common.now(&format!("{target}.{key}")).is_some();
    !place.is_gone && place.moved.is_empty() && keys.iter().all(same)
}

/// Where a change is to be made in the newest text; nothing where others changed what it is about.
fn now(common: &Common, step: &Step) -> Option<String> {
    // Another name goes with whatever else was changed in what has it.
    if let What::Named(_) = step.what {
        return (!common.is_gone(&step.path)).then(|| step.path.clone());
    }
    // What a key means hangs on the kind of its table.
    let table = step.path.rsplit_once('.').map_or("", |(table, _)| table);
    let has_kinds = section(table).is_some_and(|section| !section.kinds.is_empty());
    if has_kinds && common.now(&format!("{table}.kind")).is_none() {
        return None;
    }
    common.now(&step.path)
}

/// Whether others have done the same already. What may only be called otherwise by now, or stand elsewhere, is not gone.
fn is_settled(common: &Common, step: &Step) -> bool {
    let place = common.place(&step.path);
    match &step.what {
        What::Named(_) => false,
        What::Put(literal) => place.moved.is_empty() && common.stands(&step.path, Some(literal)),
        What::Gone if step.field == "do" => place.is_gone,
        What::Gone => {
            let table = step.path.rsplit_once('.').map_or("", |(table, _)| table);
            place.moved.is_empty() && common.has(table) && !common.has(&step.path)
        }
    }
}

/// What is wrong where both changes are made, and with neither by itself.
fn falls_out(base: &str, mine: &str, newest: &str, both: &str) -> Option<String> {
    let errors = |text: &str| {
        let mut errors: BTreeMap<String, usize> = BTreeMap::new();
        for wrong in voltwright_job::read(text).diagnostics {
            if wrong.severity == Severity::Error {
                *errors.entry(wrong.message).or_default() += 1;
            }
        }
        errors
    };
    let (base, mine, newest) = (errors(base), errors(mine), errors(newest));
    // The same may be wrong in several places: as often as each brings it, it is no wonder.
    let is_more = |(message, count): &(String, usize)| {
        let of = |all: &BTreeMap<String, usize>| all.get(message).copied().unwrap_or_default();
        count + of(&base) > of(&mine) + of(&newest)
    };
    errors(both).into_iter().find(is_more).map(|(message, _)| message)
}

/// The fields of a form after its questions were answered: what shall stay as it stands is not sent.
pub fn answered(fields: Fields) -> Fields {
    let stays =
        fields.iter().filter(|(_, value)| value == "now").filter_map(|(name, _)| name.strip_prefix("keep:"));
    let stays: BTreeSet<&str> = stays.collect();
    let of_it = |name: &str| name.strip_prefix("of:").is_some_and(|n| stays.contains(n));
    let gone: BTreeSet<String> =
        fields.iter().filter(|(name, _)| of_it(name)).map(|(_, field)| field.clone()).collect();
    let asked = |name: &str| name.starts_with("keep:") || name.starts_with("of:");
    let is_left = |name: &str| !asked(name) && !gone.contains(name);
    // A name that nothing is entered for any more names nothing.
    let owners = |name: &str| -> Vec<String> {
        let path = Written::of(name).map_or("", |(_, path)| path);
        path.match_indices(".*").map(|(star, _)| format!("{NEW}{}", &path[..star])).collect()
    };
    let owners: BTreeSet<String> =
        fields.iter().filter(|(name, _)| is_left(name)).flat_map(|(name, _)| owners(name)).collect();
    let names_some = |name: &str| gone.is_empty() || !name.starts_with(NEW) || owners.contains(name);
    let left = fields.iter().filter(|(name, _)| is_left(name) && names_some(name));
    left.cloned().collect()
}

#[cfg(test)]
mod tests;
