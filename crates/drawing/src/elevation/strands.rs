//! Conductors side by side: each ends at its true heights, and runs between them where it hides no other.

use crate::canvas::Spot;

/// A conductor's corners: its start, where its lane begins and ends, its end.
pub(super) type Strand = [Spot; 4];

/// From lane to lane.
const LANE: f64 = 7.0;
/// Over what length a conductor goes into its lane.
const BEND: f64 = 9.0;
/// Lanes beside the true height; beyond them conductors lie on each other.
const MOST: usize = 8;

/// Lays conductors given by their ends: short ones keep their true height, longer ones pass beside them, above and below in
/// turn.
pub(super) fn laid(ends: &[(Spot, Spot)]) -> Vec<Strand> {
    let mut order: Vec<usize> = (0..ends.len()).collect();
    let long = |i: &usize| {
        let (from, to) = ends[*i];
        (to.0 - from.0).abs()
    };
    order.sort_by(|a, b| long(a).total_cmp(&long(b)).then(a.cmp(b)));
    let mut strands: Vec<Option<Strand>> = vec![None; ends.len()];
    for i in order {
        let (from, to) = ends[i];
        let at = |lane: usize| {
            let sign = if lane % 2 == 1 { -1.0 } else { 1.0 };
            strand(from, to, sign * LANE * lane.div_ceil(2) as f64)
        };
        let is_free = |s: &Strand| {
            let beside = |known: &Strand| touch(s, known);
            !strands.iter().flatten().any(beside) && !ends.iter().any(|(a, b)| hides(s, *a) || hides(s, *b))
        };
        let lane = (0..=MOST).find(|lane| is_free(&at(*lane))).unwrap_or(MOST);
        strands[i] = Some(at(lane));
    }
    strands.into_iter().flatten().collect()
}

fn strand(from: Spot, to: Spot, aside: f64) -> Strand {
    let bend = BEND.min((to.0 - from.0).abs() / 3.0) * (to.0 - from.0).signum();
    [from, (from.0 + bend, from.1 + aside), (to.0 - bend, to.1 + aside), to]
}

/// Whether two lanes come nearer than a lane's width.
fn touch(a: &Strand, b: &Strand) -> bool {
    let (left, right) = (a[1].0.max(b[1].0), a[2].0.min(b[2].0));
    if left >= right {
        return false;
    }
    let gap = |x: f64| height(a, x) - height(b, x);
    let (start, end) = (gap(left), gap(right));
    start.abs() < LANE - 0.9 || end.abs() < LANE - 0.9
}

/// Whether a lane passes over a point where another conductor ends.
fn hides(strand: &Strand, end: Spot) -> bool {
    strand[1].0 < end.0 && end.0 < strand[2].0 && (height(strand, end.0) - end.1).abs() < 5.0
}

/// Height of a lane at a place.
fn height(strand: &Strand, x: f64) -> f64 {
    let (from, to) = (strand[1], strand[2]);
    from.1 + (to.1 - from.1) * (x - from.0) / (to.0 - from.0).max(1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longer_one_passes_above_the_shorter_one() {
        let short = ((0.0, 50.0), (60.0, 51.0));
        let long = ((0.0, 50.0), (120.0, 52.0));
        let laid = laid(&[long, short]);
        assert!((laid[1][1].1 - 50.0).abs() < 1e-9 && (laid[0][1].1 - (50.0 - LANE)).abs() < 1e-9);
        assert!((laid[0][0].1 - 50.0).abs() < 1e-9 && (laid[0][3].1 - 52.0).abs() < 1e-9, "ends stay");
    }

    #[test]
    fn what_is_not_side_by_side_keeps_its_height() {
        let laid = laid(&[((0.0, 50.0), (60.0, 50.0)), ((70.0, 50.0), (120.0, 50.0))]);
        assert!(laid.iter().all(|s| (s[1].1 - 50.0).abs() < 1e-9));
    }
}
