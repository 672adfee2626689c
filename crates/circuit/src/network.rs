//! The data of a network: nodes, elements and the law of each.
//!
//! Node fields are indexes into [`Network::nodes`]. The serialized form is what a person or another solver reads.

use serde::Serialize;

/// Leak of a new network from every node to the datum, siemens: a gigohm, far above any insulation that matters.
pub const LEAK: f64 = 1e-9;

/// Nodes joined by elements.
#[derive(Debug, Clone, Serialize)]
pub struct Network {
    /// Name of each node.
    pub nodes: Vec<String>,
    /// The node that is at 0 V by definition.
    pub datum: usize,
    /// Leak from every node but the datum to the datum, siemens: the stated potential of floating parts.
    pub leak: f64,
    /// Sources and converters that share a limit and trip together.
    pub groups: Vec<Group>,
    /// The elements.
    pub elements: Vec<Element>,
}

/// Sources and converters that share a power limit and trip together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    /// Its name.
    pub name: String,
    /// Watts that all its outputs may deliver together.
    pub power_limit: Option<f64>,
    /// Whether it trips above `power_limit`; otherwise the limit has no effect in the network.
    pub trips: bool,
}

/// One element of a network.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Element {
    /// Its name.
    pub name: String,
    /// What current it takes at what voltages.
    #[serde(flatten)]
    pub law: Law,
}

/// What current an element takes at what voltages.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "law", rename_all = "kebab-case")]
pub enum Law {
    /// A wire, contact, fuse, switch or resistor.
    Resistor(Resistor),
    /// A supply's output.
    Source(Source),
    /// A diode.
    Diode(Diode),
    /// A clamp: conducts above its breakdown voltage, and forward like a diode.
    Clamp(Clamp),
    /// A load.
    Load(Load),
    /// A linear regulator.
    Regulator(Regulator),
    /// A converter: a load on one side, sources on the other.
    Converter(Converter),
}

/// Current a→b is the voltage across it over its resistance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Resistor {
    /// One end.
    pub a: usize,
    /// The other end.
    pub b: usize,
    /// Resistance in ohms, above zero.
    pub ohms: f64,
}

/// What a source does above its current limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Overload {
    /// Holds the current at the limit.
    Hold,
    /// Switches off, with its whole group.
    Trip,
}

/// A voltage behind a resistance that delivers but never sinks, up to a limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Source {
    /// The terminal that `volts` is counted to.
    pub plus: usize,
    /// The terminal that `volts` is counted from.
    pub minus: usize,
    /// Unloaded voltage, may be negative.
    pub volts: f64,
    /// Inner resistance in ohms, above zero.
    pub ohms: f64,
    /// Current limit in amperes.
    pub limit: Option<f64>,
    /// What happens above the limit.
    pub overload: Overload,
    /// Index of the group it belongs to.
    pub group: Option<usize>,
}

impl Source {
    /// A source without limit or group.
    pub fn ideal(plus: usize, minus: usize, volts: f64, ohms: f64) -> Self {
        Self { plus, minus, volts, ohms, limit: None, overload: Overload::Hold, group: None }
    }
}

/// Conducts from anode to cathode above a forward voltage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Diode {
    /// Anode.
    pub anode: usize,
    /// Cathode.
    pub cathode: usize,
    /// Forward voltage.
    pub forward: f64,
    /// Resistance once it conducts, ohms, above zero.
    pub ohms: f64,
}

/// Conducts from cathode to anode above breakdown, and from anode to cathode above a forward voltage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Clamp {
    /// Cathode: the end that is normally positive.
    pub cathode: usize,
    /// Anode.
    pub anode: usize,
    /// Voltage above which it clamps.
    pub breakdown: f64,
    /// Forward voltage.
    pub forward: f64,
    /// Resistance once it conducts, ohms, above zero.
    pub ohms: f64,
}

/// How a load's current follows its voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Draws {
    /// The same amperes at any voltage above the knee.
    Current,
    /// The same watts at any voltage above the knee.
    Power,
    /// A resistance in ohms.
    Resistance,
}

/// A load, written so that its voltage is normally positive. Below its knee it is a resistance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Load {
    /// Positive terminal.
    pub plus: usize,
    /// Negative terminal.
    pub minus: usize,
    /// Its kind.
    pub draws: Draws,
    /// Amperes, watts or ohms, after `draws`.
    pub amount: f64,
    /// Volts below which it draws in proportion to its voltage, above zero.
    pub knee: f64,
}

/// A series regulator: takes from its input just the current that it gives to its output.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Regulator {
    /// Input.
    pub input: usize,
    /// Reference, the "ground" terminal.
    pub reference: usize,
    /// Output.
    pub output: usize,
    /// Output to reference, volts, negative for a negative regulator.
    pub volts: f64,
    /// Inner resistance in ohms, above zero.
    pub ohms: f64,
    /// Volts that it needs between input and output.
    pub headroom: f64,
    /// Current limit in amperes.
    pub limit: f64,
}

/// On which side of its threshold an enable input switches a converter on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum OnWhen {
    /// At or above.
    Above,
    /// At or below.
    Below,
}

/// The enable input of a converter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Enable {
    /// The input itself.
    pub plus: usize,
    /// What it is measured from.
    pub minus: usize,
    /// Threshold in volts.
    pub threshold: f64,
    /// The side that switches on.
    pub on_when: OnWhen,
}

/// One output of a converter: like a [`Source`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Output {
    /// The terminal that `volts` is counted to.
    pub plus: usize,
    /// The terminal that `volts` is counted from.
    pub minus: usize,
    /// Unloaded voltage, may be negative.
    pub volts: f64,
    /// Inner resistance in ohms, above zero.
    pub ohms: f64,
    /// Current limit in amperes.
    pub limit: Option<f64>,
    /// What happens above the limit.
    pub overload: Overload,
}

/// Takes constant power from its input and delivers at its outputs, within an input range.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Converter {
    /// Positive input.
    pub in_plus: usize,
    /// Negative input.
    pub in_minus: usize,
    /// Lowest input voltage at which it runs.
    pub low: f64,
    /// Highest input voltage at which it runs.
    pub high: f64,
    /// Output power over input power without `idle`, above 0, at most 1.
    pub efficiency: f64,
    /// Watts taken at no load.
    pub idle: f64,
    /// Index of the group it belongs to.
    pub group: Option<usize>,
    /// Its enable input.
    pub enable: Option<Enable>,
    /// Its outputs.
    pub outputs: Vec<Output>,
}

impl Network {
    /// An empty network; the first node is the datum unless [`Network::datum`] is set.
    pub fn new() -> Self {
        Self { nodes: Vec::new(), datum: 0, leak: LEAK, groups: Vec::new(), elements: Vec::new() }
    }

    /// Adds a node and gives its index.
    pub fn node(&mut self, name: impl Into<String>) -> usize {
        self.nodes.push(name.into());
        self.nodes.len() - 1
    }

    /// Adds an element and gives its index.
    pub fn add(&mut self, name: impl Into<String>, law: Law) -> usize {
        self.elements.push(Element { name: name.into(), law });
        self.elements.len() - 1
    }

    /// Takes away every current and power limit, to learn what the loads would draw.
    pub fn lift_limits(&mut self) {
        for group in &mut self.groups {
            group.power_limit = None;
        }
        for element in &mut self.elements {
            match &mut element.law {
                Law::Source(s) => s.limit = None,
                Law::Converter(c) => c.outputs.iter_mut().for_each(|o| o.limit = None),
                Law::Regulator(r) => r.limit = f64::MAX,
                Law::Resistor(_) | Law::Diode(_) | Law::Clamp(_) | Law::Load(_) => {}
            }
        }
    }

    /// Series resistance of an element in ohms; 0 for loads and converters, which have none.
    pub fn ohms(&self, element: usize) -> f64 {
        match &self.elements[element].law {
            Law::Resistor(r) => r.ohms,
            Law::Source(s) => s.ohms,
            Law::Diode(d) => d.ohms,
            Law::Clamp(c) => c.ohms,
            Law::Regulator(r) => r.ohms,
            Law::Load(_) | Law::Converter(_) => 0.0,
        }
    }
}

impl Default for Network {
    fn default() -> Self {
        Self::new()
    }
}
