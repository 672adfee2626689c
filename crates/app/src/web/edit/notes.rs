//! What is said of a job's values: errors of its text, told at the field that holds the value, and findings, told at the foot
//! of the form that holds what they are about.

use super::apply::at;
use crate::proof::words::first_sentence;
use crate::web::desk::Sight;
use maud::{Markup, html};
use toml::{Table, Value};
use voltwright_job::edit::Places;
use voltwright_job::keys::{Form, JOB};
use voltwright_job::{Diagnostic, Severity as Gravity};
use voltwright_rules::{Finding, Severity};

/// How grave it is, the gravest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// The text cannot be used there.
    Error,
    /// Something does harm, or will not work.
    Stop,
    /// The text can be used, but look at it.
    Warning,
    /// Something to look after.
    Caution,
    /// Something to know.
    Note,
}

impl Weight {
    /// As it is called.
    pub fn word(self) -> &'static str {
        match self {
            Weight::Error => "Error",
            Weight::Stop => "STOP",
            Weight::Warning => "Warning",
            Weight::Caution => "Caution",
            Weight::Note => "Note",
        }
    }

    /// Its class, and what scripts know it by.
    pub fn key(self) -> &'static str {
        match self {
            Weight::Error => "error",
            Weight::Stop => "stop",
            Weight::Warning => "warning",
            Weight::Caution => "caution",
            Weight::Note => "note",
        }
    }
}

/// Something that is said of what stands at a path.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Said {
    path: String,
    weight: Weight,
    says: String,
    /// Whether it is told at a field: an error of a value that a form has a field for.
    at_field: bool,
}

/// All that is said of the values of a text.
#[derive(Debug, Clone, Default)]
pub struct Notes {
    said: Vec<Said>,
}

impl Notes {
    /// Of a job as it is kept ready; nothing of a text whose structure does not read.
    pub fn of(sight: &Sight<'_, '_>) -> Self {
        sight.compute();
        Self::new(sight.text, &sight.reading.diagnostics, &sight.report().findings)
    }

    /// Of a text, what is wrong with it, and what was found.
    pub fn new(text: &str, wrong: &[Diagnostic], findings: &[Finding]) -> Self {
        let (Ok(places), Ok(held)) = (Places::of(text), text.parse::<Table>()) else {
            return Self::default();
        };
        let wrong = wrong.iter().filter_map(|d| {
            let path = places.path(&d.span)?.to_owned();
            let weight = if d.severity == Gravity::Error { Weight::Error } else { Weight::Warning };
            let at_field = has_field(&held, &path);
            let says = if at_field && weight == Weight::Warning {
                format!("Warning: {}", sentence(d))
            } else {
                sentence(d)
            };
            Some(Said { at_field, path, weight, says })
        });
        let found = findings.iter().filter_map(|f| {
            let path = places.path(f.place.as_ref()?)?.to_owned();
            let weight = match f.severity {
                Severity::Stop => Weight::Stop,
                Severity::Caution => Weight::Caution,
                Severity::Note => Weight::Note,
            };
            Some(Said { path, weight, says: first_sentence(&f.says).to_owned(), at_field: false })
        });
        let mut said: Vec<Said> = wrong.chain(found).collect();
        said.sort_by_key(|one| one.weight);
        Self { said }
    }

    /// What is wrong with the value that a field holds.
    pub fn at(&self, path: &str) -> Option<(Weight, &str)> {
        let of_it = self.said.iter().find(|one| one.at_field && is_within(&one.path, path));
        of_it.map(|one| (one.weight, one.says.as_str()))
    }

    /// Whether the text is wrong somewhere below a path.
    pub fn is_wrong(&self, path: &str) -> bool {
        self.said.iter().any(|one| one.weight == Weight::Error && is_within(&one.path, path))
    }

    /// The foot of the form of what stands at a path: the gravest of what no field tells, and how much more there is.
    pub fn foot(&self, path: &str) -> Markup {
        let mut here = self.said.iter().filter(|one| !one.at_field && is_within(&one.path, path));
        let Some(first) = here.next() else { return html! {} };
        let more = here.count();
        html! {
            p.(first.weight.key()) { strong { (first.weight.word()) } " " (first.says) @if more > 0 { span.faint { " And " (more) " more." } } }
        }
    }
}

/// What a diagnostic says, with its hint.
fn sentence(wrong: &Diagnostic) -> String {
    match &wrong.hint {
        Some(hint) => format!("{} – {hint}", wrong.message),
        None => wrong.message.clone(),
    }
}

/// Whether a path is another, or leads on from it.
pub fn is_within(path: &str, outer: &str) -> bool {
    path.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
}

/// Whether the forms have a field for the value at a path, or for the list that it is in.
fn has_field(held: &Table, path: &str) -> bool {
    let (mut section, mut outer) = (&JOB, String::new());
    let mut steps = path.split('.');
    while let Some(step) = steps.next() {
        let key = step.split_once('[').map_or(step, |(key, _)| key);
        let kind =
            if outer.is_empty() { None } else { at(held, &format!("{outer}.kind")).and_then(Value::as_str) };
        outer = if outer.is_empty() { step.to_owned() } else { format!("{outer}.{step}") };
        section = match section.key(key, kind).map(|key| key.form) {
            None => return false,
            Some(Form::Table(inner)) => inner,
            Some(Form::Tables(inner)) if step.contains('[') => inner,
            Some(Form::Named(inner)) => {
                let Some(own) = steps.next() else { return false };
                outer = format!("{outer}.{own}");
                inner
            }
            Some(Form::Tables(_)) => return false,
            Some(Form::NamedTexts | Form::NamedValues(_)) => return steps.next().is_some(),
            Some(_) => return true,
        };
    }
    false
}

#[cfg(test)]
mod tests;
