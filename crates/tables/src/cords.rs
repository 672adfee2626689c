//! The least conductor of a flexible cord to the mains, by the current of the machine.
//!
//! Stricter than this is [`crate::ampacity`], which is made for wires inside a warm case: it gives 1.5 mm² 14.7 A.

use crate::Table;
use crate::table::or_dash;
use voltwright_quantity::{Area, Current, Source};

const SOURCE: Source = Source::memory("IEC 60335-1 table 11, IEC 60950-1 table 3B");

/// The least conductor up to a rated current.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Row {
    /// Rated current of the machine up to this.
    pub up_to: Current,
    /// Least cross-section.
    pub area: Area,
    /// What is allowed instead if the cord is at most 2 m long.
    pub short: Option<Area>,
    /// Where it stands.
    pub source: Source,
}

const fn row(amps: f64, mm2: f64, short: Option<Area>) -> Row {
    Row { up_to: Current::amps(amps), area: Area::square_millimetres(mm2), short, source: SOURCE }
}

static ROWS: [Row; 4] = [
    row(3.0, 0.75, Some(Area::square_millimetres(0.5))),
    row(6.0, 0.75, None),
    row(10.0, 1.0, Some(Area::square_millimetres(0.75))),
    row(16.0, 1.5, Some(Area::square_millimetres(1.0))),
];

/// The least conductor for a machine of that rated current; `None` above 16 A.
pub fn least(current: Current) -> Option<&'static Row> {
    ROWS.iter().find(|r| current <= r.up_to)
}

/// For print.
pub fn table() -> Table {
    let columns = &["up to", "least conductor", "if at most 2 m long", "source", "sure"];
    let mut t = Table::new("cords", "Flexible cord to the mains", columns);
    for r in &ROWS {
        t.row(&[&r.up_to, &r.area, &or_dash(r.short)], r.source);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use voltwright_quantity::Quantity;

    /// DIN VDE 0298-4 table 11, single core in free air at 30 °C, from memory: mm² and A.
    const FREE_AIR: [(f64, f64); 3] = [(0.75, 15.0), (1.0, 19.0), (1.5, 24.0)];

    #[test]
    fn no_cord_carries_more_than_its_conductor_may_alone_in_air() {
        for r in &ROWS {
            for area in [Some(r.area), r.short].into_iter().flatten() {
                let mm2 = area.as_square_millimetres();
                // 0.5 mm² is below that table; it is asked to carry 3 A.
                let Some((_, amps)) = FREE_AIR.iter().find(|f| (f.0 - mm2).abs() < 1e-9) else { continue };
                assert!(r.up_to.si() < *amps, "{area}");
            }
        }
    }

    #[test]
    fn the_row_of_the_current_is_found() {
        let least_mm2 = |amps| least(Current::amps(amps)).map(|r| r.area.as_square_millimetres());
        assert!(least(Current::amps(16.1)).is_none());
        assert!(least_mm2(3.0).is_some_and(|a| (a - 0.75).abs() < 1e-9));
        assert!(least_mm2(10.1).is_some_and(|a| (a - 1.5).abs() < 1e-9));
        assert!(least(Current::ZERO).is_some_and(|r| r.short.is_some()));
    }
}
