//! The survey: the machine, its nameplate, what was found; dangers first.

use super::key_path::to_enter;
use super::record::dangers;
use super::{Of, spine};
use crate::caution;
use crate::proof::words::count;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use crate::web::pictures;
use maud::{Markup, html};
use std::cmp::Reverse;
use toml::Table;
use voltwright_rules::Unjudged;

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let next = next(sight, of);
    let job = &sight.reading.job;
    html! {
        h1 { "Survey" }
        (next)
        p.caution { strong { "Before any work." } " " (caution::MAINS) " " (caution::RESERVOIRS) }
        (dangers(job))
        (pictures::shown(of, &of.pictures))
        (edit::section(sight.text, of, Place::table("job", "The job")))
        (edit::section(sight.text, of, Place::table("machine", "The machine")))
        (edit::section(sight.text, of, Place::list("found", "What was found", "Something found")))
        (edit::section(sight.text, of, Place::table("old-supply", "The machine's own supply")))
        (edit::section(sight.text, of, Place::named("battery", "Cells and accumulators", "a cell or accumulator")))
    }
}

/// Entries that are told as worth most.
const TOLD: usize = 3;

/// What can be said already, and what to enter next: the entries that let most be judged.
fn next(sight: &Sight<'_, '_>, of: &Of) -> Markup {
    let report = sight.report();
    let file: Table = sight.text.parse().unwrap_or_default();
    let wanted = wanted(&report.unjudged, !sight.reading.job.rails.is_empty());
    let (said, stops) = (report.findings.len(), spine::standing(sight));
    let wired = !sight.reading.job.wires.is_empty();
    html! {
        @if !wanted.is_empty() || !wired || stops > 0 {
            section.next aria-labelledby="next" {
                h2 #next { "What next" }
                @if stops > 0 {
                    p { a.stops href=(spine::all_stops(of)) { (count(stops, "stop")) @if stops == 1 { " stands: begin with it" } @else { " stand: begin with them" } } }
                }
                p { @if said == 0 { "Nothing can be said yet." } @else { (count(said, "finding")) " can be given already, beside this page and on the others." } }
                @if let Some((one, others)) = wanted.split_first() {
                    p { "The most valuable entry now: " strong { (to_enter(one.enter, of, &file)) } ". It tells " (one.tells.join("; ")) "." }
                    @if !others.is_empty() {
                        p { "Then:" }
                        ul { @for one in others.iter().take(TOLD - 1) {
                            li { (to_enter(one.enter, of, &file)) ", which tells " (one.tells.join("; ")) }
                        } }
                    }
                    @if others.len() >= TOLD { p.faint { "And " (others.len() + 1 - TOLD) " more, with the findings." } }
                }
                @if wanted.is_empty() && !wired {
                    p { "Then what the machine needs: " a href=(of.at(super::Page::Needs)) { "its rails and loads" } "." }
                }
            }
        }
    }
}

/// An entry that is missing, and what it would tell.
struct Wanted<'u> {
    enter: &'u str,
    /// Of how many subjects.
    judgements: usize,
    tells: Vec<&'u str>,
}

/// Each entry once, those that let most be judged first. A load draws from rails: without any, a rail is to be entered before it.
fn wanted(unjudged: &[Unjudged], has_rails: bool) -> Vec<Wanted<'_>> {
    let mut wanted: Vec<Wanted<'_>> = Vec::new();
    for one in unjudged {
        let enter = if has_rails || !one.enter.starts_with("[load") { &one.enter } else { "rail" };
        let at = wanted.iter().position(|w| w.enter == enter).unwrap_or_else(|| {
            wanted.push(Wanted { enter, judgements: 0, tells: Vec::new() });
            wanted.len() - 1
        });
        wanted[at].judgements += 1;
        if !wanted[at].tells.contains(&one.tells.as_str()) {
            wanted[at].tells.push(&one.tells);
        }
    }
    wanted.sort_by_key(|one| Reverse(one.judgements));
    wanted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_stands_once_and_the_most_valuable_first() {
        let missing = |enter: &str, subject: &str, tells: &str| Unjudged {
            code: "x",
            subject: subject.into(),
            enter: enter.into(),
            tells: tells.into(),
        };
        let all =
            [missing("a", "1", "t"), missing("b", "1", "u"), missing("b", "2", "u"), missing("b", "3", "v")];
        let told: Vec<(&str, usize, Vec<&str>)> =
            wanted(&all, true).into_iter().map(|w| (w.enter, w.judgements, w.tells)).collect();
        assert_eq!(told, [("b", 3, vec!["u", "v"]), ("a", 1, vec!["t"])]);
    }

    #[test]
    fn a_rail_is_asked_for_before_a_load() {
        let reading = voltwright_job::read("format = 1\n[job]\ntitle = \"T\"\ncountry = \"IE\"\n");
        let report = voltwright_rules::findings(&reading.job);
        let asked =
            |has| wanted(&report.unjudged, has).into_iter().map(|w| w.enter.to_owned()).collect::<Vec<_>>();
        assert!(asked(true).iter().any(|enter| enter.starts_with("[load")), "{:?}", asked(true));
        let first = asked(false);
        assert!(
            first.contains(&"rail".into()) && !first.iter().any(|enter| enter.contains("load")),
            "{first:?}"
        );
    }
}
