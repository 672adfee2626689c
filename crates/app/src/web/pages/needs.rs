//! What the machine needs: rails and loads, each rail as a tank, the start in time.

use super::Of;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use maud::{Markup, PreEscaped, html};
use voltwright_drawing::{tank, timeline};
use voltwright_model::Solved;

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    let solved = Solved::new(&sight.reading.job);
    let tanks = tank::tanks(&solved, "tank");
    let wired = !sight.reading.job.wires.is_empty();
    html! {
        h1 { "Needs" }
        @if !tanks.is_empty() {
            h2 { "What each output gives, and what is asked of it" }
            div.drawings { @for tank in &tanks { figure { (PreEscaped(&tank.svg)) } } }
        }
        @if wired {
            h2 { "The start in time" }
            figure { (PreEscaped(&timeline::timeline(&solved, "start").svg)) }
        }
        (edit::section(sight.text, of, Place::named("rail", "Rails", "a rail")))
        (edit::section(sight.text, of, Place::named("load", "Loads", "a load")))
    }
}
