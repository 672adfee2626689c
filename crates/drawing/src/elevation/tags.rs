//! Letters on the chart: each at the best place that is free for it.

use super::chart::{BAR, Chart, LEFT};
use super::flags::WORD;
use super::landing::Landing;
use super::path::Bundle;
use super::room::{Rect, Room, overlap};
use super::strands::{Strand, height};
use crate::canvas::{Anchor, Canvas, Spot};
use crate::colours::half;
use crate::lettering::width as wide;

/// Size of letters, and the height of their box.
const SIZE: f64 = 11.0;
const HIGH: f64 = 11.5;
/// Room at both sides of them.
const BESIDE: f64 = 1.5;
/// From place to place that is tried.
const STEP: f64 = 2.0;
/// Between a thing and what stands beside it.
pub(super) const GAP: f64 = 3.0;
/// How far from its node a value may stand, and from where on a line leads to it.
const FAR: f64 = 90.0;
const LED: f64 = 13.0;
/// A line of this length is too long, where levels further apart would make it shorter.
const LONG: f64 = 36.0;
/// How far from its conductor letters may stand.
const AWAY: f64 = 70.0;
/// A flag: its height, and the room at both sides of its word.
const FLAG: f64 = 15.0;
const CLOTH: f64 = 4.0;

/// What a tag is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A conductor's letters, on paper.
    Code,
    /// Volts; wrong ones in the colour of stops.
    Value {
        is_wrong: bool,
    },
    Flag,
}

/// Letters at their place.
#[derive(Debug, Clone)]
pub(super) struct Tag {
    pub kind: Kind,
    pub text: String,
    pub rect: Rect,
    /// A line from what it belongs to, where it stands aside.
    pub leader: Option<(Spot, Spot)>,
}

/// All letters of a chart, and how many found no place.
#[derive(Debug)]
pub(super) struct Tags {
    room: Room,
    pub tags: Vec<Tag>,
    pub missing: usize,
}

impl Tags {
    /// For a chart whose conductors are laid.
    pub fn of(chart: &Chart<'_>, strands: &[Strand]) -> Self {
        let mut all = Self { room: room(chart, strands), tags: Vec::new(), missing: 0 };
        let (wrong, right): (Vec<&Landing>, Vec<&Landing>) =
            chart.shown().into_iter().partition(|l| l.is_wrong());
        wrong.iter().for_each(|l| all.value(chart, l));
        let mut left: Vec<usize> =
            (0..strands.len()).filter(|b| !chart.bundles[*b].letters().is_empty()).collect();
        let long = |b: &usize| strands[*b][2].0 - strands[*b][1].0;
        left.sort_by(|a, b| long(a).total_cmp(&long(b)).then(a.cmp(b)));
        left.retain(|b| !all.on(&chart.bundles[*b], *b, &strands[*b]));
        right.iter().for_each(|l| all.value(chart, l));
        left.iter().for_each(|b| all.beside(&chart.bundles[*b], *b, &strands[*b]));
        // What has the least choice came first.
        chart.hung(strands).into_iter().for_each(|spot| all.flag(spot));
        all
    }

    /// How high they reach, and how low.
    pub fn reach(&self) -> (f64, f64) {
        let tops = self.tags.iter().map(|t| t.rect[1]).fold(f64::INFINITY, f64::min);
        (tops, self.tags.iter().map(|t| t.rect[3]).fold(f64::NEG_INFINITY, f64::max))
    }

    /// How many found none, or stand so far away that one must look twice.
    pub fn poor(&self) -> usize {
        let is_long = |((x, y), (to_x, to_y)): (Spot, Spot)| (to_x - x).hypot(to_y - y) > LONG;
        let far = self.tags.iter().filter_map(|t| t.leader).filter(|l| is_long(*l)).count();
        far + self.missing * (self.tags.len() + 1)
    }

    fn put(&mut self, tag: Tag) {
        self.room.keep(tag.rect);
        if let Some((from, to)) = tag.leader {
            self.room.line(&[from, to], 1.0, None);
        }
        self.tags.push(tag);
    }

    /// The letters of a bundle on it, in the middle of its longest free stretch; tells whether there was room.
    fn on(&mut self, bundle: &Bundle, owner: usize, strand: &Strand) -> bool {
        let text = bundle.letters();
        let Some(rect) = self.middle(&text, owner, strand, 0.0) else { return false };
        self.put(Tag { kind: Kind::Code, text, rect, leader: None });
        true
    }

    /// The letters of a bundle that has no room for them: close to it, or set closer, or led to it by a line.
    fn beside(&mut self, bundle: &Bundle, owner: usize, strand: &Strand) {
        let (text, close) = (bundle.letters(), half(bundle.paints().len()) + HIGH / 2.0 + 3.0);
        let asides = [-close, close].map(|dy| (&text, dy));
        let dense = bundle.dense();
        let tries = asides.into_iter().chain([0.0, -close, close].map(|dy| (&dense, dy)));
        let near = tries.filter_map(|(text, dy)| Some((self.middle(text, owner, strand, dy)?, text))).next();
        if let Some((rect, text)) = near {
            return self.put(Tag { kind: Kind::Code, text: text.clone(), rect, leader: None });
        }
        match self.led(&dense, owner, strand) {
            Some((rect, leader)) => {
                self.put(Tag { kind: Kind::Code, text: dense, rect, leader: Some(leader) })
            }
            None => self.missing += 1,
        }
    }

    /// A box for letters along a conductor's lane, so far beside it: in the middle of the longest stretch that is free, best where
    /// nothing at all is covered.
    fn middle(&self, text: &str, owner: usize, strand: &Strand, aside: f64) -> Option<Rect> {
        let w = wide(text, SIZE) + 2.0 * BESIDE;
        let over = if aside.abs() > 0.0 { w / 2.0 - STEP } else { 0.0 };
        let (left, right) = (strand[1].0.min(strand[2].0) - over, strand[1].0.max(strand[2].0) + over);
        let count = ((right - left - w) / STEP).floor();
        if count < 0.0 {
            return None;
        }
        let slack = (right - left - w - count * STEP) / 2.0;
        let boxes: Vec<Rect> = (0..=count as usize)
            .map(|i| {
                let x = left + slack + STEP * i as f64;
                let at = (x + w / 2.0).clamp(strand[1].0.min(strand[2].0), strand[1].0.max(strand[2].0));
                around((x, height(strand, at) + aside - HIGH / 2.0), (w, HIGH))
            })
            .collect();
        let free: Vec<bool> =
            boxes.iter().map(|b| self.room.is_free(*b, Some(owner).filter(|_| aside.abs() < 1e-9))).collect();
        let clear: Vec<bool> = boxes.iter().zip(&free).map(|(b, f)| *f && self.room.is_clear(*b)).collect();
        middle_of_longest(&clear).or_else(|| middle_of_longest(&free)).map(|i| boxes[i])
    }

    /// A box further away, with a line that leads to the conductor and crosses as few others as may be.
    fn led(&self, text: &str, owner: usize, strand: &Strand) -> Option<(Rect, (Spot, Spot))> {
        let w = wide(text, SIZE) + 2.0 * BESIDE;
        let (left, right) = (strand[1].0.min(strand[2].0), strand[1].0.max(strand[2].0));
        let mut best: Option<(f64, Rect, (Spot, Spot))> = None;
        for i in 0..=(AWAY / STEP) as usize {
            for sign in [-1.0, 1.0] {
                let away = HIGH / 2.0 + 4.0 + STEP * i as f64;
                for k in 0..9 {
                    let x = left + (right - left) * f64::from(k) / 8.0;
                    let foot = (x, height(strand, x));
                    for lean in [0.0, -0.5, 0.5] {
                        let middle = (x + lean * w, foot.1 + sign * away);
                        let rect = around((middle.0 - w / 2.0, middle.1 - HIGH / 2.0), (w, HIGH));
                        let head = (middle.0, middle.1 - sign * HIGH / 2.0);
                        if !self.room.is_free(rect, None) || !self.room.lets_pass(foot, head, rect) {
                            continue;
                        }
                        let crossed = self.room.crossings(foot, head, Some(owner)) as f64;
                        let covers = f64::from(u8::from(!self.room.is_clear(rect)));
                        let cost = away + 60.0 * crossed + 20.0 * covers + (lean * w).abs();
                        if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                            best = Some((cost, rect, (foot, head)));
                        }
                    }
                }
            }
        }
        best.map(|(_, rect, leader)| (rect, leader))
    }

    /// The volts that a load sees, right of where they arrive.
    fn value(&mut self, chart: &Chart<'_>, landing: &Landing) {
        let (text, kind) = (landing.words(chart.job), Kind::Value { is_wrong: landing.is_wrong() });
        let size = (wide_of(&kind, &text), HIGH);
        self.at_node(kind, text, chart.arrival(landing), size);
    }

    fn flag(&mut self, spot: Spot) {
        self.at_node(Kind::Flag, WORD.to_owned(), spot, (wide_of(&Kind::Flag, WORD), FLAG));
    }

    /// Beside a node: as near as there is room, right before left, and where nothing is covered before where something is.
    fn at_node(&mut self, kind: Kind, text: String, spot: Spot, size: Spot) {
        let mut best: Option<(f64, Rect)> = None;
        for i in 0..=(FAR / STEP) as usize {
            let far = STEP * i as f64;
            // Whatever is further away costs more.
            if best.as_ref().is_some_and(|(least, _)| far > *least) {
                break;
            }
            for (dy, (left, price)) in
                [-far, far].into_iter().flat_map(|dy| sides(spot.0, size.0).map(move |s| (dy, s)))
            {
                let rect = around((left, spot.1 + dy - size.1 / 2.0), size);
                let Some(cost) = self.cost(kind, rect, spot).map(|cost| cost + far + price) else { continue };
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, rect));
                }
            }
        }
        let Some((_, rect)) = best else {
            self.missing += 1;
            return;
        };
        let leader = is_led(kind, &rect, spot).then(|| (spot, foot(&rect, spot)));
        self.put(Tag { kind, text, rect, leader });
    }

    /// What a place beside a node costs, its distance aside; nothing where it is taken.
    fn cost(&self, kind: Kind, rect: Rect, spot: Spot) -> Option<f64> {
        // Above or below, not upon what it belongs to.
        let joint = around((spot.0 - 5.0, spot.1 - 5.0), (10.0, 10.0));
        if overlap(&rect, &joint) || !self.room.is_free(rect, None) {
            return None;
        }
        let covers = if self.room.is_clear(rect) { 0.0 } else { 30.0 };
        if !is_led(kind, &rect, spot) {
            return Some(covers);
        }
        let foot = foot(&rect, spot);
        let crossed = self.room.crossings(spot, foot, None) as f64;
        self.room.lets_pass(spot, foot, joint).then_some(covers + 3.0 * crossed)
    }
}

/// Left edges of a box of a width beside a node, each with what it costs: right of it, left of it, over it, and further aside.
fn sides(x: f64, w: f64) -> impl Iterator<Item = (f64, f64)> {
    let gap = BAR + GAP;
    let close = [(x + gap, 0.0), (x - gap - w, 7.0), (x - w / 2.0, 5.0)];
    let aside = [0.5, 1.0, 1.5].map(|share| share * w / 2.0);
    let further =
        aside.into_iter().flat_map(move |by| [(x + gap + by, 8.0 + by), (x - gap - w - by, 15.0 + by)]);
    let partly = [(x - 0.25 * w, 8.0), (x - 0.75 * w, 8.0)];
    close.into_iter().chain(partly).chain(further)
}

/// Whether a line leads to it.
fn is_led(kind: Kind, rect: &Rect, spot: Spot) -> bool {
    let (end, middle) = (foot(rect, spot), (rect[1] + rect[3]) / 2.0);
    kind == Kind::Flag || (middle - spot.1).abs() > LED || (end.0 - spot.0).abs() > BAR + GAP + 1.0
}

impl Tag {
    /// Draws it.
    pub fn draw(&self, canvas: &mut Canvas) {
        let [left, top, right, bottom] = self.rect;
        let (corner, size) = ((left, top), (right - left, bottom - top));
        let line = if self.kind == Kind::Flag { "d-line d-stop" } else { "d-thin" };
        if let Some((from, to)) = self.leader {
            canvas.line(line, from, to);
        }
        let class = match self.kind {
            Kind::Code => {
                canvas.rect("d-ground", corner, size, 2.0);
                "d-code"
            }
            Kind::Value { is_wrong: false } => "d-code d-halo",
            Kind::Value { is_wrong: true } => "d-code d-stop-text d-halo",
            Kind::Flag => {
                canvas.rect("d-flag", corner, size, 1.0);
                "d-code d-stop-text"
            }
        };
        let base = (top + bottom) / 2.0 + 0.36 * SIZE;
        canvas.text(class, ((left + right) / 2.0, base), Anchor::Middle, &self.text);
    }
}

/// How wide a tag is.
pub(super) fn wide_of(kind: &Kind, text: &str) -> f64 {
    wide(text, SIZE) + 2.0 * if *kind == Kind::Flag { CLOTH } else { BESIDE }
}

fn around((left, top): Spot, (w, h): Spot) -> Rect {
    [left, top, left + w, top + h]
}

/// Where a line from a spot meets a box: at its nearest corner or side.
fn foot(rect: &Rect, (x, y): Spot) -> Spot {
    (x.clamp(rect[0], rect[2]), y.clamp(rect[1], rect[3]))
}

/// The middle of the longest run of what holds.
fn middle_of_longest(holds: &[bool]) -> Option<usize> {
    let mut best: Option<(usize, usize)> = None;
    let mut start = None;
    for (i, holds) in holds.iter().chain([&false]).enumerate() {
        match (start, holds) {
            (None, true) => start = Some(i),
            (Some(from), false) => {
                if best.is_none_or(|(a, b)| i - from > b - a) {
                    best = Some((from, i));
                }
                start = None;
            }
            _ => {}
        }
    }
    best.map(|(from, end)| (from + end - 1) / 2)
}

/// What letters must keep off: conductors, joints, what arrives at loads; and the things themselves where that is possible.
fn room(chart: &Chart<'_>, strands: &[Strand]) -> Room {
    let mut room = Room::between(LEFT - 1.0, chart.width.px() - 1.0);
    for (b, strand) in strands.iter().enumerate() {
        room.line(strand, half(chart.bundles[b].paints().len()) + 0.5, Some(b));
        for (x, y) in [strand[0], strand[3]] {
            room.keep(around((x - 4.0, y - 4.0), (8.0, 8.0)));
        }
    }
    for landing in chart.landings.iter().filter(|l| l.is_alive) {
        let (x, y) = chart.arrival(landing);
        room.keep(around((x - 5.0, y - 5.0), (10.0, 10.0)));
    }
    chart.kept().into_iter().for_each(|rect| room.keep(rect));
    for slot in &chart.slots {
        if let Some((top, bottom)) = chart.span(*slot) {
            room.quiet([chart.x(*slot) - BAR, top - 5.0, chart.x(*slot) + BAR, bottom + 5.0]);
        }
    }
    let zero = chart.heights.at(0.0);
    room.quiet([LEFT, zero - 0.5, chart.width.px(), zero + 0.5]);
    room
}

#[cfg(test)]
mod tests {
    use super::middle_of_longest;

    #[test]
    fn letters_stand_in_the_middle_of_the_longest_run() {
        let holds = [true, true, false, true, true, true, false, true];
        assert_eq!(middle_of_longest(&holds), Some(4));
        assert_eq!(middle_of_longest(&[false, false]), None);
        assert_eq!(middle_of_longest(&[true]), Some(0));
    }
}
