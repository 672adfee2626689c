//! The pre-arcing times of IEC 60127-2, sheet by sheet.

use super::Speed;
use voltwright_quantity::{Current, Quantity, Source};

/// Bounds of the time in which a fuse must blow at a multiple of its rating.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Gate {
    /// Multiple of the rating.
    pub times: f64,
    /// Must not blow before this, seconds.
    pub least: Option<f64>,
    /// Must have blown by this, seconds.
    pub most: Option<f64>,
    /// Where it stands.
    pub source: Source,
}

/// A sheet of the standard, or the part of it for a range of ratings.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Sheet {
    /// Number of the sheet.
    pub number: u8,
    /// Speed.
    pub speed: Speed,
    /// Breaking capacity.
    pub breaking: super::Breaking,
    /// Smallest rating, amperes.
    pub from: f64,
    /// Largest rating, amperes.
    pub to: f64,
    /// Gates by rising multiple.
    pub gates: &'static [Gate],
}

/// The sheet for a fuse; `None` if no sheet of ours has it.
pub fn sheet(speed: Speed, breaking: super::Breaking, rating: Current) -> Option<&'static Sheet> {
    let amps = rating.si();
    SHEETS.iter().find(|s| {
        s.speed == speed
            && s.breaking == breaking
            && amps >= s.from * (1.0 - 1e-9)
            && amps <= s.to * (1.0 + 1e-9)
    })
}

const RECALLED: Source = Source::memory("IEC 60127-2");
const MAKER: Source = Source::seen("maker's sheet quoting IEC 60127-2 sheet 3");
const MAKER_HIGH: Source = Source::seen("maker's sheet quoting IEC 60127-2 sheet 5");
// The maker says 1 s, the standard 750 ms as we remember it: the earlier one is reckoned with.
const EARLIER: Source = Source::memory("IEC 60127-2 sheet 5; a maker's sheet says 1 s at the least");

const HOUR: f64 = 3600.0;
const MINUTE: f64 = 60.0;

const fn gate(times: f64, least: Option<f64>, most: Option<f64>, source: Source) -> Gate {
    Gate { times, least, most, source }
}

/// What we have of the sheets.
pub static SHEETS: &[Sheet] = &[
    Sheet {
        number: 1,
        speed: Speed::F,
        breaking: super::Breaking::High,
        from: 0.05,
        to: 3.15,
        gates: &[
            gate(1.5, Some(HOUR), None, RECALLED),
            gate(2.1, None, Some(30.0 * MINUTE), RECALLED),
            gate(2.75, Some(0.010), Some(2.0), RECALLED),
            gate(4.0, Some(0.003), Some(0.300), RECALLED),
            gate(10.0, None, Some(0.020), RECALLED),
        ],
    },
    Sheet {
        number: 1,
        speed: Speed::F,
        breaking: super::Breaking::High,
        from: 4.0,
        to: 10.0,
        gates: &[
            gate(1.5, Some(HOUR), None, RECALLED),
            gate(2.1, None, Some(30.0 * MINUTE), RECALLED),
            gate(2.75, Some(0.010), Some(3.0), RECALLED),
            gate(4.0, Some(0.003), Some(0.300), RECALLED),
            gate(10.0, None, Some(0.020), RECALLED),
        ],
    },
    Sheet {
        number: 2,
        speed: Speed::F,
        breaking: super::Breaking::Low,
        from: 0.032,
        to: 0.1,
        gates: &[
            gate(1.5, Some(HOUR), None, RECALLED),
            gate(2.1, None, Some(30.0 * MINUTE), RECALLED),
            gate(2.75, Some(0.010), Some(0.500), RECALLED),
            gate(4.0, Some(0.003), Some(0.100), RECALLED),
            gate(10.0, None, Some(0.020), RECALLED),
        ],
    },
    Sheet {
        number: 2,
        speed: Speed::F,
        breaking: super::Breaking::Low,
        from: 0.125,
        to: 10.0,
        gates: &[
            gate(1.5, Some(HOUR), None, RECALLED),
            gate(2.1, None, Some(30.0 * MINUTE), RECALLED),
            gate(2.75, Some(0.050), Some(2.0), RECALLED),
            gate(4.0, Some(0.010), Some(0.300), RECALLED),
            gate(10.0, None, Some(0.020), RECALLED),
        ],
    },
    Sheet {
        number: 3,
        speed: Speed::T,
        breaking: super::Breaking::Low,
        from: 0.032,
        to: 0.1,
        gates: &[
            gate(1.5, Some(HOUR), None, RECALLED),
            gate(2.1, None, Some(2.0 * MINUTE), RECALLED),
            gate(2.75, Some(0.200), Some(10.0), RECALLED),
            gate(4.0, Some(0.040), Some(3.0), RECALLED),
            gate(10.0, Some(0.010), Some(0.300), RECALLED),
        ],
    },
    Sheet {
        number: 3,
        speed: Speed::T,
        breaking: super::Breaking::Low,
        from: 0.125,
        to: 6.3,
        gates: &[
            gate(1.5, Some(HOUR), None, MAKER),
            gate(2.1, None, Some(2.0 * MINUTE), MAKER),
            gate(2.75, Some(0.600), Some(10.0), MAKER),
            gate(4.0, Some(0.150), Some(3.0), MAKER),
            gate(10.0, Some(0.020), Some(0.300), MAKER),
        ],
    },
    Sheet {
        number: 5,
        speed: Speed::T,
        breaking: super::Breaking::High,
        from: 1.0,
        to: 3.15,
        gates: &[
            gate(1.5, Some(HOUR), None, MAKER_HIGH),
            gate(2.1, None, Some(30.0 * MINUTE), MAKER_HIGH),
            gate(2.75, Some(0.750), Some(80.0), EARLIER),
            gate(4.0, Some(0.095), Some(5.0), MAKER_HIGH),
            gate(10.0, Some(0.010), Some(0.100), MAKER_HIGH),
        ],
    },
    Sheet {
        number: 5,
        speed: Speed::T,
        breaking: super::Breaking::High,
        from: 4.0,
        to: 10.0,
        gates: &[
            gate(1.5, Some(HOUR), None, MAKER_HIGH),
            gate(2.1, None, Some(30.0 * MINUTE), MAKER_HIGH),
            gate(2.75, Some(0.750), Some(80.0), EARLIER),
            gate(4.0, Some(0.150), Some(5.0), MAKER_HIGH),
            gate(10.0, Some(0.020), Some(0.100), MAKER_HIGH),
        ],
    },
];
