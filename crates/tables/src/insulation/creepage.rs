//! Creepage distances: along the surface of insulation.

use super::{Material, Pollution};
use crate::Table;
use crate::interpolate::linear;
use voltwright_quantity::{Length, Quantity, Source, Voltage};

const SOURCE: Source = Source::seen("IEC 60664-1 table F.4, as printed in a maker's catalogue");

/// Working voltage, V RMS; mm on printed boards at pollution degree 1 and 2; mm at degree 1 in any group; at degree 2 in
/// groups I to III; at degree 3 in groups I to III.
const ROWS: [(f64, [f64; 9]); 18] = [
    (10.0, [0.025, 0.04, 0.08, 0.40, 0.40, 0.40, 1.0, 1.0, 1.0]),
    (25.0, [0.025, 0.04, 0.125, 0.50, 0.50, 0.50, 1.25, 1.25, 1.25]),
    (32.0, [0.025, 0.04, 0.14, 0.53, 0.53, 0.53, 1.30, 1.30, 1.30]),
    (40.0, [0.025, 0.04, 0.16, 0.56, 0.80, 1.10, 1.40, 1.60, 1.80]),
    (50.0, [0.025, 0.04, 0.18, 0.60, 0.85, 1.20, 1.50, 1.70, 1.90]),
    (63.0, [0.040, 0.063, 0.20, 0.63, 0.90, 1.25, 1.60, 1.80, 2.00]),
    (80.0, [0.063, 0.10, 0.22, 0.67, 0.95, 1.30, 1.70, 1.90, 2.10]),
    (100.0, [0.10, 0.16, 0.25, 0.71, 1.00, 1.40, 1.80, 2.00, 2.20]),
    (125.0, [0.16, 0.25, 0.28, 0.75, 1.05, 1.50, 1.90, 2.10, 2.40]),
    (160.0, [0.25, 0.40, 0.32, 0.80, 1.10, 1.60, 2.00, 2.20, 2.50]),
    (200.0, [0.40, 0.63, 0.42, 1.00, 1.40, 2.00, 2.50, 2.80, 3.20]),
    (250.0, [0.56, 1.00, 0.56, 1.25, 1.80, 2.50, 3.20, 3.60, 4.00]),
    (320.0, [0.75, 1.60, 0.75, 1.60, 2.20, 3.20, 4.00, 4.50, 5.00]),
    (400.0, [1.0, 2.0, 1.0, 2.0, 2.8, 4.0, 5.0, 5.6, 6.3]),
    (500.0, [1.3, 2.5, 1.3, 2.5, 3.6, 5.0, 6.3, 7.1, 8.0]),
    (630.0, [1.8, 3.2, 1.8, 3.2, 4.5, 6.3, 8.0, 9.0, 10.0]),
    (800.0, [2.4, 4.0, 2.4, 4.0, 5.6, 8.0, 10.0, 11.0, 12.5]),
    (1000.0, [3.2, 5.0, 3.2, 5.0, 7.1, 10.0, 12.5, 14.0, 16.0]),
];

fn at(working: Voltage, column: usize) -> Option<(Length, Source)> {
    let inside = working.si() >= 0.0 && working.si() <= 1000.0 * (1.0 + 1e-9);
    let points = ROWS.map(|r| (r.0, r.1[column]));
    inside.then(|| (Length::millimetres(linear(&points, working.si())), SOURCE))
}

/// Least creepage of basic insulation for a working voltage (RMS, or direct); `None` above 1000 V. Between rows on a
/// straight line; below 10 V the row of 10 V.
pub fn creepage(working: Voltage, pollution: Pollution, material: Material) -> Option<(Length, Source)> {
    let group = material as usize;
    at(
        working,
        match pollution {
            Pollution::Pd1 => 2,
            Pollution::Pd2 => 3 + group,
            Pollution::Pd3 => 6 + group,
        },
    )
}

/// Least creepage on a printed board of CTI 175 or more, whose manufacture is controlled: for functional insulation.
/// `None` at pollution degree 3, and above 1000 V. For an unknown board use [`creepage`] in group III.
pub fn board_creepage(working: Voltage, pollution: Pollution) -> Option<(Length, Source)> {
    match pollution {
        Pollution::Pd1 => at(working, 0),
        Pollution::Pd2 => at(working, 1),
        Pollution::Pd3 => None,
    }
}

/// The row that stands for a mains of that nominal voltage: 230 V takes 250 V, 120 V takes 125 V, 100 V its own.
pub fn mains_row(nominal: Voltage) -> Voltage {
    ROWS.iter()
        .map(|r| Voltage::volts(r.0))
        .find(|v| nominal.si() <= v.si() * (1.0 + 1e-9))
        .unwrap_or(nominal)
}

/// For print.
pub fn table() -> Table {
    let mut t = Table::new(
        "creepage",
        "Creepage of basic insulation, mm (PD: pollution degree)",
        &[
            "V RMS",
            "board PD1",
            "board PD2",
            "PD1",
            "PD2 I",
            "PD2 II",
            "PD2 III",
            "PD3 I",
            "PD3 II",
            "PD3 III",
            "source",
            "sure",
        ],
    );
    for (volts, mm) in &ROWS {
        let [a, b, c, d, e, f, g, h, i] = mm;
        t.row(&[volts, a, b, c, d, e, f, g, h, i], SOURCE);
    }
    t
}
