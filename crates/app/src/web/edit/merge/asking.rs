//! What is asked where two have changed the same: each question names the thing as it is called now.

use super::super::apply::{Step, What, at, section};
use super::super::last::{Fields, value};
use super::super::names::NEW;
use super::super::notes::is_within;
use super::super::written::Written;
use super::{Ask, Question, strange};
use std::collections::BTreeSet;
use toml::{Table, Value};
use voltwright_job::changes::changes;
use voltwright_job::edit::{Common, Place, is_named};

/// An older text, a newer one, and a form that was filled in upon the older.
pub(super) struct Asking<'a> {
    common: &'a Common,
    texts: (&'a str, &'a str),
    was: Table,
    held: &'a Table,
    fields: &'a Fields,
    about: &'a str,
}

impl<'a> Asking<'a> {
    pub(super) fn new(
        common: &'a Common,
        texts: (&'a str, &'a str),
        held: &'a Table,
        fields: &'a Fields,
    ) -> Self {
        let was = texts.0.parse().unwrap_or_default();
        Self { common, texts, was, held, fields, about: value(fields, "at").unwrap_or_default() }
    }

    /// The questions about `open` changes; what is typed for those that are `clear` is kept.
    pub(super) fn ask(&self, clear: &[Step], open: &[Step]) -> Ask {
        let mut ask = Ask::default();
        for (name, _) in self.fields.iter().filter(|(name, _)| name.starts_with(NEW)) {
            keep(&mut ask.kept, name);
        }
        for step in firsts(clear) {
            keep(&mut ask.kept, &step.field);
        }
        for step in firsts(open) {
            let also = open.iter().filter(|other| other.field == step.field && other.path != step.path);
            self.question(&mut ask, step, also);
        }
        // In the order of the form, as the keys of something new are written in it.
        let kept: BTreeSet<String> = ask.kept.into_iter().map(|(name, _)| name).collect();
        let kept = self.fields.iter().filter(|(name, _)| kept.contains(name));
        let at = ("at".to_owned(), self.common.place(self.about).path);
        let kept = kept.map(|(name, typed)| (self.readdressed(name), typed.clone()));
        Ask { kept: std::iter::once(at).chain(kept).collect(), ..ask }
    }

    /// Asks for what a step changes, and `also` for what its field takes away with it.
    fn question<'s>(&self, ask: &mut Ask, step: &Step, also: impl Iterator<Item = &'s Step>) {
        let Some(gone) = self.gone(&step.path) else {
            let mut question = self.of_field(ask, step);
            let lost: Vec<&str> = also
                .filter(|s| at(self.held, &self.common.place(&s.path).path).is_some())
                .filter_map(|s| s.path.rsplit('.').next())
                .collect();
            if !lost.is_empty() {
                question.typed = format!("{}; takes away {}", question.typed, lost.join(", "));
            }
            return ask.questions.push(question);
        };
        // All that the form shows of it is put in again.
        let path = self.common.place(&gone).path;
        if ask.questions.iter().any(|q| q.path == path) {
            return;
        }
        let mut fields = Vec::new();
        for (name, value) in self.fields {
            let below = name.split_once(':').map_or("", |(_, path)| path);
            if is_within(below, &gone) && !value.trim().is_empty() {
                fields.push(self.readdressed(name));
                keep(&mut ask.kept, name);
            }
        }
        ask.questions.push(Question {
            fields,
            path,
            note: Some(named(&self.was, &gone))
                .filter(|name| *name != gone)
                .map_or_else(String::new, |n| format!("{n}.")),
            now: "It is there no more.".into(),
            typed: "Put in again, with all that the form held.".into(),
        });
    }

    /// Asks for what a step changes where that stands now.
    fn of_field(&self, ask: &mut Ask, step: &Step) -> Question {
        let (field, place) = (self.readdressed(&step.field), self.common.place(&step.path));
        keep(&mut ask.kept, &step.field);
        let typed = value(self.fields, &step.field).unwrap_or_default().trim().to_owned();
        let (now, typed) = match (&step.what, Written::of(&field)) {
            (What::Named(name), _) => {
                (place.path.rsplit('.').next().unwrap_or_default().to_owned(), name.clone())
            }
            (_, Some((written, _))) => (written.shown(at(self.held, &place.path)).trim().to_owned(), typed),
            // Something is taken away that others have changed.
            (_, None) => (self.stands(&step.path, &place.path), "Taken away.".to_owned()),
        };
        Question { fields: vec![field], note: self.note(step, &place), path: place.path, now, typed }
    }

    /// What has moved or has another name, and what has become of what the typed value refers to.
    fn note(&self, step: &Step, place: &Place) -> String {
        let moved = place.moved.iter().map(|(was, is)| {
            let (before, now) = (named(&self.was, was), named(self.held, is));
            if before == now { format!("{now}.") } else { format!("It was {before}; it is {now} now.") }
        });
        let strange = strange(self.common, self.texts.0, step).into_iter().map(|target| {
            let place = self.common.place(&target);
            let names = place.moved.last().map(|(_, is)| {
                format!("{} is there no more, or is called {} now.", spaced(&target), spaced(is))
            });
            names
                .unwrap_or_else(|| format!("{} is not what it was: {}.", spaced(&target), self.told(&target)))
        });
        moved.chain(strange).collect::<Vec<_>>().join(" ")
    }

    /// How what is to be taken away stands now.
    fn stands(&self, was: &str, is: &str) -> String {
        let all = changes(self.texts.0, self.texts.1);
        if all.iter().any(|change| change.path == is && change.was.is_none()) {
            "There, but called otherwise.".into()
        } else if at(&self.was, was) == at(self.held, is) {
            let list = if is.ends_with(']') { "; others in its list were changed" } else { "" };
            format!("There as it was{list}.")
        } else {
            self.told(is)
        }
    }

    /// What others did to what stands at a path now, in words.
    fn told(&self, path: &str) -> String {
        let all = changes(self.texts.0, self.texts.1);
        let said: Vec<&str> = all.iter().filter(|c| is_within(&c.path, path)).map(|c| c.says()).collect();
        if said.is_empty() { "It has moved in its list, or was changed.".into() } else { said.join("; ") }
    }

    /// A field's name with the path that it is about in the newest text.
    fn readdressed(&self, name: &str) -> String {
        match name.split_once(':') {
            Some((kind, path)) => format!("{kind}:{}", self.common.place(path).path),
            None => name.to_owned(),
        }
    }

    /// The outermost of what the form is about that is there no more, on the way to a path: a section or an entry, as a value
    /// by itself can be put in again where it was.
    fn gone(&self, path: &str) -> Option<String> {
        let ends = path.match_indices('.').map(|(i, _)| i).chain([path.len()]);
        let entries = ends.map(|end| &path[..end]).filter(|p| is_within(p, self.about) && is_entry(p));
        let gone = entries.into_iter().find(|p| self.common.place(p).is_gone)?;
        Some(gone.to_owned())
    }
}

/// A field is to be kept, whatever is asked.
fn keep(kept: &mut Fields, name: &str) {
    kept.push((name.to_owned(), String::new()));
}

/// The first step of each field.
fn firsts(steps: &[Step]) -> impl Iterator<Item = &Step> {
    let is_first = |(i, step): &(usize, &Step)| steps[..*i].iter().all(|other| other.field != step.field);
    steps.iter().enumerate().filter(is_first).map(|(_, step)| step)
}

/// Whether a table with a name of its own stands at a path.
fn is_entry(path: &str) -> bool {
    section(path).is_some() || is_named(path)
}

/// What stands at a path, as people call it: a wire by its ends and what tells it from others, an entry of a
/// list by its number from one and what it says.
fn named(held: &Table, path: &str) -> String {
    let text = |key: &str| at(held, &format!("{path}.{key}")).and_then(Value::as_str);
    if let (Some(from), Some(to)) = (text("from"), text("to")) {
        let says: Vec<&str> = ["colour", "size", "length"].into_iter().filter_map(text).collect();
        let says = if says.is_empty() { String::new() } else { format!(" ({})", says.join(", ")) };
        return format!("wire {from} – {to}{says}");
    }
    let Some((list, n)) = path.strip_suffix(']').and_then(|at| at.rsplit_once('[')) else {
        return spaced(path);
    };
    let list = format!("{} {}", spaced(list), n.parse::<usize>().unwrap_or_default().saturating_add(1));
    let says: Vec<&str> = ["what", "first", "then"].into_iter().filter_map(text).collect();
    if says.is_empty() { list } else { format!("{list} ({})", says.join(", ")) }
}

fn spaced(path: &str) -> String {
    path.replace('.', " ")
}
