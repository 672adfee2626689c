//! What is handed on, in the order in which whoever opens the machine next needs it: the cautions, the machine, what was found and
//! changed, parts and wires, what was checked and what not, on what that hangs, how the last first power went.

mod kept;
mod things;

pub use kept::{Kept, kept};
pub use things::dangers;

use super::key_path::in_words;
use super::{Of, spine};
use crate::caution;
use crate::clock;
use crate::proof::groups::groups;
use crate::proof::words;
use crate::web::desk::Sight;
use maud::{Markup, html};
use toml::Table;
use voltwright_rules::{Finding, Report, Severity, Unjudged};

/// What no check knows.
const UNKNOWN: &str = "What nobody entered could not be judged: the state of insulation and of joints, wiring that differs from what \
     is written here, parts that differ from their sheets, faults inside a load, and how the machine behaves in use.";

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let job = &sight.reading.job;
    let report = voltwright_rules::check(job);
    let file: Table = sight.text.parse().unwrap_or_default();
    html! {
        article.record {
            h1 { "Record" span.paper { ": " (job.title.text) } }
            p.screen { "Print this page to hand it on. It says what was checked and what was not; nothing here says that the machine may be trusted." }
            p.facts { "Revision " (of.revision) @if let Some(made) = of.kept.history.last() { ", " (clock::shown(made.made)) } }
            p.caution { strong { "For whoever works on it next." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
            (dangers(job))
            (things::machine(&file))
            (things::found(job, of.pictures.len(), of))
            (changed(of))
            (things::parts(job))
            (things::wires(job, &file))
            (checked(sight, &report))
            (not_checked(&report.unjudged, &file))
            (hangs_on(&report, &file))
            (first_power(of))
            (workings(&report.findings, sight.text))
        }
    }
}

/// Every revision with its reason, the oldest first.
fn changed(of: &Of) -> Markup {
    html! {
        @if !of.kept.history.is_empty() {
            h2 { "What was changed, and when" }
            ol.changed { @for made in &of.kept.history { li value=(made.number) { (clock::shown(made.made)) ": " (made.why) } } }
        }
    }
}

/// What the rules and the proof come to.
fn checked(sight: &mut Sight<'_, '_>, report: &Report) -> Markup {
    let rules = report.judged.iter().filter(|r| r.judgements > 0);
    let made: usize = report.judged.iter().map(|r| r.judgements).sum();
    let told: Vec<String> = rules.map(|r| format!("{} ({})", r.name, r.judgements)).collect();
    html! {
        h2 { "What was checked" }
        p { (words::count(made, "judgement")) " by these rules: " (told.join(", ")) "." }
        (found(&report.findings))
        (proved(sight))
    }
}

/// Stops and cautions, each with its cure.
fn found(findings: &[Finding]) -> Markup {
    let of = |severity| findings.iter().filter(|f| f.severity == severity).count();
    let (stops, cautions) = (of(Severity::Stop), of(Severity::Caution));
    let mut told: Vec<&Finding> = findings.iter().filter(|f| f.severity != Severity::Note).collect();
    told.sort_by_key(|f| f.severity);
    html! {
        p #stops {
            @if stops > 0 { strong.stops { (words::count(stops, "stop")) ": do not energise it as it stands" } ", " }
            @else { "No stop, " }
            (words::count(cautions, "caution")) "."
        }
        ul { @for f in told {
            li {
                strong.stops[f.severity == Severity::Stop] { @if f.severity == Severity::Stop { "STOP" } @else { "Caution" } }
                " " (f.subject) ": " (f.says) @if let Some(cure) = &f.cure { " Cure: " (cure) "." }
            }
        } }
    }
}

/// What the proof comes to.
fn proved(sight: &mut Sight<'_, '_>) -> Markup {
    let stops = spine::standing(sight);
    let bench = match sight.bench() {
        Err(why) => return html! { p { "No wiring mistake could be tried: " (why) "." } },
        Ok(bench) if bench.job.wires.is_empty() => {
            return html! { p { "Nothing is wired: no mistake was tried." } };
        }
        Ok(bench) => bench,
    };
    let (proof, groups) = (bench.proof, groups(bench.proof));
    let (tried, readings) = (
        words::count(proof.mistakes.len(), "wiring mistake"),
        words::count(proof.plan.readings.len(), "reading"),
    );
    html! {
        p {
            @if let Some(stand) = words::with_stops(stops) { (stand) " " }
            (tried) " tried, one at a time. "
            @if groups.is_empty() { "Each that does harm is caught in time by one of " (readings) "." }
            @else { "The plan has " (readings) "; " strong.stops { (proof.escapes().len()) " are not caught in time" } ":" }
        }
        ul { @for group in &groups { li { (group.says(bench.job)) } } }
    }
}

fn not_checked(unjudged: &[Unjudged], file: &Table) -> Markup {
    html! {
        h2 { "What was not checked" }
        @if !unjudged.is_empty() {
            ul { @for one in unjudged { li { (one.subject) ": " (one.tells) ". Not entered: " (spelled(&one.enter, file)) "." } } }
        }
        p { (UNKNOWN) }
    }
}

/// What is not entered, in words.
fn spelled(enter: &str, file: &Table) -> String {
    enter.split(", ").map(|path| in_words(path, file)).collect::<Vec<_>>().join(", ")
}

/// The assumed values that leave the verdict least room, and those that nobody need look at.
fn hangs_on(report: &Report, file: &Table) -> Markup {
    let (turning, idle): (Vec<_>, Vec<_>) =
        report.assumptions.followed.iter().partition(|a| a.below.is_some() || a.above.is_some());
    html! {
        @if !turning.is_empty() || !idle.is_empty() { h2 { "What the verdict hangs on" } }
        @if !turning.is_empty() {
            p { "Values that nobody has measured, and where each alone would bring a stop or take one away." }
            div.scroll tabindex="0" role="region" aria-label="Assumed values" { table {
                thead { tr { th scope="col" { "Value" } th scope="col" { "Is" } th scope="col" { "From" } th scope="col" { "Turns below" } th scope="col" { "Turns above" } } }
                tbody { @for one in turning { tr {
                    td { (in_words(&one.path, file)) } td { (one.shown) } td { (one.basis.words()) }
                    @for turn in [&one.below, &one.above] { td { @match turn { Some(point) => (point.shown), None => "–" } } }
                } } }
            } }
        }
        @if !idle.is_empty() {
            p {
                "None of these turns it by itself between a tenth and ten times its value: "
                (idle.iter().map(|one| in_words(&one.path, file)).collect::<Vec<_>>().join("; ")) "."
            }
        }
    }
}

fn first_power(of: &Of) -> Markup {
    let at = format!("/job/{}", of.name);
    html! {
        h2 { "The last first power" }
        @match &of.kept.last {
            None => p { "None was begun." },
            Some(last) => p {
                "First power " (last.number) ", begun " (clock::shown(last.begun)) " with revision " (last.revision)
                @if last.revision != of.revision { strong.stops { ", not with this one" } }
                ": " (last.verdict)
            },
        }
        p.screen { a href=(format!("{at}/first-power")) { "As it was taken" } " · " a href=(format!("{at}/sheet")) { "as a sheet" } " · " a href=(format!("{at}/export")) { "the whole job as an archive" } }
    }
}

/// Each finding with its working, for whoever wants to follow a figure.
fn workings(findings: &[Finding], text: &str) -> Markup {
    html! {
        @if !findings.is_empty() {
            h2 { "The findings with their workings" }
            @for finding in findings { (spine::one(finding, text, true)) }
        }
    }
}
