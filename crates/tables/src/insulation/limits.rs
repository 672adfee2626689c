//! Limits of touch, of stored charge, of earth and of tests.

use crate::Table;
use voltwright_quantity::{Source, Voltage};

/// Direct voltage up to which a circuit is extra-low voltage that may be touched when dry.
pub const SELV_DC: Voltage = Voltage::volts(60.0);
/// Peak of an alternating voltage up to which the same holds.
pub const SELV_PEAK: Voltage = Voltage::volts(42.4);
/// Where the two stand.
pub const TOUCH_SOURCE: Source = Source::seen("IEC 60950-1 clause 2.2, by IS 13252-1:2010");

/// A limit in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Limit {
    /// What is limited.
    pub what: &'static str,
    /// To how much.
    pub limit: &'static str,
    /// Where it stands.
    pub source: Source,
}

const fn limit(what: &'static str, limit: &'static str, source: Source) -> Limit {
    Limit { what, limit, source }
}

const IEC_62368: Source = Source::memory("IEC 62368-1 tables 4 and 5");
const IEC_60950: Source = Source::memory("IEC 60950-1");

/// Limits to show.
pub static LIMITS: [Limit; 14] = [
    limit("extra-low voltage that may be touched", "60 V DC, 42.4 V peak", TOUCH_SOURCE),
    limit("energy source class 1", "60 V DC, 30 V RMS, 42.4 V peak; or 2 mA DC, 0.5 mA RMS", IEC_62368),
    limit("energy source class 2", "120 V DC, 50 V RMS, 70.7 V peak; or 25 mA DC, 5 mA RMS", IEC_62368),
    limit(
        "capacitor of 300 nF and more, class 1",
        "60 V",
        Source::memory("IEC 62368-1 table 5, low confidence"),
    ),
    limit(
        "discharge after the plug is pulled",
        "class 1 after 2 s",
        Source::seen("test report form of IEC 62368-1"),
    ),
    limit("capacitor above 0.1 µF across the mains", "time constant at most 1 s, with a plug", IEC_60950),
    limit(
        "charge behind a protective impedance",
        "2 mA DC, 0.7 mA peak; 0.1 µF to 450 V; 45 µC to 15 kV",
        Source::seen("IEC 60335-1 clause 8.1.4, as quoted"),
    ),
    limit("stored energy that burns and welds", "20 J or 240 VA at 2 V or more", IEC_60950),
    limit("protective earth, plug to metal", "0.1 Ω besides the cord", IEC_60950),
    limit("touch current, class II", "0.25 mA", Source::seen("summary of IEC 60950-1")),
    limit("touch current, class I", "3.5 mA; hand-held 0.75 mA", IEC_60950),
    limit("test voltage, mains to 130 V", "basic 1000 V, reinforced 2000 V for 60 s", IEC_60950),
    limit("test voltage, mains to 250 V", "basic 1500 V, reinforced 3000 V for 60 s", IEC_60950),
    limit(
        "air gap or groove below",
        "1 mm is bridged",
        Source::seen("rules of measuring creepage, as quoted"),
    ),
];

/// For print.
pub fn table() -> Table {
    let mut t = Table::new(
        "limits",
        "Limits of touch, charge, earth and tests",
        &["what", "limit", "source", "sure"],
    );
    for l in &LIMITS {
        t.row(&[&l.what, &l.limit], l.source);
    }
    t
}
