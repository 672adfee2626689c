//! Where a value lies on a dial: resistances by decades with open at the far right, voltages and currents evenly with room
//! on both sides of the window.

use crate::numbers;
use voltwright_proof::network::cold::OPEN;
use voltwright_proof::reading::{Function, Interval, Reading};

/// Share of a dial for resistances after which it is open.
const CLOSED: f64 = 0.9;
/// Share that is left for what lies below the lowest decade, down to zero.
const ZERO: f64 = 0.06;
/// The smallest resistance worth a decade, ohms; a meter shows no less.
const LEAST: f64 = 0.1;

/// From values to shares of the arc, 0 at the left and 1 at the right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scale {
    /// Logarithms of the lowest and highest value.
    Decades(f64, f64),
    /// Lowest and highest value.
    Even(f64, f64),
}

impl Scale {
    /// One on which a reading's window is well seen.
    pub fn of(reading: &Reading) -> Self {
        let Interval { low, high } = reading.window;
        match reading.function {
            Function::Ohms => decades(low, high),
            Function::Volts | Function::Amps => even(low, high),
        }
    }

    /// Place of a value; beyond the scale, its nearer end.
    pub fn at(self, value: f64) -> f64 {
        match self {
            Scale::Decades(..) if value >= OPEN => {
                if value.is_infinite() {
                    1.0
                } else {
                    (CLOSED + 1.0) / 2.0
                }
            }
            Scale::Decades(low, high) => {
                let place = (value.max(1e-9).log10() - low) / (high - low);
                let below = ZERO * (value / 10f64.powf(low)).clamp(0.0, 1.0);
                below + (CLOSED - ZERO) * place.clamp(0.0, 1.0)
            }
            Scale::Even(low, high) => ((value - low) / (high - low)).clamp(0.0, 1.0),
        }
    }

    /// Whether a value lies where the scale shows nothing.
    pub fn is_beyond(self, value: f64) -> bool {
        match self {
            Scale::Decades(_, high) => value < OPEN && value.max(1e-9).log10() > high,
            Scale::Even(low, high) => value < low || value > high,
        }
    }

    /// Where what is measured ends.
    pub fn last(self) -> f64 {
        match self {
            Scale::Decades(..) => CLOSED,
            Scale::Even(..) => 1.0,
        }
    }

    /// Places with their labels.
    pub fn ticks(self, function: Function) -> Vec<(f64, String)> {
        match self {
            Scale::Decades(low, high) => {
                let (first, last) = (low.round() as i32, high.round() as i32);
                let tick = |k: i32| (self.at(10f64.powi(k)), numbers::value(function, 10f64.powi(k)));
                (first..=last).map(tick).collect()
            }
            Scale::Even(low, high) => {
                let step = step((high - low) / 6.0);
                let decimals = usize::try_from(-step.log10().floor() as i32).unwrap_or(0);
                let (first, last) = ((low / step).ceil() as i64, (high / step).floor() as i64);
                let tick = |k: i64| {
                    let value = k as f64 * step;
                    let label = format!("{:.decimals$}", if k == 0 { 0.0 } else { value });
                    (self.at(value), label.replace('-', "−"))
                };
                (first..=last).map(tick).collect()
            }
        }
    }
}

/// Whole decades around what is finite of a window, at least three, at most up to open.
fn decades(low: f64, high: f64) -> Scale {
    let finite: Vec<f64> =
        [low, high].into_iter().filter(|v| *v > 0.0 && *v < OPEN).map(|v| v.max(LEAST).log10()).collect();
    let most = OPEN.log10().floor();
    let least = LEAST.log10();
    let lowest = finite.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = finite.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if finite.is_empty() {
        return Scale::Decades(least, most);
    }
    let bottom = (lowest - 1.0).floor().max(least);
    let top = (highest + 1.0).ceil().max(bottom + 3.0).min(most);
    Scale::Decades(bottom.min(top - 3.0), top)
}

/// A window in the middle with as much again on either side, and at least a twentieth of its value.
fn even(low: f64, high: f64) -> Scale {
    if !low.is_finite() || !high.is_finite() {
        return Scale::Even(-1.0, 1.0);
    }
    let room = (high - low).max(0.05 * low.abs().max(high.abs())).max(0.01);
    Scale::Even(low - room, high + room)
}

/// The next of 1, 2, 5 times a power of ten.
fn step(least: f64) -> f64 {
    let ten = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|m| m * ten).find(|s| *s >= least * (1.0 - 1e-9)).unwrap_or(10.0 * ten)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn resistances_go_by_decades_and_end_open() {
        let scale = decades(150.0, f64::INFINITY);
        let places = [10.0, 100.0, 1000.0].map(|v| scale.at(v));
        assert!((places[1] - places[0] - (places[2] - places[1])).abs() < 1e-12, "{places:?}");
        assert!((scale.at(f64::INFINITY) - 1.0).abs() < 1e-12 && scale.at(1e6) < CLOSED + 1e-9);
        assert!(scale.is_beyond(1e6) && !scale.is_beyond(f64::INFINITY) && !scale.is_beyond(0.0));
        assert_eq!(decades(OPEN, f64::INFINITY), decades(0.0, f64::INFINITY));
    }

    #[test]
    fn voltages_are_even_with_room_on_both_sides() {
        let scale = even(4.8, 5.2);
        assert!(scale.at(4.8) > 0.1 && scale.at(5.2) < 0.9);
        assert!((scale.at(5.0) - 0.5).abs() < 1e-12);
        assert!(scale.is_beyond(0.0) && scale.is_beyond(12.0));
        let labels: Vec<String> =
            even(-0.2, 0.2).ticks(Function::Volts).into_iter().map(|(_, l)| l).collect();
        assert_eq!(labels, ["−0.6", "−0.4", "−0.2", "0.0", "0.2", "0.4", "0.6"]);
    }
}
