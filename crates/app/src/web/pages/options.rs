//! The parts of the power path, with what the findings say of them.

use super::Of;
use crate::web::desk::Sight;
use crate::web::edit::{self, Place};
use maud::{Markup, html};

/// The page.
pub fn body(sight: &mut Sight<'_, '_>, of: &Of) -> Markup {
    html! {
        h1 { "Options" }
        p {
            "Repair, convert, a transformer before it, or another supply: these are not compared here yet. What is entered below "
            "is judged as it stands; the findings beside say what it lacks."
        }
        (edit::section(sight.text, of, Place::named("part", "Parts, from the wall inwards", "a part")))
        (edit::section(sight.text, of, Place::table("assume", "Assumed values")))
    }
}
