//! Conductors side by side: each ends at its true heights, and runs between them level, in a lane of its own.
//!
//! Lanes lie in the order of their potentials, and a lane never leaves the piece of the scale that its potential is in: what is
//! higher has more volts, without exception. Where a piece has too little room for its lanes it must grow.

use super::heights::Piece;
use crate::canvas::Spot;

/// A conductor's corners: its start, where its lane begins and ends, its end.
pub(super) type Strand = [Spot; 4];

/// From lane to lane: letters on one do not touch the next.
const LANE: f64 = 9.0;
/// Between two that are thick.
const APART: f64 = 2.0;
/// Between a lane and the end of another conductor.
const CLEAR: f64 = 6.0;
/// Between a lane's side and the edge of its piece.
const EDGE: f64 = 1.0;
/// Heights that count as one: less than what the digits shown of two potentials make.
const SAME: f64 = 0.001;

/// A conductor before it has its lane: its ends from left to right, half its width, and whether it has volts, by which it is
/// higher or lower than another one elsewhere.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bare {
    pub from: Spot,
    pub to: Spot,
    pub half: f64,
    pub has_volts: bool,
}

impl Bare {
    fn long(&self) -> f64 {
        self.to.0 - self.from.0
    }

    /// Its own height.
    fn y(&self) -> f64 {
        f64::midpoint(self.from.1, self.to.1)
    }

    fn is_beside(&self, other: &Bare) -> bool {
        self.from.0.max(other.from.0) + 1.0 < self.to.0.min(other.to.0)
    }
}

/// Conductors laid, and by how much each piece is too low for those in it.
#[derive(Debug)]
pub(super) struct Laying {
    pub strands: Vec<Strand>,
    pub wanted: Vec<f64>,
}

/// Lays conductors; over the length `bend` each goes into its lane.
pub(super) fn laid(bare: &[Bare], bend: f64, pieces: &[Piece]) -> Laying {
    let mut lanes: Vec<Option<f64>> = vec![None; bare.len()];
    let mut wanted = vec![0.0; pieces.len()];
    for (p, piece) in pieces.iter().enumerate() {
        let is_in = |b: &Bare| !is_climb(b, pieces) && piece_of(pieces, b.y()) == Some(p);
        let within: Vec<usize> = (0..bare.len()).filter(|i| is_in(&bare[*i])).collect();
        wanted[p] = stack(bare, within, piece, bend, &mut lanes);
    }
    let level = |(b, lane): (&Bare, &Option<f64>)| strand(b, lane.unwrap_or(b.y()), bend);
    let mut strands: Vec<Strand> = bare.iter().zip(&lanes).map(level).collect();
    for i in 0..bare.len() {
        // What nobody is in the way of goes straight.
        let is_moved = lanes[i].is_some_and(|y| (y - bare[i].y()).abs() > SAME);
        let straight = [bare[i].from, bare[i].from, bare[i].to, bare[i].to];
        let touches = |k: usize| {
            let apart = LANE.max(bare[i].half + bare[k].half + APART);
            k != i && bare[i].is_beside(&bare[k]) && touch(&straight, &strands[k], apart)
        };
        let is_free = !(0..bare.len()).any(touches) && !ends(bare).any(|end| hides(&straight, end));
        if lanes[i].is_none() || !is_moved && is_free {
            strands[i] = straight;
        }
    }
    Laying { strands, wanted }
}

/// Whether a conductor leads from one potential to quite another: it has no height of its own.
pub(super) fn is_climb(bare: &Bare, pieces: &[Piece]) -> bool {
    let (from, to) = (pieces_at(pieces, bare.from.1), pieces_at(pieces, bare.to.1));
    !from.iter().any(|a| to.iter().any(|b| a.abs_diff(*b) <= 1))
}

/// The piece that a height is in, at an edge both.
fn pieces_at(pieces: &[Piece], y: f64) -> Vec<usize> {
    let holds = |p: &usize| pieces[*p].top - SAME <= y && y <= pieces[*p].bottom + SAME;
    (0..pieces.len()).filter(holds).collect()
}

/// In which piece a height is; at an edge within a tolerance rather than outside, and on the side to which drops go.
fn piece_of(pieces: &[Piece], y: f64) -> Option<usize> {
    let rank = |p: &usize| (pieces[*p].is_band, pieces[*p].is_first);
    pieces_at(pieces, y).into_iter().max_by_key(rank)
}

/// Gives the conductors within a piece their lanes, in the order of their potentials, from the nominal outwards. Gives what is
/// missing of its height.
fn stack(bare: &[Bare], within: Vec<usize>, piece: &Piece, bend: f64, lanes: &mut [Option<f64>]) -> f64 {
    let sign = if piece.is_upward { -1.0 } else { 1.0 };
    let (start, end) = if piece.is_upward { (-piece.bottom, -piece.top) } else { (piece.top, piece.bottom) };
    let far = |i: usize| sign * bare[i].y();
    let mut order = within;
    // Of equals the short ones keep their height: long ones pass outside of them.
    let step = |i: usize| (far(i) / SAME).round();
    order.sort_by(|a, b| {
        step(*a).total_cmp(&step(*b)).then(bare[*a].long().total_cmp(&bare[*b].long())).then(a.cmp(b))
    });
    let edge = |i: usize| start + if piece.is_band { 0.0 } else { bare[i].half + EDGE };
    // How much further out `k` must be than `i`, which comes first.
    let apart = |i: usize, k: usize| match bare[i].is_beside(&bare[k]) {
        true => LANE.max(bare[i].half + bare[k].half + APART),
        false if step(k) > step(i) && bare[i].has_volts && bare[k].has_volts => 0.0,
        false => f64::NEG_INFINITY,
    };
    let hidden = |i: usize, at: f64| {
        ends(bare).find(|end| hides(&strand(&bare[i], sign * at, bend), *end)).map(|end| sign * end.1)
    };
    // Outwards, each as near to its own height as those before let it; then back as far as those after, and the edge, want it.
    let mut at: Vec<f64> = Vec::new();
    for (n, i) in order.iter().enumerate() {
        let before = (0..n).map(|m| at[m] + apart(order[m], *i));
        let mut here = before.fold(far(*i).max(edge(*i)), f64::max);
        while let Some(end) = hidden(*i, here) {
            here = end + CLEAR;
        }
        at.push(here);
    }
    let mut missing: f64 = 0.0;
    for (n, i) in order.iter().enumerate().rev() {
        let after = (n + 1..order.len()).map(|m| at[m] - apart(*i, order[m]));
        let most = after.fold(end - bare[*i].half - EDGE, f64::min);
        if at[n] > most {
            at[n] = most;
            while let Some(end) = hidden(*i, at[n]) {
                at[n] = end - CLEAR;
            }
        }
        missing = missing.max(edge(*i) - at[n]);
        lanes[*i] = Some(sign * at[n]);
    }
    missing
}

fn ends(bare: &[Bare]) -> impl Iterator<Item = Spot> {
    bare.iter().flat_map(|b| [b.from, b.to])
}

fn strand(bare: &Bare, y: f64, bend: f64) -> Strand {
    let bend = bend.min(bare.long().abs() / 3.0) * bare.long().signum();
    [bare.from, (bare.from.0 + bend, y), (bare.to.0 - bend, y), bare.to]
}

/// Whether two lanes come nearer than what lies between them must be.
fn touch(a: &Strand, b: &Strand, apart: f64) -> bool {
    let (left, right) = (a[1].0.max(b[1].0), a[2].0.min(b[2].0));
    if left >= right {
        return false;
    }
    let gap = |x: f64| height(a, x) - height(b, x);
    let (start, end) = (gap(left), gap(right));
    start.abs() < apart - 0.9 || end.abs() < apart - 0.9 || start * end < 0.0
}

/// Whether a lane passes over a point where another conductor ends.
fn hides(strand: &Strand, end: Spot) -> bool {
    strand[1].0 < end.0 && end.0 < strand[2].0 && (height(strand, end.0) - end.1).abs() < CLEAR - 0.01
}

/// Height of a lane at a place.
pub(super) fn height(strand: &Strand, x: f64) -> f64 {
    let (from, to) = (strand[1], strand[2]);
    from.1 + (to.1 - from.1) * (x - from.0) / (to.0 - from.0).max(1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DOWN: Piece = Piece { top: 50.0, bottom: 90.0, is_band: true, is_upward: false, is_first: true };
    const UP: Piece = Piece { top: 10.0, bottom: 50.0, is_band: true, is_upward: true, is_first: false };

    fn bare(from: Spot, to: Spot) -> Bare {
        Bare { from, to, half: 2.0, has_volts: true }
    }

    fn lanes(bare: &[Bare]) -> (Vec<f64>, Vec<f64>) {
        let Laying { strands, wanted } = laid(bare, 9.0, &[DOWN, UP]);
        (strands.iter().map(|s| f64::midpoint(s[1].1, s[2].1)).collect(), wanted)
    }

    #[test]
    fn the_longer_of_equals_passes_outside() {
        let (y, _) = lanes(&[bare((0.0, 50.0), (120.0, 50.0)), bare((0.0, 50.0), (60.0, 50.0))]);
        assert!((y[1] - 50.0).abs() < 1e-9 && (y[0] - 59.0).abs() < 1e-9, "{y:?}");
    }

    #[test]
    fn who_has_less_volts_lies_lower_whoever_is_shorter() {
        let (y, _) = lanes(&[bare((0.0, 50.0), (120.0, 51.0)), bare((0.0, 50.0), (60.0, 53.0))]);
        assert!(y[0] >= 50.0 && y[1] >= y[0] + LANE, "{y:?}");
        let (y, _) = lanes(&[bare((0.0, 49.0), (120.0, 47.0)), bare((0.0, 49.0), (60.0, 48.5))]);
        assert!(y[1] <= 50.0 && y[0] <= y[1] - LANE, "upwards: {y:?}");
    }

    #[test]
    fn what_is_not_side_by_side_keeps_its_height() {
        let (y, _) = lanes(&[bare((0.0, 50.0), (60.0, 50.0)), bare((70.0, 50.0), (120.0, 50.0))]);
        assert!(y.iter().all(|y| (y - 50.0).abs() < 1e-9));
    }

    #[test]
    fn a_piece_with_too_many_wants_more_room() {
        let (y, wanted) = lanes(&[bare((0.0, 50.0), (60.0, 50.0)); 7]);
        assert!((y[6] - y[0] - 6.0 * LANE).abs() < 1e-9, "{y:?}");
        assert!(
            (wanted[0] - (6.0 * LANE + 2.0 + EDGE - 40.0)).abs() < 1e-9 && wanted[1] <= 0.0,
            "{wanted:?}"
        );
    }

    #[test]
    fn what_is_just_within_a_piece_is_drawn_within_it() {
        let (y, wanted) = lanes(&[bare((0.0, 89.8), (60.0, 89.8)), bare((0.0, 80.0), (60.0, 89.6))]);
        assert!((y[0] - (90.0 - 2.0 - EDGE)).abs() < 1e-9 && y[1] <= y[0] - LANE, "{y:?}");
        assert!(wanted.iter().all(|by| *by <= 0.0), "{wanted:?}");
    }

    #[test]
    fn no_lane_passes_over_an_end() {
        let (y, _) = lanes(&[bare((0.0, 55.0), (120.0, 55.0)), bare((60.0, 57.0), (60.5, 57.0))]);
        assert!(y[0] > 57.0 + CLEAR - 0.1, "{y:?}");
    }
}
