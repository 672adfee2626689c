//! When each rail comes up after switch-on: not before one moment, surely by another; and which must come before which.

mod ready;

use crate::canvas::{Anchor, Canvas, Path};
use crate::lettering::cut;
use crate::{Drawing, PHONE};
use ready::{Moments, Ready};
use voltwright_job::{Job, WayUse};
use voltwright_model::Solved;
use voltwright_quantity::Time;
use voltwright_rules::rule::order;
use voltwright_rules::sink::{Judged, Sink};

/// Where time begins and ends, the first row, from row to row.
const LEFT: f64 = 96.0;
const RIGHT: f64 = 332.0;
const TOP: f64 = 34.0;
const ROW: f64 = 40.0;

/// A rail as it arrives at loads.
struct Row {
    rail: usize,
    loads: Vec<usize>,
    net: usize,
    ready: Option<Ready>,
}

/// The start-up of a job; whether an order is assured is what the rule for order says.
pub fn timeline(solved: &Solved<'_>, id_prefix: &str) -> Drawing {
    let job = solved.job;
    let moments = Moments::of(job, &solved.wiring().conductors);
    let rows = rows(job, &moments);
    let notes = notes(solved, &rows);
    let text = text(job, &rows, &notes);
    let title = "Start-up: when each rail comes up";
    let mut canvas = Canvas::new();
    let latest = rows.iter().filter_map(|r| r.ready.as_ref()).map(|r| r.high).fold(0.0, f64::max);
    let scale = Scale { end: if latest > 0.0 { 1.25 * latest } else { 1.0 } };
    let height = TOP + ROW * rows.len() as f64;
    if latest > 0.0 {
        scale.draw(&mut canvas, height);
    }
    for (i, row) in rows.iter().enumerate() {
        let has_twin = rows.iter().filter(|r| r.rail == row.rail).count() > 1;
        let below =
            if has_twin { loads(job, row) } else { job.rails[row.rail].nominal.nominal().to_string() };
        let y = TOP + ROW * (i as f64 + 0.5);
        name(&mut canvas, y, (&job.rails[row.rail].name.text, &below));
        bar(&mut canvas, row, y, &scale);
    }
    let mut lines = notes.clone();
    if latest > 0.0 {
        lines.push((false, "hatched: it may be up, or not yet".to_owned()));
    }
    let bottom = below(&mut canvas, &lines, height + 36.0);
    Drawing { svg: canvas.finish((PHONE, bottom), id_prefix, title, &text), text }
}

/// Seconds across.
struct Scale {
    end: f64,
}

impl Scale {
    fn x(&self, seconds: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * (seconds / self.end).clamp(0.0, 1.0)
    }

    /// Moments that are round, with lines down through the rows.
    fn draw(&self, canvas: &mut Canvas, bottom: f64) {
        let ten = 10f64.powf((self.end / 4.0).log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0].map(|m| m * ten).into_iter().find(|s| self.end / s <= 5.0);
        let step = step.unwrap_or(10.0 * ten);
        canvas.text("d-small", (LEFT, TOP - 18.0), Anchor::Start, "after switch-on");
        for k in 0..=(self.end / step).floor() as i32 {
            let x = self.x(f64::from(k) * step);
            canvas.line("d-thin d-quiet", (x, TOP), (x, bottom + 4.0));
            let label = Time::seconds(f64::from(k) * step).to_string();
            canvas.text("d-small", (x, bottom + 17.0), Anchor::Middle, if k == 0 { "0" } else { &label });
        }
    }
}

fn name(canvas: &mut Canvas, y: f64, (name, below): (&str, &str)) {
    canvas.text("d-label", (8.0, y - 1.0), Anchor::Start, &cut(name, 12.0, LEFT - 14.0));
    canvas.text("d-small", (8.0, y + 12.0), Anchor::Start, &cut(below, 11.0, LEFT - 14.0));
}

/// Down, coming up at some moment, up.
fn bar(canvas: &mut Canvas, row: &Row, y: f64, scale: &Scale) {
    let Some(ready) = &row.ready else {
        canvas.line("d-dash", (LEFT, y), (RIGHT, y));
        canvas.text("d-small d-halo", (LEFT + 6.0, y - 6.0), Anchor::Start, "no time entered");
        return;
    };
    let (low, high) = (scale.x(ready.low), scale.x(ready.high));
    canvas.line("d-line", (LEFT, y + 7.0), (low, y + 7.0));
    canvas.path("d-hatch", &slanted(low, high, y));
    canvas.rect("d-line", (low, y - 7.0), ((high - low).max(0.5), 14.0), 0.0);
    canvas.rect("d-level", (high, y - 7.0), (RIGHT - high, 14.0), 0.0);
    canvas.line("d-line", (high, y - 7.0), (RIGHT, y - 7.0));
}

/// Names of the loads of a row.
fn loads(job: &Job, row: &Row) -> String {
    row.loads.iter().map(|l| job.loads[*l].name.as_str()).collect::<Vec<_>>().join(", ")
}

/// Slanting lines of the time in which a rail may come up.
fn slanted(low: f64, high: f64, y: f64) -> Path {
    let mut path = Path::default();
    let mut x = low;
    while x < high {
        path = path
            .jump((x, y + 7.0))
            .to(((x + 6.0).min(high), y + 7.0 - 14.0 * ((x + 6.0).min(high) - x) / 6.0));
        x += 6.0;
    }
    path
}

/// The notes as lines; gives where they end.
fn below(canvas: &mut Canvas, notes: &[(bool, String)], mut y: f64) -> f64 {
    for (is_wrong, note) in notes {
        let class = if *is_wrong { "d-label d-stop-text" } else { "d-label" };
        canvas.text(class, (8.0, y), Anchor::Start, &cut(note, 12.0, PHONE - 12.0));
        y += 17.0;
    }
    y - 8.0
}

/// What is said below: the rails that an interlock holds off, and every order that a load asks for; whether it is wrong.
fn notes(solved: &Solved<'_>, rows: &[Row]) -> Vec<(bool, String)> {
    let job = solved.job;
    let mut sink = Sink::of_margins();
    order::run(solved, &mut sink);
    let held = rows.iter().filter_map(|row| {
        let part = &job.parts[row.ready.as_ref()?.waits_for?].key;
        Some((false, format!("{} of {} waits for {part}", job.rails[row.rail].name, loads(job, row))))
    });
    let mut notes: Vec<(bool, String)> = held.collect();
    for (l, load) in job.loads.iter().enumerate() {
        for (k, order) in load.order.iter().enumerate() {
            // The rule numbers its judgements so.
            let judged = sink.judged.iter().find(|j| j.key == l * 1000 + k);
            let (is_wrong, word) = match judged.map(Judged::fails) {
                Some(false) => (false, "assured"),
                Some(true) => (true, "STOP, not assured"),
                None => (false, "not judged"),
            };
            let (a, b) = (&job.rails[order.first].name, &job.rails[order.then].name);
            notes.push((is_wrong, format!("{a} before {b}: {word}")));
        }
    }
    notes
}

/// Every rail at every net on which it arrives.
fn rows(job: &Job, moments: &Moments<'_>) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for rail in 0..job.rails.len() {
        for load in 0..job.loads.len() {
            let Some(way) = job.way(load, WayUse::Rail(rail)) else { continue };
            let net = moments.net(way);
            match rows.iter_mut().find(|r| r.rail == rail && r.net == net) {
                Some(row) => row.loads.push(load),
                None => rows.push(Row { rail, loads: vec![load], net, ready: moments.at(way) }),
            }
        }
    }
    rows
}

fn text(job: &Job, rows: &[Row], notes: &[(bool, String)]) -> String {
    let row = |row: &Row| {
        let rail = &job.rails[row.rail];
        let when = match &row.ready {
            None => "no time entered".into(),
            Some(r) => {
                let (low, high) = (Time::seconds(r.low), Time::seconds(r.high));
                format!("up not before {low} and surely by {high} after switch-on")
            }
        };
        format!("{} ({}) at {}: {when}", rail.name, rail.nominal.nominal(), loads(job, row))
    };
    let mut parts: Vec<String> = rows.iter().map(row).collect();
    parts.extend(notes.iter().map(|(_, says)| says.clone()));
    if parts.is_empty() { "No rail arrives at a load.".into() } else { parts.join(". ") + "." }
}
