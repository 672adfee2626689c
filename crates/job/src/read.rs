//! Text to [`Job`]: reads all that can be read and reports every mistake.

mod grammar;
mod loads;
mod machine;
mod parts;
mod supplies;
mod survey;
mod wiring;

use crate::diagnostic::{Diagnostic, Severity};
use crate::document::{Entered, Job};
use crate::fields::Fields;
use crate::keys::JOB;
use crate::near::nearest;
use crate::shape;
use crate::sheet::{Name, Sheet};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Largest file read, in bytes: a job of 2,000 wires has about a tenth of it.
pub const LARGEST: usize = 4 << 20;

/// What came of reading a text.
#[derive(Debug)]
pub struct Reading {
    /// All of the job that could be read.
    pub job: Job,
    /// Everything wrong with it, in the order of the file.
    pub diagnostics: Vec<Diagnostic>,
}

impl Reading {
    /// Whether the job may be computed with.
    pub fn is_usable(&self) -> bool {
        self.diagnostics.iter().all(|d| d.severity != Severity::Error)
    }
}

/// Reads a job's text; never fails, but says what is wrong.
pub fn read(text: &str) -> Reading {
    if let Some(diagnostic) = no_job(text) {
        return Reading { job: Job::default(), diagnostics: vec![diagnostic] };
    }
    let (root, faults) = DeTable::parse_recoverable(text);
    let (faults, torn) = grammar::faults(text, &faults);
    let sheet = Sheet::new(text, torn);
    faults.into_iter().for_each(|fault| sheet.report(fault));
    let root = Spanned::new(0..text.len(), DeValue::Table(root.into_inner()));
    let first_line = text.lines().next().map_or(0, str::len);
    let start = if first_line == 0 { first_character(text) } else { 0..first_line };
    let job = read_job(&Fields::open(&sheet, "", &JOB, &root, start));
    let mut diagnostics = sheet.into_diagnostics();
    diagnostics.sort_by_key(|d| (d.span.start, d.span.end));
    diagnostics.dedup();
    Reading { job, diagnostics }
}

/// Whether this is no job file whatever it holds: far too long, or no text.
fn no_job(text: &str) -> Option<Diagnostic> {
    if text.len() > LARGEST {
        let message = format!("this file has {} bytes; a job has at most {LARGEST}", text.len());
        return Some(Diagnostic::error(first_character(text), message).hint("is this the right file?"));
    }
    let at = text.find('\0')?;
    let diagnostic = Diagnostic::error(at..at + 1, "this is not a text file: it holds a zero byte");
    Some(diagnostic.hint("a job file is plain text, TOML in UTF-8"))
}

fn first_character(text: &str) -> Range<usize> {
    0..text.chars().next().map_or(0, char::len_utf8)
}

fn read_job(fields: &Fields<'_, '_>) -> Job {
    if let Some((format, span)) = fields.whole("format", 0..=i64::MAX)
        && format != 1
    {
        let message = format!("this file has form {format}; this program reads form 1");
        fields.sheet.report(Diagnostic::error(span, message));
    }
    let mut job = Job::default();
    machine::read(fields, &mut job);
    let before = fields.sheet.errors();
    loads::rails(fields, &mut job);
    loads::loads(fields, &mut job);
    parts::read(fields, &mut job);
    wiring::plugs(fields, &mut job);
    wiring::wires(fields, &mut job);
    if !fields.sheet.torn {
        shape::check(&job, fields.sheet, fields.sheet.errors() == before);
    }
    survey::read(fields, &mut job);
    job.number_inputs();
    job
}

/// Reports a name that cannot be written in a terminal or in the path of a value.
fn check_letters(fields: &Fields<'_, '_>, name: &Entered, what: &str) -> bool {
    let good = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    let fine = !name.text.is_empty() && name.text.chars().all(good);
    if !fine {
        let message = format!("\"{}\" cannot name {what}", name.text);
        let hint = "a name has letters, digits, - and _ only";
        fields.sheet.report(Diagnostic::error(name.span.clone(), message).hint(hint));
    }
    fine
}

/// Reports a name that cannot be written in a terminal or is taken by something else.
fn check_name(
    fields: &Fields<'_, '_>,
    name: &Entered,
    taken: &mut BTreeMap<String, &'static str>,
    what: &'static str,
) {
    if !check_letters(fields, name, what) {
        return;
    }
    if matches!(name.text.as_str(), "com" | "chassis") {
        let message = format!("`{}` always exists and cannot be {what}", name.text);
        fields.sheet.report(Diagnostic::error(name.span.clone(), message));
    } else if let Some(other) = taken.insert(name.text.clone(), what) {
        let message = format!("`{}` is already the name of {other}", name.text);
        let hint = "loads, parts and plugs need names of their own, since wires are joined to them by name";
        fields.sheet.report(Diagnostic::error(name.span.clone(), message).hint(hint));
    }
}

/// The index of a rail named in the file, or a report.
fn find_rail(fields: &Fields<'_, '_>, job: &Job, name: &Entered) -> Option<usize> {
    let found = job.rail(&name.text);
    if found.is_none() && !fields.sheet.is_unread(Name::Rail, &name.text) {
        let names = || job.rails.iter().map(|r| r.name.text.as_str());
        let hint = nearest(&name.text, names()).map_or_else(
            || match names().collect::<Vec<_>>().join(", ") {
                none if none.is_empty() => "add it under [rail]".to_owned(),
                known => format!("the rails are: {known}"),
            },
            |near| format!("did you mean `{near}`?"),
        );
        let message = format!("there is no rail `{}`", name.text);
        fields.sheet.report_missing(Diagnostic::error(name.span.clone(), message).hint(hint));
    }
    found
}
