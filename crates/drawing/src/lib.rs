//! What a person must see, as SVG with a text that says the same: pure functions from results to a [`Drawing`].
//!
//! The visual language:
//! - Quiet: three line weights (thin, line, heavy), no gradients, no decoration; real minus signs, no-break spaces before units.
//! - Colours come from the classes of [`STYLE`] alone, so that one drawing serves light, dark and black on white; there is no
//!   `style=` and no `<style>` in it. Only the wires bring a colour of their own, and it always has its letters beside it.
//! - No meaning by colour alone: a shape, a hatch, a letter or a word goes with it.
//! - [`Drawing::text`] is complete: whoever cannot see has the same facts. It is the drawing's `<desc>` too.
//! - Shown 358 px wide, no letter is under 11 px. Same input, same bytes: coordinates are rounded to 0.01 px.
//! - Names come from users: all text is escaped in the SVG. `text` is plain and must be escaped by whoever puts it in a page.
//!
//! One drawing, one file: [`face`], [`strip`] and [`probes`] show where a probe goes, [`dial`] what the meter must show,
//! [`elevation`] the power path, [`tank`] what each output must hold, [`timeline`] the start-up, [`sieve`] what a proof found.

mod canvas;
mod colours;
pub mod dial;
pub mod elevation;
pub mod face;
mod labels;
mod lettering;
pub mod numbers;
pub mod probes;
pub mod sieve;
pub mod strip;
pub mod tank;
pub mod timeline;

/// The width of a drawing made for a phone of 390 px, and the narrowest at which it stays legible.
pub const PHONE: f64 = 358.0;

/// How wide a drawing that has much to show is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Width {
    /// For a phone: [`PHONE`].
    Phone,
    /// For a desk and for paper.
    Desk,
}

impl Width {
    /// In px.
    pub fn px(self) -> f64 {
        match self {
            Width::Phone => PHONE,
            Width::Desk => 960.0,
        }
    }
}

/// The style sheet of all drawings, to be served as a file: their classes, in light, in dark and in print.
pub const STYLE: &str = include_str!("style.css");

/// A picture and the same facts as words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawing {
    /// One `<svg>` element, for a page that serves [`STYLE`].
    pub svg: String,
    /// The text equivalent: plain, not escaped.
    pub text: String,
}

/// A drawing as a file of its own, with its style inside and a ground under it.
pub fn standalone(drawing: &Drawing) -> String {
    // After the title and the description, which come first.
    let head = drawing.svg.find("</desc>").map_or(0, |at| at + "</desc>".len());
    let (head, body) = drawing.svg.split_at(head);
    let ground = ".d { background: var(--d-ground, #fff); }";
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{head}<style>{STYLE}{ground}</style>{body}\n")
}
