//! An operating point, or why there is none.

use crate::network::{Law, Network};
use serde::Serialize;
use std::fmt;

/// The operating point of a network.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Solution {
    /// Voltage of each node against the datum.
    pub volts: Vec<f64>,
    /// Each element.
    pub elements: Vec<Flow>,
    /// Largest sum of currents left over at a node, amperes.
    pub residual: f64,
    /// Where the power comes from and goes.
    pub power: Power,
}

/// An element at the operating point.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Flow {
    /// What it does.
    pub state: State,
    /// Its main current in amperes: a→b, anode→cathode, cathode→anode of a clamp, plus→minus of a load,
    /// input→output of a regulator, into a converter's input, out of a source's plus.
    pub current: f64,
    /// Outputs of a converter.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub outputs: Vec<OutputFlow>,
}

/// An output of a converter at the operating point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OutputFlow {
    /// What it does.
    pub state: State,
    /// Current out of its plus, amperes.
    pub current: f64,
}

/// Power balance in watts.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Power {
    /// Delivered by sources at their terminals.
    #[serde(rename = "in")]
    pub delivered: f64,
    /// Taken by loads.
    #[serde(rename = "out")]
    pub taken: f64,
    /// Turned to heat in everything else: resistors, diodes, clamps, regulators, converters, leak.
    pub heat: f64,
}

/// What a device does at the operating point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// A resistor.
    Conducting,
    /// A source at its voltage.
    Holding,
    /// A source or regulator at its current limit.
    Limiting,
    /// A source, output or converter that has switched off by overload.
    Tripped,
    /// A source that delivers nothing: fed from elsewhere, or its converter is off.
    Idle,
    /// A diode, clamp or regulator that carries nothing.
    Off,
    /// A diode that conducts, a converter that runs.
    On,
    /// A clamp above its breakdown.
    Clamping,
    /// A clamp that conducts forward.
    Forward,
    /// A load above its knee.
    Normal,
    /// A load below its knee.
    Starved,
    /// A regulator at its voltage.
    Regulating,
    /// A regulator with too little headroom.
    DropOut,
    /// A converter with too little input.
    #[serde(rename = "below range")]
    BelowRange,
    /// A converter with too much input.
    #[serde(rename = "above range")]
    AboveRange,
    /// A converter whose enable input says off.
    Disabled,
}

impl State {
    /// Its word, as serialized.
    pub fn word(self) -> &'static str {
        match self {
            State::Conducting => "conducting",
            State::Holding => "holding",
            State::Limiting => "limiting",
            State::Tripped => "tripped",
            State::Idle => "idle",
            State::Off => "off",
            State::On => "on",
            State::Clamping => "clamping",
            State::Forward => "forward",
            State::Normal => "normal",
            State::Starved => "starved",
            State::Regulating => "regulating",
            State::DropOut => "drop-out",
            State::BelowRange => "below range",
            State::AboveRange => "above range",
            State::Disabled => "disabled",
        }
    }
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// Why a network has no operating point. Each reads as a clause: "with the loads running, …".
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Unsolved {
    /// No set of converters on and off is consistent: they start, starve and stop again.
    #[error("{} can neither stay on nor stay off: when on, the input falls out of range; when off, it comes back", list(.devices))]
    Hunting {
        /// The converters that change back and forth.
        devices: Vec<String>,
    },
    /// The currents and voltages found do not satisfy the laws closely enough to be believed.
    #[error("the currents do not balance: {residual:.3e} is left over where {scale:.3e} flows")]
    Unbalanced {
        /// What is left over, amperes or watts.
        residual: f64,
        /// The largest current or power, amperes or watts.
        scale: f64,
    },
    /// No voltages were found at which every device's state fits its voltage.
    #[error("no steady voltages were found: {} would not settle", list(.devices))]
    Unsettled {
        /// The devices that still changed state, or none if it was the voltages.
        devices: Vec<String>,
    },
    /// A voltage is not a finite number.
    #[error(
        "the voltage of {node:?} is not a finite number; look for a value beside it that is zero, huge or missing"
    )]
    NotFinite {
        /// The node.
        node: String,
    },
    /// A value of an element has no physical meaning.
    #[error("{element:?} cannot be: {expected}")]
    Faulty {
        /// The element.
        element: String,
        /// What was expected.
        expected: &'static str,
    },
}

fn list(names: &[String]) -> String {
    if names.is_empty() { "the voltages".to_owned() } else { names.join(", ") }
}

impl Solution {
    /// Voltage between two nodes.
    pub fn between(&self, plus: usize, minus: usize) -> f64 {
        self.volts[plus] - self.volts[minus]
    }

    /// Main current of an element in amperes, directed as in [`Flow::current`].
    pub fn current(&self, element: usize) -> f64 {
        self.elements[element].current
    }

    /// Watts that a source or the outputs of a converter deliver at their terminals; 0 for everything else.
    pub fn delivered(&self, net: &Network, element: usize) -> f64 {
        let flow = &self.elements[element];
        match &net.elements[element].law {
            Law::Source(s) => self.between(s.plus, s.minus) * flow.current,
            Law::Converter(c) => {
                let each = c.outputs.iter().zip(&flow.outputs);
                each.map(|(o, f)| self.between(o.plus, o.minus) * f.current).sum()
            }
            _ => 0.0,
        }
    }

    /// Watts that turn to heat in an element: all that a load takes, what a converter loses; 0 for a source, whose
    /// own loss is not in the network.
    pub fn heat(&self, net: &Network, element: usize) -> f64 {
        let current = self.current(element);
        match &net.elements[element].law {
            Law::Resistor(r) => current * current * r.ohms,
            Law::Source(_) => 0.0,
            Law::Diode(d) => self.between(d.anode, d.cathode) * current,
            Law::Clamp(c) => self.between(c.cathode, c.anode) * current,
            Law::Load(l) => self.between(l.plus, l.minus) * current,
            Law::Regulator(r) => self.between(r.input, r.output) * current,
            Law::Converter(c) => self.between(c.in_plus, c.in_minus) * current - self.delivered(net, element),
        }
    }
}
