//! Metal-oxide varistors across the mains: which rating, and what passes.
//!
//! ```
//! use voltwright_quantity::{Quantity, Voltage};
//! // 230 V + 10 %.
//! let row = voltwright_tables::varistors::for_mains(Voltage::volts(253.0)).unwrap();
//! assert!((row.rms.si() - 275.0).abs() < 1e-9);
//! ```

use crate::Table;
use voltwright_quantity::{Source, Voltage};

/// A rating of varistors; the disc's diameter changes the energy, not these.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Row {
    /// Highest continuous alternating voltage, RMS.
    pub rms: Voltage,
    /// Highest continuous direct voltage.
    pub dc: Voltage,
    /// Voltage at 1 mA; makers allow ±10 %.
    pub at_1_ma: Voltage,
    /// Clamping voltage at the test current.
    pub clamp: Voltage,
    /// Where it stands.
    pub source: Source,
}

const SEEN: Source = Source::seen("replacement guide for varistors");
const RECALLED: Source = Source::memory("makers' sheets for disc varistors");

const fn row(rms: f64, dc: f64, at_1_ma: f64, clamp: f64, source: Source) -> Row {
    Row {
        rms: Voltage::volts(rms),
        dc: Voltage::volts(dc),
        at_1_ma: Voltage::volts(at_1_ma),
        clamp: Voltage::volts(clamp),
        source,
    }
}

/// Ratings, ascending.
pub static VARISTORS: [Row; 9] = [
    row(95.0, 125.0, 150.0, 250.0, SEEN),
    row(115.0, 150.0, 171.0, 300.0, SEEN),
    row(130.0, 170.0, 205.0, 340.0, RECALLED),
    row(135.0, 180.0, 216.0, 355.0, SEEN),
    row(150.0, 200.0, 240.0, 395.0, RECALLED),
    row(175.0, 225.0, 270.0, 455.0, RECALLED),
    row(250.0, 320.0, 390.0, 650.0, RECALLED),
    row(275.0, 350.0, 430.0, 710.0, RECALLED),
    row(300.0, 385.0, 470.0, 775.0, RECALLED),
];

/// The smallest rating that stands the highest voltage of the mains for good; `None` above 300 V.
pub fn for_mains(high: Voltage) -> Option<&'static Row> {
    VARISTORS.iter().find(|r| r.rms >= high)
}

/// For print.
pub fn table() -> Table {
    let mut t =
        Table::new("varistors", "Varistors", &["AC, RMS", "DC", "at 1 mA", "clamps at", "source", "sure"]);
    for r in &VARISTORS {
        t.row(&[&r.rms, &r.dc, &r.at_1_ma, &r.clamp], r.source);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use voltwright_quantity::Quantity;

    /// A varistor must not conduct at the peak of its rated voltage: at 1 mA it stands 5 to 20 % above √2 times it; the
    /// DC rating lies below the peak, and the clamp at 1.6 to 1.8 times the 1 mA voltage (makers' sheets).
    #[test]
    fn ratings_follow_the_peak_of_the_mains() {
        for r in &VARISTORS {
            let peak = r.rms.si() * std::f64::consts::SQRT_2;
            let over = r.at_1_ma.si() / peak;
            assert!((1.05..1.2).contains(&over), "{}: {over}", r.rms);
            assert!(r.dc.si() > r.rms.si() * 1.25 && r.dc.si() < peak, "{}", r.rms);
            let clamp = r.clamp.si() / r.at_1_ma.si();
            assert!((1.6..1.8).contains(&clamp), "{}: {clamp}", r.rms);
        }
        assert!(VARISTORS.windows(2).all(|p| p[0].rms < p[1].rms && p[0].clamp < p[1].clamp));
    }

    /// Usual choice of the trade: 130 to 150 V for 120 V, 275 to 300 V for 230 V; 220 V + 10 % takes the next group.
    #[test]
    fn the_usual_choices_come_out() {
        let chosen = |high: f64| for_mains(Voltage::volts(high)).map(|r| r.rms.to_string());
        assert_eq!(chosen(126.0).as_deref(), Some("130 V"));
        assert_eq!(chosen(253.0).as_deref(), Some("275 V"));
        assert_eq!(chosen(242.0).as_deref(), Some("250 V"));
        assert_eq!(chosen(301.0), None);
    }
}
