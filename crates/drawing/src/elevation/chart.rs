//! The chart itself: where things, conductors and what they come to stand.

use super::flags::{Flags, WORD};
use super::heights::Heights;
use super::landing::{self, Landing, landings};
use super::path::{Bundle, bundles};
use super::potential::{Potential, Potentials};
use super::slots::{Slot, order};
use super::strands::{self, Bare, Laying, Strand};
use super::tags::{GAP, Kind, Tags, wide_of};
use crate::Width;
use crate::canvas::Spot;
use crate::colours::half;
use voltwright_job::{Job, PartKind};
use voltwright_model::Solved;
use voltwright_rules::Finding;

/// Room at the left for the names of levels, and at the right for what stands beside the last thing.
pub(super) const LEFT: f64 = 46.0;
const RIGHT: (f64, f64) = (24.0, 80.0);
/// Over what length a conductor goes into its lane: a share of a step, and the most of it.
const BEND: (f64, f64) = (0.2, 9.0);
/// From the edge to the first thing.
const FIRST: f64 = 12.0;
/// Above everything.
const TOP: f64 = 8.0;
/// Half the width of a thing.
pub(super) const BAR: f64 = 4.0;
/// How much further apart levels are drawn, until everything has its place.
const STRETCHES: [f64; 7] = [1.0, 1.1, 1.25, 1.45, 1.75, 2.1, 2.5];
/// What drawing levels twice as far apart costs, counted in letters that stand far from their place.
const TALLER: f64 = 6.0;
/// Growing a piece moves what is in it, so that it may want more; it soon has enough.
const ROUNDS: usize = 12;
/// What the mains side takes of the width of a step: it has less to tell.
const MAINS_SIDE: f64 = 0.62;

pub(super) struct Chart<'s> {
    pub job: &'s Job,
    pub solved: &'s Solved<'s>,
    pub open: &'s [usize],
    pub potentials: Potentials<'s>,
    pub heights: Heights,
    pub slots: Vec<Slot>,
    pub bundles: Vec<Bundle>,
    pub landings: Vec<Landing>,
    pub flags: Flags,
    pub width: Width,
    right: f64,
    /// Things before the first supply.
    pub mains: usize,
}

/// A chart with its conductors and letters at their places.
pub(super) struct Laid<'s> {
    pub chart: Chart<'s>,
    pub strands: Vec<Strand>,
    pub tags: Tags,
}

impl<'s> Chart<'s> {
    fn of(solved: &'s Solved<'s>, open: &'s [usize], findings: &[Finding], width: Width) -> Self {
        let job = solved.job;
        let potentials = Potentials::of(solved, open);
        let (mut bundles, links) = bundles(job, &potentials);
        let slots = order(job, &links, &solved.stage.connected);
        let place = |s: Slot| slots.iter().position(|known| *known == s);
        for bundle in &mut bundles {
            if place(bundle.ends[0].0) > place(bundle.ends[1].0) {
                bundle.ends.swap(0, 1);
            }
        }
        let landings = landings(job, &potentials);
        let flags = Flags::of(job, &slots, findings);
        let mains = slots.iter().position(|s| is_supply(job, *s)).unwrap_or(0);
        let heights = Heights::new(&[], [].into_iter(), 1.0);
        let right = right(job, slots.last(), &landings, &flags);
        Self { job, solved, open, potentials, heights, slots, bundles, landings, flags, width, right, mains }
    }

    /// The heights with levels so far apart.
    fn stretched(&self, stretch: f64) -> Heights {
        let of_bundles = self.bundles.iter().flat_map(|b| b.ends).filter_map(|(_, p)| match p {
            Potential::Volts(v) => Some(v),
            _ => None,
        });
        let values = of_bundles.chain(self.landings.iter().map(|l| l.volts));
        Heights::new(&self.potentials.levels(), values, stretch)
    }

    /// Loads that are not plugged in.
    pub fn is_out(&self, slot: Slot) -> bool {
        matches!(slot, Slot::Load(l) if !self.solved.stage.connected[l])
    }

    /// From a thing to the one after it; after the last, what is left.
    pub fn pitch(&self, place: usize) -> f64 {
        let weight = |place: usize| if place < self.mains { MAINS_SIDE } else { 1.0 };
        let steps = self.slots.len().saturating_sub(1);
        if place >= steps {
            return self.right;
        }
        let all: f64 = (0..steps).map(weight).sum();
        (self.width.px() - LEFT - FIRST - self.right) * weight(place) / all
    }

    pub fn place(&self, slot: Slot) -> usize {
        self.slots.iter().position(|s| *s == slot).unwrap_or(0)
    }

    pub fn x(&self, slot: Slot) -> f64 {
        LEFT + FIRST + (0..self.place(slot)).map(|i| self.pitch(i)).sum::<f64>()
    }

    pub fn y(&self, potential: Potential) -> f64 {
        self.potentials.height(&self.heights, potential)
    }

    /// The height of the highest potential that a thing has, and of the lowest.
    pub fn span(&self, slot: Slot) -> Option<(f64, f64)> {
        let of_bundles =
            self.bundles.iter().flat_map(|b| b.ends).filter(|(s, _)| *s == slot).map(|(_, p)| self.y(p));
        let of_landings =
            self.landings.iter().filter(|l| slot == Slot::Load(l.load)).map(|l| self.heights.at(l.volts));
        of_bundles.chain(of_landings).fold(None, |span, y| match span {
            None => Some((y, y)),
            Some((top, bottom)) => Some((y.min(top), y.max(bottom))),
        })
    }

    /// Where a rail arrives at a load.
    pub fn arrival(&self, landing: &Landing) -> Spot {
        (self.x(Slot::Load(landing.load)), self.heights.at(landing.volts))
    }

    /// What of that is written.
    pub fn shown(&self) -> Vec<&Landing> {
        landing::shown(self.job, &self.slots, &self.landings)
    }

    /// How far from the middle of a thing its conductors end: a part has two sides, a load is one place.
    fn side(slot: Slot) -> f64 {
        if matches!(slot, Slot::Load(_)) { 0.0 } else { BAR }
    }

    /// The way of every conductor: its ends at their true heights, between them beside those that it would hide.
    fn laying(&self) -> Laying {
        let bare = self.bundles.iter().map(|bundle| {
            let [from, to] = bundle.ends.map(|(slot, potential)| (self.x(slot), self.y(potential)));
            let [start, end] = bundle.ends.map(|(slot, _)| Self::side(slot));
            let half = half(bundle.paints().len());
            let has_volts = bundle.ends.iter().all(|(_, p)| matches!(p, Potential::Volts(_)));
            Bare { from: (from.0 + start, from.1), to: (to.0 - end, to.1), half, has_volts }
        });
        let least = (0..self.slots.len()).map(|i| self.pitch(i)).fold(f64::INFINITY, f64::min);
        let pieces = self.heights.pieces();
        let mut laying = strands::laid(&bare.collect::<Vec<_>>(), (BEND.0 * least).min(BEND.1), &pieces);
        for (bundle, strand) in self.bundles.iter().zip(&mut laying.strands) {
            let [(slot, from), (other, to)] = bundle.ends;
            if slot == other {
                // A strap from a thing to itself is a bow beside it.
                let (x, from, to) = (self.x(slot) + BAR, self.y(from), self.y(to));
                *strand = [(x, from), (x + 20.0, from + 5.0), (x + 20.0, to + 16.0), (x, to)];
            }
        }
        laying
    }

    /// The same, and every piece of the scale so high that its lanes stay in it.
    fn grown(&mut self) -> Vec<Strand> {
        let mut laying = self.laying();
        for _ in 0..ROUNDS {
            if laying.wanted.iter().all(|by| *by <= 0.0) {
                break;
            }
            for (piece, by) in laying.wanted.iter().enumerate().filter(|(_, by)| **by > 0.0) {
                self.heights.grow(piece, *by + 0.1);
            }
            laying = self.laying();
        }
        laying.strands
    }
}

impl<'s> Laid<'s> {
    /// The chart of a solved job: levels as near to each other as leaves every conductor a lane and all letters a place.
    pub fn of(solved: &'s Solved<'s>, open: &'s [usize], findings: &[Finding], width: Width) -> Self {
        let mut chart = Chart::of(solved, open, findings, width);
        let mut best = (f64::INFINITY, 1.0);
        for stretch in STRETCHES {
            let price = TALLER * (stretch - 1.0);
            if best.0 <= price {
                break;
            }
            chart.heights = chart.stretched(stretch);
            let strands = chart.grown();
            let poor = Tags::of(&chart, &strands).poor();
            if poor as f64 + price < best.0 {
                best = (poor as f64 + price, stretch);
            }
        }
        chart.heights = chart.stretched(best.1);
        chart.grown();
        let laid = Self::at(chart);
        let top = laid.reach().0;
        let Self { mut chart, .. } = laid;
        chart.heights.shift(TOP - top);
        Self::at(chart)
    }

    fn at(chart: Chart<'s>) -> Self {
        let strands = chart.laying().strands;
        let tags = Tags::of(&chart, &strands);
        Self { chart, strands, tags }
    }

    /// How high and how low anything of it reaches.
    pub fn reach(&self) -> (f64, f64) {
        let of_strands = self.strands.iter().flatten().map(|(_, y)| *y);
        let of_things = self.chart.slots.iter().filter_map(|s| self.chart.span(*s)).flat_map(|(a, b)| [a, b]);
        let of_levels = self
            .chart
            .names_of_levels()
            .into_iter()
            .flat_map(|n| [n.y - 2.0, n.y + if n.is_small { 14.0 } else { 2.0 }]);
        let of_kept = self.chart.kept().into_iter().flat_map(|r| [r[1] + 6.0, r[3] - 6.0]);
        let all: Vec<f64> = of_strands.chain(of_things).chain(of_levels).chain(of_kept).collect();
        let (top, bottom) = self.tags.reach();
        (
            all.iter().fold(f64::INFINITY, |t, y| t.min(y - 6.0)).min(top),
            all.iter().fold(f64::NEG_INFINITY, |b, y| b.max(y + 6.0)).max(bottom),
        )
    }
}

/// The room that the last thing needs at its right: for what arrives there, and for flags.
fn right(job: &Job, last: Option<&Slot>, landings: &[Landing], flags: &Flags) -> f64 {
    let is_last = |l: &&Landing| last == Some(&Slot::Load(l.load)) && l.is_alive;
    let volts =
        landings.iter().filter(is_last).map(|l| wide_of(&Kind::Value { is_wrong: false }, &l.words(job)));
    let flag = (!flags.places.is_empty()).then(|| wide_of(&Kind::Flag, WORD));
    let widest = volts.chain(flag).fold(0.0, f64::max);
    (widest + BAR + GAP + 2.0).clamp(RIGHT.0, RIGHT.1)
}

fn is_supply(job: &Job, slot: Slot) -> bool {
    let supplies = |p: usize| matches!(job.parts[p].kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_));
    matches!(slot, Slot::Part(p) if supplies(p))
}
