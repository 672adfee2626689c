//! The end: what was checked, what was passed over, what could not be known.

use crate::proof::words;
use crate::web::desk::Bench;
use maud::{Markup, html};
use voltwright_proof::first_power::Walk;

/// The screen.
pub fn screen(bench: &Bench<'_, '_>, walk: &Walk<'_, '_>) -> Markup {
    let proof = bench.proof;
    let says = |m: usize| proof.mistakes[m].says.as_str();
    let unseen: Vec<&str> = walk.left_unseen().iter().map(|c| says(proof.classes[*c].mistakes[0])).collect();
    let escapes: Vec<&str> = proof.escapes().into_iter().map(says).collect();
    html! {
        h1 { "The plan is done" }
        p {
            (words::count(proof.asked.len() - walk.gaps().len(), "reading")) " of the plan "
            @if walk.gaps().is_empty() { "were taken, each inside its window, or at its edge twice." } @else { "were taken; " (words::count(walk.gaps().len(), "reading")) " passed over." }
            @if walk.mends() > 0 { " " (words::count(walk.mends(), "mend")) " on the way; all readings were taken again after it." }
        }
        @if !unseen.is_empty() {
            p.caution { strong { "Not seen." } " What was passed over leaves " (words::count(unseen.len(), "harmful mistake")) " unseen:" }
            ul { @for one in unseen.iter().take(12) { li { (one) } } }
        }
        @if !escapes.is_empty() {
            p.caution { strong { "Not catchable." } " " (words::count(escapes.len(), "mistake")) " no reading could have shown in time:" }
            ul { @for one in escapes.iter().take(12) { li { (one) } } }
        }
        p {
            "What this cannot know: anything that the job file does not say, three mistakes at once, parts that fail later or when they are warm, "
            "what happens in the first milliseconds, and how the machine behaves in use. Keep it watched for its first hours, with the plug in reach."
        }
    }
}
