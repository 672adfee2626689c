//! A form that was filled in upon an older revision: what it changes is made upon the newest, if that was not changed since by
//! others; else the person is asked, key by key.

use super::apply::{Done, Step, What, at, section, steps, write};
use super::last::{Fields, Refusal, value};
use super::names::{NAME, NEW, about, new_names};
use super::notes::is_within;
use super::written::Written;
use std::collections::BTreeSet;
use toml::Table;
use voltwright_job::Severity;
use voltwright_job::changes::changes;
use voltwright_job::edit::Common;

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
    let (clear, open) = divided(&common, &steps);
    let asking = Asking { common: &common, texts: (base, newest), held: &held, fields };
    if !open.is_empty() {
        return Ok(Merged::Ask(asking.ask(&clear, &open)));
    }
    let done = write(newest, &clear)?;
    if let Some(why) = falls_out(&mine.text, newest, &done.text) {
        let all: Vec<Step> =
            steps.iter().filter(|step| clear.iter().any(|c| c.field == step.field)).cloned().collect();
        return Ok(Merged::Ask(Ask { why: Some(why), ..asking.ask(&[], &all) }));
    }
    let about = about(fields);
    Ok(Merged::Text(done, common.now(&about).unwrap_or(about)))
}

/// The changes that can be made as they are, with their paths in the newest text; and those of fields of which something was
/// changed since. What others did as well is in neither.
fn divided(common: &Common, steps: &[Step]) -> (Vec<Step>, Vec<Step>) {
    let now: Vec<(&Step, Option<String>)> = steps.iter().map(|step| (step, now(common, step))).collect();
    let open = now.iter().filter(|(step, now)| now.is_none() && !is_settled(common, step));
    let open: Vec<&str> = open.map(|(step, _)| step.field.as_str()).collect();
    let is_open = |step: &Step| open.contains(&step.field.as_str());
    let clear = now.iter().filter(|(step, _)| !is_open(step));
    let clear =
        clear.filter_map(|(step, now)| Some(Step { path: now.clone()?, ..(*step).clone() })).collect();
    (clear, steps.iter().filter(|step| is_open(step)).cloned().collect())
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

/// Whether others have done the same already.
fn is_settled(common: &Common, step: &Step) -> bool {
    match (&step.what, common.moved(&step.path)) {
        (What::Gone, Some(moved)) => step.path == moved.from && !moved.is_there,
        (_, Some(_)) | (What::Named(_), None) => false,
        (What::Put(literal), None) => common.stands(&step.path, Some(literal)),
        (What::Gone, None) => common.stands(&step.path, None),
    }
}

/// What is wrong where both changes are made, and with neither by itself.
fn falls_out(mine: &str, newest: &str, both: &str) -> Option<String> {
    let errors = |text: &str| -> Vec<String> {
        let all = voltwright_job::read(text).diagnostics.into_iter();
        all.filter(|d| d.severity == Severity::Error).map(|d| d.message).collect()
    };
    let known = [errors(mine), errors(newest)].concat();
    errors(both).into_iter().find(|message| !known.contains(message))
}

struct Asking<'a> {
    common: &'a Common,
    texts: (&'a str, &'a str),
    held: &'a Table,
    fields: &'a Fields,
}

impl Asking<'_> {
    fn ask(&self, clear: &[Step], open: &[Step]) -> Ask {
        let mut ask = Ask::default();
        for (name, value) in self.fields {
            if name.starts_with(NEW) {
                ask.kept.push((name.clone(), value.clone()));
            }
        }
        let about = value(self.fields, "at").unwrap_or_default();
        let now = match self.lead(about) {
            Some(lead) => lead.readdressed(about),
            None => self.common.now(about).unwrap_or_else(|| about.to_owned()),
        };
        ask.kept.push(("at".into(), now));
        for step in firsts(clear) {
            self.keep(&mut ask.kept, &step.field, |_| renumbered(&step.field, &step.path));
        }
        for step in firsts(open) {
            let also = open.iter().filter(|other| other.field == step.field && other.path != step.path);
            self.question(&mut ask, step, also);
        }
        ask
    }

    /// Asks for what a step changes, and `also` for what its field takes away with it.
    fn question<'s>(&self, ask: &mut Ask, step: &Step, also: impl Iterator<Item = &'s Step>) {
        let lead = self.lead(&step.path);
        let Some(lead) = lead.filter(|lead| !lead.is_there) else {
            let moved = self.common.moved(&step.path).map(|m| step.path.replacen(&m.from, &m.to, 1));
            let path = moved.or_else(|| now(self.common, step)).unwrap_or_else(|| step.path.clone());
            let mut question = self.of_field(ask, step, &path);
            let lost: Vec<&str> = also
                .filter(|s| at(self.held, &s.path).is_some())
                .filter_map(|s| s.path.rsplit('.').next())
                .collect();
            if !lost.is_empty() {
                question.typed = format!("{}; takes away {}", question.typed, lost.join(", "));
            }
            return ask.questions.push(question);
        };
        // All that the form shows of it is put in again.
        if ask.questions.iter().any(|q| q.path == lead.to) {
            return;
        }
        let mut fields = Vec::new();
        for (name, value) in self.fields {
            let path = name.split_once(':').map_or("", |(_, path)| path);
            if is_within(path, &lead.from) && !value.trim().is_empty() {
                fields.push(lead.readdressed(name));
                self.keep(&mut ask.kept, name, |name| lead.readdressed(name));
            }
        }
        let (now, typed) = (
            "It is there no more: taken away, or called otherwise.",
            "Put in again, with all that the form held.",
        );
        ask.questions.push(Question { fields, path: lead.to, now: now.into(), typed: typed.into() });
    }

    /// Asks for what a step changes at a path of the newest text.
    fn of_field(&self, ask: &mut Ask, step: &Step, path: &str) -> Question {
        let field = renumbered(&step.field, path);
        self.keep(&mut ask.kept, &step.field, |_| field.clone());
        let typed = value(self.fields, &step.field).unwrap_or_default().trim().to_owned();
        let (now, typed) = match (&step.what, Written::of(&field)) {
            (What::Named(name), _) => (path.rsplit('.').next().unwrap_or_default().to_owned(), name.clone()),
            (_, Some((written, _))) => (written.shown(at(self.held, path)).trim().to_owned(), typed),
            // Something is taken away that others have changed.
            (_, None) => (self.told(&step.path), "Taken away.".to_owned()),
        };
        Question { fields: vec![field], path: path.to_owned(), now, typed }
    }

    /// What others did to something, in words.
    fn told(&self, path: &str) -> String {
        let all = changes(self.texts.0, self.texts.1);
        let said: Vec<&str> = all.iter().filter(|c| is_within(&c.path, path)).map(|c| c.says()).collect();
        if said.is_empty() { "It has moved in its list, or was changed.".into() } else { said.join("; ") }
    }

    fn keep(&self, kept: &mut Fields, name: &str, called: impl Fn(&str) -> String) {
        let (called, typed) = (called(name), value(self.fields, name).unwrap_or_default());
        if !kept.iter().any(|(name, _)| *name == called) {
            kept.push((called, typed.to_owned()));
        }
    }

    /// The outermost thing on the way to a path that is elsewhere now, or nowhere.
    fn lead(&self, path: &str) -> Option<Lead> {
        if let Some(moved) = self.common.moved(path) {
            return Some(Lead { from: moved.from, to: moved.to, is_there: moved.is_there });
        }
        let ends = path.match_indices('.').map(|(i, _)| i).chain([path.len()]);
        // A whole section, or a value by itself, is no entry.
        let entries = ends.skip(1).map(|end| &path[..end]).filter(|p| is_entry(p));
        let gone = entries.into_iter().find(|p| self.common.is_gone(p))?;
        Some(Lead { from: gone.to_owned(), to: gone.to_owned(), is_there: false })
    }
}

/// The first step of each field.
fn firsts(steps: &[Step]) -> impl Iterator<Item = &Step> {
    let is_first = |(i, step): &(usize, &Step)| steps[..*i].iter().all(|other| other.field != step.field);
    steps.iter().enumerate().filter(is_first).map(|(_, step)| step)
}

/// Whether a table with a name of its own stands at a path.
fn is_entry(path: &str) -> bool {
    section(path).is_some() || voltwright_job::edit::is_named(path)
}

/// Where something stood and where it stands.
struct Lead {
    from: String,
    to: String,
    is_there: bool,
}

impl Lead {
    /// A path, or a field's name, with the new place.
    fn readdressed(&self, name: &str) -> String {
        name.replacen(&self.from, &self.to, 1)
    }
}

/// A field's name with the path that its change has in the newest text: other numbers, the same keys.
fn renumbered(field: &str, path: &str) -> String {
    match Written::of(field) {
        Some((written, old)) if !old.contains(".*") => written.field(path),
        _ if field.starts_with(NAME) => format!("{NAME}{path}"),
        _ => field.to_owned(),
    }
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
