//! What is said of a job's values: errors of its text, told at the field that holds the value, and findings, told at the foot
//! of the form that holds what they are about.

use super::apply::at;
use super::label::label;
use super::last::Refusal;
use super::written::Written;
use crate::proof::words::first_sentence;
use crate::web::desk::Sight;
use maud::{Markup, html};
use toml::{Table, Value};
use voltwright_job::edit::Places;
use voltwright_job::keys::{Form, JOB};
use voltwright_job::{Diagnostic, Severity as Gravity};
use voltwright_rules::{Finding, Severity, Stretch};

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
    fn of(finding: &Finding) -> Self {
        match finding.severity {
            Severity::Stop => Weight::Stop,
            Severity::Caution => Weight::Caution,
            Severity::Note => Weight::Note,
        }
    }

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
    /// The name of the field that it is told at: an error of a value that a form has a field for.
    field: Option<String>,
}

/// What was said of a text before it was changed.
#[derive(Debug, Clone, Default)]
pub struct Known {
    wrong: Vec<String>,
    found: Vec<(&'static str, String, Weight)>,
}

impl Known {
    /// Of a job as it is kept ready.
    pub fn of(sight: &Sight<'_, '_>) -> Self {
        Self::new(&sight.reading.diagnostics, &sight.report().findings)
    }

    fn new(wrong: &[Diagnostic], findings: &[Finding]) -> Self {
        let found = findings.iter().map(|f| (f.code, f.subject.clone(), Weight::of(f)));
        Self { wrong: wrong.iter().map(|d| d.message.clone()).collect(), found: found.collect() }
    }

    /// Whether it was found before, and was no less grave.
    fn has(&self, f: &Finding) -> bool {
        let is_it = |(code, subject, weight): &(&str, String, Weight)| {
            *code == f.code && *subject == f.subject && *weight <= Weight::of(f)
        };
        self.found.iter().any(is_it)
    }
}

/// All that is said of the values of a text.
#[derive(Debug, Clone, Default)]
pub struct Notes {
    said: Vec<Said>,
    /// What a change brings, the gravest first.
    brought: Vec<(Weight, String)>,
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
            let field = field(&held, &path);
            let says = if field.is_some() && weight == Weight::Warning {
                format!("Warning: {}", sentence(d))
            } else {
                sentence(d)
            };
            Some(Said { field, path, weight, says })
        });
        let found = findings.iter().filter_map(|f| {
            let path = places.path(f.place.as_ref()?)?.to_owned();
            let says = first_sentence(&f.says).to_owned();
            Some(Said { path, weight: Weight::of(f), says, field: None })
        });
        let mut said: Vec<Said> = wrong.chain(found).collect();
        said.sort_by_key(|one| one.weight);
        Self { said, brought: Vec::new() }
    }

    /// The same, with what a change of the text brings that was not said of it before; what is `near` it is told first.
    pub fn since(mut self, known: &Known, sight: &Sight<'_, '_>, near: &[Stretch]) -> Self {
        self.brought = brought(known, &sight.reading.diagnostics, &sight.report().findings, near);
        self
    }

    /// What is wrong with the value that a field holds.
    pub fn at(&self, path: &str) -> Option<(Weight, &str)> {
        let of_it = self.said.iter().find(|one| one.field.is_some() && is_within(&one.path, path));
        of_it.map(|one| (one.weight, one.says.as_str()))
    }

    /// Whether the text is wrong somewhere below a path.
    pub fn is_wrong(&self, path: &str) -> bool {
        self.errors(path).next().is_some()
    }

    /// The name of the first field below a path that holds an error.
    pub fn wrong_field(&self, path: &str) -> Option<&str> {
        self.errors(path).find_map(|one| one.field.as_deref())
    }

    fn errors<'a>(&'a self, path: &str) -> impl Iterator<Item = &'a Said> {
        self.said.iter().filter(move |one| one.weight == Weight::Error && is_within(&one.path, path))
    }

    /// The foot of the form of what stands at a path, the gravest with the count of the others: what is refused or wrong in it;
    /// then what a change brings anywhere; then what is found of it.
    pub fn foot(&self, path: &str, refused: &[&Refusal]) -> Markup {
        let refused = refused.iter().map(|r| told(&r.field, &r.says));
        // What no field tells has no other place.
        let (at_fields, others): (Vec<&Said>, Vec<&Said>) =
            self.errors(path).partition(|e| e.field.is_some());
        let others = others.into_iter().map(|e| e.says.clone());
        let at_fields = at_fields.into_iter().map(|e| told(e.field.as_deref().unwrap_or_default(), &e.says));
        let errors: Vec<String> = refused.chain(others).chain(at_fields).collect();
        if let Some(first) = errors.first() {
            return line(Weight::Error, first, errors.len() - 1);
        }
        let here = || self.said.iter().filter(|one| one.field.is_none() && is_within(&one.path, path));
        match (self.brought.first(), here().next()) {
            (Some((weight, says)), found) if found.is_none_or(|found| *weight <= found.weight) => {
                line(*weight, says, self.brought.iter().filter(|(w, _)| w == weight).count() - 1)
            }
            (_, Some(found)) => line(found.weight, &found.says, here().count() - 1),
            _ => html! {},
        }
    }
}

fn line(weight: Weight, says: &str, more: usize) -> Markup {
    html! {
        p.(weight.key()) { strong { (weight.word()) } " " (says) @if more > 0 { span.faint { " And " (more) " more." } } }
    }
}

/// What is told of a field, away from it.
fn told(field: &str, says: &str) -> String {
    match field.split_once(':') {
        Some(("new" | "name", _)) => format!("Short name: {says}"),
        Some((_, path)) => format!("{}: {says}", label(path.rsplit('.').next().unwrap_or_default())),
        None => says.to_owned(),
    }
}

/// What is said of a text that was not said of it before.
fn brought(
    known: &Known,
    wrong: &[Diagnostic],
    findings: &[Finding],
    near: &[Stretch],
) -> Vec<(Weight, String)> {
    let wrong = wrong.iter().filter(|d| d.severity == Gravity::Error && !known.wrong.contains(&d.message));
    let mut found: Vec<&Finding> = findings.iter().filter(|f| !known.has(f)).collect();
    found.sort_by_key(|f| (Weight::of(f), !near.contains(&f.stretch)));
    let found = found.into_iter().map(|f| (Weight::of(f), in_words(f)));
    wrong.map(|d| (Weight::Error, d.message.clone())).chain(found).collect()
}

/// What was found, and of what.
fn in_words(finding: &Finding) -> String {
    let says = first_sentence(&finding.says);
    if says.starts_with(&finding.subject) { says.to_owned() } else { format!("{}: {says}", finding.subject) }
}

/// What a diagnostic says, with its hint.
pub fn sentence(wrong: &Diagnostic) -> String {
    match &wrong.hint {
        Some(hint) => format!("{} – {hint}", wrong.message),
        None => wrong.message.clone(),
    }
}

/// Whether a path is another, or leads on from it.
pub fn is_within(path: &str, outer: &str) -> bool {
    path.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
}

/// The name of the field that the forms have for the value at a path, or for the list that it is in.
fn field(held: &Table, path: &str) -> Option<String> {
    let (mut section, mut outer) = (&JOB, String::new());
    let mut steps = path.split('.');
    let field = |form, path: &str| {
        let of_list = path.rfind('[').filter(|_| path.ends_with(']'));
        Some(Written::of_form(form).field(&path[..of_list.unwrap_or(path.len())]))
    };
    while let Some(step) = steps.next() {
        let key = step.split_once('[').map_or(step, |(key, _)| key);
        let kind =
            if outer.is_empty() { None } else { at(held, &format!("{outer}.kind")).and_then(Value::as_str) };
        outer = if outer.is_empty() { step.to_owned() } else { format!("{outer}.{step}") };
        section = match section.key(key, kind)?.form {
            Form::Table(inner) => inner,
            Form::Tables(inner) if step.contains('[') => inner,
            Form::Named(inner) => {
                outer = format!("{outer}.{}", steps.next()?);
                inner
            }
            Form::Tables(_) => return None,
            form @ (Form::NamedTexts | Form::NamedValues(_)) => {
                return field(form, &format!("{outer}.{}", steps.next()?));
            }
            form => return field(form, &outer),
        };
    }
    None
}

#[cfg(test)]
mod tests;
