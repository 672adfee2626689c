//! The networks on which mistakes are tried, each with the way back to terminals, wires and parts.
//!
//! - [`cold`]: all of the machine with the power off, as an ohmmeter sees it.
//! - [`mains`]: the mains side with protective earth and the case, power on.
//! - The low-voltage side with power on is `voltwright_model::LowVoltage`.

pub mod cold;
pub mod mains;

use voltwright_circuit::{Law, Network, Resistor};
use voltwright_job::{Job, Terminal, nets};
use voltwright_model::{LowVoltage, Wiring};

/// Resistance of a bridge of solder or a strand, ohms: common practice.
pub const BRIDGE_OHMS: f64 = 0.01;

/// A network with the way from terminals, wires and parts to it.
#[derive(Debug, Clone)]
pub struct View {
    /// The network.
    pub network: Network,
    /// Node of each terminal, in the order of `nets::Terminals`.
    pub at: Vec<Option<usize>>,
    /// Element of each wire.
    pub wires: Vec<Option<usize>>,
    /// Elements of each plug's contacts.
    pub contacts: Vec<Vec<Option<usize>>>,
    /// Elements of each part.
    pub parts: Vec<Vec<usize>>,
}

impl View {
    /// One without nodes.
    fn empty(job: &Job, wiring: &Wiring) -> Self {
        Self {
            network: Network::new(),
            at: vec![None; wiring.terminals().count],
            wires: vec![None; job.wires.len()],
            contacts: job.plugs.iter().map(|p| vec![None; p.ways]).collect(),
            parts: vec![Vec::new(); job.parts.len()],
        }
    }

    /// Of the low-voltage side.
    pub fn of(low: LowVoltage) -> Self {
        let LowVoltage { network, at, wires, contacts, parts, .. } = low;
        Self { network, at, wires, contacts, parts }
    }

    /// The node of a terminal, made when it is first met.
    fn node(&mut self, job: &Job, wiring: &Wiring, terminal: Terminal) -> usize {
        let index = wiring.terminals().index(terminal);
        if let Some(node) = self.at[index] {
            return node;
        }
        let node = self.network.node(nets::name(job, terminal));
        self.at[index] = Some(node);
        node
    }

    fn resistor(&mut self, name: String, a: usize, b: usize, ohms: f64) -> usize {
        self.network.add(name, Law::Resistor(Resistor { a, b, ohms }))
    }
}
