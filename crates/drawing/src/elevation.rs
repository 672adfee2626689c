//! The power path as a landscape: across, from the wall to each load; up, the potential. Each conductor lies at its height in its
//! own colour, so that a misplaced wire is seen at once: it climbs to the wrong height.
//!
//! Drawn are the operating point with the loads running, and of the mains which pole a conductor is joined to. Heights go by a
//! symmetric logarithm, mains far above, with a rail's tolerance magnified to a band of its own, so that drops are seen.

mod chart;
mod frame;
mod heights;
mod path;
mod potential;
mod slots;
mod strands;
mod words;

use crate::canvas::Canvas;
use crate::{Drawing, Width};
use chart::Chart;
use voltwright_model::Solved;

/// The elevation of a solved job; `open` are the fuses that are out and the switches that are off. Loads that the stage of
/// `solved` does not connect stand beyond a gate.
pub fn elevation(solved: &Solved<'_>, open: &[usize], width: Width, id_prefix: &str) -> Drawing {
    let title = "Elevation: the potential from the wall to each load";
    let chart = Chart::of(solved, open, width);
    let text = words::text(&chart);
    let mut canvas = Canvas::new();
    let height = chart.draw(&mut canvas);
    Drawing { svg: canvas.finish((width.px(), height), id_prefix, title, &text), text }
}
