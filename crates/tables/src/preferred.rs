//! Values that parts are made in: the E series of IEC 60063, the R series of ISO 3, rated voltages of capacitors.
//!
//! E48, E96 and E192 are 10^(k/N) rounded to three digits, with one exception: 9.20 in E192. E24 and coarser are a list
//! with history in it.
//!
//! ```
//! use voltwright_tables::preferred::{Series, at_least, at_most};
//! assert!((at_least(Series::E12, 1300.0) - 1500.0).abs() < 1e-9);
//! assert!((at_most(Series::E12, 0.13) - 0.12).abs() < 1e-12);
//! ```

use crate::Table;
use voltwright_quantity::{Source, Voltage};

/// A series of preferred numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum Series {
    /// 3 a decade.
    E3,
    /// 6 a decade, for 20 %.
    E6,
    /// 12 a decade, for 10 %.
    E12,
    /// 24 a decade, for 5 %.
    E24,
    /// 48 a decade, for 2 %.
    E48,
    /// 96 a decade, for 1 %.
    E96,
    /// 192 a decade, for 0.5 %.
    E192,
    /// 5 a decade: ISO 3.
    R5,
    /// 10 a decade: ISO 3; the ratings of fuses.
    R10,
}

const E24: [f64; 24] = [
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8,
    7.5, 8.2, 9.1,
];
const R10: [f64; 10] = [1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0];

impl Series {
    /// All, by name.
    pub const ALL: [(&'static str, Series); 9] = [
        ("E3", Series::E3),
        ("E6", Series::E6),
        ("E12", Series::E12),
        ("E24", Series::E24),
        ("E48", Series::E48),
        ("E96", Series::E96),
        ("E192", Series::E192),
        ("R5", Series::R5),
        ("R10", Series::R10),
    ];

    /// Its values from 1 to below 10, ascending.
    pub fn values(self) -> Vec<f64> {
        let every = |list: &[f64], n: usize| list.iter().copied().step_by(n).collect();
        match self {
            Series::E3 => every(&E24, 8),
            Series::E6 => every(&E24, 4),
            Series::E12 => every(&E24, 2),
            Series::E24 => E24.to_vec(),
            Series::E48 => by_formula(48),
            Series::E96 => by_formula(96),
            Series::E192 => by_formula(192),
            Series::R5 => every(&R10, 2),
            Series::R10 => R10.to_vec(),
        }
    }

    /// Where it stands.
    pub fn source(self) -> Source {
        match self {
            Series::E3 | Series::E6 | Series::E12 | Series::E24 => Source::seen("IEC 60063, public listing"),
            Series::E48 | Series::E96 => Source::seen("IEC 60063, public description of the rule"),
            Series::E192 => Source::memory("IEC 60063: the rule of E96 with the exception 9.20"),
            Series::R5 | Series::R10 => Source::memory("ISO 3"),
        }
    }
}

fn by_formula(n: u32) -> Vec<f64> {
    let exact = |k: u32| 10f64.powf(f64::from(k) / f64::from(n));
    let rounded = |k: u32| (exact(k) * 100.0).round() / 100.0;
    // IEC 60063 has 9.20 where the rule gives 9.19.
    (0..n).map(|k| if (n, k) == (192, 185) { 9.20 } else { rounded(k) }).collect()
}

/// How near a value counts as met: what floating point does to 0.6/0.75.
const SAME: f64 = 1e-9;

/// The smallest value of the series that is not below `value`; `value` itself if it is not above zero.
pub fn at_least(series: Series, value: f64) -> f64 {
    around(series, value).find(|v| *v >= value * (1.0 - SAME)).unwrap_or(value)
}

/// The largest value of the series that is not above `value`; `value` itself if it is not above zero.
pub fn at_most(series: Series, value: f64) -> f64 {
    around(series, value).filter(|v| *v <= value * (1.0 + SAME)).last().unwrap_or(value)
}

/// The values of the decade of `value` and of its neighbours, ascending; nothing for a value that has no decade.
fn around(series: Series, value: f64) -> impl Iterator<Item = f64> {
    let has_decade = value.is_finite() && value > 0.0;
    let decade = if has_decade { value.log10().floor() as i32 } else { 0 };
    let decades = if has_decade { decade - 1..decade + 2 } else { 0..0 };
    // Dividing by a power of ten keeps 0.47 exact, where multiplying by 0.1 does not.
    let scaled = |v: f64, d: i32| if d < 0 { v / 10f64.powi(-d) } else { v * 10f64.powi(d) };
    decades.flat_map(move |d| series.values().into_iter().map(move |v| scaled(v, d)))
}

/// Rated voltages of capacitors as makers offer them, volts.
pub const CAPACITOR_VOLTAGES: [f64; 18] = [
    6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 80.0, 100.0, 160.0, 200.0, 250.0, 315.0, 350.0, 400.0, 420.0,
    450.0, 500.0,
];
/// Where the rated voltages stand.
pub const CAPACITOR_SOURCE: Source = Source::memory("makers' catalogues, after R5 and R10 of ISO 3");

/// The smallest rated voltage of capacitors that is not below `least`; `None` above 500 V.
pub fn capacitor_voltage_at_least(least: Voltage) -> Option<Voltage> {
    CAPACITOR_VOLTAGES.iter().copied().map(Voltage::volts).find(|v| *v >= least)
}

/// For print: each series, and the rated voltages.
pub fn table() -> Table {
    let mut t = Table::new("preferred", "Preferred values", &["series", "values", "source", "sure"]);
    let list = |values: &[f64], digits: usize| {
        values.iter().map(|v| format!("{v:.digits$}")).collect::<Vec<_>>().join(" ")
    };
    for (name, series) in Series::ALL {
        let digits = if name.len() > 2 && series > Series::E24 || name == "R5" { 2 } else { 1 };
        t.row(&[&name, &list(&series.values(), digits)], series.source());
    }
    let volts: Vec<String> = CAPACITOR_VOLTAGES.iter().map(ToString::to_string).collect();
    t.row(&[&"capacitors, V", &volts.join(" ")], CAPACITOR_SOURCE);
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};

    /// E96 as printed on the back of every resistor catalogue, from memory; E48 is every second of it.
    const PRINTED_E96: [u32; 96] = [
        100, 102, 105, 107, 110, 113, 115, 118, 121, 124, 127, 130, 133, 137, 140, 143, 147, 150, 154, 158,
        162, 165, 169, 174, 178, 182, 187, 191, 196, 200, 205, 210, 215, 221, 226, 232, 237, 243, 249, 255,
        261, 267, 274, 280, 287, 294, 301, 309, 316, 324, 332, 340, 348, 357, 365, 374, 383, 392, 402, 412,
        422, 432, 442, 453, 464, 475, 487, 499, 511, 523, 536, 549, 562, 576, 590, 604, 619, 634, 649, 665,
        681, 698, 715, 732, 750, 768, 787, 806, 825, 845, 866, 887, 909, 931, 953, 976,
    ];

    fn hundredths(series: Series) -> Vec<u32> {
        series.values().iter().map(|v| (v * 100.0).round() as u32).collect()
    }

    #[test]
    fn the_formula_gives_the_printed_series() {
        assert_eq!(hundredths(Series::E96), PRINTED_E96);
        let e48: Vec<u32> = PRINTED_E96.iter().copied().step_by(2).collect();
        assert_eq!(hundredths(Series::E48), e48);
        let e192 = hundredths(Series::E192);
        assert_eq!(e192.len(), 192);
        assert!(PRINTED_E96.iter().all(|v| e192.contains(v)));
        // The one value that the rule misses.
        assert!(e192.contains(&920) && !e192.contains(&919));
    }

    /// Steps of E24 lie within its 5 %: neighbours' bands touch; R10 is 10^(k/10) within 1.3 %.
    #[test]
    fn coarse_series_follow_their_powers_of_ten() {
        for (k, v) in Series::E24.values().iter().enumerate() {
            let exact = 10f64.powf(k as f64 / 24.0);
            assert!((v / exact - 1.0).abs() < 0.05, "{v} {exact}");
        }
        for (k, v) in Series::R10.values().iter().enumerate() {
            let exact = 10f64.powf(k as f64 / 10.0);
            assert!((v / exact - 1.0).abs() < 0.013, "{v} {exact}");
        }
        assert_eq!(hundredths(Series::R5), [100, 160, 250, 400, 630]);
        assert_eq!(hundredths(Series::E3), [100, 220, 470]);
        assert_eq!(hundredths(Series::E6), [100, 150, 220, 330, 470, 680]);
        assert_eq!(hundredths(Series::E12), [100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820]);
    }

    #[test]
    fn the_nearest_value_on_the_side_asked_for() {
        let checks: [Check; 8] = [
            ("above 48 in E12", at_least(Series::E12, 48.0), 56.0, 1e-12, "IEC 60063"),
            ("above 8.3 in E12", at_least(Series::E12, 8.3), 10.0, 1e-12, "IEC 60063"),
            ("9.9 kΩ in E96 down", at_most(Series::E96, 9900.0), 9760.0, 1e-12, "IEC 60063"),
            ("100 in E6", at_least(Series::E6, 100.0), 100.0, 1e-12, "IEC 60063"),
            ("0.6/0.75 in R10", at_least(Series::R10, 0.6 / 0.75), 0.8, 1e-12, "ISO 3"),
            ("below 1 in E3", at_most(Series::E3, 0.99), 0.47, 1e-12, "IEC 60063"),
            ("150 µ in E6", at_most(Series::E6, 150e-6), 150e-6, 1e-12, "IEC 60063"),
            ("9.195 in E192", at_least(Series::E192, 9.195), 9.20, 1e-12, "IEC 60063"),
        ];
        all_hold(&checks);
        assert!(at_least(Series::E6, f64::NAN).is_nan());
        assert!(at_least(Series::E6, -3.0) < 0.0 && at_most(Series::E6, 0.0).abs() < 1e-300);
    }

    #[test]
    fn a_capacitor_is_rated_at_or_above_what_it_sees() {
        let rated = |v| capacitor_voltage_at_least(Voltage::volts(v)).map(|v| v.to_string());
        assert_eq!(rated(358.0).as_deref(), Some("400 V"));
        assert_eq!(rated(16.0).as_deref(), Some("16 V"));
        assert_eq!(rated(501.0), None);
    }
}
