//! What a connector's contact may carry, how its resistance grows with age, how contacts in parallel share.
//!
//! Of n contacts in parallel, the one of least resistance carries the most. With one at r and the others at R each,
//! it takes the share 1/r / (1/r + (n − 1)/R): equal contacts share equally, one good contact among bad ones does not.
//!
//! ```
//! use voltwright_quantity::Resistance;
//! use voltwright_tables::contacts;
//! // Two ways, a new contact beside an aged one.
//! let share = contacts::largest_share(2, Resistance::ohms(0.010), Resistance::ohms(0.030));
//! assert!((share - 0.75).abs() < 1e-12);
//! ```

use crate::Table;
use crate::near::nearest;
use voltwright_quantity::{Current, Quantity, Resistance, Source};

/// What each contact may carry when all ways of its connector are loaded.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Row {
    /// The family, as it is asked for.
    pub family: &'static str,
    /// In connectors of up to so many ways.
    pub ways: usize,
    /// Through each contact.
    pub current: Current,
    /// Where it stands.
    pub source: Source,
}

const TRADE: Source = Source::seen("public description of desktop power connectors");

const fn row(family: &'static str, ways: usize, amps: f64, source: Source) -> Row {
    Row { family, ways, current: Current::amps(amps), source }
}

/// Families by rising number of ways.
pub static CONTACTS: [Row; 13] = [
    row("4.2 mm", 2, 9.0, Source::memory("maker's sheet, 16 to 18 AWG")),
    row("4.2 mm", 4, 8.0, TRADE),
    row("4.2 mm", 24, 6.0, TRADE),
    row("4.2 mm high current", 24, 9.0, TRADE),
    row("4.2 mm extra high current", 24, 11.0, TRADE),
    row(
        "drive 2.1 mm pin",
        1,
        11.0,
        Source::seen("public descriptions: 18 AWG, one contact loaded, 30 K rise"),
    ),
    row("drive 2.1 mm pin", 4, 9.0, Source::seen("maker's sheet as quoted: 18 AWG, all four loaded")),
    row("1.57 mm pin", 1, 5.0, TRADE),
    row("2.36 mm pin", 1, 8.5, TRADE),
    row("floppy 2.5 mm", 4, 2.0, TRADE),
    row("3.96 mm header", 12, 7.0, Source::memory("makers' sheets")),
    row("2.54 mm header", 40, 3.0, Source::practice("makers give 3 A a contact for 0.64 mm square pins")),
    row("card edge", 64, 3.0, Source::practice("makers give 3 A a contact for 2.54 mm card edges")),
];

/// What each contact of a connector of that family with so many ways may carry; `None` if the family is not listed or
/// never has so many ways. A connector between two rows counts as the larger.
pub fn rating(family: &str, ways: usize) -> Option<&'static Row> {
    CONTACTS.iter().find(|r| r.family == family && ways <= r.ways)
}

/// The family that was probably meant.
pub fn near(family: &str) -> Option<&'static str> {
    let mut families: Vec<&str> = CONTACTS.iter().map(|r| r.family).collect();
    families.dedup();
    nearest(family, families)
}

/// State of a contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Age {
    /// As delivered.
    New,
    /// Decades old, oxidised, often mated.
    Aged,
}

/// Resistance to reckon with for a mated contact of which nothing was measured.
pub fn resistance(age: Age) -> (Resistance, Source) {
    match age {
        Age::New => {
            (Resistance::ohms(0.010), Source::practice("makers' sheets give 10 mΩ at most for new contacts"))
        }
        Age::Aged => (Resistance::ohms(0.030), Source::practice("30 mΩ for old contacts: measure")),
    }
}

/// The share of the current that the best of `ways` parallel contacts may carry, if each lies between `least` and
/// `most`. At least 1/ways, at most 1.
pub fn largest_share(ways: usize, least: Resistance, most: Resistance) -> f64 {
    let others = ways.max(1) as f64 - 1.0;
    most.si() / (most.si() + others * least.si())
}

/// For print.
pub fn table() -> Table {
    let mut t =
        Table::new("contacts", "Contacts of connectors", &["contact", "ways", "value", "source", "sure"]);
    for r in &CONTACTS {
        t.row(&[&r.family, &format!("up to {}", r.ways), &format!("{} each", r.current)], r.source);
    }
    for (name, age) in [("resistance, new", Age::New), ("resistance, aged", Age::Aged)] {
        let (ohms, source) = resistance(age);
        t.row(&[&name, &"–", &ohms], source);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amps(family: &str, ways: usize) -> Option<f64> {
        rating(family, ways).map(|r| r.current.si())
    }

    #[test]
    fn more_ways_carry_less_each() {
        assert!(amps("4.2 mm", 2) > amps("4.2 mm", 4) && amps("4.2 mm", 4) > amps("4.2 mm", 20));
        assert_eq!(amps("4.2 mm", 20), amps("4.2 mm", 24)); // the same row of the description
        assert_eq!(amps("4.2 mm", 6), amps("4.2 mm", 20)); // between rows: the larger connector
        assert_eq!(amps("4.2 mm", 25), None);
        assert_eq!(amps("5 mm", 2), None);
        assert_eq!(near("4.2mm"), Some("4.2 mm"));
    }

    /// The best contact's share by solving the two-resistor divider directly.
    #[test]
    fn the_best_contact_takes_the_most() {
        let (least, most) = (Resistance::ohms(0.01), Resistance::ohms(0.04));
        for ways in 1..6 {
            let best = 1.0 / 0.01;
            let all = best + (ways as f64 - 1.0) / 0.04;
            assert!((largest_share(ways, least, most) - best / all).abs() < 1e-12);
            assert!((largest_share(ways, least, least) - 1.0 / ways as f64).abs() < 1e-12);
        }
        assert!((largest_share(0, least, most) - 1.0).abs() < 1e-12);
    }
}
