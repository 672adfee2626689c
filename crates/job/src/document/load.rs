//! Rails, and what draws from them.

use super::{Bounds, Entered, Given};
use std::ops::Range;
use voltwright_quantity::{Capacitance, Current, Resistance, Time, Voltage};

/// A potential the machine needs.
#[derive(Debug, Clone)]
pub struct Rail {
    /// Its name in the file.
    pub name: Entered,
    /// What it should be, against `com`.
    pub nominal: Given<Voltage>,
    /// How far it may be off, at the load.
    pub tolerance: Option<Bounds<Voltage>>,
    /// Limits past which it does harm.
    pub harm: Option<Bounds<Voltage>>,
}

/// How hard a thing is to replace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Worth {
    /// Off the shelf.
    EasyToFind,
    /// With patience.
    HardToFind,
    /// Nobody has another.
    Irreplaceable,
}

/// What draws from rails.
#[derive(Debug, Clone)]
pub struct Load {
    /// Its name in the file.
    pub key: Entered,
    /// Its name for people.
    pub name: String,
    /// How hard it is to replace.
    pub worth: Worth,
    /// What it draws from each rail.
    pub draws: Vec<Draw>,
    /// Which rail must come before which.
    pub order: Vec<Order>,
    /// Its sockets.
    pub sockets: Vec<Socket>,
    /// How it wants to be told that power is good.
    pub power_good: Option<PowerGood>,
    /// Level with which it switches its supply on.
    pub control: Option<(Level, Entered)>,
}

/// How the current follows the voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Draws {
    /// The same current whatever the voltage (written in amperes).
    Current,
    /// The same power whatever the voltage (written in watts).
    Power,
    /// A resistance (written in ohms).
    Resistance,
}

/// What a load draws from one rail.
#[derive(Debug, Clone)]
pub struct Draw {
    /// Index of the rail.
    pub rail: usize,
    /// How the current follows the voltage.
    pub law: Draws,
    /// Running current at the rail's nominal voltage, without sign.
    pub run: Given<Current>,
    /// Highest current and how long it lasts.
    pub start: Option<(Given<Current>, Option<Time>)>,
    /// Lowest current while it is connected.
    pub idle: Option<Given<Current>>,
    /// Capacitance across the rail on this load.
    pub capacitance: Option<Given<Capacitance>>,
    /// Resistance from the rail to com with the power off, as a meter shows it.
    pub cold: Option<Given<Resistance>>,
}

impl Draw {
    /// The lowest current it may take while running.
    pub fn lightest(&self) -> Current {
        self.idle.as_ref().map_or(self.run.spread.least(), |idle| idle.spread.least())
    }
}

/// One rail must come before another.
#[derive(Debug, Clone)]
pub struct Order {
    /// Index of the rail that must be there first, and go last.
    pub first: usize,
    /// Index of the rail that must wait.
    pub then: usize,
    /// Why.
    pub why: String,
    /// Where it stands in the file.
    pub span: Range<usize>,
}

/// A logic level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Near 0 V.
    Low,
    /// Well above it.
    High,
}

/// The signal that tells a board that its rails are good.
#[derive(Debug, Clone)]
pub struct PowerGood {
    /// Level that means good.
    pub level: Option<Level>,
    /// Time after the rails are up.
    pub delay: Option<Bounds<Time>>,
    /// Where it stands in the file.
    pub span: Range<usize>,
}

/// A socket of a load.
#[derive(Debug, Clone)]
pub struct Socket {
    /// Its name in the file.
    pub name: Entered,
    /// What each way is on the load's side, way 1 first, seen from the mating face.
    pub ways: Vec<(WayUse, Range<usize>)>,
}

/// What a way of a load's socket is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WayUse {
    /// A rail, by index.
    Rail(usize),
    /// 0 V.
    Com,
    /// The case.
    Chassis,
    /// Not connected.
    Nothing,
}
