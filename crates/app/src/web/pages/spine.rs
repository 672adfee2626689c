//! What all pages of a job share: its name, the way from page to page, the power path as an elevation, the findings.

use super::key_path::to_enter;
use super::{Of, Page, head};
use crate::proof::words;
use crate::web::desk::Sight;
use crate::web::frame::marked;
use maud::{Markup, PreEscaped, html};
use toml::Table;
use voltwright_drawing::{Width, elevation::elevation};
use voltwright_job::{Lines, Severity as Gravity};
use voltwright_model::Solved;
use voltwright_rules::{Finding, Severity, Unjudged};

/// Name, pages, elevation.
pub fn above(sight: &mut Sight<'_, '_>, of: &Of, page: Page) -> Markup {
    let job = &sight.reading.job;
    html! {
        (head::title(of, &job.title.text))
        (head::tabs(&of.name, page.key()))
        (slim(sight, of, page))
        // What is replaced while somebody types is inside: folded, it stays folded.
        details.elevation #power-path open {
            summary { "The power path, from the wall to each load, at nominal values" }
            div #spine { (path(sight)) }
        }
    }
}

/// The power path, in the width that fits.
pub fn path(sight: &Sight<'_, '_>) -> Markup {
    let job = &sight.reading.job;
    if job.wires.is_empty() {
        return html! { p.faint { "Nothing is wired yet: the power path will be drawn here." } };
    }
    let solved = Solved::new(job);
    let findings = &sight.report().findings;
    html! {
        (not_counted(sight))
        div.wide { (PreEscaped(elevation(&solved, &[], findings, Width::Desk, "path").svg)) }
        div.narrow { (PreEscaped(elevation(&solved, &[], findings, Width::Phone, "path-phone").svg)) }
    }
}

/// The line that stays in sight on a narrow screen, wherever the power path and the findings are.
fn slim(sight: &mut Sight<'_, '_>, of: &Of, page: Page) -> Markup {
    let stops = stops(sight, of, page);
    html! { p.stop-line { a.to-path href="#power-path" { "Power path" } (stops) } }
}

/// How many stops there are, each with the way to it.
fn stops(sight: &mut Sight<'_, '_>, of: &Of, page: Page) -> Markup {
    sight.compute();
    let all = sight.report().findings.iter().filter(|f| f.severity == Severity::Stop);
    let (here, elsewhere): (Vec<&Finding>, Vec<&Finding>) =
        all.partition(|f| page.stretches().contains(&f.stretch));
    html! {
        @if !here.is_empty() { a.stops href="#beside" { (words::count(here.len(), "stop")) " here" } }
        @if !elsewhere.is_empty() {
            a.stops href=(all_stops(of)) {
                @if here.is_empty() { (words::count(elsewhere.len(), "stop")) @if !page.stretches().is_empty() { " elsewhere" } }
                @else { (elsewhere.len()) " elsewhere" }
            }
        }
    }
}

/// The address of every stop of the job.
pub fn all_stops(of: &Of) -> String {
    format!("{}#stops", of.at(Page::Record))
}

/// How many stops stand.
pub fn standing(sight: &Sight<'_, '_>) -> usize {
    sight.report().findings.iter().filter(|f| f.severity == Severity::Stop).count()
}

/// That lines with errors are left out of everything shown.
fn not_counted(sight: &Sight<'_, '_>) -> Markup {
    let lines = Lines::new(sight.text);
    let wrong = sight.reading.diagnostics.iter().filter(|d| d.severity == Gravity::Error);
    let mut at: Vec<usize> = wrong.map(|d| lines.line(d.span.start)).collect();
    at.dedup();
    let told: Vec<String> = at.iter().take(6).map(ToString::to_string).collect();
    html! {
        @if !at.is_empty() {
            p.caution {
                strong { "Not all of it." } " What stands in line " (told.join(", ")) @if at.len() > told.len() { " and others" }
                " has an error and counts for nothing here until it is mended."
            }
        }
    }
}

/// What stands beside a page: errors of the text first, then its findings, then what could not be judged.
pub fn beside(sight: &mut Sight<'_, '_>, of: &Of, page: Page) -> Markup {
    sight.compute();
    let errors = errors(sight, of);
    let proof = proof(sight, of);
    let report = sight.report();
    let here: Vec<&Finding> =
        report.findings.iter().filter(|f| page.stretches().contains(&f.stretch)).collect();
    let stops = standing(sight);
    let file: Table = sight.text.parse().unwrap_or_default();
    let elsewhere = stops - here.iter().filter(|f| f.severity == Severity::Stop).count();
    html! {
        (errors)
        h2 { "Findings" }
        (not_counted(sight))
        (proof)
        @if elsewhere > 0 { p { a.stops href=(all_stops(of)) { (words::count(elsewhere, "stop")) " on other pages" } } }
        @if here.is_empty() && !page.stretches().is_empty() { p { "Nothing was found here in what was entered." } }
        @for finding in &here { (one(finding, sight.text, false)) }
        (unjudged(&report.unjudged, !here.is_empty(), of, &file))
    }
}

/// What the proof comes to, in a line.
fn proof(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let (at, stops) = (of.at(Page::Proof), standing(sight));
    match sight.bench() {
        Ok(bench) if !bench.job.wires.is_empty() => {
            let proof = bench.proof;
            let harmful = (0..proof.mistakes.len()).filter(|m| proof.class(*m).is_harmful()).count();
            let escapes = proof.escapes().len();
            html! {
                p.proof-line {
                    a href=(at) { "Proof" } ": " @if let Some(stand) = words::with_stops(stops) { (stand) " " }
                    (proof.mistakes.len()) " mistakes tried, " (harmful) " do harm, "
                    @if escapes == 0 { "none escapes." } @else { strong.stops { (escapes) @if escapes == 1 { " escapes" } @else { " escape" } } "." }
                }
            }
        }
        Ok(_) => html! {},
        Err(why) => html! { p.proof-line { a href=(at) { "Proof" } ": not possible, " (why) "." } },
    }
}

fn errors(sight: &Sight<'_, '_>, of: &Of) -> Markup {
    let lines = Lines::new(sight.text);
    let wrong = sight.reading.diagnostics.iter();
    html! {
        @if !sight.reading.diagnostics.is_empty() {
            h2 { "In the text" }
            ul.errors {
                @for d in wrong {
                    li {
                        strong { @if d.severity == Gravity::Error { "Error" } @else { "Warning" } } ", "
                        a href=(format!("/job/{}/text#line-{}", of.name, lines.line(d.span.start))) { "line " (lines.line(d.span.start)) }
                        ": " (marked(&d.message)) @if let Some(hint) = &d.hint { " – " (marked(hint)) }
                    }
                }
            }
        }
    }
}

/// A finding, which opens into its working and its cure.
pub fn one(finding: &Finding, text: &str, open: bool) -> Markup {
    let (class, word) = match finding.severity {
        Severity::Stop => ("stop", "STOP"),
        Severity::Caution => ("caution", "Caution"),
        Severity::Note => ("note", "Note"),
    };
    let line = finding.place.as_ref().map(|place| Lines::new(text).line(place.start));
    let first = words::first_sentence(&finding.says);
    let rest = finding.says[first.len()..].trim_start();
    html! {
        details.finding.(class) open[open] {
            summary { strong { (word) } " " b { (finding.subject) } span.faint { " – " (first) } }
            @if !rest.is_empty() || line.is_some() { p { (rest) @if let Some(line) = line { span.faint { " (line " (line) ")" } } } }
            @if let Some(cure) = &finding.cure { p { strong { "Cure: " } (cure) } }
            @if let Some(working) = &finding.working { pre.working tabindex="0" { (working.by_hand()) } }
            p.faint { (finding.code) }
        }
    }
}

fn unjudged(all: &[Unjudged], is_more: bool, of: &Of, file: &Table) -> Markup {
    let judgements = words::count(all.len(), if is_more { "further judgement" } else { "judgement" });
    html! {
        @if !all.is_empty() {
            details.unjudged {
                summary { (judgements) @if all.len() == 1 { " waits for an entry" } @else { " wait for an entry" } }
                ul { @for one in all { li { strong { (one.subject) } ": enter " (to_enter(&one.enter, of, file)) "; it tells " (one.tells) } } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_opened_finding_says_its_first_sentence_once() {
        let text = include_str!("../../../../../examples/desk-computer/first-draft.toml");
        let reading = voltwright_job::read(text);
        let findings = voltwright_rules::check(&reading.job).findings;
        let long = |f: &&Finding| f.says.len() > words::first_sentence(&f.says).len();
        assert!(findings.iter().any(|f| long(&f)) && findings.iter().any(|f| !long(&f)));
        for finding in &findings {
            let shown = one(finding, text, false).into_string();
            let says = html! { (finding.says) }.into_string();
            let first = html! { (words::first_sentence(&finding.says)) }.into_string();
            assert_eq!(shown.matches(&first).count(), 1, "{shown}");
            let rest = says[first.len()..].trim_start();
            assert!(shown.contains(rest), "{rest}: {shown}");
        }
    }
}
