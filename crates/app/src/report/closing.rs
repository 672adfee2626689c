//! What a report is worth: how much was judged, and what it cannot know.

use super::count;
use crate::text::Page;
use crate::text::wrap::{Indent, paragraph};
use voltwright_rules::{Report, Severity};

/// What every report says of itself.
const WORTH: &str = "This is what was computed from what was entered. It does not replace local codes, licensed practice \
     or a meter, and it could not know what nobody entered: the state of insulation and joints, wiring that differs from \
     the file, parts that differ from their sheets. Not judged yet: insulation distances, stored energy, fit. What a wiring \
     mistake would do is tried by `voltwright prove`.";

/// The last paragraph.
pub fn of(report: &Report, page: &Page) -> String {
    let made: usize = report.judged.iter().map(|r| r.judgements).sum();
    let rules = report.judged.iter().filter(|r| r.judgements > 0).count();
    let of = |severity| report.findings.iter().filter(|f| f.severity == severity).count();
    let judged = format!("{} by {} of {} rules: ", count(made, "judgement"), rules, report.judged.len());
    let found = format!(
        "{}, {}, {}.",
        count(of(Severity::Stop), "stop"),
        count(of(Severity::Caution), "caution"),
        count(of(Severity::Note), "note")
    );
    let ask = match report.findings.iter().filter(|f| f.working.is_some()).min_by_key(|f| f.severity) {
        Some(f) => format!(" The working behind a finding: --why CODE, as in --why {}.", f.code),
        None => String::new(),
    };
    let judged = judged[..1].to_uppercase() + &judged[1..];
    paragraph(&format!("{judged}{found}{ask}"), Indent(0, 0), page)
        + "\n"
        + &paragraph(WORTH, Indent(0, 0), page)
}
