//! Published reference tables: each row says where it comes from and how sure we are of it.
//!
//! | table | what it holds |
//! |---|---|
//! | [`mains`] | voltage, tolerance, frequency and plugs by country |
//! | [`conductors`] | resistance of metric and AWG conductors |
//! | [`copper`] | resistivity, temperature coefficient, temperature factors |
//! | [`ampacity`] | what a wire may carry, alone and in a bundle |
//! | [`fusing`] | what melts a wire: Onderdonk, Preece |
//! | [`cords`] | conductor of a mains cord by current |
//! | [`fuses`] | IEC 60127-2 gates, ratings, cold resistance, melting integral |
//! | [`preferred`] | E and R series, rated voltages of capacitors |
//! | [`colours`] | IEC 60757 codes, mains conductor colours |
//! | [`connectors`] | ways of desktop power connectors, rail tolerances |
//! | [`contacts`] | current and resistance of contacts |
//! | [`logic`] | logic families, memory sequencing, supply currents of chips |
//! | [`drives`] | supply currents of disk drives |
//! | [`insulation`] | impulse voltage, clearance, creepage, altitude, limits of touch |
//! | [`varistors`] | ratings of metal-oxide varistors |
//! | [`capacitors`] | surge voltage, X and Y classes, life of electrolytics |
//!
//! A row marked [`Sure::Memory`](voltwright_quantity::Sure::Memory) was remembered, not looked up: confirm it
//! before relying on it.

pub mod ampacity;
pub mod capacitors;
pub mod colours;
pub mod conductors;
pub mod connectors;
pub mod contacts;
pub mod copper;
pub mod cords;
pub mod drives;
pub mod fuses;
pub mod fusing;
pub mod insulation;
mod interpolate;
pub mod logic;
pub mod mains;
pub mod near;
pub mod preferred;
mod table;
pub mod varistors;

#[cfg(test)]
mod check;

pub use table::Table;

/// Every table, in the order in which `voltwright tables` lists them.
pub fn all() -> Vec<Table> {
    vec![
        mains::table(),
        conductors::table(),
        conductors::awg_table(),
        copper::table(),
        ampacity::table(),
        ampacity::bundle_table(),
        cords::table(),
        fusing::table(),
        fuses::table(),
        fuses::ratings_table(),
        preferred::table(),
        colours::table(),
        colours::mains_table(),
        connectors::table(),
        connectors::rails_table(),
        contacts::table(),
        logic::table(),
        logic::parts_table(),
        logic::order_table(),
        drives::table(),
        insulation::table(),
        insulation::creepage_table(),
        insulation::limits_table(),
        varistors::table(),
        capacitors::table(),
    ]
}

/// The table of that name, as in `voltwright tables NAME`.
pub fn named(name: &str) -> Option<Table> {
    all().into_iter().find(|t| t.name == name)
}

/// The name of a table that was probably meant.
pub fn near(name: &str) -> Option<&'static str> {
    near::nearest(name, all().into_iter().map(|t| t.name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_table_is_whole_and_every_row_has_its_source() {
        let tables = all();
        let names: BTreeSet<&str> = tables.iter().map(|t| t.name).collect();
        assert_eq!(names.len(), tables.len(), "two tables of one name");
        for t in &tables {
            assert!(!t.rows.is_empty(), "{} is empty", t.name);
            assert!(t.columns.ends_with(&["source", "sure"]), "{}", t.name);
            for row in &t.rows {
                assert_eq!(row.len(), t.columns.len(), "{}: {row:?}", t.name);
                assert!(row.iter().rev().take(2).all(|c| !c.is_empty()), "{}: {row:?}", t.name);
                assert!(!row[0].is_empty(), "{}: {row:?}", t.name);
            }
        }
    }

    #[test]
    fn a_table_is_found_by_name_or_by_a_near_one() {
        assert_eq!(named("mains").map(|t| t.name), Some("mains"));
        assert!(named("mians").is_none());
        assert_eq!(near("mians"), Some("mains"));
        assert_eq!(near("colors"), Some("colours"));
    }
}
