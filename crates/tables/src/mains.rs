//! Mains by country: voltage, how far it may stray, frequency, plugs.
//!
//! Low and high are what a socket may show, not what it shows at your house: measure. Where lists disagree about a
//! country, one supply spans both and its note says so. Where no tolerance was found, ±10 % stands, marked as
//! common practice.
//!
//! ```
//! use voltwright_quantity::Quantity;
//! use voltwright_tables::mains;
//! let japan = mains::of("JP").unwrap();
//! assert!((japan.supplies[0].low().si() - 95.0).abs() < 1e-9);
//! assert_eq!(mains::near("Irland"), Some("IE"));
//! ```

mod countries;

use crate::Table;
use crate::near::nearest;
pub use countries::COUNTRIES;
use voltwright_quantity::{Quantity, Source, Voltage};

/// The mains of a country.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Mains {
    /// ISO 3166-1 alpha-2.
    pub code: &'static str,
    /// Its name in English.
    pub country: &'static str,
    /// What is supplied; the usual one first.
    pub supplies: &'static [Supply],
    /// Letters of the plugs in use, IEC TR 60083 and World Plugs.
    pub plugs: &'static str,
    /// What to know besides; empty if nothing.
    pub note: &'static str,
    /// Where voltage, frequency and plugs stand.
    pub source: Source,
}

/// One voltage supplied in a country, line to neutral where there is a neutral.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Supply {
    /// Nominal, volts RMS.
    pub volts: f64,
    /// Percent that it may be below.
    pub below: f64,
    /// Percent that it may be above.
    pub above: f64,
    /// Frequencies met, hertz.
    pub hertz: &'static [f64],
    /// Where the tolerance stands.
    pub tolerance_source: Source,
}

impl Supply {
    /// Lowest voltage to reckon with.
    pub fn low(&self) -> Voltage {
        Voltage::volts(self.volts * (1.0 - self.below / 100.0))
    }
    /// Nominal voltage.
    pub fn nominal(&self) -> Voltage {
        Voltage::volts(self.volts)
    }
    /// Highest voltage to reckon with.
    pub fn high(&self) -> Voltage {
        Voltage::volts(self.volts * (1.0 + self.above / 100.0))
    }
}

/// The mains of the country with that ISO 3166-1 alpha-2 code, in capitals.
pub fn of(code: &str) -> Option<&'static Mains> {
    COUNTRIES.iter().find(|m| m.code == code)
}

/// Names by which people call a country, and its code.
const OTHER_NAMES: [(&str, &str); 14] = [
    ("uk", "GB"),
    ("great britain", "GB"),
    ("england", "GB"),
    ("scotland", "GB"),
    ("wales", "GB"),
    ("usa", "US"),
    ("america", "US"),
    ("united states of america", "US"),
    ("holland", "NL"),
    ("eire", "IE"),
    ("czechia", "CZ"),
    ("türkiye", "TR"),
    ("korea", "KR"),
    ("emirates", "AE"),
];

/// The code that was probably meant by a code in small letters, a country's name, or a slip in either.
pub fn near(code_or_name: &str) -> Option<&'static str> {
    let text = code_or_name.trim().to_lowercase();
    let exact = COUNTRIES.iter().find(|m| m.code.to_lowercase() == text || m.country.to_lowercase() == text);
    let named = || OTHER_NAMES.iter().find(|(name, _)| *name == text).map(|(_, code)| *code);
    exact.map(|m| m.code).or_else(named).or_else(|| begins(&text)).or_else(|| {
        let name = nearest(&text, COUNTRIES.iter().map(|m| m.country))?;
        COUNTRIES.iter().find(|m| m.country == name).map(|m| m.code)
    })
}

/// The only country whose name begins so, from three letters on.
fn begins(text: &str) -> Option<&'static str> {
    let mut matching = COUNTRIES.iter().filter(|m| m.country.to_lowercase().starts_with(text));
    let first = matching.next().filter(|_| text.chars().count() >= 3)?;
    matching.next().is_none().then_some(first.code)
}

/// For print: one row for each supply of each country.
pub fn table() -> Table {
    let columns = &[
        "code",
        "country",
        "volts",
        "low",
        "high",
        "hertz",
        "plugs",
        "note",
        "tolerance from",
        "source",
        "sure",
    ];
    let mut t = Table::new("mains", "Mains by country", columns);
    for m in COUNTRIES {
        for s in m.supplies {
            let hertz: Vec<String> = s.hertz.iter().map(ToString::to_string).collect();
            let ends = [s.low(), s.high()].map(|v| format!("{:.0}", v.si()));
            let cells: [&dyn std::fmt::Display; 9] = [
                &m.code,
                &m.country,
                &s.volts,
                &ends[0],
                &ends[1],
                &hertz.join("/"),
                &m.plugs,
                &m.note,
                &s.tolerance_source,
            ];
            t.row(&cells, m.source);
        }
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};

    fn low(code: &str) -> f64 {
        of(code).unwrap().supplies[0].low().si()
    }
    fn high(code: &str) -> f64 {
        of(code).unwrap().supplies[0].high().si()
    }

    #[test]
    fn voltage_bounds_as_the_rules_print_them() {
        let checks: [Check; 12] = [
            ("Japan low", low("JP"), 95.0, 1e-9, "Electricity Business Act Enforcement Regulations art. 38"),
            ("Japan high", high("JP"), 107.0, 1e-9, "the same: 101 ± 6 V"),
            ("Japan 200 V low", of("JP").unwrap().supplies[1].low().si(), 182.0, 1e-9, "art. 38: 202 ± 20 V"),
            (
                "Japan 200 V high",
                of("JP").unwrap().supplies[1].high().si(),
                222.0,
                1e-9,
                "art. 38: 202 ± 20 V",
            ),
            ("Ireland low", low("IE"), 207.0, 1e-9, "EN 50160: 207 to 253 V"),
            ("Ireland high", high("IE"), 253.0, 1e-9, "EN 50160: 207 to 253 V"),
            ("United Kingdom low", low("GB"), 216.2, 1e-9, "IEE Regulations app. 2: 216.2 to 253 V"),
            ("United Kingdom high", high("GB"), 253.0, 1e-9, "IEE Regulations app. 2: 216.2 to 253 V"),
            ("Australia low", low("AU"), 216.2, 1e-9, "AS 60038: 216.2 to 253 V"),
            ("Australia high", high("AU"), 253.0, 1e-9, "AS 60038: 216.2 to 253 V"),
            ("United States high", high("US"), 126.0, 1e-9, "ANSI C84.1 range A service, ±5 %"),
            (
                "South Korea high",
                high("KR"),
                233.0,
                1e-9,
                "Electric Utility Act rules, 220 ± 13 V, from memory",
            ),
        ];
        all_hold(&checks);
    }

    /// A machine planned for the bounds stands what either of two disagreeing lists gives, ±10 %.
    #[test]
    fn where_lists_disagree_the_bounds_span_both() {
        for (code, a, b) in [
            ("RU", 220.0, 230.0),
            ("UA", 220.0, 230.0),
            ("TR", 220.0, 230.0),
            ("MY", 230.0, 240.0),
            ("NG", 230.0, 240.0),
        ] {
            assert!(low(code) <= a * 0.9 + 0.1, "{code}");
            assert!(high(code) >= b * 1.1 - 0.1, "{code}");
            assert!(!of(code).unwrap().note.is_empty(), "{code}");
        }
    }

    #[test]
    fn the_list_is_in_order() {
        assert_eq!(COUNTRIES.len(), 64);
        for m in COUNTRIES {
            assert!(m.code.len() == 2 && m.code.chars().all(|c| c.is_ascii_uppercase()), "{}", m.code);
            assert_eq!(COUNTRIES.iter().filter(|o| o.code == m.code).count(), 1, "{}", m.code);
            assert_eq!(near(m.country), Some(m.code));
            assert_eq!(near(&m.code.to_lowercase()), Some(m.code));
            for s in m.supplies {
                assert!((90.0..=265.0).contains(&s.low().si()) && s.high().si() <= 265.0, "{}", m.code);
                assert!(s.low() < s.nominal() && s.nominal() < s.high(), "{}", m.code);
                assert!(s.hertz.iter().all(|h| *h > 49.0 && *h < 61.0), "{}", m.code);
            }
        }
    }

    #[test]
    fn a_slip_finds_the_country_and_nonsense_does_not() {
        assert_eq!(near("ie"), Some("IE"));
        assert_eq!(near("Irleand"), Some("IE"));
        assert_eq!(near("UK"), Some("GB"));
        assert_eq!(near("Germny"), Some("DE"));
        assert_eq!(near("Switz"), Some("CH"));
        assert_eq!(near("XQ"), None);
        assert_eq!(near(""), None);
        assert_eq!(near("North"), Some("KP"));
        assert!(of("ie").is_none());
    }
}
