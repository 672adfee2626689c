//! Distances of insulation: impulse voltage of the mains, clearance through air, creepage along surfaces, altitude;
//! and the limits below which a voltage may be touched.
//!
//! Clearance follows the impulse voltage, creepage the working voltage; creepage is never less than clearance.
//! Reinforced insulation: clearance of the next impulse step, twice the creepage. Source: IEC 60664-1. These are figures
//! to plan with; whoever approves equipment works from the standard itself.
//!
//! ```
//! use voltwright_quantity::{Length, Voltage};
//! use voltwright_tables::insulation::*;
//! // 230 V mains, overvoltage category II, pollution degree 2, ordinary board material (group III).
//! let need = distances(Voltage::volts(230.0), Category::II, Pollution::Pd2, Material::III).unwrap();
//! let mm = |l: Length| (l.as_millimetres() * 100.0).round() / 100.0;
//! assert_eq!((mm(need.basic_clearance), mm(need.basic_creepage)), (1.5, 2.5));
//! assert_eq!((mm(need.reinforced_clearance), mm(need.reinforced_creepage)), (3.0, 5.0));
//! ```

mod creepage;
mod limits;

use crate::Table;
use crate::interpolate::linear;
pub use creepage::{board_creepage, creepage, mains_row, table as creepage_table};
pub use limits::{LIMITS, Limit, SELV_DC, SELV_PEAK, TOUCH_SOURCE, table as limits_table};
use voltwright_quantity::{Length, Quantity, Source, Voltage};

/// Overvoltage category: how near the origin of the installation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum Category {
    /// Behind suppression.
    I,
    /// At an outlet: machines with a plug.
    II,
    /// Fixed to the installation.
    III,
    /// At the origin of the installation.
    IV,
}

/// Pollution degree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum Pollution {
    /// Sealed or clean and dry.
    Pd1,
    /// Rooms and offices: only now and then made conductive by dew.
    Pd2,
    /// Conductive dust, or dust that becomes so.
    Pd3,
}

/// Material group by comparative tracking index.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum Material {
    /// CTI 600 and more.
    I,
    /// CTI 400 to 599.
    II,
    /// CTI 100 to 399: ordinary boards; what is unknown counts as this.
    III,
}

const SEEN: Source = Source::seen("IEC 60664-1 table F.1, as printed by makers");
const RECALLED: Source = Source::memory("IEC 60664-1 table F.1");

/// Line to neutral up to, volts; impulse of categories I to IV, volts.
const IMPULSE: [(f64, [f64; 4], Source); 6] = [
    (50.0, [330.0, 500.0, 800.0, 1500.0], RECALLED),
    (100.0, [500.0, 800.0, 1500.0, 2500.0], RECALLED),
    (150.0, [800.0, 1500.0, 2500.0, 4000.0], SEEN),
    (300.0, [1500.0, 2500.0, 4000.0, 6000.0], SEEN),
    (600.0, [2500.0, 4000.0, 6000.0, 8000.0], SEEN),
    (1000.0, [4000.0, 6000.0, 8000.0, 12000.0], SEEN),
];

/// The impulse that insulation to a mains of that nominal voltage must stand; `None` above 1000 V.
pub fn impulse(line_to_neutral: Voltage, category: Category) -> Option<(Voltage, Source)> {
    let row = IMPULSE.iter().find(|r| line_to_neutral.si() <= r.0 + 1e-9)?;
    Some((Voltage::volts(row.1[category as usize]), row.2))
}

/// The next step of the preferred impulse voltages, or 1.6 times a voltage between them: for reinforced insulation.
pub fn reinforced_impulse(basic: Voltage) -> Voltage {
    let volts = basic.si();
    let step =
        CLEARANCE.iter().position(|r| (r.0 / volts - 1.0).abs() < 1e-6).and_then(|i| CLEARANCE.get(i + 1));
    Voltage::volts(step.map_or(volts * 1.6, |r| r.0))
}

const CLEAR_SEEN: Source = Source::seen("IEC 60664-1 table F.2 case A, as printed by makers");
const CLEAR_RECALLED: Source = Source::memory("IEC 60664-1 table F.2 case A");

/// Impulse, volts; clearance in mm for pollution degree 1, 2, 3.
const CLEARANCE: [(f64, [f64; 3], Source); 9] = [
    (330.0, [0.01, 0.2, 0.8], CLEAR_RECALLED),
    (500.0, [0.04, 0.2, 0.8], CLEAR_RECALLED),
    (800.0, [0.10, 0.2, 0.8], CLEAR_RECALLED),
    (1500.0, [0.5, 0.5, 0.8], CLEAR_SEEN),
    (2500.0, [1.5, 1.5, 1.5], CLEAR_SEEN),
    (4000.0, [3.0, 3.0, 3.0], CLEAR_SEEN),
    (6000.0, [5.5, 5.5, 5.5], CLEAR_SEEN),
    (8000.0, [8.0, 8.0, 8.0], CLEAR_SEEN),
    (12000.0, [14.0, 14.0, 14.0], CLEAR_SEEN),
];

/// Least distance through air for that impulse, up to 2000 m; `None` above 12 kV. Between rows on a straight line.
pub fn clearance(impulse: Voltage, pollution: Pollution) -> Option<(Length, Source)> {
    let volts = impulse.si();
    let row = CLEARANCE.iter().find(|r| volts <= r.0 * (1.0 + 1e-9))?;
    let points = CLEARANCE.map(|r| (r.0, r.1[pollution as usize]));
    Some((Length::millimetres(linear(&points, volts)), row.2))
}

/// Where the factor for altitude stands.
pub const ALTITUDE_SOURCE: Source = Source::seen("IEC 60664-1 table A.2, as printed by a maker");
const ALTITUDE: [(f64, f64); 11] = [
    (2000.0, 1.00),
    (3000.0, 1.14),
    (4000.0, 1.29),
    (5000.0, 1.48),
    (6000.0, 1.70),
    (7000.0, 1.95),
    (8000.0, 2.25),
    (9000.0, 2.62),
    (10_000.0, 3.02),
    (15_000.0, 6.67),
    (20_000.0, 14.5),
];

/// The factor on a clearance at that altitude: 1 up to 2000 m.
pub fn altitude_factor(altitude: Length) -> f64 {
    linear(&ALTITUDE, altitude.si())
}

/// The distances that insulation between a mains and something else needs.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Distances {
    /// Impulse that basic insulation must stand.
    pub impulse: Voltage,
    /// Through air, to earthed metal.
    pub basic_clearance: Length,
    /// Along a surface, to earthed metal.
    pub basic_creepage: Length,
    /// Through air, to what may be touched or to low voltage.
    pub reinforced_clearance: Length,
    /// Along a surface, to what may be touched or to low voltage.
    pub reinforced_creepage: Length,
}

/// Clearance and creepage to a mains of that nominal voltage, up to 2000 m; `None` above 1000 V.
pub fn distances(
    mains: Voltage,
    category: Category,
    pollution: Pollution,
    material: Material,
) -> Option<Distances> {
    let (impulse, _) = impulse(mains, category)?;
    let (basic_clearance, _) = clearance(impulse, pollution)?;
    let (reinforced_clearance, _) = clearance(reinforced_impulse(impulse), pollution)?;
    let (along, _) = creepage(mains_row(mains), pollution, material)?;
    Some(Distances {
        impulse,
        basic_clearance,
        basic_creepage: along.max(basic_clearance),
        reinforced_clearance,
        reinforced_creepage: (along * 2.0).max(reinforced_clearance),
    })
}

/// For print: impulse, clearance and altitude.
pub fn table() -> Table {
    let columns = &["what", "first", "second", "third", "fourth", "source", "sure"];
    let title =
        "Impulse voltage (categories I to IV), clearance in mm (pollution degree 1 to 3), altitude factor";
    let mut t = Table::new("insulation", title, columns);
    for (volts, by, source) in IMPULSE {
        let v = by.map(Voltage::volts);
        t.row(&[&format!("impulse, mains up to {volts} V"), &v[0], &v[1], &v[2], &v[3]], source);
    }
    for (volts, mm, source) in CLEARANCE {
        let what = format!("clearance for {}", Voltage::volts(volts));
        t.row(&[&what, &mm[0], &mm[1], &mm[2], &"–"], source);
    }
    for (metres, factor) in ALTITUDE {
        t.row(&[&format!("altitude {metres} m"), &factor, &"–", &"–", &"–"], ALTITUDE_SOURCE);
    }
    t
}

#[cfg(test)]
mod tests;
