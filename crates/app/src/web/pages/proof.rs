//! Every wiring mistake tried: the sieve, what escapes, what catches each.

use super::{Of, spine};
use crate::proof::groups::{Group, groups};
use crate::proof::words;
use crate::web::desk::{Bench, Sight};
use crate::web::edit::{self, Place};
use maud::{Markup, PreEscaped, html};
use voltwright_drawing::sieve;

/// Mistakes that are listed at once where nothing is looked for.
const LISTED: usize = 40;
/// Mistakes that are listed at once for a search.
const FOUND: usize = 200;

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let settings = html! {
        (edit::section(sight.text, of, Place::table("first-power", "The stages of first power")))
        (edit::section(sight.text, of, Place::table("meter", "The meter")))
    };
    let stops = spine::standing(sight);
    let proved = match sight.bench() {
        Err(why) => html! { p.problem { "This cannot be proved: " (why) "." } },
        Ok(bench) if bench.job.wires.is_empty() => html! {
            p {
                "Nothing is wired in this job yet: there is no mistake to try and no reading to take. "
                a href=(of.at(super::Page::Wiring)) { "Enter the wires on the Wiring page" } "."
            }
        },
        Ok(bench) => proved(bench, of, stops),
    };
    html! {
        h1 { "Proof" }
        (proved)
        (settings)
    }
}

fn proved(bench: &Bench<'_, '_>, of: &Of, stops: usize) -> Markup {
    let proof = bench.proof;
    let harmful = proof.mistakes.iter().enumerate().filter(|(m, _)| proof.class(*m).is_harmful()).count();
    let escapes = proof.escapes();
    html! {
        @if let Some(stand) = words::with_stops(stops) { p.caution { (stand) " " a href=(spine::all_stops(of)) { "See them" } } }
        p {
            (words::count(proof.mistakes.len(), "mistake")) " tried, one at a time; " (harmful) " would do harm. "
            (words::fate(proof.plan.readings.len(), harmful, escapes.len()))
        }
        figure.sieve { (PreEscaped(&sieve::sieve(proof, "sieve").svg)) }
        @if !escapes.is_empty() {
            h2.stops { (words::count(escapes.len(), "mistake")) @if escapes.len() == 1 { " escapes" } @else { " escape" } }
            p { a.big href=(format!("/job/{}/cures", of.name)) { "Find cures, each tried in the model" } }
            @for group in &groups(proof) { (escaping(bench, group)) }
        }
        h2 #mistakes { "The mistakes" }
        form.search method="get" action=(format!("{}#mistakes", of.at(super::Page::Proof))) role="search" {
            label for="mistake" { "Search: a terminal, a wire, a colour" }
            input id="mistake" name="search" type="search" value=(of.search);
            button type="submit" { "Search" }
        }
        (list(bench, &of.search))
    }
}

/// Mistakes of one harm, behind it.
fn escaping(bench: &Bench<'_, '_>, group: &Group) -> Markup {
    html! {
        details.finding.stop {
            summary { strong { (words::count(group.mistakes.len(), "mistake")) } (group.at_worst()) ": " (words::harm(bench.job, &group.harm)) }
            p { (group.why(bench.proof)) }
            ul { @for m in &group.mistakes { li { (bench.proof.mistakes[*m].says) } } }
        }
    }
}

fn list(bench: &Bench<'_, '_>, search: &str) -> Markup {
    let proof = bench.proof;
    let words: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
    let is_meant = |says: &str| words.iter().all(|w| says.to_lowercase().contains(w));
    let mut meant: Vec<usize> =
        (0..proof.mistakes.len()).filter(|m| is_meant(&proof.mistakes[*m].says)).collect();
    let most = if words.is_empty() { LISTED } else { FOUND };
    // What escapes first, then what does harm, then the rest.
    meant.sort_by_key(|m| (!proof.class(*m).escapes(), !proof.class(*m).is_harmful()));
    html! {
        p { (words::count(meant.len(), "mistake")) @if meant.len() > most { ", the first " (most) " of them" } "." }
        div.scroll tabindex="0" role="region" aria-label="Mistakes" { table.cards {
            thead { tr { th scope="col" { "Mistake" } th scope="col" { "Does" } th scope="col" { "Caught at" } } }
            tbody { @for m in meant.into_iter().take(most) { tr {
                td { (proof.mistakes[m].says) }
                td data-label="Does" { @match proof.class(m).outcome.harm { Some((_, harm)) => (words::harm(bench.job, &harm)), None => "no harm" } }
                td data-label="Caught at" { @match (proof.class(m).caught_at, proof.class(m).is_harmful()) {
                    (Some(stage), _) => (proof.setup.stages[stage].name),
                    (None, true) => strong.stops { "escapes" },
                    (None, false) => "–",
                } }
            } } }
        } }
    }
}
