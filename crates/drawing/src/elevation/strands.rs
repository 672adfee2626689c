//! Conductors side by side: each ends at its true heights, and runs between them where it hides no other.

use crate::canvas::Spot;

/// A conductor's corners: its start, where its lane begins and ends, its end.
pub(super) type Strand = [Spot; 4];

/// From lane to lane: letters in two of them do not touch.
const LANE: f64 = 12.0;
/// Lanes beside the true height; beyond them conductors lie on each other.
const MOST: usize = 8;
/// Between two that are thick.
const APART: f64 = 2.0;

/// A conductor before it has its lane: its ends, and half its width.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bare {
    pub from: Spot,
    pub to: Spot,
    pub half: f64,
}

/// Lays conductors: short ones keep their true height, longer ones pass beside them, above and below in turn. Gives how many found
/// no lane of their own, too. Over the length `bend` each goes into its lane.
pub(super) fn laid(bare: &[Bare], bend: f64) -> (Vec<Strand>, usize) {
    let mut order: Vec<usize> = (0..bare.len()).collect();
    let long = |i: &usize| (bare[*i].to.0 - bare[*i].from.0).abs();
    order.sort_by(|a, b| long(a).total_cmp(&long(b)).then(a.cmp(b)));
    let mut strands: Vec<Option<Strand>> = vec![None; bare.len()];
    let mut crowded = 0;
    for i in order {
        let Bare { from, to, half } = bare[i];
        let at = |lane: usize| {
            let sign = if lane % 2 == 1 { -1.0 } else { 1.0 };
            strand(from, to, sign * LANE * lane.div_ceil(2) as f64, bend)
        };
        let is_free = |s: &Strand| {
            let beside =
                |(k, known): (usize, &Strand)| touch(s, known, LANE.max(half + bare[k].half + APART));
            let known = strands.iter().enumerate().filter_map(|(k, s)| Some((k, s.as_ref()?)));
            !known.into_iter().any(beside) && !bare.iter().any(|b| hides(s, b.from) || hides(s, b.to))
        };
        let free = (0..=MOST).find(|lane| is_free(&at(*lane)));
        crowded += usize::from(free.is_none());
        strands[i] = Some(at(free.unwrap_or(MOST)));
    }
    (strands.into_iter().flatten().collect(), crowded)
}

fn strand(from: Spot, to: Spot, aside: f64, bend: f64) -> Strand {
    // What keeps its true height needs no bend.
    let most = if aside.abs() < 1e-9 { 0.0 } else { bend };
    let bend = most.min((to.0 - from.0).abs() / 3.0) * (to.0 - from.0).signum();
    [from, (from.0 + bend, from.1 + aside), (to.0 - bend, to.1 + aside), to]
}

/// Whether two lanes come nearer than what lies between them must be.
fn touch(a: &Strand, b: &Strand, apart: f64) -> bool {
    let (left, right) = (a[1].0.max(b[1].0), a[2].0.min(b[2].0));
    if left >= right {
        return false;
    }
    let gap = |x: f64| height(a, x) - height(b, x);
    let (start, end) = (gap(left), gap(right));
    start.abs() < apart - 0.9 || end.abs() < apart - 0.9
}

/// Whether a lane passes over a point where another conductor ends.
fn hides(strand: &Strand, end: Spot) -> bool {
    strand[1].0 < end.0 && end.0 < strand[2].0 && (height(strand, end.0) - end.1).abs() < 5.0
}

/// Height of a lane at a place.
pub(super) fn height(strand: &Strand, x: f64) -> f64 {
    let (from, to) = (strand[1], strand[2]);
    from.1 + (to.1 - from.1) * (x - from.0) / (to.0 - from.0).max(1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bare(from: Spot, to: Spot) -> Bare {
        Bare { from, to, half: 2.0 }
    }

    #[test]
    fn the_longer_one_passes_above_the_shorter_one() {
        let short = bare((0.0, 50.0), (60.0, 51.0));
        let long = bare((0.0, 50.0), (120.0, 52.0));
        let (laid, crowded) = laid(&[long, short], 9.0);
        assert!((laid[1][1].1 - 50.0).abs() < 1e-9 && (laid[0][1].1 - (50.0 - LANE)).abs() < 1e-9);
        assert!((laid[0][0].1 - 50.0).abs() < 1e-9 && (laid[0][3].1 - 52.0).abs() < 1e-9, "ends stay");
        assert_eq!(crowded, 0);
    }

    #[test]
    fn what_is_not_side_by_side_keeps_its_height() {
        let (laid, _) = laid(&[bare((0.0, 50.0), (60.0, 50.0)), bare((70.0, 50.0), (120.0, 50.0))], 9.0);
        assert!(laid.iter().all(|s| (s[1].1 - 50.0).abs() < 1e-9));
    }

    #[test]
    fn too_many_are_counted() {
        let (laid, crowded) = laid(&[bare((0.0, 50.0), (60.0, 50.0)); 2 * MOST], 9.0);
        assert!(laid.len() == 2 * MOST && crowded == MOST - 1, "{crowded}");
    }
}
