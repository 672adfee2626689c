//! The types of a job, in the words of design page 1; every value knows where it was written.

use std::ops::Range;
use voltwright_quantity::parse::Accuracy;
use voltwright_quantity::{
    AirFlow, Area, Basis, Capacitance, Current, Frequency, Length, Place, Power, Quantity, Ratio, Resistance,
    Spread, Temperature, TemperatureRise, Time, Voltage,
};

mod part;
mod wiring;
pub use part::*;
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
    /// Accuracy of the meter.
    pub meter: Meter,
    /// Values of ours that the job may replace.
    pub assume: Assume,
    /// Nominal and bounds of every value in [`Job::inputs`], by number.
    pub spreads: Vec<crate::inputs::Si>,
}

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

/// Accuracy of the meter.
#[derive(Debug, Clone, Default)]
pub struct Meter {
    /// On direct voltage.
    pub dc_volts: Option<Accuracy<Voltage>>,
    /// On alternating voltage.
    pub ac_volts: Option<Accuracy<Voltage>>,
    /// On resistance.
    pub ohms: Option<Accuracy<Resistance>>,
    /// On direct current.
    pub dc_amps: Option<Accuracy<Current>>,
}

/// Values of ours that the job may replace; each is used where the job gives nothing nearer.
#[derive(Debug, Clone)]
pub struct Assume {
    /// Resistance of one mated contact.
    pub contact: Given<Resistance>,
    /// Resistance of one wire joint (crimp, solder, screw).
    pub joint: Given<Resistance>,
    /// Share of a rating that may be used continuously.
    pub continuous: Given<Ratio>,
    /// Ratio of watts to volt-amperes of a rectifier input.
    pub power_factor: Given<Ratio>,
    /// Ground lift that is still tolerated at a load.
    pub ground_lift: Given<Voltage>,
    /// Junction temperature that is planned for.
    pub junction: Given<Temperature>,
    /// Air inside the case over the ambient, where the case is not described.
    pub inside_rise: Given<TemperatureRise>,
    /// Resistance of the mains supply up to the inlet.
    pub mains_loop: Given<Resistance>,
}

impl Default for Assume {
    fn default() -> Self {
        let spread = |nominal: f64, low: f64, high: f64| Spread { nominal, low, high };
        fn of<Q: Quantity>(s: Spread<f64>) -> Spread<Q> {
            Spread { nominal: Q::from_si(s.nominal), low: Q::from_si(s.low), high: Q::from_si(s.high) }
        }
        // Common practice, all of them: starting values with their spread, see design page 3 and bench-practice 2.3.
        Self {
            contact: Given::ours("assume.contact", of(spread(0.01, 0.005, 0.03))),
            joint: Given::ours("assume.joint", of(spread(0.001, 0.0005, 0.003))),
            continuous: Given::ours("assume.continuous", of(spread(0.8, 0.8, 0.8))),
            power_factor: Given::ours("assume.power-factor", of(spread(0.65, 0.55, 0.75))),
            ground_lift: Given::ours("assume.ground-lift", of(spread(0.05, 0.05, 0.05))),
            junction: Given::ours("assume.junction", of(spread(110.0, 110.0, 110.0))),
            inside_rise: Given::ours("assume.inside-rise", of(spread(10.0, 10.0, 10.0))),
            mains_loop: Given::ours("assume.mains-loop", of(spread(0.5, 0.2, 1.0))),
        }
    }
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
    /// The index of a plug by name.
    pub fn plug(&self, key: &str) -> Option<usize> {
        self.plugs.iter().position(|p| p.key.text == key)
    }
}
