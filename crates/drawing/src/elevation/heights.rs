//! From volts to height: rails and the mains by a symmetric logarithm, pushed apart where they would touch, and what lies
//! within a rail's tolerance magnified, so that a drop of millivolts is seen. The scale is cut into pieces at every nominal and
//! every limit of a tolerance; a piece grows where the conductors in it need more room.

/// Half the height of a tolerance band, at least.
pub(super) const BAND: f64 = 14.0;
/// Height of one step of the logarithm, and of the least and largest gap between two levels.
const STEP: f64 = 62.0;
const GAP: (f64, f64) = (36.0, 44.0);
/// Volts at which the logarithm turns linear.
const KNEE: f64 = 1.0;

/// A potential that is meant to be there: what it is, and between what it may lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Level {
    pub low: f64,
    pub nominal: f64,
    pub high: f64,
}

/// A piece of the scale: whatever has a potential in it is drawn in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    /// Its upper and its lower edge, from the top of the drawing.
    pub top: f64,
    pub bottom: f64,
    /// Whether it lies within a tolerance.
    pub is_band: bool,
    /// Whether conductors in it make room upwards: away from the nominal.
    pub is_upward: bool,
    /// Whether what is at its nominal lies in it: on the side to which drops go.
    pub is_first: bool,
}

/// The map.
#[derive(Debug, Clone)]
pub(super) struct Heights {
    /// Volts and height from the top, from low to high volts.
    anchors: Vec<(f64, f64)>,
    levels: Vec<Level>,
    /// From the top of the chart to its bottom.
    pub top: f64,
    pub bottom: f64,
}

/// Above the highest level, and below the lowest.
const MARGIN: f64 = 8.0;

impl Heights {
    /// Of levels, and of single values that must be seen too, with the gaps between levels so much larger.
    pub fn new(levels: &[Level], values: impl Iterator<Item = f64>, stretch: f64) -> Self {
        let gap = |a: f64, b: f64| stretch * gap(a, b);
        let all = levels;
        let levels = merged(levels);
        let mut up = 0.0;
        let mut anchors: Vec<(f64, f64)> = Vec::new();
        for (i, level) in levels.iter().enumerate() {
            if i > 0 {
                up += gap(levels[i - 1].nominal, level.nominal);
            }
            anchors.extend([(level.low, up - BAND), (level.nominal, up), (level.high, up + BAND)]);
        }
        // What lies beyond the levels gets room at the ends.
        let finite: Vec<f64> = values.filter(|v| v.is_finite()).collect();
        let (low, high) = (
            finite.iter().copied().fold(f64::INFINITY, f64::min),
            finite.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        );
        if let Some((v, y)) = anchors.first().copied().filter(|(v, _)| low < *v) {
            anchors.insert(0, (low, y - gap(v, low)));
        }
        if let Some((v, y)) = anchors.last().copied().filter(|(v, _)| high > *v) {
            anchors.push((high, y + gap(v, high)));
        }
        let highest = anchors.last().map_or(0.0, |a| a.1);
        let lowest = anchors.first().map_or(0.0, |a| a.1);
        let anchors = anchors.into_iter().map(|(v, up)| (v, MARGIN + highest - up)).collect();
        let (levels, bottom) = (all.to_vec(), 2.0 * MARGIN + highest - lowest);
        let mut heights = Self { anchors, levels, top: 0.0, bottom };
        // Of levels that are drawn as one, each cuts the scale.
        all.iter().flat_map(|l| [l.low, l.nominal, l.high]).for_each(|v| heights.cut(v));
        heights
    }

    /// Cuts the scale at a potential.
    fn cut(&mut self, volts: f64) {
        let at = self.anchors.partition_point(|(v, _)| *v < volts);
        let is_known = |i: usize| self.anchors.get(i).is_some_and(|(v, _)| (v - volts).abs() < 1e-9);
        if !(is_known(at) || at > 0 && is_known(at - 1)) {
            self.anchors.insert(at, (volts, self.at(volts)));
        }
    }

    /// The pieces from low to high volts.
    pub fn pieces(&self) -> Vec<Piece> {
        let one = |pair: &[(f64, f64)]| {
            let ((low, bottom), (high, top)) = (pair[0], pair[1]);
            let middle = f64::midpoint(low, high);
            let band = self.levels.iter().find(|l| l.low < middle && middle < l.high);
            let is_upward = band.map_or(middle < 0.0, |level| middle > level.nominal);
            let is_first = band.is_some_and(|level| is_upward == (level.nominal <= 0.0));
            Piece { top, bottom, is_band: band.is_some(), is_upward, is_first }
        };
        self.anchors.windows(2).map(one).collect()
    }

    /// Makes a piece higher.
    pub fn grow(&mut self, piece: usize, by: f64) {
        self.anchors.iter_mut().take(piece + 1).for_each(|(_, y)| *y += by);
        self.bottom += by;
    }

    /// Moves everything down.
    pub fn shift(&mut self, down: f64) {
        self.anchors.iter_mut().for_each(|(_, y)| *y += down);
        self.top += down;
        self.bottom += down;
    }

    /// Height of a potential, from the top of the drawing.
    pub fn at(&self, volts: f64) -> f64 {
        let (Some(first), Some(last)) = (self.anchors.first(), self.anchors.last()) else { return self.top };
        if volts <= first.0 {
            return first.1;
        }
        if volts >= last.0 {
            return last.1;
        }
        let after = self.anchors.iter().position(|(v, _)| *v >= volts).unwrap_or(1).max(1);
        let ((a, ya), (b, yb)) = (self.anchors[after - 1], self.anchors[after]);
        let share = (symlog(volts) - symlog(a)) / (symlog(b) - symlog(a)).max(1e-12);
        ya + (yb - ya) * share
    }
}

fn symlog(volts: f64) -> f64 {
    volts.signum() * (1.0 + volts.abs() / KNEE).log10()
}

fn gap(a: f64, b: f64) -> f64 {
    (STEP * (symlog(b) - symlog(a)).abs()).clamp(GAP.0, GAP.1)
}

/// Levels from low to high; those whose bands touch are one.
fn merged(levels: &[Level]) -> Vec<Level> {
    let mut sorted = levels.to_vec();
    sorted.sort_by(|a, b| a.nominal.total_cmp(&b.nominal));
    let mut merged: Vec<Level> = Vec::new();
    for level in sorted {
        match merged.last_mut() {
            Some(last) if last.high >= level.low - 1e-9 => last.high = last.high.max(level.high),
            _ => merged.push(level),
        }
    }
    merged
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(nominal: f64, off: f64) -> Level {
        Level { low: nominal - off, nominal, high: nominal + off }
    }

    fn heights() -> Heights {
        let levels =
            [level(5.0, 0.25), level(0.0, 0.05), level(-12.0, 1.2), level(12.0, 0.6), level(230.0, 23.0)];
        Heights::new(&levels, [-15.0, 235.0].into_iter(), 1.0)
    }

    #[test]
    fn more_volts_are_always_higher() {
        let heights = heights();
        let volts: Vec<f64> = (-1600..25600).map(|v| f64::from(v) / 100.0).collect();
        assert!(volts.windows(2).all(|pair| heights.at(pair[0]) >= heights.at(pair[1])));
        assert!(heights.at(300.0) >= heights.top && heights.at(-300.0) <= heights.bottom);
    }

    #[test]
    fn a_drop_within_a_band_is_magnified() {
        let heights = heights();
        let (at, half) = (heights.at(5.0), heights.at(4.875));
        assert!((heights.at(4.75) - at - BAND).abs() < 1e-9);
        assert!(half - at > 0.4 * BAND && half - at < 0.6 * BAND);
    }

    #[test]
    fn a_piece_grows_and_the_rest_keeps_its_height() {
        let mut heights = heights();
        let (before, pieces) = (heights.clone(), heights.pieces());
        let at = pieces.iter().position(|p| (p.top - before.at(5.0)).abs() < 1e-9).unwrap();
        assert!(pieces[at].is_band && !pieces[at].is_upward && pieces[at + 1].is_upward);
        assert!(!pieces[at - 1].is_band);
        heights.grow(at, 30.0);
        let moved = |v: f64| heights.at(v) - before.at(v);
        assert!(moved(5.0).abs() < 1e-9 && moved(12.0).abs() < 1e-9);
        assert!((moved(4.75) - 30.0).abs() < 1e-9 && (moved(0.0) - 30.0).abs() < 1e-9);
        assert!(moved(4.875) > 10.0 && moved(4.875) < 20.0);
    }

    #[test]
    fn levels_that_touch_are_one() {
        let both = merged(&[level(5.0, 0.25), level(5.2, 0.25)]);
        assert_eq!(both.len(), 1);
        assert!((both[0].high - 5.45).abs() < 1e-12);
    }
}
