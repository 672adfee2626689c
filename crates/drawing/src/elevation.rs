//! The power path as a landscape: across, from the wall to each load; up, the potential. Each conductor lies at its height in its
//! own colour, so that a misplaced wire is seen at once: it climbs to the wrong height.
//!
//! Drawn are the operating point with the loads running, and of the mains which pole a conductor is joined to. Heights go by a
//! symmetric logarithm, mains far above, with a rail's tolerance magnified to a band of its own, so that drops are seen.
//!
//! Wires between the same two things at the same potential are one bundle with one label. Conductors that would hide each other run
//! in lanes of their own between their true ends, in the order of their potentials and each within its rail's band, which grows as
//! its lanes need it. Letters stand where they touch nothing else; levels move apart until all have room. Findings speak of the worst case, the drawing shows nominal values: where a stop belongs hangs a flag.

mod chart;
mod drawn;
mod flags;
mod frame;
mod heights;
mod landing;
mod path;
mod potential;
mod room;
mod slots;
mod strands;
mod tags;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]
mod tests;
mod words;

use crate::canvas::Canvas;
use crate::{Drawing, Width};
use chart::Laid;
use voltwright_model::Solved;
use voltwright_rules::Finding;

/// The elevation of a solved job; `open` are the fuses that are out and the switches that are off, `findings` what the rules say of
/// it: a stop hangs as a flag where it belongs. Loads that the stage of `solved` does not connect stand beyond a gate.
pub fn elevation(
    solved: &Solved<'_>,
    open: &[usize],
    findings: &[Finding],
    width: Width,
    id_prefix: &str,
) -> Drawing {
    let title = "Elevation: the potential from the wall to each load";
    let laid = Laid::of(solved, open, findings, width);
    let text = words::text(&laid.chart);
    let mut canvas = Canvas::new();
    let height = laid.draw(&mut canvas);
    let size = (width.px(), height);
    Drawing { svg: canvas.finish_with(upto(height), size, id_prefix, title, &text), text }
}

/// How high the drawing is at most, for a page that keeps it in sight where that leaves enough room for the rest.
fn upto(height: f64) -> &'static str {
    let steps =
        [(250.0, r#" data-upto="250""#), (325.0, r#" data-upto="325""#), (390.0, r#" data-upto="390""#)];
    steps.into_iter().find(|(most, _)| height <= *most).map_or("", |(_, attribute)| attribute)
}
