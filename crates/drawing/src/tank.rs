//! What each output of a supply must hold, as a vessel: its rating the rim, each load a layer, its spread hatched, the starts a
//! tide mark, the least load it needs a mark at the wall.

use crate::canvas::{Anchor, Canvas, Path, Spot};
use crate::lettering::cut;
use crate::numbers;
use crate::{Drawing, PHONE};
use voltwright_job::{Given, Job, Output, PartKind, Terminal};
use voltwright_model::Solved;
use voltwright_proof::reading::Function;
use voltwright_quantity::{Current, Quantity};
use voltwright_rules::Severity;
use voltwright_rules::demand::{Demand, demands, live_terminal};
use voltwright_rules::rule::rail_budget;
use voltwright_rules::sink::Sink;

/// The vessel: left and right wall, rim and bottom.
const LEFT: f64 = 64.0;
const RIGHT: f64 = 154.0;
const TOP: f64 = 62.0;
const BOTTOM: f64 = 222.0;
/// From one label to the next, at least.
const LABEL: f64 = 30.0;
/// Amperes that count as none.
const NONE: f64 = 1e-6;

/// The tanks of all outputs of supplies and converters that something draws from or that need a load.
pub fn tanks(solved: &Solved<'_>, id_prefix: &str) -> Vec<Drawing> {
    let all = demands(solved);
    let mut sink = Sink::of_margins();
    rail_budget::run(solved, &mut sink);
    let of = |(i, demand): (usize, &Demand)| {
        let fails = sink.judged.iter().filter(|j| j.key == i && j.fails()).map(|j| (j.code.name, j.severity));
        let tank = Tank::of(solved, demand, fails.collect())?;
        Some(tank.draw(&format!("{id_prefix}-{}", i + 1)))
    };
    all.iter().enumerate().filter_map(of).collect()
}

/// What one consumer asks for, amperes.
#[derive(Debug, Clone)]
struct Layer {
    name: String,
    low: f64,
    nominal: f64,
    high: f64,
}

#[derive(Debug)]
struct Tank {
    name: String,
    layers: Vec<Layer>,
    /// The rating, and what it holds for a while.
    rating: Option<f64>,
    ceiling: Option<f64>,
    least: Option<f64>,
    /// All starts together; nothing where they ask for no more than running.
    start: Option<(f64, String)>,
    /// Amperes at the rim.
    full: f64,
    /// What it is asked for while running, at most and at least.
    run: (f64, f64),
    /// What the rail budget says of it, the gravest first.
    fails: Vec<(&'static str, Severity)>,
}

impl Tank {
    fn of(solved: &Solved<'_>, demand: &Demand, mut fails: Vec<(&'static str, Severity)>) -> Option<Self> {
        let job = solved.job;
        fails.sort_by_key(|(_, severity)| *severity);
        let (p, o) = demand.output;
        let (PartKind::MainsSupply(s) | PartKind::Converter(s)) = &job.parts[p].kind else { return None };
        let output = &s.outputs[o];
        let layers = layers(solved, demand);
        if layers.is_empty() && output.least.is_none() {
            return None;
        }
        let amps = |given: &Given<Current>| given.nominal().si();
        let rating = output.limit.as_ref().map(amps);
        let ceiling = output.ceiling().map(amps).filter(|c| rating.is_none_or(|r| *c > r * 1.001));
        let lasting = demand.start_time.map_or(String::new(), |t| format!(" for {t}"));
        let is_more = demand.start_high.si() > demand.run_high.si() * 1.001;
        let start = is_more.then(|| (demand.start_high.si(), lasting));
        let stack: f64 = layers.iter().map(|l| l.high).sum();
        let most = stack.max(start.as_ref().map_or(0.0, |s| s.0));
        let full = rating.or(ceiling).unwrap_or(1.25 * most).max(NONE);
        let run = (demand.run_high.si(), demand.light.si());
        let name = name(job, demand, output, &job.parts[p].key.text);
        Some(Self {
            name,
            layers,
            rating,
            ceiling,
            least: output.least.as_ref().map(amps),
            start,
            full,
            run,
            fails,
        })
    }

    /// Height of so many amperes: the rim is where the rating is, and what is more goes above it up to a fifth.
    fn y(&self, amps: f64) -> f64 {
        let most = [self.ceiling.unwrap_or(0.0), self.stack(), self.start.as_ref().map_or(0.0, |s| s.0)];
        let most = most.into_iter().fold(self.full, f64::max);
        BOTTOM - (BOTTOM - TOP) * (amps / most).clamp(0.0, 1.0)
    }

    fn stack(&self) -> f64 {
        self.layers.iter().map(|l| l.high).sum()
    }

    fn draw(&self, id_prefix: &str) -> Drawing {
        let title = format!("Tank of {}", self.name);
        let text = self.text();
        let mut canvas = Canvas::new();
        canvas.text("d-strong", (12.0, 20.0), Anchor::Start, &cut(&self.name, 13.0, PHONE - 24.0));
        self.fill(&mut canvas);
        self.vessel(&mut canvas);
        self.marks(&mut canvas);
        let below = self.verdict();
        let class = if below.0 { "d-label d-stop-text" } else { "d-label" };
        canvas.text(class, (12.0, BOTTOM + 28.0), Anchor::Start, &below.1);
        let mut bottom = BOTTOM + 38.0;
        if self.layers.iter().any(|l| l.high > l.low + NONE) {
            bottom += 14.0;
            let legend = "hatched: from the least to the most it may draw";
            canvas.text("d-small", (12.0, bottom - 6.0), Anchor::Start, legend);
        }
        Drawing { svg: canvas.finish((PHONE, bottom), id_prefix, &title, &text), text }
    }

    /// The layers from the bottom up, and their labels at the right.
    fn fill(&self, canvas: &mut Canvas) {
        let mut base = 0.0;
        let mut labels: Vec<(f64, String, String)> = Vec::new();
        for layer in &self.layers {
            let (bottom, solid, top) = (self.y(base), self.y(base + layer.low), self.y(base + layer.high));
            canvas.rect("d-level", (LEFT, solid), (RIGHT - LEFT, bottom - solid), 0.0);
            canvas.path("d-hatch", &hatch(solid, top));
            canvas.line("d-line", (LEFT, top), (RIGHT, top));
            labels.push(((bottom + top) / 2.0, layer.name.clone(), layer.words()));
            base += layer.high;
        }
        if let Some((start, lasting)) = &self.start {
            canvas.path("d-line", &wave(self.y(*start)));
            labels.push((self.y(*start), "all starts together".into(), format!("{}{lasting}", show(*start))));
        }
        labels.sort_by(|a, b| b.0.total_cmp(&a.0));
        let x = RIGHT + 20.0;
        let places = apart(&labels.iter().map(|l| l.0).collect::<Vec<_>>());
        for (y, (from, name, words)) in places.into_iter().zip(labels) {
            let leader = [(RIGHT - 6.0, from), (RIGHT + 8.0, from), (RIGHT + 16.0, y)];
            canvas.path("d-thin d-quiet", &Path::through(&leader));
            canvas.circle("d-mark", (RIGHT - 6.0, from), 1.8);
            canvas.text("d-label", (x, y - 1.0), Anchor::Start, &cut(&name, 12.0, PHONE - x - 4.0));
            canvas.text("d-small", (x, y + 12.0), Anchor::Start, &cut(&words, 11.0, PHONE - x - 4.0));
        }
    }

    /// The walls up to the rating, dashed up to what it holds for a while.
    fn vessel(&self, canvas: &mut Canvas) {
        let rim = self.y(self.full);
        let walls = [(LEFT, rim), (LEFT, BOTTOM), (RIGHT, BOTTOM), (RIGHT, rim)];
        canvas.path("d-heavy", &Path::through(&walls));
        if let Some(ceiling) = self.ceiling.filter(|_| self.rating.is_some()) {
            let top = self.y(ceiling);
            canvas.path("d-dash", &Path::through(&[(LEFT, rim), (LEFT, top), (RIGHT, top), (RIGHT, rim)]));
        }
    }

    /// Numbers at the left wall.
    fn marks(&self, canvas: &mut Canvas) {
        let mut taken: Vec<f64> = Vec::new();
        let mut mark = |canvas: &mut Canvas, y: f64, amps: f64, word: &str| {
            canvas.line("d-thin", (LEFT - 8.0, y), (LEFT, y));
            let mut label = y + 4.0;
            while taken.iter().any(|t| (t - label).abs() < 25.0) {
                label += 1.0;
            }
            taken.push(label);
            canvas.text("d-label", (LEFT - 11.0, label), Anchor::End, &show(amps));
            canvas.text("d-small", (LEFT - 11.0, label + 12.0), Anchor::End, word);
        };
        if let Some(ceiling) = self.ceiling {
            mark(canvas, self.y(ceiling), ceiling, "peak");
        }
        if let Some(rating) = self.rating {
            mark(canvas, self.y(rating), rating, "rated");
        }
        if let Some(least) = self.least {
            mark(canvas, self.y(least), least, "least");
        }
    }

    /// What the rail budget says, in words, and whether it stops.
    fn verdict(&self) -> (bool, String) {
        let running = format!("at most {} while running", show(self.run.0));
        let Some((code, severity)) = self.fails.first() else { return (false, running) };
        let start = self.start.as_ref().map_or(0.0, |s| s.0);
        let says = match *code {
            "output-over-rating" => format!("runs over: up to {}", show(self.run.0)),
            "output-over-share" => format!("full for long: {running}"),
            "peak-over-limit" => format!("starts run over: up to {}", show(start)),
            "peak-too-long" => "a start lasts longer than its peak may".into(),
            "under-least-load" => format!("under its least load: down to {}", show(self.run.1)),
            "output-capacitance" => "more capacitance on it than it starts".into(),
            "peak-not-bridged" => "no capacitor that it starts bridges the peak".into(),
            other => other.to_owned(),
        };
        match severity {
            Severity::Stop => (true, format!("STOP: {says}")),
            _ => (false, format!("Caution: {says}")),
        }
    }

    fn text(&self) -> String {
        let layers: Vec<String> = self.layers.iter().map(|l| format!("{} {}", l.name, l.words())).collect();
        let limits = [(self.rating, "rated"), (self.ceiling, "peak"), (self.least, "least load")];
        let limits: Vec<String> =
            limits.iter().filter_map(|(amps, word)| Some(format!("{word} {}", show((*amps)?)))).collect();
        let mut text = format!("{}: {}. Drawn from it: ", self.name, limits.join(", "));
        text.push_str(if layers.is_empty() { "nothing" } else { "" });
        text.push_str(&layers.join("; "));
        if let Some((start, lasting)) = &self.start {
            text.push_str(&format!(". All starts together: {}{lasting}", show(*start)));
        }
        format!("{text}. {}.", self.verdict().1)
    }
}

impl Layer {
    /// `2.3 A, 1.73 A to 2.88 A`.
    fn words(&self) -> String {
        if self.high - self.low < 1e-9 {
            return show(self.nominal);
        }
        format!("{}, {}", show(self.nominal), numbers::range(Function::Amps, self.low, self.high))
    }
}

fn show(amps: f64) -> String {
    numbers::value(Function::Amps, amps)
}

/// `supply.v1 · p5`.
fn name(job: &Job, demand: &Demand, output: &Output, part: &str) -> String {
    let mut rails: Vec<&str> = demand
        .draws
        .iter()
        .map(|(l, d)| job.rails[job.loads[*l].draws[*d].rail].name.text.as_str())
        .collect();
    rails.dedup();
    let rails = if rails.is_empty() { String::new() } else { format!(" · {}", rails.join(", ")) };
    format!("{part}.{} · {}{rails}", output.name, output.volts.nominal())
}

/// Each draw, then what regulators, converters and preloads take.
fn layers(solved: &Solved<'_>, demand: &Demand) -> Vec<Layer> {
    let job = solved.job;
    let one = |(l, d): &(usize, usize)| {
        let (load, run) = (&job.loads[*l], &job.loads[*l].draws[*d].run.spread);
        let (a, b) = (run.low.si().abs(), run.high.si().abs());
        Layer { name: load.name.clone(), low: a.min(b), nominal: run.nominal.si().abs(), high: a.max(b) }
    };
    let mut layers: Vec<Layer> = demand.draws.iter().map(one).collect();
    let (nominal, high): (f64, f64) =
        (layers.iter().map(|l| l.nominal).sum(), layers.iter().map(|l| l.high).sum());
    let rest = demand.run.si() - nominal;
    // The solved circuit differs a little from the entered draws where these follow the voltage.
    if rest > 0.02 * demand.run.si().max(NONE) {
        let most = (demand.run_high.si() - high).max(rest);
        let name = takers(solved, demand).unwrap_or_else(|| "other parts".into());
        layers.push(Layer { name, low: rest, nominal: rest, high: most });
    }
    layers
}

/// The regulators, converters and resistors on an output.
fn takers(solved: &Solved<'_>, demand: &Demand) -> Option<String> {
    let (job, nets) = (solved.job, &solved.wiring().paths);
    let (p, o) = demand.output;
    let net = nets.net(Terminal::Part(p, live_terminal(job, p, o)?));
    let is_taker = |(q, part): &(usize, &voltwright_job::Part)| {
        let on = |t: usize| nets.net(Terminal::Part(*q, t)) == net;
        match part.kind {
            PartKind::Regulator(_) | PartKind::Converter(_) => on(0),
            PartKind::Resistor(_) => on(0) || on(1),
            _ => false,
        }
    };
    let names: Vec<&str> =
        job.parts.iter().enumerate().filter(is_taker).map(|(_, part)| part.key.text.as_str()).collect();
    (!names.is_empty()).then(|| names.join(", "))
}

/// Slanting lines across the vessel between two heights.
fn hatch(bottom: f64, top: f64) -> Path {
    let mut path = Path::default();
    let height = bottom - top;
    if height < 0.5 {
        return path;
    }
    let mut x = LEFT - height;
    while x < RIGHT {
        let (from, to): (Spot, Spot) = ((x, bottom), (x + height, top));
        let start = (from.0.max(LEFT), from.1 - (from.0.max(LEFT) - from.0));
        let end = (to.0.min(RIGHT), to.1 + (to.0 - to.0.min(RIGHT)));
        if start.0 < end.0 {
            path = path.jump(start).to(end);
        }
        x += 6.0;
    }
    path
}

/// A tide mark: a line in small waves across the vessel.
fn wave(y: f64) -> Path {
    let mut path = Path::at((LEFT + 3.0, y));
    let mut x = LEFT + 3.0;
    while x + 12.0 <= RIGHT - 2.0 {
        path = path.to((x + 6.0, y - 3.0)).to((x + 12.0, y));
        x += 12.0;
    }
    path
}

/// Heights of labels given from low to high, moved apart where they would touch, and kept on the drawing.
fn apart(labels: &[f64]) -> Vec<f64> {
    let mut ys = labels.to_vec();
    for i in 1..ys.len() {
        ys[i] = ys[i].min(ys[i - 1] - LABEL);
    }
    let above = ys.last().map_or(0.0, |y| (44.0 - y).max(0.0));
    ys.iter().map(|y| y + above).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_their_distance() {
        let ys = apart(&[200.0, 195.0, 100.0]);
        assert!(ys[0] - ys[1] >= LABEL && ys[1] - ys[2] >= LABEL, "{ys:?}");
    }

    #[test]
    fn hatching_stays_in_the_vessel() {
        let svg = format!("{:?}", hatch(100.0, 60.0));
        let numbers =
            svg.split(|c: char| !c.is_ascii_digit() && c != '.').filter_map(|n| n.parse::<f64>().ok());
        assert!(
            numbers.clone().count() > 20 && numbers.into_iter().all(|n| (60.0..=RIGHT).contains(&n)),
            "{svg}"
        );
    }
}
