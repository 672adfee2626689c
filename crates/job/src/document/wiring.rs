//! Wiring: terminals, plugs and wires.

use super::{Entered, Given};
use std::ops::Range;
use voltwright_quantity::parse::Conductor;
use voltwright_quantity::{Current, Length, Temperature};

/// A point a wire can be joined to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Terminal {
    /// Terminal of a part: indexes of the part and of its terminal.
    Part(usize, usize),
    /// Way of a plug: indexes of the plug and of the way, from 0.
    Plug(usize, usize),
    /// Way of a load's socket, for a wire joined to it without a plug: load, socket, way from 0.
    Socket(usize, usize, usize),
    /// The case.
    Chassis,
}

/// A plug of the new wiring.
#[derive(Debug, Clone)]
pub struct Plug {
    /// Its name in the file.
    pub key: Entered,
    /// Socket it goes into: indexes of the load and its socket.
    pub mates: Option<(usize, usize)>,
    /// Number of ways.
    pub ways: usize,
    /// Whether it fits in one position only.
    pub keyed: bool,
    /// Index of the plug of the same shape with which it can be exchanged.
    pub twin: Option<usize>,
    /// Ways of a two-row plug like it, by whose numbers it may be wired by mistake.
    pub look_alike: Option<usize>,
    /// Current one contact may carry.
    pub contact: Option<Given<Current>>,
}

/// A conductor between two terminals.
#[derive(Debug, Clone)]
pub struct Wire {
    /// One end.
    pub from: Terminal,
    /// The other.
    pub to: Terminal,
    /// As written, for people: `supply.v1.plus`.
    pub from_text: Entered,
    /// As written, for people.
    pub to_text: Entered,
    /// IEC 60757 code.
    pub colour: Option<Entered>,
    /// Cross-section.
    pub size: Conductor,
    /// Place of the size.
    pub size_text: Entered,
    /// Length.
    pub length: Given<Length>,
    /// Number of wires bundled with it, itself included.
    pub bundle: usize,
    /// Temperature its insulation stands.
    pub insulation: Option<Given<Temperature>>,
    /// Where it stands in the file.
    pub span: Range<usize>,
}

impl Wire {
    /// For people: `supply.v1.plus to p1.3`.
    pub fn name(&self) -> String {
        format!("{} to {}", self.from_text.text, self.to_text.text)
    }
}
