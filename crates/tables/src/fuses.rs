//! Miniature fuses after IEC 60127-2: when they blow, which ratings exist, cold resistance, melting ∫i²dt.
//!
//! Cold resistance and melting integral are examples of a maker's sheet for T fuses of low breaking capacity
//! (sheet 3), joined by a straight line on log-log paper; another maker's fuse may differ by a factor of two. High
//! breaking capacity (sheet 5) melts far sooner: see [`melting_integral_high`]. An integral belongs to a pulse of less
//! than about 10 ms, in which no heat is lost.
//!
//! ```
//! use voltwright_quantity::{Current, Quantity, Resistance, Time, Voltage};
//! use voltwright_tables::fuses::{self, Speed};
//! // 325 V into 1 Ω and 100 µF: 325 A, τ = 0.1 ms; a T 1 A fuse of sheet 3 does not stand it 100 000 times.
//! let pulse = fuses::exponential_integral(Current::amps(325.0), Time::seconds(1e-4));
//! assert!((pulse.si() - 5.28).abs() < 0.01);
//! let allowed = |amps| fuses::melting_integral(Current::amps(amps), Speed::T).0 * fuses::pulse_share(100_000.0);
//! assert!(pulse > allowed(1.0) && pulse < allowed(1.25));
//! ```

mod sheets;

use crate::Table;
use crate::interpolate::{linear, log_log};
pub use sheets::{Gate, SHEETS, Sheet, sheet};
use voltwright_quantity::{Current, MeltingIntegral, Quantity, Resistance, Source, Time};

/// How fast a fuse blows, as marked on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum Speed {
    /// Very quick.
    FF,
    /// Quick.
    F,
    /// Medium.
    M,
    /// Time-lag.
    T,
    /// Long time-lag.
    TT,
}

impl Speed {
    /// All, from the quickest.
    pub const ALL: [Speed; 5] = [Speed::FF, Speed::F, Speed::M, Speed::T, Speed::TT];

    /// From the letters on the fuse, IEC 60127-1 clause 6.1 (from memory).
    pub fn parse(letters: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.letters() == letters)
    }

    /// The letters on the fuse.
    pub fn letters(self) -> &'static str {
        match self {
            Speed::FF => "FF",
            Speed::F => "F",
            Speed::M => "M",
            Speed::T => "T",
            Speed::TT => "TT",
        }
    }
}

/// How much a fuse may break.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Breaking {
    /// Marked L: usually a glass tube.
    Low,
    /// Marked E.
    Enhanced,
    /// Marked H: usually a ceramic tube with sand.
    High,
}

/// The largest current that a fuse of that breaking capacity may break at 250 V AC.
pub fn breaking_capacity(kind: Breaking, rating: Current) -> (Current, Source) {
    match kind {
        Breaking::Low => {
            (Current::amps(35.0).max(rating * 10.0), Source::seen("IEC 60127-2 sheet 3: 35 A or 10 times In"))
        }
        Breaking::Enhanced => (Current::amps(150.0), Source::memory("IEC 60127-2 sheet 6")),
        Breaking::High => (Current::amps(1500.0), Source::seen("IEC 60127-2 sheets 1 and 5, maker's sheet")),
    }
}

/// Where the series of ratings stands.
pub const RATINGS_SOURCE: Source = Source::seen("makers' sheets for IEC 60127-2: the R10 series of ISO 3");
/// Ratings that are made, amperes.
pub const RATINGS: [f64; 26] = [
    0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6,
    2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0,
];

/// The smallest rating that is not below `current`; `None` above 10 A.
pub fn next_rating_up(current: Current) -> Option<Current> {
    RATINGS.iter().find(|r| **r >= current.si() * (1.0 - 1e-9)).copied().map(Current::amps)
}

/// The largest rating that is not above `current`; `None` below 32 mA.
pub fn next_rating_down(current: Current) -> Option<Current> {
    RATINGS.iter().rev().find(|r| **r <= current.si() * (1.0 + 1e-9)).copied().map(Current::amps)
}

const COLD: [(f64, f64); 5] = [(0.2, 1.60), (0.5, 0.37), (1.0, 0.1165), (2.0, 0.0452), (3.15, 0.0231)];
const MELTING: [(f64, f64); 6] =
    [(0.2, 0.225), (0.5, 2.9), (1.0, 19.2), (1.25, 27.15), (2.0, 92.7), (3.15, 202.0)];
const MELTING_HIGH: [(f64, f64); 5] = [(1.0, 1.7), (2.0, 11.0), (4.0, 69.0), (6.3, 237.0), (10.0, 812.0)];

/// An example's value, or what lies between or beyond the examples, marked accordingly.
fn example(points: &[(f64, f64)], rating: Current, printed: Source) -> (f64, Source) {
    // A rating of nothing has no logarithm; a microampere is below any fuse.
    let amps = rating.si().max(1e-6);
    let value = log_log(points, amps);
    let beyond = points.first().is_some_and(|p| amps < p.0) || points.last().is_some_and(|p| amps > p.0);
    let source = if points.iter().any(|p| (p.0 / amps - 1.0).abs() < 1e-6) {
        printed
    } else if beyond {
        Source::practice("our own extension of a maker's examples for 5 × 20 mm fuses, on log-log")
    } else {
        Source::practice("between a maker's examples for 5 × 20 mm fuses, on log-log")
    };
    (value, source)
}

/// Resistance of a fuse that carries nothing: of a T fuse; a quick one is of the same order.
pub fn cold_resistance(rating: Current) -> (Resistance, Source) {
    let (ohms, source) =
        example(&COLD, rating, Source::seen("maker's sheet, T, 5 × 20 mm, IEC 60127-2 sheet 3"));
    (Resistance::ohms(ohms), source)
}

/// The ∫i²dt that melts a fuse of low breaking capacity.
///
/// T from examples. Others are remembered orders of size: F 0.8 s · In², FF 0.3 s · In², M the geometric mean of F and
/// T, TT three times T.
pub fn melting_integral(rating: Current, speed: Speed) -> (MeltingIntegral, Source) {
    let (lag, source) =
        example(&MELTING, rating, Source::seen("maker's sheet, T, 5 × 20 mm, IEC 60127-2 sheet 3"));
    let squared = rating.si() * rating.si();
    let quick = 0.8 * squared;
    let guess = Source::memory("order of size of 5 × 20 mm fuses of that speed; makers differ");
    let (value, source) = match speed {
        Speed::T => (lag, source),
        Speed::FF => (0.3 * squared, guess),
        Speed::F => (quick, guess),
        Speed::M => ((quick * lag).sqrt(), guess),
        Speed::TT => (3.0 * lag, guess),
    };
    (MeltingIntegral::amp_squared_seconds(value), source)
}

/// The ∫i²dt that melts a T fuse of high breaking capacity (sheet 5), at 10 times In.
pub fn melting_integral_high(rating: Current) -> (MeltingIntegral, Source) {
    let printed = Source::seen("maker's sheet, T, 5 × 20 mm, IEC 60127-2 sheet 5, at 10 times In");
    let (value, source) = example(&MELTING_HIGH, rating, printed);
    (MeltingIntegral::amp_squared_seconds(value), source)
}

/// Where the shares for pulses stand.
pub const PULSE_SOURCE: Source = Source::memory("fuse maker's guide");
const PULSES: [(f64, f64); 4] = [(100.0, 0.48), (1_000.0, 0.38), (10_000.0, 0.29), (100_000.0, 0.22)];

/// The share of a fuse's melting integral that each of so many pulses may have; straight by the logarithm of their
/// number, and never outside 22 to 48 %.
pub fn pulse_share(pulses: f64) -> f64 {
    linear(&PULSES.map(|(n, share)| (f64::ln(n), share)), pulses.max(1.0).ln())
}

/// The standard that a fuse is rated by: the same figure means different things.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Standard {
    /// IEC 60127: carries its rating for good, and 1.5 times it for an hour.
    Iec,
    /// UL 248-14: opens within an hour at 1.35 times its rating.
    Ul,
}

/// The share of a fuse's rating that it may carry for good at 25 °C.
pub fn continuous_share(standard: Standard) -> (f64, Source) {
    let source = Source::seen("engineering note on fuse ratings: UL 75 %, IEC 100 % at 25 °C");
    match standard {
        Standard::Iec => (1.0, source),
        Standard::Ul => (0.75, source),
    }
}

/// ∫i²dt of half a sine wave of that peak, lasting `time`.
pub fn half_sine_integral(peak: Current, time: Time) -> MeltingIntegral {
    MeltingIntegral::amp_squared_seconds(peak.si() * peak.si() * time.si() / 2.0)
}

/// ∫i²dt of a current that starts at `peak` and decays with the time constant `tau`.
pub fn exponential_integral(peak: Current, tau: Time) -> MeltingIntegral {
    MeltingIntegral::amp_squared_seconds(peak.si() * peak.si() * tau.si() / 2.0)
}

/// ∫i²dt of a current that falls in a straight line from `peak` to nothing in `time`.
pub fn triangle_integral(peak: Current, time: Time) -> MeltingIntegral {
    MeltingIntegral::amp_squared_seconds(peak.si() * peak.si() * time.si() / 3.0)
}

/// For print: the gates of the sheets.
pub fn table() -> Table {
    let columns = &["sheet", "speed", "ratings", "times In", "blows after", "blows before", "source", "sure"];
    let mut t = Table::new("fuses", "IEC 60127-2: when a fuse blows", columns);
    for s in SHEETS {
        for g in s.gates {
            let range = format!("{} to {}", Current::amps(s.from), Current::amps(s.to));
            let time = |seconds: Option<f64>| crate::table::or_dash(seconds.map(Time::seconds));
            t.row(
                &[&s.number, &s.speed.letters(), &range, &g.times, &time(g.least), &time(g.most)],
                g.source,
            );
        }
    }
    t
}

/// For print: ratings with cold resistance and melting integral.
pub fn ratings_table() -> Table {
    let columns = &[
        "rating",
        "cold resistance",
        "T melts at",
        "F melts at",
        "T high breaking melts at",
        "source",
        "sure",
    ];
    let mut t = Table::new("fuse-ratings", "5 × 20 mm fuses: ratings, resistance, melting integral", columns);
    for amps in RATINGS.map(Current::amps) {
        let (lag, source) = melting_integral(amps, Speed::T);
        let (quick, high) = (melting_integral(amps, Speed::F).0, melting_integral_high(amps).0);
        t.row(&[&amps, &cold_resistance(amps).0, &lag, &quick, &high], source);
    }
    t
}

#[cfg(test)]
mod tests;
