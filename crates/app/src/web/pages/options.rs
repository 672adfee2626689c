//! The parts of the power path, with what the findings say of them.

use super::key_path::to_enter;
use super::{Of, parts};
use crate::proof::words;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use maud::{Markup, html};
use toml::Table;
use voltwright_job::{Job, Part};
use voltwright_rules::{About, Finding, Report, Severity, Unjudged};

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let (job, report) = (&sight.reading.job, sight.report());
    html! {
        h1 { "Options" }
        p {
            "Repair, convert, a transformer before it, or another supply: these are not compared here yet. What is entered below "
            "is judged as it stands; the findings beside say what it lacks."
        }
        (there(job, report, of, &sight.text.parse().unwrap_or_default()))
        (edit::section(sight.text, of, Place::named("part", "Parts, from the wall inwards", "a part")))
        (edit::section(sight.text, of, Place::table("assume", "Assumed values")))
    }
}

/// The parts that exist, each with its rating and what is said of it.
fn there(job: &Job, report: &Report, of: &Of, file: &Table) -> Markup {
    html! {
        @if !job.parts.is_empty() {
            h2 { "The parts that are there" }
            ol.parts {
                @for (p, part) in parts::from_the_wall(job).into_iter().map(|p| (p, &job.parts[p])) {
                    li {
                        p { a href=(format!("{}?at=part.{1}#part.{1}", of.at(super::Page::Options), part.key)) { (part.key) } " – " (part.kind.name()) ", " (parts::rating(part)) }
                        (said((p, part), report, of, file))
                    }
                }
            }
        }
    }
}

/// What the findings say of a part, the gravest first, and what they cannot say yet; where there is neither, which rules looked.
fn said((p, part): (usize, &Part), report: &Report, of: &Of, file: &Table) -> Markup {
    let mut findings: Vec<&Finding> =
        report.findings.iter().filter(|f| f.about == Some(About::Part(p))).collect();
    findings.sort_by_key(|f| f.severity);
    let missing: Vec<&Unjudged> =
        report.unjudged.iter().filter(|u| is_of(&u.subject, &part.key.text)).collect();
    html! {
        @if findings.is_empty() && missing.is_empty() { p.faint { (looked(part, report)) } }
        @else { ul {
            @for f in findings { li.said { strong.stops[f.severity == Severity::Stop] { (word(f.severity)) } " " (words::first_sentence(&f.says)) } }
            @for u in missing { li { "Not known " (u.tells) ": enter " (to_enter(&u.enter, of, file)) "." } }
        } }
    }
}

/// Whether what is not judged is about a part: its name, or a terminal or output of it. No load, plug or other part has that name.
fn is_of(subject: &str, part: &str) -> bool {
    let rest = subject.strip_prefix(part);
    rest.is_some_and(|rest| rest.is_empty() || (rest.starts_with('.') && !rest.contains(' ')))
}

/// Which rules looked at a part of which nothing is said.
fn looked(part: &Part, report: &Report) -> String {
    let all = parts::rules(&part.kind);
    let made = |name: &&&str| report.judged.iter().any(|rule| rule.name == **name && rule.judgements > 0);
    let judged: Vec<&str> = all.iter().filter(made).copied().collect();
    match (all.is_empty(), judged.is_empty()) {
        (true, _) => "Not judged by itself; what hangs on it is.".into(),
        (false, true) => format!("Not judged yet by any rule that looks at it ({}).", all.join(", ")),
        (false, false) => format!("Nothing found by the rules that look at it ({}).", judged.join(", ")),
    }
}

fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Stop => "STOP",
        Severity::Caution => "Caution:",
        Severity::Note => "Note:",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_judged_is_of_the_part_that_it_names() {
        assert!(is_of("supply", "supply") && is_of("supply.v1", "supply"));
        assert!(
            !is_of("supply.v1.plus to p1.3", "supply")
                && !is_of("supply-b", "supply")
                && !is_of("the supply", "supply")
        );
    }

    #[test]
    fn a_part_has_what_is_said_of_it_and_the_others_say_who_looked() {
        let reading =
            voltwright_job::read(include_str!("../../../../../examples/desk-computer/first-draft.toml"));
        let report = voltwright_rules::findings(&reading.job);
        let of = Of::new("x".into(), super::super::Page::Options);
        let shown = there(&reading.job, &report, &of, &Table::new()).into_string();
        for part in &reading.job.parts {
            assert!(shown.contains(&format!("#part.{}", part.key)), "{}", part.key);
        }
        let told = report.findings.iter().filter(|f| matches!(f.about, Some(About::Part(_))));
        assert_eq!(told.count(), shown.matches("class=\"said").count());
        assert!(shown.contains("STOP") && shown.contains("Not judged by itself"), "{shown}");
    }
}
