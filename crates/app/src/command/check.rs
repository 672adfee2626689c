//! `voltwright check JOB`: findings along the path from the wall to the board.

use crate::arguments::Check;
use crate::failure::{Failure, Verdict};
use crate::{report, source, terminal};
use voltwright_job::near::nearest;
use voltwright_rules::Code;
use voltwright_rules::rule::RULES;

/// Checks a job and prints the report.
pub fn run(arguments: &Check) -> Result<Verdict, Failure> {
    let code = arguments.why.as_deref().map(code).transpose()?;
    let source = source::open(&arguments.job)?;
    let report = voltwright_rules::check(&source.job);
    let page = terminal::output();
    let text = match code {
        _ if arguments.json => {
            super::json(&report::data::of(&source.job, &source.text, &source.warnings, &report), true)?
        }
        Some(code) => report::why(&source.job, &source.text, &report, code, &page),
        None => report::whole(&source.job, &source.text, &report, &page),
    };
    terminal::print(&text)?;
    Ok(if report.stops() { Verdict::Stop } else { Verdict::NoStop })
}

/// The code of that name.
fn code(name: &str) -> Result<&'static Code, Failure> {
    let codes = || RULES.iter().flat_map(|rule| rule.codes);
    codes().copied().find(|c| c.name == name).ok_or_else(|| {
        let hint = nearest(name, codes().map(|c| c.name)).map_or_else(
            || "a code stands in brackets behind each finding; docs/codes.md lists them all".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        Failure::command_line(format!("no finding has the code `{name}`"), Some(hint))
    })
}
