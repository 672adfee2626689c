//! Logic families and their limits, supply order of three-rail memory, supply currents of classic chips.
//!
//! Type numbers are those of the trade; makers differ, and a data sheet comes first.
//!
//! ```
//! use voltwright_tables::logic;
//! assert!(logic::family("74LS").unwrap().allows(5.0));
//! assert!(!logic::family("74LS").unwrap().survives(7.5));
//! ```

mod parts;

use crate::Table;
pub use parts::{Draw, PARTS, Part, part};
use voltwright_quantity::Source;

/// A family of logic with its limits. Volts and milliamperes.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Family {
    /// As it is asked for.
    pub name: &'static str,
    /// Absolute lowest and highest supply, volts: beyond, it may be destroyed.
    pub absolute: (f64, f64),
    /// Recommended lowest and highest supply, volts.
    pub recommended: (f64, f64),
    /// Supply current of a pack of four NAND gates, typical and largest, milliamperes, in its worse state.
    pub pack_ma: Option<(f64, f64)>,
    /// Where it stands.
    pub source: Source,
}

impl Family {
    /// Whether that supply lies within what is recommended.
    pub fn allows(&self, volts: f64) -> bool {
        volts >= self.recommended.0 && volts <= self.recommended.1
    }
    /// Whether that supply lies within the absolute limits.
    pub fn survives(&self, volts: f64) -> bool {
        volts >= self.absolute.0 && volts <= self.absolute.1
    }
}

const fn logic(
    name: &'static str,
    absolute: (f64, f64),
    recommended: (f64, f64),
    pack_ma: Option<(f64, f64)>,
    source: Source,
) -> Family {
    Family { name, absolute, recommended, pack_ma, source }
}

/// The families. Where no absolute lower limit was found, −0.5 V stands: common practice.
pub static FAMILIES: [Family; 8] = [
    logic(
        "74",
        (-0.5, 7.0),
        (4.75, 5.25),
        Some((12.0, 22.0)),
        Source::seen("data sheet of a 7400; currents from memory"),
    ),
    logic("74LS", (-0.5, 7.0), (4.75, 5.25), Some((2.4, 4.4)), Source::seen("data sheets of a 74LS00")),
    logic("74S", (-0.5, 7.0), (4.75, 5.25), Some((20.0, 36.0)), Source::memory("data sheet of a 74S00")),
    logic("74HC", (-0.5, 7.0), (2.0, 6.0), Some((0.002, 0.02)), Source::memory("JEDEC JESD7")),
    logic("74HCT", (-0.5, 7.0), (4.5, 5.5), Some((0.001, 0.04)), Source::seen("data sheet of a 74HCT00")),
    logic(
        "4000B",
        (-0.5, 18.0),
        (3.0, 15.0),
        Some((0.000_004, 0.001)),
        Source::seen("data sheet of a 4011B; another maker allows 20 V and 3 to 18 V: the narrower stands"),
    ),
    logic(
        "ECL 10K",
        (-8.0, 0.5),
        (-5.46, -4.94),
        Some((26.0, 26.0)),
        Source::memory("data sheet of a 10102"),
    ),
    logic("ECL 100K", (-7.0, 0.5), (-4.8, -4.2), None, Source::memory("data book")),
];

/// The family of that name.
pub fn family(name: &str) -> Option<&'static Family> {
    FAMILIES.iter().find(|f| f.name == name)
}

/// What a chip with several rails needs of their order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Order {
    /// The chip.
    pub part: &'static str,
    /// The rail that must be there first and go last.
    pub first: &'static str,
    /// The rails that may follow.
    pub then: &'static [&'static str],
    /// Why.
    pub why: &'static str,
    /// Where it stands.
    pub source: Source,
}

/// Supply order of memories and converters with several rails. The strictest maker's rule stands.
pub static ORDERS: [Order; 3] = [
    Order {
        part: "4116",
        first: "-5 V",
        then: &["+12 V", "+5 V"],
        why: "without −5 V the substrate is forward biased and the chip is destroyed; it goes last",
        source: Source::seen(
            "maker's data book of 1979; other makers are silent or ask it only against overshoot",
        ),
    },
    Order {
        part: "2708",
        first: "-5 V",
        then: &["+12 V", "+5 V"],
        why: "substrate bias first on, last off",
        source: Source::memory("makers' data sheets, low confidence"),
    },
    Order {
        part: "8080A",
        first: "-5 V",
        then: &["+5 V", "+12 V"],
        why: "substrate bias first on, last off",
        source: Source::memory("makers' data sheets, low confidence"),
    },
];

/// For print: the families.
pub fn table() -> Table {
    let columns = &["family", "absolute, V", "recommended, V", "four gates, mA typ/max", "source", "sure"];
    let mut t = Table::new("logic", "Logic families", columns);
    for f in &FAMILIES {
        let span = |(low, high): (f64, f64)| format!("{low}..{high}");
        let pack = crate::table::or_dash(f.pack_ma.map(|(typ, max)| format!("{typ} / {max}")));
        t.row(&[&f.name, &span(f.absolute), &span(f.recommended), &pack], f.source);
    }
    t
}

/// For print: supply currents of chips.
pub fn parts_table() -> Table {
    let columns = &["part", "what", "rail", "typical, mA", "largest, mA", "source", "sure"];
    let mut t = Table::new("chips", "Supply currents of classic chips", columns);
    for p in PARTS {
        for d in p.draws {
            let cell = crate::table::or_dash::<f64>;
            t.row(&[&p.name, &p.what, &d.rail, &cell(d.typical_ma), &cell(d.largest_ma)], p.source);
        }
    }
    t
}

/// For print: supply order.
pub fn order_table() -> Table {
    let columns = &["part", "first on, last off", "then", "why", "source", "sure"];
    let mut t = Table::new("supply-order", "Chips whose rails have an order", columns);
    for o in &ORDERS {
        t.row(&[&o.part, &o.first, &o.then.join(", "), &o.why], o.source);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};

    #[test]
    fn recommended_lies_within_absolute_and_current_within_reason() {
        for f in &FAMILIES {
            assert!(f.recommended.0 < f.recommended.1, "{}", f.name);
            assert!(f.survives(f.recommended.0) && f.survives(f.recommended.1), "{}", f.name);
            assert!(f.pack_ma.is_none_or(|(typ, max)| typ <= max), "{}", f.name);
        }
        for p in PARTS {
            for d in p.draws {
                assert!(d.typical_ma.is_some() || d.largest_ma.is_some(), "{}", p.name);
                if let (Some(typ), Some(max)) = (d.typical_ma, d.largest_ma) {
                    assert!(typ <= max, "{} {}", p.name, d.rail);
                }
            }
        }
    }

    #[test]
    fn published_facts() {
        let most = |name: &str, rail: &str| {
            part(name).unwrap().draws.iter().find(|d| d.rail == rail).unwrap().largest_ma.unwrap()
        };
        let pack = |name: &str| family(name).unwrap().pack_ma.unwrap().1;
        let checks: [Check; 5] = [
            (
                "TTL 5 V ± 5 %, low",
                family("74").unwrap().recommended.0,
                5.0 * 0.95,
                1e-9,
                "data sheet of a 7400",
            ),
            (
                "TTL 5 V ± 5 %, high",
                family("74LS").unwrap().recommended.1,
                5.0 * 1.05,
                1e-9,
                "data sheet, 74LS00",
            ),
            // A low-power Schottky pack takes a fifth of a standard one.
            ("74LS to 74", pack("74LS") / pack("74"), 0.2, 0.01, "family guides: 2 mW against 10 mW a gate"),
            ("8 × 4116 at +12 V, mA", 8.0 * most("4116", "+12 V"), 280.0, 1e-9, "bank of eight by hand"),
            ("68000 at 5 V, W", most("68000", "+5 V") * 5e-3, 1.5, 1e-9, "1.5 W largest, from memory"),
        ];
        all_hold(&checks);
    }

    /// Every chip with a negative substrate rail wants that rail first.
    #[test]
    fn negative_bias_comes_first() {
        for p in PARTS.iter().filter(|p| p.draws.iter().any(|d| d.rail == "-5 V")) {
            let order = ORDERS.iter().find(|o| o.part == p.name);
            assert!(order.is_some_and(|o| o.first == "-5 V"), "{}", p.name);
            let then = order.map(|o| o.then).unwrap_or_default();
            assert!(p.draws.iter().all(|d| d.rail == "-5 V" || then.contains(&d.rail)), "{}", p.name);
        }
    }
}
