//! Labels that never lie on each other: each takes the first of its places that is free.

use crate::canvas::{Anchor, Canvas, Spot};
use crate::lettering::width;

/// What is taken, and where labels may be.
#[derive(Debug)]
pub(crate) struct Labels {
    taken: Vec<[f64; 4]>,
    size: Spot,
}

/// A place for a label: its base line's end, and which end that is.
pub(crate) type Place = (Spot, Anchor);

impl Labels {
    /// On a drawing of a size.
    pub fn new(size: Spot) -> Self {
        Self { taken: Vec::new(), size }
    }

    /// Writes a label at the first free place; tells whether there was one.
    pub fn write(
        &mut self,
        canvas: &mut Canvas,
        (class, size): (&str, f64),
        places: impl IntoIterator<Item = Place>,
        text: &str,
    ) -> bool {
        let wide = width(text, size);
        for (spot, anchor) in places {
            let rectangle = rectangle(spot, anchor, wide, size);
            if self.is_free(&rectangle) {
                canvas.text(class, spot, anchor, text);
                self.taken.push(rectangle);
                return true;
            }
        }
        false
    }

    fn is_free(&self, &[left, top, right, bottom]: &[f64; 4]) -> bool {
        let inside = left >= 0.0 && top >= 0.0 && right <= self.size.0 && bottom <= self.size.1;
        inside && !self.taken.iter().any(|[l, t, r, b]| left < *r && *l < right && top < *b && *t < bottom)
    }
}

fn rectangle((x, y): Spot, anchor: Anchor, wide: f64, size: f64) -> [f64; 4] {
    let left = match anchor {
        Anchor::Start => x,
        Anchor::Middle => x - wide / 2.0,
        Anchor::End => x - wide,
    };
    let (left, wide) = (left - 1.5, wide + 3.0);
    // Capitals and figures stand 0.75 of the size above the base line; few letters reach below it.
    [left, y - 0.8 * size, left + wide, y + 0.2 * size]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_label_takes_its_second_place_and_the_third_finds_none() {
        let (mut canvas, mut labels) = (Canvas::new(), Labels::new((100.0, 40.0)));
        let places = [((10.0, 12.0), Anchor::Start), ((10.0, 30.0), Anchor::Start)];
        let written = [0, 1, 2].map(|_| labels.write(&mut canvas, ("d-code", 11.0), places, "RD"));
        assert_eq!(written, [true, true, false]);
        let outside = [((99.0, 12.0), Anchor::Start)];
        assert!(!labels.write(&mut canvas, ("d-code", 11.0), outside, "RD"));
    }
}
