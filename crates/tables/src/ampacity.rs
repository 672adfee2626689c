//! What a wire may carry for hours, alone in air and in a bundle.
//!
//! The figures are the smaller ones of the wire tables (MIL-STD-975, EEE-INST-002 style), made for 200 °C wire in
//! vacuum at 70 °C: in a case at 40 °C they leave room for the 105 °C wire that is sold. "Chassis wiring" tables give
//! nearly twice as much and are not used. Between rows the values follow a straight line on log-log paper.
//!
//! ```
//! use voltwright_quantity::{Area, Quantity};
//! use voltwright_tables::ampacity;
//! let wire = ampacity::ampacity(Area::square_millimetres(0.823)); // AWG 18
//! assert!((wire.single.si() - 9.2).abs() < 0.01 && (wire.bundled.si() - 5.0).abs() < 0.01);
//! ```

use crate::Table;
use crate::conductors::awg;
pub use crate::cords::least as least_cord;
pub use crate::fusing::{onderdonk, preece, wire_survives};
use crate::interpolate::{linear, log_log};
use voltwright_quantity::{Area, Current, Source, Sure};

/// What a conductor of that size may carry.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Row {
    /// Cross-section, mm².
    pub area_mm2: f64,
    /// Continuous, a single wire in free air.
    pub single: Current,
    /// Continuous, each of 15 or more wires in a bundle.
    pub bundled: Current,
    /// Where it stands.
    pub source: Source,
}

const PRINTED: Source =
    Source::seen("wire table in the style of MIL-STD-975 and EEE-INST-002; the lower of two copies");
const RECALLED: Source = Source::memory("MIL-STD-975 and EEE-INST-002 style wire table");
const BETWEEN: Source =
    Source::practice("between rows of the MIL-STD-975 and EEE-INST-002 style wire table, on log-log");
const BEYOND: Source =
    Source::practice("our own extension of the MIL-STD-975 and EEE-INST-002 style wire table");

/// Gauge, single, bundled, source; ascending in size.
const ROWS: [(u8, f64, f64, Source); 11] = [
    (30, 1.3, 0.7, PRINTED),
    (28, 1.8, 1.0, RECALLED),
    (26, 2.5, 1.4, RECALLED),
    (24, 3.3, 2.0, PRINTED),
    (22, 4.5, 2.5, PRINTED),
    (20, 6.5, 3.7, PRINTED),
    (18, 9.2, 5.0, PRINTED),
    (16, 13.0, 6.0, PRINTED),
    (14, 19.0, 8.0, PRINTED),
    (12, 25.0, 11.5, PRINTED),
    (10, 33.0, 16.0, PRINTED),
];

/// What a conductor of that cross-section may carry; between and beyond the rows on log-log.
pub fn ampacity(area: Area) -> Row {
    let mm2 = area.as_square_millimetres();
    let along = |value: fn(&(u8, f64, f64, Source)) -> f64| -> Current {
        let points: Vec<(f64, f64)> = ROWS.iter().map(|r| (awg(r.0).area_mm2, value(r))).collect();
        Current::amps(log_log(&points, mm2))
    };
    Row { area_mm2: mm2, single: along(|r| r.1), bundled: along(|r| r.2), source: source_of(mm2) }
}

fn source_of(mm2: f64) -> Source {
    let ratio = |r: &(u8, f64, f64, Source)| awg(r.0).area_mm2 / mm2;
    if let Some(row) = ROWS.iter().find(|r| (ratio(r) - 1.0).abs() < 2e-3) {
        return row.3;
    }
    let above = ROWS.partition_point(|r| ratio(r) < 1.0);
    match (above.checked_sub(1).and_then(|i| ROWS.get(i)), ROWS.get(above)) {
        (Some(a), Some(b)) if a.3.sure.max(b.3.sure) == Sure::Memory => RECALLED,
        (Some(_), Some(_)) => BETWEEN,
        _ => BEYOND,
    }
}

/// Where the derating of bundles stands.
pub const BUNDLE_SOURCE: Source = Source::seen("MIL-W-5088L, bundle derating curves, as tabulated");

/// Shares of a bundle's total capacity that are loaded, percent.
const LOADED: [f64; 5] = [20.0, 40.0, 60.0, 80.0, 100.0];
/// Wires in the bundle, and the factor on the single-wire current for each share loaded.
const BUNDLE: [(f64, [f64; 5]); 8] = [
    (1.0, [1.0, 1.0, 1.0, 1.0, 1.0]),
    (2.0, [0.968, 0.920, 0.910, 0.870, 0.825]),
    (3.0, [0.935, 0.855, 0.815, 0.770, 0.725]),
    (5.0, [0.875, 0.760, 0.695, 0.650, 0.610]),
    (7.0, [0.820, 0.695, 0.625, 0.570, 0.540]),
    (10.0, [0.755, 0.623, 0.550, 0.500, 0.465]),
    (15.0, [0.670, 0.540, 0.465, 0.420, 0.385]),
    (19.0, [0.625, 0.495, 0.423, 0.380, 0.343]),
];

/// The factor on the single-wire current in a bundle, of which that share of its capacity is loaded.
///
/// Between rows and columns on a straight line. Below 20 % the value at 20 % stands; above 19 wires the last two rows
/// go on as a power law, which is our own extension.
pub fn bundle_factor(wires: usize, percent_loaded: f64) -> f64 {
    let n = wires.max(1) as f64;
    let column: Vec<(f64, f64)> = BUNDLE
        .iter()
        .map(|(wires, factors)| {
            let across: Vec<(f64, f64)> = LOADED.iter().copied().zip(*factors).collect();
            (*wires, linear(&across, percent_loaded))
        })
        .collect();
    if n > 19.0 { log_log(&column, n) } else { linear(&column, n) }
}

/// For print: currents by size.
pub fn table() -> Table {
    let columns = &["AWG", "mm²", "single, A", "bundled, A", "source", "sure"];
    let mut t = Table::new("ampacity", "What a wire may carry for hours", columns);
    for (gauge, single, bundled, source) in ROWS {
        t.row(&[&gauge, &format!("{:.4}", awg(gauge).area_mm2), &single, &bundled], source);
    }
    t
}

/// For print: factors for bundles.
pub fn bundle_table() -> Table {
    let columns = &["wires", "20 % loaded", "40 %", "60 %", "80 %", "100 %", "source", "sure"];
    let mut t = Table::new("bundles", "Factor on the single-wire current in a bundle", columns);
    for (wires, f) in BUNDLE {
        t.row(&[&wires, &f[0], &f[1], &f[2], &f[3], &f[4]], BUNDLE_SOURCE);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};
    use voltwright_quantity::Quantity;

    fn single(mm2: f64) -> f64 {
        ampacity(Area::square_millimetres(mm2)).single.si()
    }

    /// Independent tables made for other wire and other places must allow more than ours in every row.
    #[test]
    fn other_tables_allow_more() {
        // IEC 60364-5-52 method F and DIN VDE 0298-4 table 11, PVC in free air at 30 °C, from memory.
        for (mm2, amps) in [(0.75, 15.0), (1.0, 19.0), (1.5, 24.0), (2.5, 32.0), (4.0, 42.0), (6.0, 54.0)] {
            let ours = single(mm2);
            assert!(ours < amps && ours > amps * 0.5, "{mm2} mm²: {ours} against {amps} A");
        }
        // Japanese wire table, conductor at 60 °C in air of 30 °C.
        for (mm2, amps) in [(0.9, 17.0), (1.25, 19.0), (2.0, 27.0), (3.5, 37.0), (5.5, 49.0)] {
            assert!(single(mm2) < amps, "{mm2} mm²");
        }
        // ARRL handbook, bundled.
        for (gauge, amps) in [(22, 5.0), (20, 7.5), (18, 10.0), (16, 13.0), (14, 17.0), (12, 23.0)] {
            assert!(
                ampacity(Area::square_millimetres(awg(gauge).area_mm2)).bundled.si() < amps,
                "AWG {gauge}"
            );
        }
    }

    /// The bundled column is for 15 or more wires: its ratio to the single one lies on another standard's curve for 15
    /// wires, between all of them loaded and a fifth.
    #[test]
    fn two_standards_agree_about_bundles() {
        for (gauge, single, bundled, _) in ROWS {
            let ratio = bundled / single;
            let curve = (bundle_factor(15, 100.0), bundle_factor(15, 20.0));
            assert!(ratio > curve.0 && ratio < curve.1, "AWG {gauge}: {ratio} {curve:?}");
        }
    }

    #[test]
    fn published_facts() {
        let checks: [Check; 3] = [
            (
                "AWG 12 single",
                single(awg(12).area_mm2),
                25.0,
                1e-9,
                "a second copy of the table: 25 A single",
            ),
            (
                "AWG 12 bundled",
                ampacity(Area::square_millimetres(awg(12).area_mm2)).bundled.si(),
                11.5,
                1e-9,
                "a second copy: 11.5 A in a bundle",
            ),
            // By geometry: the middle of 3 and 5 wires at the middle of 80 and 100 %.
            (
                "bundle of 4 at 90 %",
                bundle_factor(4, 90.0),
                (0.770 + 0.725 + 0.650 + 0.610) / 4.0,
                1e-9,
                "MIL-W-5088L",
            ),
        ];
        all_hold(&checks);
    }

    #[test]
    fn more_copper_carries_more_and_more_company_less() {
        let sizes: Vec<f64> = (0..200).map(|i| 0.02 * 1.035f64.powi(i)).collect();
        for pair in sizes.windows(2) {
            let (a, b) = (single(pair[0]), single(pair[1]));
            assert!(a < b, "{} mm²", pair[0]);
            // The current per mm² falls as wires get thicker: less surface for each mm².
            assert!(a / pair[0] > b / pair[1], "{} mm²", pair[0]);
        }
        for n in 1..40 {
            for loaded in [0.0, 20.0, 35.0, 100.0] {
                assert!(bundle_factor(n, loaded) > bundle_factor(n + 1, loaded), "{n} wires");
                assert!(bundle_factor(n, loaded) >= bundle_factor(n, loaded + 10.0));
            }
        }
    }

    #[test]
    fn the_source_says_how_the_value_was_found() {
        let sure = |mm2| ampacity(Area::square_millimetres(mm2)).source;
        assert_eq!(sure(awg(18).area_mm2), PRINTED);
        assert_eq!(sure(0.75), BETWEEN);
        assert_eq!(sure(0.14), RECALLED);
        assert_eq!(sure(10.0), BEYOND);
        assert_eq!(sure(0.01), BEYOND);
    }
}
