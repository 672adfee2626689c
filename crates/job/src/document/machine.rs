//! The machine, its nameplate and its case.

use super::{Bounds, Entered, Given};
use std::ops::Range;
use voltwright_quantity::{AirFlow, Area, Current, Frequency, Length, Power, Ratio, Voltage};

/// The machine itself.
#[derive(Debug, Clone, Default)]
pub struct Machine {
    /// Who made it.
    pub maker: Option<Entered>,
    /// Which one.
    pub model: Option<Entered>,
    /// Year.
    pub made: Option<i64>,
    /// What its label asks for.
    pub nameplate: Option<Nameplate>,
    /// The box it lives in.
    pub case: Option<Case>,
    /// What turns at a speed set by the mains.
    pub motor: Option<Motor>,
    /// Whether its transformer is a resonant (constant-voltage) one.
    pub resonant: bool,
}

/// What the machine's label asks for.
#[derive(Debug, Clone, Default)]
pub struct Nameplate {
    /// Voltages it can be set to, with the tolerance the label states.
    pub voltages: Vec<Given<Voltage>>,
    /// The one it is set to, where there are several.
    pub set_to: Option<Given<Voltage>>,
    /// Frequencies it is made for.
    pub frequency: Option<Bounds<Frequency>>,
    /// Power it takes.
    pub power: Option<Given<Power>>,
    /// Current it takes.
    pub current: Option<Given<Current>>,
    /// Ratio of watts to volt-amperes.
    pub power_factor: Option<Given<Ratio>>,
}

/// What turns at a speed set by the mains frequency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Motor {
    /// In step with the mains.
    Synchronous,
    /// Nearly in step.
    Induction,
    /// Not fed by alternating current.
    Dc,
}

/// The box the machine lives in.
#[derive(Debug, Clone)]
pub struct Case {
    /// Width, depth, height inside.
    pub inside: Option<[Length; 3]>,
    /// What its walls are made of.
    pub wall: Wall,
    /// Free area of all vents together.
    pub vents: Option<Given<Area>>,
    /// Air that a fan moves through it.
    pub fan: Option<Given<AirFlow>>,
    /// Where it stands in the file.
    pub span: Range<usize>,
}

/// What a case's walls are made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wall {
    /// Painted sheet steel.
    PaintedSteel,
    /// Bare stainless steel.
    StainlessSteel,
    /// Aluminium.
    Aluminium,
    /// Plastic.
    Plastic,
    /// Wood or board.
    Wood,
}
