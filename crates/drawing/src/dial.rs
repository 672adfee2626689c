//! What the meter must show: the window as an arc, the part of it that only the meter's accuracy allows hatched, and a needle
//! where a value was read.

mod scale;

use crate::canvas::{Anchor, Canvas, Path, Spot};
use crate::lettering::{cut, width};
use crate::numbers;
use crate::{Drawing, PHONE};
use scale::Scale;
use voltwright_proof::diagnosis::{Verdict, verdict};
use voltwright_proof::reading::{Function, Interval, Reading};

/// The hub, the arc's outer radius, how deep the band is.
const HUB: Spot = (PHONE / 2.0, 152.0);
const RADIUS: f64 = 114.0;
const DEPTH: f64 = 14.0;
/// From the arc inwards to the numbers.
const LABEL: f64 = 15.0;
const HEIGHT: f64 = 226.0;

/// The dial of a reading, with what the meter shows.
pub fn dial(reading: &Reading, shown: Option<f64>, id_prefix: &str) -> Drawing {
    let shown = shown.filter(|v| !v.is_nan());
    let dial = Dial { reading, shown, scale: Scale::of(reading) };
    let title = format!("Window in {}", numbers::function(reading.function));
    let text = dial.text();
    let mut canvas = Canvas::new();
    if dial.has_window() {
        dial.arc(&mut canvas);
        dial.needle(&mut canvas);
        dial.ticks(&mut canvas);
        dial.ends(&mut canvas);
    }
    dial.words(&mut canvas);
    Drawing { svg: canvas.finish((PHONE, HEIGHT), id_prefix, &title, &text), text }
}

struct Dial<'a> {
    reading: &'a Reading,
    shown: Option<f64>,
    scale: Scale,
}

impl Dial<'_> {
    fn has_window(&self) -> bool {
        self.reading.window.low <= self.reading.window.high
    }

    fn value(&self, value: f64) -> String {
        numbers::value(self.reading.function, value)
    }

    fn verdict(&self) -> Option<Verdict> {
        let shown = self.shown.filter(|_| self.has_window())?;
        Some(verdict(self.reading, Interval { low: shown, high: shown }))
    }

    /// The parts of the window that only the meter's accuracy allows: where a value is [`Verdict::Edge`]. Below an ohm that
    /// accuracy is most of the window, and what is open has no upper end: neither counts.
    fn guards(&self) -> Vec<(f64, f64)> {
        let (window, range) = (self.reading.window, self.reading.range);
        let ohms = self.reading.function == Function::Ohms;
        let (from, to) = match ohms && range.low < 1.0 {
            true => (window.low, range.high.max(1.0)),
            false => (range.low, range.high),
        };
        let to = if ohms && window.high.is_infinite() { window.high } else { to };
        let sides = [(window.low, from.min(window.high)), (to.max(window.low), window.high)];
        sides.into_iter().filter(|(low, high)| self.scale.at(*high) > self.scale.at(*low) + 1e-4).collect()
    }

    fn arc(&self, canvas: &mut Canvas) {
        let outer = RADIUS - DEPTH;
        canvas.path("d-thin", &Path::at(spot(0.0, outer)).arc(outer, true, spot(self.scale.last(), outer)));
        if self.reading.function == Function::Ohms {
            // From here on nothing is measured: open.
            canvas
                .path("d-dash", &Path::at(spot(self.scale.last(), outer)).arc(outer, true, spot(1.0, outer)));
        }
        let (low, high) = (self.scale.at(self.reading.window.low), self.scale.at(self.reading.window.high));
        canvas.path("d-good-fill", &sector(low, high, RADIUS - DEPTH, RADIUS));
        for (low, high) in self.guards() {
            let (low, high) = (self.scale.at(low), self.scale.at(high));
            canvas.path("d-ground", &sector(low, high, RADIUS - DEPTH, RADIUS));
            canvas.path("d-hatch d-good", &hatch(low, high));
        }
        canvas.path("d-thin d-good", &sector(low, high, RADIUS - DEPTH, RADIUS));
    }

    fn ticks(&self, canvas: &mut Canvas) {
        let r = RADIUS - DEPTH;
        for (at, _) in self.scale.ticks(self.reading.function) {
            canvas.line("d-thin", spot(at, r - 5.0), spot(at, r));
        }
        for (at, label) in self.labels() {
            let (x, y) = spot(at, r - LABEL);
            canvas.text("d-small d-halo", (x, y + 4.0), inward(at), &label);
        }
    }

    /// The numbers inside the arc: where one would touch the one before it there is a tick alone.
    fn labels(&self) -> Vec<(f64, String)> {
        let mut end = f64::NEG_INFINITY;
        let mut labels = Vec::new();
        for (at, label) in self.scale.ticks(self.reading.function) {
            let (x, wide) = (spot(at, RADIUS - DEPTH - LABEL).0, width(&label, 11.0));
            if angle(at).sin() < 0.5 || x - wide / 2.0 > end {
                labels.push((at, label));
                end = x + wide / 2.0 + 4.0;
            }
        }
        labels
    }

    /// Between which radii a needle would strike numbers.
    fn struck(&self, needle: f64) -> Option<(f64, f64)> {
        let boxes: Vec<(f64, f64, f64)> = self.labels().iter().map(|(at, label)| side(*at, label)).collect();
        let is_struck = |r: &f64| {
            let (px, py) = spot(needle, *r);
            boxes.iter().any(|(left, right, y)| left - 3.0 < px && px < right + 3.0 && (py - y).abs() < 8.0)
        };
        let radii = (0..(RADIUS - DEPTH) as usize).map(|r| r as f64).filter(is_struck);
        radii.fold(None, |span, r| Some((span.map_or(r, |(from, _)| from), r)))
    }

    /// Numbers at the ends of the window.
    fn ends(&self, canvas: &mut Canvas) {
        let Interval { low, high } = self.reading.window;
        let ohms = self.reading.function == Function::Ohms;
        let mut labels = Vec::new();
        if !(ohms && low <= 0.0) {
            let shown = numbers::inward(self.reading.function, low, true);
            labels.push(End::of(self.scale.at(low), self.value(shown), Anchor::End));
        }
        if !(ohms && high.is_infinite()) {
            let shown = numbers::inward(self.reading.function, high, false);
            labels.push(End::of(self.scale.at(high), self.value(shown), Anchor::Start));
        } else if low < voltwright_proof::network::cold::OPEN {
            labels.push(End::of(1.0, "open".into(), Anchor::Start));
        }
        if let [a, b] = labels.as_mut_slice()
            && a.touches(b)
        {
            let higher = if a.spot.1 < b.spot.1 { a } else { b };
            higher.spot.1 -= 14.0;
        }
        for end in labels {
            canvas.text("d-label", end.spot, end.anchor, &end.label);
        }
    }

    fn needle(&self, canvas: &mut Canvas) {
        canvas.circle("d-mark", HUB, 4.0);
        let Some(shown) = self.shown else { return };
        let at = self.scale.at(shown);
        // Beyond the scale it lies against its stop.
        let at = match self.scale.is_beyond(shown) {
            true if at < 0.5 => -0.02,
            true => 1.02,
            false => at,
        };
        // It does not strike a number: it goes on beyond it.
        let needle = match self.struck(at) {
            Some((from, to)) => Path::at(HUB).to(spot(at, from - 1.0)).jump(spot(at, to + 1.0)),
            None => Path::at(HUB),
        };
        canvas.path("d-heavy", &needle.to(spot(at, RADIUS - 2.0)));
    }

    /// The value and what it comes to, or what it must be.
    fn words(&self, canvas: &mut Canvas) {
        let x = HUB.0;
        let window = cut(&self.must_be(), 13.0, PHONE - 16.0);
        let Some((shown, verdict)) = self.shown.zip(self.verdict()) else {
            let below = self.shown.map_or("no value yet".into(), |v| self.value(v));
            canvas.text("d-strong", (x, HUB.1 + 30.0), Anchor::Middle, &window);
            canvas.text("d-small", (x, HUB.1 + 49.0), Anchor::Middle, &below);
            return;
        };
        canvas.text("d-big", (x, HUB.1 + 30.0), Anchor::Middle, &self.value(shown));
        let class = match verdict {
            Verdict::Inside => "d-strong d-good-text",
            Verdict::Edge => "d-strong d-edge-text",
            Verdict::Low | Verdict::High => "d-strong d-stop-text",
        };
        canvas.text(class, (x, HUB.1 + 49.0), Anchor::Middle, word(verdict));
        canvas.text("d-label", (x, HUB.1 + 66.0), Anchor::Middle, &window);
    }

    fn must_be(&self) -> String {
        match self.has_window() {
            true => format!("must be {}", numbers::window(self.reading)),
            false => "no window is known".into(),
        }
    }

    fn text(&self) -> String {
        let mut text = format!("Meter on {}: {}.", numbers::function(self.reading.function), self.must_be());
        for (low, high) in self.guards().into_iter().filter(|_| self.has_window()) {
            let high = if high.is_infinite() { "open".into() } else { self.value(high) };
            let says = format!(" From {} to {high} only the meter's accuracy allows it.", self.value(low));
            text.push_str(&says);
        }
        let Some(shown) = self.shown else { return text + " No value yet." };
        text.push_str(&format!(" The meter shows {}", self.value(shown)));
        if let Some(verdict) = self.verdict() {
            text.push_str(&format!(", {}", word(verdict)));
        }
        if self.has_window() && self.scale.is_beyond(shown) {
            text.push_str(", beyond the scale that is drawn");
        }
        text + "."
    }
}

/// What a value comes to.
fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Inside => "inside the window",
        Verdict::Edge => "at the edge of the window: measure again",
        Verdict::Low => "outside: below the window",
        Verdict::High => "outside: above the window",
    }
}

/// A number at an end of the window, outside the arc.
struct End {
    spot: Spot,
    anchor: Anchor,
    label: String,
}

impl End {
    /// At the top the lower end's number stands at the left, the upper end's at the right.
    fn of(at: f64, label: String, at_top: Anchor) -> Self {
        let anchor = match at {
            at if at < 0.4 => Anchor::End,
            at if at > 0.6 => Anchor::Start,
            _ => at_top,
        };
        let (x, y) = spot(at, RADIUS + 7.0);
        let out = angle(at).sin().max(0.0);
        Self { spot: (x, y + 5.0 - 6.0 * out), anchor, label }
    }

    fn touches(&self, other: &Self) -> bool {
        let span = |e: &Self| match e.anchor {
            Anchor::End => (e.spot.0 - width(&e.label, 12.0), e.spot.0),
            _ => (e.spot.0, e.spot.0 + width(&e.label, 12.0)),
        };
        let (a, b) = (span(self), span(other));
        a.0 < b.1 && b.0 < a.1 && (self.spot.1 - other.spot.1).abs() < 14.0
    }
}

/// Angle of a place on the scale, from the right, upwards.
fn angle(at: f64) -> f64 {
    std::f64::consts::PI * (1.0 - at)
}

fn spot(at: f64, r: f64) -> Spot {
    (HUB.0 + r * angle(at).cos(), HUB.1 - r * angle(at).sin())
}

/// Left and right edge of a label inside the arc, and the height of its middle.
fn side(at: f64, label: &str) -> (f64, f64, f64) {
    let ((x, y), wide) = (spot(at, RADIUS - DEPTH - LABEL), width(label, 11.0));
    let left = match inward(at) {
        Anchor::Start => x,
        Anchor::Middle => x - wide / 2.0,
        Anchor::End => x - wide,
    };
    (left, left + wide, y)
}

/// A label inside the arc ends at it.
fn inward(at: f64) -> Anchor {
    match at {
        at if at < 0.12 => Anchor::Start,
        at if at > 0.88 => Anchor::End,
        _ => Anchor::Middle,
    }
}

fn sector(low: f64, high: f64, inner: f64, outer: f64) -> Path {
    Path::at(spot(low, inner))
        .to(spot(low, outer))
        .arc(outer, true, spot(high, outer))
        .to(spot(high, inner))
        .arc(inner, false, spot(low, inner))
        .close()
}

/// Slanting lines across a piece of the band, about 4 px apart.
fn hatch(low: f64, high: f64) -> Path {
    let step = 4.0 / (std::f64::consts::PI * RADIUS);
    let count = ((high - low) / step).floor().max(1.0) as usize;
    let mut path = Path::default();
    for i in 0..count {
        let at = low + (high - low) * (i as f64 + 0.5) / count as f64;
        path = path.jump(spot(at, RADIUS - DEPTH)).to(spot((at + 0.4 * step).min(high), RADIUS));
    }
    path
}

#[cfg(test)]
#[path = "dial/tests.rs"]
mod tests;
