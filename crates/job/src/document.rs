//! The types of a job, in the words of design page 1; every value knows where it was written.

use std::ops::Range;
use voltwright_quantity::{Basis, Place, Quantity, Spread, Temperature, Voltage};

mod bench;
mod load;
mod machine;
mod part;
mod survey;
mod wiring;
pub use bench::*;
pub use load::*;
pub use machine::*;
pub use part::*;
pub use survey::*;
pub use wiring::*;

/// A value entered in the job, with its spread, basis and place.
#[derive(Debug, Clone, PartialEq)]
pub struct Given<Q> {
    /// Nominal and bounds.
    pub spread: Spread<Q>,
    /// Where it comes from.
    pub basis: Basis,
    /// Path, line and text; line 0 for a default of ours.
    pub place: Place,
    /// Bytes of the value in the file, quotes included; empty for a default.
    pub span: Range<usize>,
    /// Its number in [`Job::inputs`]; [`NO_INPUT`] for a value that is none.
    pub id: usize,
}

/// The number of a value that does not enter [`Job::inputs`].
pub const NO_INPUT: usize = usize::MAX;

impl<Q: Quantity> Given<Q> {
    /// A value that was entered.
    pub fn new(spread: Spread<Q>, basis: Basis, place: Place, span: Range<usize>) -> Self {
        Self { spread, basis, place, span, id: NO_INPUT }
    }
    /// A default of ours, with the path under which a job may set it.
    pub fn ours(path: &str, spread: Spread<Q>) -> Self {
        let place = Place { path: path.into(), line: 0, text: spread.nominal.to_string() };
        Self::new(spread, Basis::Ours, place, 0..0)
    }
    /// The nominal value.
    pub fn nominal(&self) -> Q {
        self.spread.nominal
    }
    /// As the leaf of a working.
    pub fn working(&self, symbol: &str, what: &str) -> voltwright_quantity::Working {
        self.working_at(symbol, what, self.spread.nominal)
    }
    /// As the leaf of a working, at another value of its spread.
    pub fn working_at(&self, symbol: &str, what: &str, value: Q) -> voltwright_quantity::Working {
        voltwright_quantity::Working::entered(symbol, what, value, self.place.clone(), self.basis)
    }
}

/// Bounds entered in the job: `90..264 V`, or one value taken as both.
#[derive(Debug, Clone, PartialEq)]
pub struct Bounds<Q> {
    /// Algebraically lower.
    pub low: Q,
    /// Algebraically higher.
    pub high: Q,
    /// Path, line and text.
    pub place: Place,
    /// Bytes in the file.
    pub span: Range<usize>,
}

/// A text entered in the job.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Entered {
    /// As written.
    pub text: String,
    /// Bytes in the file.
    pub span: Range<usize>,
}

impl std::fmt::Display for Entered {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text)
    }
}

/// One machine's power restoration.
#[derive(Debug, Clone, Default)]
pub struct Job {
    /// What it is called.
    pub title: Entered,
    /// ISO 3166 code of the country whose mains it will live on.
    pub country: Option<Entered>,
    /// Mains voltage as measured over a day; takes the place of the country's.
    pub mains_measured: Option<Bounds<Voltage>>,
    /// Air around the machine.
    pub ambient: Option<Bounds<Temperature>>,
    /// The machine and its nameplate.
    pub machine: Machine,
    /// Potentials the machine needs, in file order.
    pub rails: Vec<Rail>,
    /// What draws from rails, in file order.
    pub loads: Vec<Load>,
    /// Anything between wall and load, in file order.
    pub parts: Vec<Part>,
    /// Plugs of the new wiring, in file order.
    pub plugs: Vec<Plug>,
    /// Conductors, in file order.
    pub wires: Vec<Wire>,
    /// Cells and accumulators on the boards.
    pub batteries: Vec<Battery>,
    /// What the survey found.
    pub found: Vec<Found>,
    /// What the machine's own supply is made of.
    pub old_supply: Option<OldSupply>,
    /// The stages of first power in order, where the job gives them.
    pub stages: Option<Vec<GivenStage>>,
    /// Accuracy of the meter.
    pub meter: Meter,
    /// Values of ours that the job may replace.
    pub assume: Assume,
    /// Nominal and bounds of every value in [`Job::inputs`], by number.
    pub spreads: Vec<crate::inputs::Si>,
}

impl Job {
    /// The index of a rail by name.
    pub fn rail(&self, name: &str) -> Option<usize> {
        self.rails.iter().position(|r| r.name.text == name)
    }
    /// The index of a load by name.
    pub fn load(&self, key: &str) -> Option<usize> {
        self.loads.iter().position(|l| l.key.text == key)
    }
    /// The index of a part by name.
    pub fn part(&self, key: &str) -> Option<usize> {
        self.parts.iter().position(|p| p.key.text == key)
    }
    /// The index of the part where the mains come in.
    pub fn inlet(&self) -> Option<usize> {
        self.parts.iter().position(|p| matches!(p.kind, PartKind::Inlet))
    }
    /// A terminal of a part by name.
    pub fn terminal(&self, part: usize, name: &str) -> Option<Terminal> {
        self.parts[part].terminals.iter().position(|t| t == name).map(|t| Terminal::Part(part, t))
    }
    /// The first way of a load that is a rail, com or the chassis.
    pub fn way(&self, load: usize, wanted: WayUse) -> Option<Terminal> {
        self.loads[load].sockets.iter().enumerate().find_map(|(s, socket)| {
            let w = socket.ways.iter().position(|(way, _)| *way == wanted)?;
            Some(Terminal::Socket(load, s, w))
        })
    }
    /// The index of a plug by name.
    pub fn plug(&self, key: &str) -> Option<usize> {
        self.plugs.iter().position(|p| p.key.text == key)
    }
}
