//! Supply currents of disk drives by class; the running and the starting current of each rail.
//!
//! A drive's own sheet comes first: these are what to reckon with while there is none.

use crate::Table;
use crate::table::or_dash;
use voltwright_quantity::{Current, Source};

/// Currents of a class of drives.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Drive {
    /// The class.
    pub class: &'static str,
    /// Running, from the +5 V rail.
    pub run_5v: Current,
    /// Running, from the +12 V rail.
    pub run_12v: Current,
    /// Starting, from the +12 V rail.
    pub start_12v: Option<Current>,
    /// Where it stands.
    pub source: Source,
}

const fn drive(class: &'static str, run_5v: f64, run_12v: f64, start: Option<f64>, source: Source) -> Drive {
    let start_12v = match start {
        Some(amps) => Some(Current::amps(amps)),
        None => None,
    };
    Drive { class, run_5v: Current::amps(run_5v), run_12v: Current::amps(run_12v), start_12v, source }
}

const LOW: Source = Source::memory("makers' manuals, low confidence");

/// Classes of drives, each at the upper end of what was found.
pub static DRIVES: [Drive; 8] = [
    drive("3.5 in hard disk, parallel, about 1996", 0.44, 0.20, Some(1.6), Source::seen("drive manual")),
    drive("3.5 in hard disk, serial, four platters", 0.61, 0.52, Some(2.8), Source::seen("drive manual")),
    drive("3.5 in hard disk, serial, one platter", 0.32, 0.23, Some(2.0), Source::seen("drive manual")),
    drive("3.5 in floppy, 5 V only", 0.5, 0.0, None, LOW),
    drive("5.25 in floppy, full height", 0.8, 0.9, Some(1.8), Source::memory("published OEM manual")),
    drive("5.25 in floppy, half height", 0.6, 0.5, Some(1.3), LOW),
    drive("5.25 in hard disk, full height, 5 to 10 MB", 1.0, 2.0, Some(4.5), LOW),
    drive("5.25 in hard disk, half height, 20 MB", 0.8, 0.9, Some(2.2), LOW),
];

/// For print.
pub fn table() -> Table {
    let mut t = Table::new(
        "drives",
        "Disk drives: supply currents",
        &["drive", "+5 V running", "+12 V running", "+12 V starting", "source", "sure"],
    );
    for d in &DRIVES {
        t.row(&[&d.class, &d.run_5v, &d.run_12v, &or_dash(d.start_12v)], d.source);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A spindle at rest has no back-EMF: it takes more than when it runs.
    #[test]
    fn starting_takes_more_than_running() {
        for d in &DRIVES {
            assert!(d.start_12v.is_none_or(|s| s > d.run_12v), "{}", d.class);
        }
    }
}
