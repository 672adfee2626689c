//! Findings as text, grouped along the path from the wall to the board, the gravest of each stretch first.

use super::{heading, percent};
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style, width};
use voltwright_job::Lines;
use voltwright_rules::{Finding, Severity, Stretch};

/// Column at which what belongs to a finding begins.
const BODY: usize = 10;
/// Column at which a working begins.
const WORKING: usize = 12;

/// All findings below the headings of their stretches.
pub fn along_the_path(findings: &[Finding], lines: &Lines<'_>, page: &Page) -> String {
    if findings.is_empty() {
        let nothing =
            "Nothing was found in what was entered. That is not the same as nothing being wrong: see below.";
        return paragraph(nothing, Indent(0, 0), page);
    }
    let mut out = String::new();
    let mut stretch: Option<Stretch> = None;
    for finding in findings {
        if !out.is_empty() {
            out.push('\n');
        }
        if stretch != Some(finding.stretch) {
            out.push_str(&heading(finding.stretch.words(), page));
            out.push('\n');
            stretch = Some(finding.stretch);
        }
        out.push_str(&closed(finding, lines, page));
    }
    out
}

/// A finding without its working.
fn closed(finding: &Finding, lines: &Lines<'_>, page: &Page) -> String {
    let (word, style) = severity(finding.severity);
    let word = format!("{word:<7}");
    let code = format!("[{}]", finding.code);
    let head = [Span(&finding.subject, Style::Strong), Span(&code, Style::Faint)];
    let subject = wrap(&head, Indent(BODY, BODY), page);
    let mut out = format!("  {} {}", crate::text::painted(&word, style, page), &subject[BODY..]);
    out.push_str(&paragraph(&says(finding, lines), Indent(BODY, BODY), page));
    if let Some(cure) = &finding.cure {
        out.push_str(&paragraph(&format!("Cure: {cure}"), Indent(BODY, BODY + 6), page));
    }
    out
}

/// A finding with its working.
pub fn opened(finding: &Finding, lines: &Lines<'_>, page: &Page) -> String {
    let mut out = closed(finding, lines, page);
    match &finding.working {
        Some(working) => {
            out.push_str(&paragraph("Working:", Indent(BODY, BODY), page));
            out.extend(working.by_hand().lines().map(|line| working_line(line, page)));
        }
        None => out.push_str(&paragraph(
            "No figure stands behind it; it follows from the entries alone.",
            Indent(BODY, BODY),
            page,
        )),
    }
    out
}

/// A line of a working keeps its own indent; where figure and meaning do not fit on one line, each has its own.
fn working_line(line: &str, page: &Page) -> String {
    let own = WORKING + line.len() - line.trim_start().len();
    let (figure, meaning) = line.trim_start().split_once("   ").unwrap_or((line.trim_start(), ""));
    let whole = [figure, meaning].map(width::of).iter().sum::<usize>() + own + 3;
    if whole <= page.text() {
        return format!("{}{}\n", " ".repeat(own), line.trim());
    }
    paragraph(figure, Indent(own, own + 4), page) + &paragraph(meaning, Indent(own + 4, own + 4), page)
}

fn severity(severity: Severity) -> (&'static str, Style) {
    match severity {
        Severity::Stop => ("STOP", Style::Stop),
        Severity::Caution => ("caution", Style::Caution),
        Severity::Note => ("note", Style::Plain),
    }
}

/// The sentence, how likely it is, and where in the file it comes from.
fn says(finding: &Finding, lines: &Lines<'_>) -> String {
    let likely = finding.likelihood.map(likelihood).unwrap_or_default();
    let place =
        finding.place.as_ref().map(|p| format!(" (line {})", lines.line(p.start))).unwrap_or_default();
    format!("{}{likely}{place}", finding.says)
}

/// How often random samples over the spreads pass the limit.
fn likelihood(share: f64) -> String {
    if share <= 0.0 {
        " It takes the worst ends of several values at once: no random sample over the spreads came so far."
            .into()
    } else if share >= 1.0 {
        " This is so in every sample over the spreads.".into()
    } else {
        format!(" This is so in about {} of samples over the spreads.", percent(share))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: Page = Page { columns: 60, colour: false };

    fn finding(code: &'static str, severity: Severity, stretch: Stretch) -> Finding {
        let found = Finding::new("board, rail p5", "4.71 V reach the board; it needs 4.75 V.").at(&(11..12));
        Finding { code, severity, stretch, likelihood: Some(0.12), ..found.cure("larger wires") }
    }

    #[test]
    fn a_finding_reads_headline_sentence_cure() {
        let set = along_the_path(
            &[finding("low", Severity::Stop, Stretch::Load)],
            &Lines::new("format = 1\nx\n"),
            &PAGE,
        );
        assert_eq!(
            set,
            "At the boards\n\n  STOP    board, rail p5 [low]\n          \
             4.71 V reach the board; it needs 4.75 V. This is\n          \
             so in about 12 % of samples over the spreads.\n          (line 2)\n          Cure: larger wires\n"
        );
    }

    #[test]
    fn each_stretch_has_one_heading() {
        let list = [
            finding("a", Severity::Stop, Stretch::Wall),
            finding("b", Severity::Note, Stretch::Wall),
            finding("c", Severity::Caution, Stretch::Load),
        ];
        let set = along_the_path(&list, &Lines::new("format = 1\nx\n"), &PAGE);
        assert_eq!(set.matches("At the wall").count(), 1);
        let order: Vec<usize> =
            ["STOP", "note", "At the boards", "caution"].map(|w| set.find(w).unwrap()).to_vec();
        assert!(order.is_sorted(), "{set}");
    }

    #[test]
    fn a_finding_without_a_figure_says_so_when_asked_why() {
        let set = opened(&finding("a", Severity::Stop, Stretch::Wall), &Lines::new(""), &PAGE);
        assert!(set.contains("No figure"), "{set}");
    }
}
