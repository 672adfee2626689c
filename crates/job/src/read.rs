//! Text to [`Job`]: reads all that can be read and reports every mistake.

mod loads;
mod machine;
mod parts;
mod supplies;
mod survey;
mod wiring;

use crate::diagnostic::{Diagnostic, Severity};
use crate::document::{Entered, Job};
use crate::fields::{Fields, Sheet};
use crate::keys::JOB;
use crate::near::nearest;
use crate::shape;
use std::collections::BTreeMap;
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
    if text.len() > LARGEST {
        let message = format!("this file has {} bytes; a job has at most {LARGEST}", text.len());
        let diagnostic = Diagnostic::error(0..1, message).hint("is this the right file?");
        return Reading { job: Job::default(), diagnostics: vec![diagnostic] };
    }
    if let Some(at) = text.find('\0') {
        let diagnostic = Diagnostic::error(at..at + 1, "this is not a text file: it holds a zero byte")
            .hint("a job file is plain text, TOML in UTF-8");
        return Reading { job: Job::default(), diagnostics: vec![diagnostic] };
    }
    let (root, faults) = DeTable::parse_recoverable(text);
    let sheet = Sheet::new(text);
    let torn = !faults.is_empty();
    for fault in faults {
        sheet.report(syntax(text, &fault));
    }
    let root = Spanned::new(0..text.len(), DeValue::Table(root.into_inner()));
    let start = 0..text.lines().next().map_or(0, str::len).max(usize::from(!text.is_empty()));
    let fields = Fields::open(&sheet, "", &JOB, &root, start);
    let job = read_job(&fields);
    if !torn {
        shape::check(&job, &sheet);
    }
    let mut diagnostics = sheet.into_diagnostics();
    diagnostics.sort_by_key(|d| (d.span.start, d.span.end));
    diagnostics.dedup();
    Reading { job, diagnostics }
}

/// A mistake of the file's grammar, in our words where it has a usual cause.
fn syntax(text: &str, fault: &toml::de::Error) -> Diagnostic {
    let mut span = fault.span().unwrap_or(0..0);
    span.end = span.end.min(text.len());
    span.start = span.start.min(span.end);
    if span.is_empty() {
        span.start = text[..span.start].char_indices().next_back().map_or(0, |(i, _)| i);
    }
    let message = fault.message();
    let hint = if message.contains("duplicate key") {
        Some("every name may stand once in its table; rename or remove one of the two")
    } else if message.contains("recursion") {
        Some("nothing in a job is nested so deep")
    } else if message.contains("string") || message.contains("quot") {
        Some("a text stands between two quotes on one line")
    } else {
        None
    };
    Diagnostic::error(span, message.to_owned()).maybe_hint(hint.map(str::to_owned))
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
    loads::rails(fields, &mut job);
    loads::loads(fields, &mut job);
    parts::read(fields, &mut job);
    wiring::plugs(fields, &mut job);
    wiring::wires(fields, &mut job);
    survey::read(fields, &mut job);
    job.number_inputs();
    job
}

/// Reports a name that cannot be written in a terminal or is taken by something else.
fn check_name(fields: &Fields<'_, '_>, name: &Entered, taken: &mut BTreeMap<String, &'static str>, what: &'static str) {
    let bad = name.text.is_empty() || name.text.contains(|c: char| !(c.is_alphanumeric() || c == '-' || c == '_'));
    if bad {
        let message = format!("\"{}\" cannot name {what}", name.text);
        let hint = "a name has letters, digits, - and _ only";
        fields.sheet.report(Diagnostic::error(name.span.clone(), message).hint(hint));
    } else if matches!(name.text.as_str(), "com" | "chassis") {
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
    if found.is_none() {
        let names = || job.rails.iter().map(|r| r.name.text.as_str());
        let hint = nearest(&name.text, names()).map_or_else(
            || match names().collect::<Vec<_>>().join(", ") {
                none if none.is_empty() => "add it under [rail]".to_owned(),
                known => format!("the rails are: {known}"),
            },
            |near| format!("did you mean `{near}`?"),
        );
        let message = format!("there is no rail `{}`", name.text);
        fields.sheet.report(Diagnostic::error(name.span.clone(), message).hint(hint));
    }
    found
}
