//! The findings of a check, as text and as data.

mod assumptions;
mod closing;
pub mod data;
mod findings;
mod head;
mod unjudged;

use crate::caution;
use crate::text::Page;
use crate::text::Style;
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use voltwright_job::{Job, Lines};
use voltwright_rules::{Code, Report};

/// The whole report: head, cautions, findings, what could not be judged, what the verdict hangs on, what it is worth.
pub fn whole(job: &Job, text: &str, report: &Report, page: &Page) -> String {
    let lines = Lines::new(text);
    let parts = [
        head::of(job, page),
        caution::of(job, report.stops(), page).unwrap_or_default(),
        findings::along_the_path(&report.findings, &lines, page),
        unjudged::of(&report.unjudged, page),
        assumptions::of(&report.assumptions, page),
        closing::of(report, page),
    ];
    parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join("\n")
}

/// The findings of one code, each with its working; what the code is about where there is none.
pub fn why(job: &Job, text: &str, report: &Report, code: &Code, page: &Page) -> String {
    let lines = Lines::new(text);
    let meant: Vec<_> = report.findings.iter().filter(|f| f.code == code.name).collect();
    let mut out = head::of(job, page) + "\n";
    out.push_str(&wrap(
        &[Span(code.name, Style::Strong), Span("–", Style::Faint), Span(code.about, Style::Plain)],
        Indent(0, 4),
        page,
    ));
    out.push('\n');
    if meant.is_empty() {
        out.push_str(&nothing(report, code, page));
    } else {
        let cautions = caution::of(job, report.stops(), page).map_or(String::new(), |c| c + "\n");
        let opened: Vec<String> = meant.iter().map(|f| findings::opened(f, &lines, page)).collect();
        out.push_str(&(cautions + &opened.join("\n")));
    }
    out
}

fn nothing(report: &Report, code: &Code, page: &Page) -> String {
    let missing: Vec<_> = report.unjudged.iter().filter(|u| u.code == code.name).cloned().collect();
    if missing.is_empty() {
        return paragraph("Nothing of this kind was found in what was entered.", Indent(0, 0), page);
    }
    paragraph("Nothing of this kind was found, but not all of it could be judged.", Indent(0, 0), page)
        + "\n"
        + &unjudged::of(&missing, page)
}

/// What was checked.
pub fn head(job: &Job, page: &Page) -> String {
    head::of(job, page)
}

/// A heading of the report.
pub fn heading(text: &str, page: &Page) -> String {
    wrap(&[Span(text, Style::Strong)], Indent(0, 0), page)
}

/// A share as a percentage with the digits that it deserves.
fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent < 10.0 && percent > 0.0 {
        format!("{} %", voltwright_quantity::print::number(percent, if percent < 1.0 { 1 } else { 2 }))
    } else {
        format!("{percent:.0} %")
    }
}

/// A number of things: `1 stop`, `2 stops`, `no stop`.
fn count(number: usize, thing: &str) -> String {
    match number {
        0 => format!("no {thing}"),
        1 => format!("1 {thing}"),
        _ => format!("{number} {thing}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_and_counts_read_as_they_are_said() {
        assert_eq!(percent(0.123), "12 %");
        assert_eq!(percent(0.0461), "4.6 %");
        assert_eq!(percent(0.004), "0.4 %");
        assert_eq!(percent(1.0), "100 %");
        assert_eq!(count(0, "stop"), "no stop");
        assert_eq!(count(1, "stop"), "1 stop");
        assert_eq!(count(2, "caution"), "2 cautions");
    }
}
