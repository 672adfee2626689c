//! Ways of desktop power connectors, and the tolerance of their rails.
//!
//! Way 1 first, as the specifications number them. `COM` is 0 V. A machine may differ: early units did.
//!
//! ```
//! use voltwright_tables::connectors;
//! let drive = connectors::named("drive 4-way").unwrap();
//! assert_eq!(drive.ways[0].signal, "+12");
//! ```

use crate::Table;
use voltwright_quantity::{Source, Voltage};

/// One way of a connector.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Way {
    /// Its number, as printed.
    pub number: &'static str,
    /// What it carries: a rail by its volts, `COM`, or a signal; `–` for no connection.
    pub signal: &'static str,
    /// IEC 60757 code of its wire; empty if it has none.
    pub colour: &'static str,
}

/// A connector with its ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Connector {
    /// As it is asked for.
    pub name: &'static str,
    /// Its ways in order.
    pub ways: &'static [Way],
    /// What to know besides; empty if nothing.
    pub note: &'static str,
    /// Where it stands.
    pub source: Source,
}

macro_rules! ways {
    ($($number:literal $signal:literal $colour:literal),+ $(,)?) => {
        &[$(Way { number: $number, signal: $signal, colour: $colour }),+]
    };
}

/// All connectors of the table.
pub static CONNECTORS: &[Connector] = &[
    Connector {
        name: "main 20-way",
        ways: ways![
            "1" "+3.3" "OG", "2" "+3.3" "OG", "3" "COM" "BK", "4" "+5" "RD", "5" "COM" "BK", "6" "+5" "RD",
            "7" "COM" "BK", "8" "PWR_OK" "GY", "9" "+5VSB" "VT", "10" "+12" "YE", "11" "+3.3" "OG", "12" "-12" "BU",
            "13" "COM" "BK", "14" "PS_ON#" "GN", "15" "COM" "BK", "16" "COM" "BK", "17" "COM" "BK", "18" "-5" "WH",
            "19" "+5" "RD", "20" "+5" "RD",
        ],
        note: "way 11 also carries the brown sense wire of +3.3; early units: 12 brown, 18 blue, 8 white",
        source: Source::seen("ATX specification, pin list"),
    },
    Connector {
        name: "main 24-way",
        ways: ways![
            "1" "+3.3" "OG", "2" "+3.3" "OG", "3" "COM" "BK", "4" "+5" "RD", "5" "COM" "BK", "6" "+5" "RD",
            "7" "COM" "BK", "8" "PWR_OK" "GY", "9" "+5VSB" "VT", "10" "+12" "YE", "11" "+12" "YE", "12" "+3.3" "OG",
            "13" "+3.3" "OG", "14" "-12" "BU", "15" "COM" "BK", "16" "PS_ON#" "GN", "17" "COM" "BK",
            "18" "COM" "BK", "19" "COM" "BK", "20" "-5" "WH", "21" "+5" "RD", "22" "+5" "RD", "23" "+5" "RD",
            "24" "COM" "BK",
        ],
        note: "way 20 was optional, then without connection; colours as in the 20-way",
        source: Source::seen("ATX12V specification, pin list"),
    },
    Connector {
        name: "12 V 4-way",
        ways: ways!["1" "COM" "BK", "2" "COM" "BK", "3" "+12" "YE", "4" "+12" "YE"],
        note: "",
        source: Source::seen("ATX12V design guide"),
    },
    Connector {
        name: "drive 4-way",
        ways: ways!["1" "+12" "YE", "2" "COM" "BK", "3" "COM" "BK", "4" "+5" "RD"],
        note: "5.08 mm pitch",
        source: Source::seen("drive power connector, public descriptions"),
    },
    Connector {
        name: "floppy 4-way",
        ways: ways!["1" "+5" "RD", "2" "COM" "BK", "3" "COM" "BK", "4" "+12" "YE"],
        note: "2.5 mm pitch; the order is the reverse of the drive's",
        source: Source::memory("order reversed by a public description, ways remembered"),
    },
    Connector {
        name: "AT pair",
        ways: ways![
            "P8-1" "PWR_GOOD" "OG", "P8-2" "+5" "RD", "P8-3" "+12" "YE", "P8-4" "-12" "BU", "P8-5" "COM" "BK",
            "P8-6" "COM" "BK", "P9-1" "COM" "BK", "P9-2" "COM" "BK", "P9-3" "-5" "WH", "P9-4" "+5" "RD",
            "P9-5" "+5" "RD", "P9-6" "+5" "RD",
        ],
        note: "black to black: exchanged, they destroy the board; P8-2 is a key on the first machines; P8-1 also white",
        source: Source::seen("two public pin lists"),
    },
    Connector {
        name: "ISA slot",
        ways: ways![
            "B1" "COM" "", "B3" "+5" "", "B5" "-5" "", "B7" "-12" "", "B9" "+12" "", "B10" "COM" "", "B29" "+5" "",
            "B31" "COM" "", "D16" "+5" "", "D18" "COM" "",
        ],
        note: "power pins only; D pins on 16-bit slots",
        source: Source::seen("three public pin lists agree"),
    },
];

/// The connector of that name.
pub fn named(name: &str) -> Option<&'static Connector> {
    CONNECTORS.iter().find(|c| c.name == name)
}

/// A rail of a desktop supply.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Rail {
    /// As in [`Way::signal`].
    pub signal: &'static str,
    /// Nominal.
    pub nominal: Voltage,
    /// Percent that it may stray either way.
    pub tolerance: f64,
    /// Largest ripple and noise, peak to peak, 10 Hz to 20 MHz.
    pub ripple: Voltage,
    /// What to know besides; empty if nothing.
    pub note: &'static str,
    /// Where it stands.
    pub source: Source,
}

const GUIDE: Source = Source::seen("ATX12V design guides 0.9 to 2.0");

const fn rail(signal: &'static str, volts: f64, tolerance: f64, millivolts: f64, note: &'static str) -> Rail {
    let (nominal, ripple) = (Voltage::volts(volts), Voltage::volts(millivolts / 1000.0));
    Rail { signal, nominal, tolerance, ripple, note, source: GUIDE }
}

/// Tolerance and ripple of the rails.
pub static RAILS: [Rail; 6] = [
    rail("+12", 12.0, 5.0, 120.0, "10 % allowed at peak load"),
    rail("+5", 5.0, 5.0, 50.0, ""),
    rail("+3.3", 3.3, 4.0, 50.0, "4 % by specifications 2.01 to 2.1, 5 % by the guides: the narrower stands"),
    rail("-5", -5.0, 10.0, 100.0, ""),
    rail("-12", -12.0, 10.0, 120.0, ""),
    rail("+5VSB", 5.0, 5.0, 50.0, "standby"),
];

/// For print: every way.
pub fn table() -> Table {
    let columns = &["connector", "way", "signal", "colour", "note", "source", "sure"];
    let mut t = Table::new("connectors", "Desktop power connectors", columns);
    for c in CONNECTORS {
        for w in c.ways {
            t.row(&[&c.name, &w.number, &w.signal, &w.colour, &c.note], c.source);
        }
    }
    t
}

/// For print: the rails.
pub fn rails_table() -> Table {
    let columns = &["rail", "nominal", "tolerance", "ripple and noise", "note", "source", "sure"];
    let mut t = Table::new("rails", "Rails of desktop supplies", columns);
    for r in &RAILS {
        t.row(&[&r.signal, &r.nominal, &format!("± {} %", r.tolerance), &r.ripple, &r.note], r.source);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};
    use crate::colours;
    use voltwright_quantity::Quantity;

    fn count(name: &str, signal: &str) -> usize {
        named(name).unwrap().ways.iter().filter(|w| w.signal == signal).count()
    }

    /// A 20-way plug fits the 24-way socket: its ways 1 to 10 and 11 to 20 meet 1 to 10 and 13 to 22 there.
    #[test]
    fn the_20_way_plug_fits_the_24_way_socket() {
        let (short, long) = (named("main 20-way").unwrap(), named("main 24-way").unwrap());
        for (i, way) in short.ways.iter().enumerate() {
            let other = &long.ways[if i < 10 { i } else { i + 2 }];
            assert_eq!(way.signal, other.signal, "way {}", way.number);
        }
    }

    #[test]
    fn published_counts_and_limits() {
        let bound = |signal: &str, side: f64| {
            let r = RAILS.iter().find(|r| r.signal == signal).unwrap();
            r.nominal.si() * (1.0 + side * r.tolerance / 100.0)
        };
        let checks: [Check; 10] = [
            ("+5 low", bound("+5", -1.0), 4.75, 1e-9, "ATX12V guide 2.0 p. 11"),
            ("+5 high", bound("+5", 1.0), 5.25, 1e-9, "ATX12V guide 2.0 p. 11"),
            ("+12 low", bound("+12", -1.0), 11.40, 1e-9, "ATX12V guide 2.0 p. 11"),
            ("+12 high", bound("+12", 1.0), 12.60, 1e-9, "ATX12V guide 2.0 p. 11"),
            ("+3.3 low", bound("+3.3", -1.0), 3.168, 1e-9, "ATX specification 2.01"),
            ("+3.3 high", bound("+3.3", 1.0), 3.432, 1e-9, "ATX specification 2.01"),
            ("-12 far", bound("-12", 1.0), -13.20, 1e-9, "ATX12V guide 0.9 p. 11"),
            ("-5 near", bound("-5", -1.0), -4.50, 1e-9, "ATX12V guide 0.9 p. 11"),
            (
                "COM ways of 20",
                count("main 20-way", "COM") as f64,
                7.0,
                1e-9,
                "seven black wires, common practice",
            ),
            (
                "COM ways of 24",
                count("main 24-way", "COM") as f64,
                8.0,
                1e-9,
                "eight black wires, common practice",
            ),
        ];
        all_hold(&checks);
    }

    #[test]
    fn black_to_black_and_the_floppy_reversed() {
        let pair = named("AT pair").unwrap().ways;
        assert_eq!(pair.len(), 12);
        // Assembly rule: the black wires of the pair meet in the middle.
        assert!(pair[4..8].iter().all(|w| w.colour == "BK") && count("AT pair", "COM") == 4);
        let signals = |n: &str| named(n).unwrap().ways.iter().map(|w| w.signal).collect::<Vec<_>>();
        let mut reversed = signals("floppy 4-way");
        reversed.reverse();
        assert_eq!(signals("drive 4-way"), reversed);
    }

    #[test]
    fn numbers_are_unique_and_colours_are_codes() {
        for c in CONNECTORS {
            for (i, w) in c.ways.iter().enumerate() {
                assert!(c.ways.iter().skip(i + 1).all(|o| o.number != w.number), "{} {}", c.name, w.number);
                assert!(w.colour.is_empty() || colours::parse(w.colour).is_some(), "{} {}", c.name, w.number);
                // One signal, one colour within a connector.
                assert!(c.ways.iter().all(|o| o.signal != w.signal || o.colour == w.colour), "{}", c.name);
            }
        }
    }
}
