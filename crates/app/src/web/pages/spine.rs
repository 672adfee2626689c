//! What all pages of a job share: its name, the way from page to page, the power path as an elevation, the findings.

use super::key_path::to_enter;
use super::{Of, Page};
use crate::proof::words;
use crate::web::desk::Sight;
use maud::{Markup, PreEscaped, html};
use toml::Table;
use voltwright_drawing::{Width, elevation::elevation};
use voltwright_job::{Lines, Severity as Gravity};
use voltwright_model::Solved;
use voltwright_rules::{Finding, Severity, Unjudged};

/// Name, pages, elevation.
pub fn head(sight: &mut Sight<'_, '_>, of: &Of, page: Page) -> Markup {
    let job = &sight.reading.job;
    html! {
        div.job-title {
            p { a href=(format!("/job/{}", of.name)) { (job.title.text) } span.faint { " · revision " (of.revision) } }
            @if of.revision > 1 {
                form.inline method="post" action=(format!("/job/{}/back", of.name)) {
                    input type="hidden" name="token" value=(of.token);
                    input type="hidden" name="number" value=(of.revision - 1);
                    input type="hidden" name="upon" value=(of.revision);
                    button type="submit" { "Undo: " (of.why) }
                }
            }
        }
        nav.tabs aria-label="Job" {
            @for one in Page::ALL {
                @if one == Page::Record { a href=(format!("/job/{}/first-power", of.name)) { "First power" } }
                a href=(of.at(one)) aria-current=[(one == page).then_some("page")] { (one.name()) }
            }
            a href=(format!("/job/{}/text", of.name)) { "Text" }
        }
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
            a.stops href=(of.at(Page::Record)) {
                @if here.is_empty() { (words::count(elsewhere.len(), "stop")) @if !page.stretches().is_empty() { " elsewhere" } }
                @else { (elsewhere.len()) " elsewhere" }
            }
        }
    }
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
    let stops = report.findings.iter().filter(|f| f.severity == Severity::Stop).count();
    let file: Table = sight.text.parse().unwrap_or_default();
    let elsewhere = stops - here.iter().filter(|f| f.severity == Severity::Stop).count();
    html! {
        (errors)
        h2 { "Findings" }
        (not_counted(sight))
        @if here.is_empty() && !page.stretches().is_empty() { p { "Nothing was found here in what was entered." } }
        @for finding in &here { (one(finding, sight.text, false)) }
        (proof)
        @if elsewhere > 0 { p { (words::count(elsewhere, "stop")) " on other pages." } }
        (unjudged(&report.unjudged, !here.is_empty(), of, &file))
    }
}

/// What the proof comes to, in a line.
fn proof(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let at = of.at(Page::Proof);
    match sight.bench() {
        Ok(bench) if !bench.job.wires.is_empty() => {
            let proof = bench.proof;
            let harmful = (0..proof.mistakes.len()).filter(|m| proof.class(*m).is_harmful()).count();
            let escapes = proof.escapes().len();
            html! {
                p.proof-line {
                    a href=(at) { "Proof" } ": " (proof.mistakes.len()) " mistakes tried, " (harmful) " do harm, "
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
                        ": " (d.message) @if let Some(hint) = &d.hint { " – " (hint) }
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
    html! {
        details.finding.(class) open[open] {
            summary { strong { (word) } " " b { (finding.subject) } span.faint { " – " (words::first_sentence(&finding.says)) } }
            p { (finding.says) @if let Some(line) = line { span.faint { " (line " (line) ")" } } }
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
