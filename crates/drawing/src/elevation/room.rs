//! Where letters may stand: off each other, off joints and off conductors that are not theirs.

use crate::canvas::Spot;

/// Left, top, right, bottom.
pub(super) type Rect = [f64; 4];

/// A stretch of a conductor: its ends, half its width, whose it is.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    from: Spot,
    to: Spot,
    half: f64,
    owner: Option<usize>,
}

/// What is drawn already.
#[derive(Debug)]
pub(super) struct Room {
    /// Left and right edge.
    sides: (f64, f64),
    boxes: Vec<Rect>,
    stretches: Vec<Stretch>,
    /// What letters may cover where there is no other way.
    quiet: Vec<Rect>,
}

impl Room {
    /// Nothing yet, between two sides; upwards and downwards there is no end.
    pub fn between(left: f64, right: f64) -> Self {
        Self { sides: (left, right), boxes: Vec::new(), stretches: Vec::new(), quiet: Vec::new() }
    }

    /// Keeps a rectangle free.
    pub fn keep(&mut self, rect: Rect) {
        self.boxes.push(rect);
    }

    /// Keeps letters off a line, but for those of its owner.
    pub fn line(&mut self, spots: &[Spot], half: f64, owner: Option<usize>) {
        let stretch = |pair: &[Spot]| Stretch { from: pair[0], to: pair[1], half, owner };
        self.stretches.extend(spots.windows(2).map(stretch));
    }

    /// Keeps a rectangle free where that is possible.
    pub fn quiet(&mut self, rect: Rect) {
        self.quiet.push(rect);
    }

    /// Whether letters may stand there.
    pub fn is_free(&self, rect: Rect, own: Option<usize>) -> bool {
        let is_inside = self.sides.0 <= rect[0] && rect[2] <= self.sides.1;
        let is_foreign = |s: &&Stretch| s.owner.is_none() || s.owner != own;
        let [l, t, r, b] = rect;
        let lies_on = |s: &Stretch| crosses([l - s.half, t - s.half, r + s.half, b + s.half], s.from, s.to);
        is_inside
            && !self.boxes.iter().any(|known| overlap(&rect, known))
            && !self.stretches.iter().filter(is_foreign).any(lies_on)
    }

    /// Whether they would cover nothing at all.
    pub fn is_clear(&self, rect: Rect) -> bool {
        !self.quiet.iter().any(|known| overlap(&rect, known))
    }

    /// Whether a thin line touches no letters and no joint.
    pub fn lets_pass(&self, from: Spot, to: Spot, ignored: Rect) -> bool {
        let is_other = |b: &&Rect| !overlap(b, &ignored);
        !self.boxes.iter().filter(is_other).any(|b| crosses(*b, from, to))
    }

    /// How many conductors but its own a thin line would cross, or come close to where it leans.
    pub fn crossings(&self, from: Spot, to: Spot, own: Option<usize>) -> usize {
        let grown = |s: &Stretch| {
            let (l, r) = (from.0.min(to.0) - s.half, from.0.max(to.0) + s.half);
            [l, from.1.min(to.1), r, from.1.max(to.1)]
        };
        self.stretches.iter().filter(|s| s.owner != own && crosses(grown(s), s.from, s.to)).count()
    }
}

/// Whether two rectangles have an area in common.
pub(super) fn overlap([l, t, r, b]: &Rect, [left, top, right, bottom]: &Rect) -> bool {
    l < right && left < r && t < bottom && top < b
}

/// Whether a line passes through a rectangle: clipped at its four sides, something of it is left.
pub(super) fn crosses([left, top, right, bottom]: Rect, a: Spot, b: Spot) -> bool {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for (slope, room) in [(-dx, a.0 - left), (dx, right - a.0), (-dy, a.1 - top), (dy, bottom - a.1)] {
        if slope.abs() < 1e-12 {
            if room < 0.0 {
                return false;
            }
        } else if slope < 0.0 {
            from = from.max(room / slope);
        } else {
            to = to.min(room / slope);
        }
    }
    from <= to
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_through_a_corner_is_seen_and_one_beside_it_not() {
        let square = [0.0, 0.0, 10.0, 10.0];
        assert!(crosses(square, (-5.0, 4.0), (4.0, -3.0)));
        assert!(!crosses(square, (-5.0, 4.0), (4.0, -6.0)));
        assert!(crosses(square, (5.0, -20.0), (5.0, 20.0)) && !crosses(square, (12.0, -20.0), (12.0, 20.0)));
    }

    #[test]
    fn letters_may_lie_on_their_own_conductor_only() {
        let mut room = Room::between(0.0, 100.0);
        room.line(&[(0.0, 50.0), (100.0, 50.0)], 2.0, Some(7));
        let on = [40.0, 45.0, 60.0, 55.0];
        assert!(room.is_free(on, Some(7)) && !room.is_free(on, Some(8)) && !room.is_free(on, None));
        assert!(!room.is_free([90.0, 45.0, 110.0, 55.0], Some(7)), "it sticks out");
        room.quiet([50.0, 0.0, 52.0, 100.0]);
        assert!(room.is_free(on, Some(7)) && !room.is_clear(on));
    }
}
