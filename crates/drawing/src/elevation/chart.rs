//! The chart itself: things, conductors and what they come to, with their labels.

use super::heights::Heights;
use super::path::{Run, runs};
use super::potential::{Potential, Potentials};
use super::slots::{Slot, order};
use super::strands::{self, Strand};
use crate::Width;
use crate::canvas::{Anchor, Canvas, Path, Spot};
use crate::colours;
use crate::labels::{Labels, Place};
use crate::lettering::width as wide;
use crate::numbers;
use voltwright_job::{Job, PartKind, WayUse};
use voltwright_model::Solved;
use voltwright_proof::reading::Function;
use voltwright_quantity::Quantity;

/// Room at the left for the names of levels, and at the right.
pub(super) const LEFT: f64 = 46.0;
pub(super) const RIGHT: f64 = 10.0;
pub(super) const TOP: f64 = 20.0;
/// Half the width of a thing.
const BAR: f64 = 4.0;
/// Letters beside conductors.
const CODE: (&str, f64) = ("d-code d-halo", 11.0);

/// What a rail comes to at a load.
#[derive(Debug, Clone, Copy)]
pub(super) struct Landing {
    pub load: usize,
    pub rail: usize,
    /// Volts as the load sees them, and against 0 V of the supply.
    pub seen: f64,
    pub volts: f64,
    /// Whether it lies within its tolerance; nothing where none is entered.
    pub holds: Option<bool>,
    /// Whether power reaches it with what is open left open.
    pub is_alive: bool,
}

pub(super) struct Chart<'s> {
    pub job: &'s Job,
    pub solved: &'s Solved<'s>,
    pub open: &'s [usize],
    pub potentials: Potentials<'s>,
    pub heights: Heights,
    pub slots: Vec<Slot>,
    pub runs: Vec<Run>,
    pub landings: Vec<Landing>,
    pub width: Width,
    /// Things before the first supply.
    pub mains: usize,
}

impl<'s> Chart<'s> {
    pub fn of(solved: &'s Solved<'s>, open: &'s [usize], width: Width) -> Self {
        let job = solved.job;
        let potentials = Potentials::of(solved, open);
        let (mut runs, links) = runs(job, &potentials);
        let slots = order(job, &links, &solved.stage.connected);
        let place = |s: Slot| slots.iter().position(|known| *known == s);
        for run in &mut runs {
            if place(run.ends[0].0) > place(run.ends[1].0) {
                run.ends.swap(0, 1);
            }
        }
        let landings = landings(job, &potentials);
        let of_runs = runs.iter().flat_map(|r| r.ends).filter_map(|(_, p)| match p {
            Potential::Volts(v) => Some(v),
            _ => None,
        });
        let heights =
            Heights::new(&potentials.levels(), of_runs.chain(landings.iter().map(|l| l.volts)), TOP);
        let mains = slots.iter().position(|s| is_supply(job, *s)).unwrap_or(0);
        Self { job, solved, open, potentials, heights, slots, runs, landings, width, mains }
    }

    /// Loads that are not plugged in.
    pub fn is_out(&self, slot: Slot) -> bool {
        matches!(slot, Slot::Load(l) if !self.solved.stage.connected[l])
    }

    /// Room that a thing takes: the mains side has less to tell.
    fn weight(&self, place: usize) -> f64 {
        if place < self.mains { 0.62 } else { 1.0 }
    }

    /// From a thing to the one after it.
    pub fn pitch(&self, place: usize) -> f64 {
        let all: f64 = (0..self.slots.len()).map(|i| self.weight(i)).sum();
        (self.width.px() - LEFT - RIGHT) * self.weight(place) / all.max(1.0)
    }

    pub fn place(&self, slot: Slot) -> usize {
        self.slots.iter().position(|s| *s == slot).unwrap_or(0)
    }

    pub fn x(&self, slot: Slot) -> f64 {
        let place = self.place(slot);
        let before: f64 = (0..place).map(|i| self.pitch(i)).sum();
        LEFT + before + 0.4 * self.pitch(place).min(self.pitch(0))
    }

    pub fn y(&self, potential: Potential) -> f64 {
        self.potentials.height(&self.heights, potential)
    }

    /// Draws it and gives its height.
    pub fn draw(&self, canvas: &mut Canvas) -> f64 {
        let mut labels = Labels::new((self.width.px(), self.heights.bottom));
        self.levels(canvas);
        self.gate(canvas, &mut labels);
        self.slots.iter().for_each(|s| self.bar(canvas, *s));
        let strands = self.strands();
        self.runs.iter().zip(&strands).for_each(|(r, s)| run(canvas, r, s));
        self.slots.iter().for_each(|s| self.through(canvas, *s));
        let (wrong, right): (Vec<&Landing>, Vec<&Landing>) =
            self.landings.iter().partition(|l| l.is_alive && l.holds == Some(false));
        // What is wrong is drawn over the rest, and labelled before it.
        right.iter().chain(&wrong).for_each(|l| self.landing(canvas, l));
        self.landings.iter().for_each(|l| labels.keep(self.disc(l)));
        wrong.iter().for_each(|l| self.value(canvas, &mut labels, l));
        self.runs.iter().zip(&strands).for_each(|(r, s)| code(canvas, &mut labels, r, s));
        right.iter().filter(|l| l.is_alive).for_each(|l| self.value(canvas, &mut labels, l));
        let lowest = strands.iter().flatten().map(|(_, y)| y + 10.0).fold(self.heights.bottom, f64::max);
        let bottom = self.names(canvas, lowest + 14.0);
        self.notes(canvas, &wrong, bottom)
    }

    /// A thing: an upright from the lowest potential that it has to the highest.
    fn bar(&self, canvas: &mut Canvas, slot: Slot) {
        let of_runs =
            self.runs.iter().flat_map(|r| r.ends).filter(|(s, _)| *s == slot).map(|(_, p)| self.y(p));
        let of_landings =
            self.landings.iter().filter(|l| slot == Slot::Load(l.load)).map(|l| self.heights.at(l.volts));
        let ys: Vec<f64> = of_runs.chain(of_landings).collect();
        let top = ys.iter().copied().fold(f64::INFINITY, f64::min);
        let bottom = ys.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if top > bottom {
            return;
        }
        let class = if self.is_out(slot) { "d-bar-out" } else { "d-bar" };
        let x = self.x(slot);
        canvas.rect(class, (x - BAR, top - 5.0), (2.0 * BAR, bottom - top + 10.0), 3.0);
    }

    /// The way of every conductor: its ends at their true heights, between them beside those that it would hide.
    fn strands(&self) -> Vec<Strand> {
        let ends = self.runs.iter().map(|run| {
            let [from, to] = run.ends.map(|(slot, potential)| (self.x(slot), self.y(potential)));
            ((from.0 + BAR, from.1), (to.0 - BAR, to.1))
        });
        let mut strands = strands::laid(&ends.collect::<Vec<_>>());
        for (run, strand) in self.runs.iter().zip(&mut strands) {
            let [(slot, from), (other, to)] = run.ends;
            if slot == other {
                // A strap from a thing to itself is a bow beside it.
                let (x, from, to) = (self.x(slot) + BAR, self.y(from), self.y(to));
                *strand = [(x, from), (x + 10.0, from + 3.0), (x + 10.0, to + 9.0), (x, to)];
            }
        }
        strands
    }

    /// The room that the disc of a landing takes.
    fn disc(&self, landing: &Landing) -> [f64; 4] {
        let (x, y) = (self.x(Slot::Load(landing.load)), self.heights.at(landing.volts));
        [x - 4.0, y - 4.0, x + 4.0, y + 4.0]
    }

    /// What a part joins inside: the way through a fuse or a closed contact, or the gap of an open one.
    fn through(&self, canvas: &mut Canvas, slot: Slot) {
        let Slot::Part(p) = slot else { return };
        let is_open = self.open.contains(&p);
        let x = self.x(slot);
        for (a, b) in voltwright_job::nets::through(&self.job.parts[p].kind) {
            let terminal = |t| voltwright_job::Terminal::Part(p, t);
            let is_wired = |t| self.job.wires.iter().any(|w| [w.from, w.to].contains(&terminal(t)));
            if !is_wired(a) || !is_wired(b) {
                continue;
            }
            let (a, b) = (self.y(self.potentials.at(terminal(a))), self.y(self.potentials.at(terminal(b))));
            if is_open {
                canvas.circle("d-ground", (x, a), 9.0);
                canvas.line("d-line", (x - 7.0, a), (x + 4.0, b - 9.0));
                canvas.circle("d-hole", (x - 7.0, a), 2.6);
                canvas.circle("d-hole", (x + 7.0, b), 2.6);
            } else {
                canvas.line("d-line", (x - BAR, a), (x + BAR, b));
            }
        }
    }

    /// Where a rail arrives at a load: a disc, with a cross where it is outside its tolerance.
    fn landing(&self, canvas: &mut Canvas, landing: &Landing) {
        let (x, y) = (self.x(Slot::Load(landing.load)), self.heights.at(landing.volts));
        match landing.holds {
            _ if !landing.is_alive => canvas.circle("d-hole", (x, y), 2.6),
            Some(false) => {
                canvas.circle("d-black", (x, y), 5.0);
                let path = Path::at((x - 3.0, y - 3.0)).to((x + 3.0, y + 3.0));
                canvas.path("d-line d-stop", &path.jump((x - 3.0, y + 3.0)).to((x + 3.0, y - 3.0)));
            }
            _ => canvas.circle("d-mark", (x, y), 3.0),
        }
    }

    /// The volts that a load sees, beside where they arrive.
    fn value(&self, canvas: &mut Canvas, labels: &mut Labels, landing: &Landing) {
        let (x, y) = (self.x(Slot::Load(landing.load)), self.heights.at(landing.volts));
        let class = match landing.holds {
            Some(false) => "d-code d-stop-text d-halo",
            _ => "d-code d-halo",
        };
        let volts = numbers::value(Function::Volts, landing.seen);
        let rail = &self.job.rails[landing.rail].name.text;
        let text = if landing.holds == Some(false) { format!("{rail} {volts}") } else { volts };
        labels.write(canvas, (class, 11.0), around((x, y)), &text);
    }
}

fn is_supply(job: &Job, slot: Slot) -> bool {
    let supplies = |p: usize| matches!(job.parts[p].kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_));
    matches!(slot, Slot::Part(p) if supplies(p))
}

/// What arrives at every load that is plugged in.
fn landings(job: &Job, potentials: &Potentials<'_>) -> Vec<Landing> {
    let mut landings = Vec::new();
    for (l, load) in job.loads.iter().enumerate() {
        let on = |r: usize| load.sockets.iter().flat_map(|s| &s.ways).any(|(way, _)| *way == WayUse::Rail(r));
        for (r, rail) in job.rails.iter().enumerate().filter(|(r, _)| on(*r)) {
            let Some((seen, volts)) = potentials.rail(l, r) else { continue };
            let holds = rail.tolerance.as_ref().map(|t| t.low.si() <= seen && seen <= t.high.si());
            let is_alive = job.way(l, WayUse::Rail(r)).is_none_or(|way| potentials.is_alive(way));
            landings.push(Landing { load: l, rail: r, seen, volts, holds, is_alive });
        }
    }
    landings
}

/// Places around a point, the right one first.
fn around((x, y): Spot) -> Vec<Place> {
    let right = [4.0, -7.0, 15.0].map(|dy| ((x + 8.0, y + dy), Anchor::Start));
    let left = [-7.0, 15.0, 4.0].map(|dy| ((x - 8.0, y + dy), Anchor::End));
    right.into_iter().chain(left).collect()
}

/// A conductor from thing to thing; dashed where no power reaches it.
fn run(canvas: &mut Canvas, run: &Run, strand: &Strand) {
    let path = Path::through(strand);
    match run.is_alive {
        true => colours::run(canvas, &path, &run.coat.paints),
        false => canvas.path("d-dash", &path),
    }
    canvas.circle("d-mark", strand[0], 2.2);
    canvas.circle("d-mark", strand[3], 2.2);
}

/// The letters of a conductor: on it where there is room, else close to it; nowhere if they would seem another's.
fn code(canvas: &mut Canvas, labels: &mut Labels, run: &Run, [start, from, to, end]: &Strand) {
    let letters = run.coat.code.as_deref().unwrap_or_default();
    let text = if run.count > 1 { format!("{letters} ×{}", run.count) } else { letters.to_owned() };
    let text = text.trim();
    let place = |(left, right): (f64, f64), dy: f64| {
        let long = (right - left - wide(text, CODE.1)).max(0.0);
        let steps = (long / 6.0) as usize + 1;
        let at = move |i: usize| {
            let x = left + 1.0 + long * i as f64 / steps as f64;
            let share = (x - from.0) / (to.0 - from.0).max(1.0);
            ((x, from.1 + share.clamp(0.0, 1.0) * (to.1 - from.1) + dy), Anchor::Start)
        };
        (0..=steps).map(at).collect::<Vec<Place>>()
    };
    let (lane, whole) = ((from.0, to.0), (start.0, end.0));
    // Protective earth runs close below the neutral.
    let above = if run.ends[0].1 == Potential::Earth { 13.0 } else { -5.0 };
    let places = [place(lane, 4.0), place(whole, 4.0), place(whole, above), place(whole, 13.0)];
    if !text.is_empty() {
        labels.write(canvas, CODE, places.concat(), text);
    }
}
