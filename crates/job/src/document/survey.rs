//! What the survey found: batteries, damage, the machine's own supply.

use super::{Entered, Given};
use std::ops::Range;
use voltwright_quantity::{Capacitance, Current, Power, Resistance, Voltage};

/// A cell or accumulator.
#[derive(Debug, Clone)]
pub struct Battery {
    /// Its name in the file.
    pub key: Entered,
    /// What it is now.
    pub chemistry: Chemistry,
    /// What the circuit was made for.
    pub made_for: Option<Chemistry>,
    /// Its voltage.
    pub volts: Option<Given<Voltage>>,
    /// Rail that could charge it.
    pub rail: Option<usize>,
    /// Resistance in the charging path.
    pub through: Option<Given<Resistance>>,
    /// Whether a diode keeps current out of it.
    pub blocked: bool,
    /// What it looks like.
    pub state: BatteryState,
    /// Whether it keeps something that must be saved first.
    pub keeps: Option<Entered>,
}

/// What a battery is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chemistry {
    /// Not to be charged.
    LithiumPrimary,
    /// Not to be charged.
    Alkaline,
    /// Rechargeable; leaks alkali.
    NickelCadmium,
    /// Rechargeable.
    NickelMetalHydride,
    /// Rechargeable.
    LithiumRechargeable,
    /// Rechargeable; leaks acid.
    LeadAcid,
}

impl Chemistry {
    /// Whether it may take a charge.
    pub fn rechargeable(self) -> bool {
        !matches!(self, Chemistry::LithiumPrimary | Chemistry::Alkaline)
    }
}

/// What a battery looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BatteryState {
    /// Nobody has looked.
    #[default]
    Unknown,
    /// No trace of a leak.
    Sound,
    /// Leaking, or its traces are there.
    Leaking,
}

/// What the survey found.
#[derive(Debug, Clone)]
pub struct Found {
    /// In words.
    pub what: Entered,
    /// Where.
    pub place: Option<Entered>,
    /// What danger there is, in words; "none now" where it is over.
    pub danger: Option<Entered>,
}

/// What becomes of the machine's own supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Fate {
    /// It will be fed from the mains.
    InUse,
    /// It stays in place but is not connected.
    #[default]
    Disconnected,
    /// It has been taken out.
    Removed,
}

/// How the old supply works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OldKind {
    /// Rectified mains.
    OffLine,
    /// Transformer first.
    Linear,
}

/// The machine's own supply.
#[derive(Debug, Clone)]
pub struct OldSupply {
    /// How it works.
    pub kind: OldKind,
    /// What becomes of it.
    pub fate: Fate,
    /// Voltages of its primary windings.
    pub primaries: Vec<Given<Voltage>>,
    /// Volt-amperes (as watts) of one primary winding.
    pub winding_power: Option<Given<Power>>,
    /// Whether the phase of the windings has been proven.
    pub phase_proven: bool,
    /// What it delivered: rail index, volts, amperes.
    pub outputs: Vec<(usize, Voltage, Option<Given<Current>>)>,
    /// Its parts before the rectifier, and the reservoir.
    pub parts: Vec<OldPart>,
    /// Where it stands in the file.
    pub span: Range<usize>,
}

/// A part of the old supply that sees the mains.
#[derive(Debug, Clone)]
pub struct OldPart {
    /// Its name in the file.
    pub key: Entered,
    /// What it is.
    pub kind: OldPartKind,
    /// Volts it is rated for: DC for electrolytics and rectifiers, AC for all others.
    pub rated: Option<Given<Voltage>>,
    /// Capacitance, if it has one.
    pub value: Option<Given<Capacitance>>,
    /// Series resistance, if it has one.
    pub series: Option<Given<Resistance>>,
    /// Power it takes at its rated voltage.
    pub power: Option<Given<Power>>,
    /// Power its series resistor may burn.
    pub resistor_power: Option<Given<Power>>,
    /// Current rating, if it is a fuse.
    pub current: Option<Given<Current>>,
    /// Whether it lies across half of the primary and not across the inlet.
    pub across_half: bool,
}

/// Kinds of parts before the rectifier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OldPartKind {
    /// The reservoir after the bridge.
    Electrolytic,
    /// One of two reservoirs of a doubler.
    DoublerElectrolytic,
    /// Bridge or diodes.
    Rectifier,
    /// Across line and neutral.
    XCapacitor,
    /// From a pole to earth.
    YCapacitor,
    /// Surge suppressor.
    Varistor,
    /// Fan or other motor across the mains.
    Fan,
    /// Neon lamp with its series resistor.
    Neon,
    /// Fuse.
    Fuse,
    /// Switch.
    Switch,
    /// Filter.
    Filter,
}
