//! Supply currents of classic chips, each rail.

use voltwright_quantity::Source;

/// What a chip takes from one rail, milliamperes.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Draw {
    /// The rail by its volts.
    pub rail: &'static str,
    /// Typical.
    pub typical_ma: Option<f64>,
    /// Largest.
    pub largest_ma: Option<f64>,
}

/// A chip with what it takes when active.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Part {
    /// Type number of the trade.
    pub name: &'static str,
    /// What it is.
    pub what: &'static str,
    /// From each rail.
    pub draws: &'static [Draw],
    /// Where it stands.
    pub source: Source,
}

/// The chip of that type number.
pub fn part(name: &str) -> Option<&'static Part> {
    PARTS.iter().find(|p| p.name == name)
}

const SHEET: Source = Source::seen("data sheet");
const RECALLED: Source = Source::memory("makers' data sheets");
const LOW: Source = Source::memory("makers' data sheets, low confidence");

const fn typ_max(rail: &'static str, typical: f64, largest: f64) -> Draw {
    Draw { rail, typical_ma: Some(typical), largest_ma: Some(largest) }
}
const fn max(rail: &'static str, largest: f64) -> Draw {
    Draw { rail, typical_ma: None, largest_ma: Some(largest) }
}

/// Classic chips. Where sources disagree the larger current stands.
pub static PARTS: &[Part] = &[
    Part { name: "Z80", what: "processor, NMOS", draws: &[typ_max("+5 V", 90.0, 200.0)], source: SHEET },
    Part { name: "84C00", what: "processor, CMOS, 4 MHz", draws: &[max("+5 V", 20.0)], source: SHEET },
    Part { name: "6502", what: "processor, NMOS", draws: &[typ_max("+5 V", 70.0, 160.0)], source: RECALLED },
    Part {
        name: "8080A",
        what: "processor",
        draws: &[typ_max("+12 V", 40.0, 70.0), typ_max("+5 V", 60.0, 80.0), typ_max("-5 V", 0.01, 1.0)],
        source: RECALLED,
    },
    Part {
        name: "8086",
        what: "processor",
        draws: &[max("+5 V", 360.0)],
        source: Source::seen("lecture slides"),
    },
    Part {
        name: "8088",
        what: "processor",
        draws: &[max("+5 V", 340.0)],
        source: Source::seen("lecture slides"),
    },
    Part {
        name: "80C86",
        what: "processor, CMOS",
        draws: &[max("+5 V", 10.0)],
        source: Source::seen("lecture slides"),
    },
    Part { name: "8087", what: "arithmetic processor", draws: &[max("+5 V", 475.0)], source: RECALLED },
    Part { name: "68000", what: "processor, 8 MHz", draws: &[max("+5 V", 300.0)], source: RECALLED },
    Part { name: "2114", what: "static RAM, 1K × 4", draws: &[max("+5 V", 100.0)], source: RECALLED },
    Part { name: "2114L", what: "static RAM, 1K × 4", draws: &[max("+5 V", 70.0)], source: RECALLED },
    Part {
        name: "2102A",
        what: "static RAM, 1K × 1",
        draws: &[typ_max("+5 V", 55.0, 70.0)],
        source: RECALLED,
    },
    Part {
        name: "4116",
        what: "dynamic RAM, 16K × 1, active; +5 V feeds the output only",
        draws: &[max("+12 V", 35.0), max("+5 V", 5.0), max("-5 V", 0.2)],
        source: RECALLED,
    },
    Part {
        name: "4164",
        what: "dynamic RAM, 64K × 1, active",
        draws: &[typ_max("+5 V", 45.0, 55.0)],
        source: RECALLED,
    },
    Part {
        name: "41256",
        what: "dynamic RAM, 256K × 1, active",
        draws: &[typ_max("+5 V", 70.0, 80.0)],
        source: RECALLED,
    },
    Part {
        name: "2708",
        what: "EPROM, 1K × 8",
        draws: &[typ_max("+12 V", 50.0, 65.0), typ_max("+5 V", 6.0, 10.0), typ_max("-5 V", 30.0, 45.0)],
        source: LOW,
    },
    Part {
        name: "2716",
        what: "EPROM, 2K × 8, active",
        draws: &[typ_max("+5 V", 57.0, 100.0)],
        source: RECALLED,
    },
    Part { name: "2732", what: "EPROM, 4K × 8, active", draws: &[max("+5 V", 150.0)], source: RECALLED },
    Part { name: "2764", what: "EPROM, 8K × 8, active", draws: &[max("+5 V", 100.0)], source: RECALLED },
    Part { name: "27128", what: "EPROM, 16K × 8, active", draws: &[max("+5 V", 100.0)], source: RECALLED },
    Part { name: "27256", what: "EPROM, 32K × 8, active", draws: &[max("+5 V", 100.0)], source: RECALLED },
    Part {
        name: "27C256",
        what: "EPROM, CMOS, 32K × 8, active",
        draws: &[typ_max("+5 V", 25.0, 30.0)],
        source: SHEET,
    },
];
