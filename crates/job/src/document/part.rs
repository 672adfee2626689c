//! Parts: anything between the wall and a load.

use super::{Bounds, Entered, Given, Level, PowerGood};
use std::ops::Range;
use voltwright_quantity::parse::Rating;
use voltwright_quantity::{
    Capacitance, Current, Frequency, Length, MeltingIntegral, Power, Ratio, Resistance, Temperature,
    ThermalResistance, Time, Voltage,
};

/// Anything between wall and load.
#[derive(Debug, Clone)]
pub struct Part {
    /// Its name in the file.
    pub key: Entered,
    /// What it is, with what belongs to its kind.
    pub kind: PartKind,
    /// Names of its terminals, in order.
    pub terminals: Vec<String>,
    /// Width, depth, height.
    pub size: Option<[Length; 3]>,
    /// Air temperature up to which it may be used in full.
    pub full_to: Option<Given<Temperature>>,
    /// Air temperature at which nothing may be drawn from it any more.
    pub nothing_at: Option<Given<Temperature>>,
}

/// What a part is.
#[derive(Debug, Clone)]
pub enum PartKind {
    /// Where the mains come in.
    Inlet,
    /// A fuse.
    Fuse(Fuse),
    /// A switch.
    Switch(Switch),
    /// A supply fed from the mains, with regulated outputs.
    MainsSupply(Supply),
    /// A transformer with rectifier and reservoir: an unregulated supply.
    RawSupply(RawSupply),
    /// A converter from one direct voltage to others.
    Converter(Supply),
    /// A linear regulator.
    Regulator(Regulator),
    /// A diode.
    Diode(Diode),
    /// A part that draws current above a voltage.
    Clamp(Clamp),
    /// A resistor: a preload, a dummy load, a bleeder.
    Resistor(Resistor),
    /// A capacitor; polarised unless it has a class.
    Capacitor(Capacitor),
    /// A surge suppressor across the mains.
    Varistor(MainsPart),
    /// A fan or other motor on the mains.
    Fan(MainsPart),
    /// A lamp on the mains, with its series resistor.
    Lamp(MainsPart),
    /// A relay or transistor that connects `in` to `out` once its sense is up.
    Interlock(Interlock),
    /// Joined terminals.
    Strip,
}

impl PartKind {
    /// As the key `kind` has it.
    pub fn name(&self) -> &'static str {
        match self {
            PartKind::Inlet => "inlet",
            PartKind::Fuse(_) => "fuse",
            PartKind::Switch(_) => "switch",
            PartKind::MainsSupply(_) => "mains supply",
            PartKind::RawSupply(_) => "raw supply",
            PartKind::Converter(_) => "converter",
            PartKind::Regulator(_) => "regulator",
            PartKind::Diode(_) => "diode",
            PartKind::Clamp(_) => "clamp",
            PartKind::Resistor(_) => "resistor",
            PartKind::Capacitor(_) => "capacitor",
            PartKind::Varistor(_) => "varistor",
            PartKind::Fan(_) => "fan",
            PartKind::Lamp(_) => "lamp",
            PartKind::Interlock(_) => "interlock",
            PartKind::Strip => "strip",
        }
    }
}

/// A fuse.
#[derive(Debug, Clone)]
pub struct Fuse {
    /// Rated current.
    pub rating: Given<Current>,
    /// Letter of its speed.
    pub speed: Option<Entered>,
    /// What it can break.
    pub breaks: Option<Rating>,
    /// Cold resistance, if its sheet gives it.
    pub resistance: Option<Given<Resistance>>,
    /// Melting I²t, if its sheet gives it.
    pub melting: Option<Given<MeltingIntegral>>,
}

/// A switch.
#[derive(Debug, Clone)]
pub struct Switch {
    /// Number of poles.
    pub poles: usize,
    /// What it is marked for.
    pub rated: Vec<Rating>,
    /// Peak current it may make.
    pub inrush: Option<Given<Current>>,
    /// Place of the ratings.
    pub rated_span: Range<usize>,
}

/// What a supply does when too much is asked of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Overload {
    /// Holds the current at its limit.
    #[default]
    Hold,
    /// Switches off and tries again.
    Hiccup,
    /// Switches off until the mains are cycled.
    Latch,
    /// Lowers the current as the voltage falls.
    FoldBack,
}

impl Overload {
    /// Whether it switches off.
    pub fn trips(self) -> bool {
        matches!(self, Overload::Hiccup | Overload::Latch)
    }
}

/// One output of a supply or converter.
#[derive(Debug, Clone)]
pub struct Output {
    /// Its name in the file.
    pub name: Entered,
    /// Its voltage.
    pub volts: Given<Voltage>,
    /// Continuous rating.
    pub limit: Option<Given<Current>>,
    /// Current at which it limits or trips, where that is not the rating.
    pub trips_at: Option<Given<Current>>,
    /// Higher current and how long it may last.
    pub peak: Option<(Given<Current>, Option<Time>)>,
    /// Least load it needs.
    pub least: Option<Given<Current>>,
    /// Where it may go while any output of its supply is under its least load.
    pub without_least: Option<Bounds<Voltage>>,
    /// Voltage above which it switches itself off.
    pub cuts_off_at: Option<Bounds<Voltage>>,
    /// Most capacitance it will start.
    pub capacitance: Option<Given<Capacitance>>,
    /// Time after switch-on by which it is up.
    pub ready: Option<Bounds<Time>>,
}

impl Output {
    /// The current at which it stops holding its voltage.
    pub fn ceiling(&self) -> Option<&Given<Current>> {
        self.trips_at.as_ref().or(self.peak.as_ref().map(|(i, _)| i)).or(self.limit.as_ref())
    }
}

/// A supply fed from the mains, or a converter fed from a direct voltage.
#[derive(Debug, Clone)]
pub struct Supply {
    /// Voltage it takes.
    pub input_voltage: Option<Bounds<Voltage>>,
    /// Frequency it takes.
    pub input_frequency: Option<Bounds<Frequency>>,
    /// Highest current it takes.
    pub input_current: Option<Given<Current>>,
    /// Highest current when it is switched on.
    pub inrush: Option<Given<Current>>,
    /// All its outputs together.
    pub power: Option<Given<Power>>,
    /// Output power over input power.
    pub efficiency: Option<Given<Ratio>>,
    /// Watts to volt-amperes at its input.
    pub power_factor: Option<Given<Ratio>>,
    /// Power it takes with no load.
    pub idle: Option<Given<Power>>,
    /// What it does when too much is asked of it.
    pub overload: Overload,
    /// Its outputs.
    pub outputs: Vec<Output>,
    /// Output terminals that are one inside.
    pub joined: Vec<Entered>,
    /// Whether it has a terminal for protective earth.
    pub earthed: bool,
    /// Level that switches it on.
    pub enable: Option<(Level, Entered)>,
    /// The signal it gives.
    pub power_good: Option<PowerGood>,
}

/// How a winding is rectified.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rectifier {
    /// Four diodes.
    Bridge,
    /// Two diodes on a tapped winding.
    CentreTap,
    /// One diode.
    HalfWave,
}

/// A winding with its rectifier and reservoir.
#[derive(Debug, Clone)]
pub struct RawOutput {
    /// Its name in the file.
    pub name: Entered,
    /// RMS voltage of the winding (of one half, if tapped), loaded, at the primary's nominal voltage.
    pub winding: Given<Voltage>,
    /// Rise of the winding's voltage without load.
    pub regulation: Given<Ratio>,
    /// Current at which the winding's voltage holds.
    pub current: Given<Current>,
    /// How it is rectified.
    pub rectifier: Rectifier,
    /// Reservoir.
    pub reservoir: Given<Capacitance>,
    /// Volts the reservoir is rated for.
    pub reservoir_rated: Option<Given<Voltage>>,
    /// Whether plus is the rail (true) or minus is (a negative raw rail).
    pub negative: bool,
}

/// A transformer with rectifier and reservoir.
#[derive(Debug, Clone)]
pub struct RawSupply {
    /// Nominal voltage of the primary as it is strapped.
    pub primary: Given<Voltage>,
    /// Frequencies it is made for.
    pub frequency: Option<Bounds<Frequency>>,
    /// Volt-amperes it can transform, in watts.
    pub power: Option<Given<Power>>,
    /// Its windings.
    pub outputs: Vec<RawOutput>,
    /// Output terminals that are one inside.
    pub joined: Vec<Entered>,
    /// Whether it has a terminal for protective earth.
    pub earthed: bool,
}

/// A linear regulator.
#[derive(Debug, Clone)]
pub struct Regulator {
    /// Its output voltage, with sign.
    pub volts: Given<Voltage>,
    /// Volts it needs between `in` and `out`.
    pub headroom: Given<Voltage>,
    /// Current it delivers at most.
    pub limit: Option<Given<Current>>,
    /// Junction to the air inside, with its heat sink.
    pub heat: Option<Given<ThermalResistance>>,
    /// Junction temperature it stands.
    pub junction_limit: Option<Given<Temperature>>,
    /// Time after its input is up by which it is up.
    pub ready: Option<Bounds<Time>>,
}

/// A diode.
#[derive(Debug, Clone)]
pub struct Diode {
    /// Forward drop.
    pub drop: Given<Voltage>,
    /// Continuous current.
    pub rated: Option<Given<Current>>,
    /// Reverse voltage.
    pub reverse: Option<Given<Voltage>>,
}

/// A part that draws current above a voltage: suppressor or crowbar.
#[derive(Debug, Clone)]
pub struct Clamp {
    /// Voltage at which it begins to draw.
    pub breakdown: Given<Voltage>,
    /// Voltage across it at its full current.
    pub at_current: Option<Given<Voltage>>,
    /// Power it stands for long.
    pub power: Option<Given<Power>>,
    /// Whether it stays on until the current stops.
    pub latches: bool,
}

/// A resistor.
#[derive(Debug, Clone)]
pub struct Resistor {
    /// Its resistance.
    pub value: Given<Resistance>,
    /// Power it is rated for.
    pub power: Option<Given<Power>>,
}

/// A capacitor.
#[derive(Debug, Clone)]
pub struct Capacitor {
    /// Its capacitance.
    pub value: Given<Capacitance>,
    /// Volts it is rated for.
    pub rated: Option<Given<Voltage>>,
    /// `X2`, `Y1` and so on, for one on the mains.
    pub class: Option<Entered>,
}

/// A part across the mains.
#[derive(Debug, Clone)]
pub struct MainsPart {
    /// Alternating volts it is rated for.
    pub rated: Given<Voltage>,
    /// Power it takes at that voltage.
    pub power: Option<Given<Power>>,
    /// Series resistance, for a neon lamp.
    pub series: Option<Given<Resistance>>,
}

/// A relay or transistor that connects `in` to `out` once its sense is up.
#[derive(Debug, Clone)]
pub struct Interlock {
    /// Voltage across its sense terminals at which it connects.
    pub closes_at: Given<Voltage>,
    /// Resistance when it is closed.
    pub resistance: Given<Resistance>,
}
