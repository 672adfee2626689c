//! The mains network of a job, at RMS values taken as direct ones.
//!
//! Line and neutral of the outlet are a source with the resistance `assume.mains-loop`; neutral is the datum, and
//! protective earth is joined to it at the origin. A supply draws volt-amperes: its input power over its power factor.

use crate::SOURCE_OHMS;
use crate::low_voltage::wire_ohms;
use crate::sample::Sample;
use crate::wiring::Wiring;
use std::sync::Arc;
use voltwright_circuit::{self as circuit, Law, Network, Resistor};
use voltwright_job::nets;
use voltwright_job::{Job, MainsPart, PartKind, Terminal};
use voltwright_quantity::Quantity;
use voltwright_tables::fuses;

/// The mains network with the way back to the job.
#[derive(Debug, Clone)]
pub struct MainsSide {
    /// The network.
    pub network: Network,
    /// Node of each terminal.
    pub at: Vec<Option<usize>>,
    /// Element of each wire.
    pub wires: Vec<Option<usize>>,
    /// Elements of each part.
    pub parts: Vec<Vec<usize>>,
    /// The element that stands for the outlet.
    pub outlet: usize,
    /// What the wiring alone determines.
    pub wiring: Arc<Wiring>,
    named: bool,
}

impl MainsSide {
    /// Builds the network; `drawn` is the volt-amperes that each part takes from the mains.
    pub fn build(job: &Job, sample: &Sample, drawn: &[f64]) -> Option<Self> {
        Self::build_on(&Arc::new(Wiring::of(job)), job, sample, drawn, true)
    }

    /// The same for wiring that is known already; names are for people and may be left out.
    pub fn build_on(
        wiring: &Arc<Wiring>,
        job: &Job,
        sample: &Sample,
        drawn: &[f64],
        named: bool,
    ) -> Option<Self> {
        let inlet = job.inlet()?;
        let mut network = Network::new();
        let neutral = network.node("outlet.neutral");
        network.datum = neutral;
        let line = network.node("outlet.line");
        let volts = sample.mains();
        let ohms = sample.of(&job.assume.mains_loop).max(SOURCE_OHMS);
        let outlet = network.add(
            "outlet",
            Law::Source(circuit::Source {
                plus: line,
                minus: neutral,
                volts,
                ohms,
                limit: None,
                overload: circuit::Overload::Hold,
                group: None,
            }),
        );
        let at = vec![None; wiring.terminals().count];
        let wires = vec![None; job.wires.len()];
        let parts = vec![Vec::new(); job.parts.len()];
        let mut side = Self { network, at, wires, parts, outlet, wiring: wiring.clone(), named };
        for (t, name) in job.parts[inlet].terminals.iter().enumerate() {
            let node = if name == "line" { line } else { neutral };
            let index = side.wiring.terminals().index(Terminal::Part(inlet, t));
            side.at[index] = Some(node);
        }
        side.wires(job, sample);
        for (p, part) in job.parts.iter().enumerate() {
            side.part(job, sample, p, &part.kind, drawn);
        }
        Some(side)
    }

    fn node(&mut self, job: &Job, terminal: Terminal) -> usize {
        let index = self.wiring.terminals().index(terminal);
        match self.at[index] {
            Some(node) => node,
            None => {
                let node =
                    self.network.node(if self.named { nets::name(job, terminal) } else { String::new() });
                self.at[index] = Some(node);
                node
            }
        }
    }

    fn wires(&mut self, job: &Job, sample: &Sample) {
        for (w, wire) in job.wires.iter().enumerate() {
            let ends = [wire.from, wire.to].map(|t| self.wiring.is_on_mains(t));
            if ends == [true, true] {
                let (a, b) = (self.node(job, wire.from), self.node(job, wire.to));
                let (ohms, _) = wire_ohms(job, wire, self.wiring.metres[w].0, sample);
                let law = Law::Resistor(Resistor { a, b, ohms });
                let name =
                    if self.named { format!("wire {}: {}", w + 1, wire.name()) } else { String::new() };
                self.wires[w] = Some(self.network.add(name, law));
            }
        }
    }

    fn part(&mut self, job: &Job, sample: &Sample, p: usize, kind: &PartKind, drawn: &[f64]) {
        let key = &job.parts[p].key.text;
        match kind {
            PartKind::Fuse(f) => {
                let ohms = match &f.resistance {
                    Some(given) => sample.of(given),
                    None => fuses::cold_resistance(f.rating.nominal()).0.si(),
                };
                self.between(job, p, (0, 1), key, |a, b| Law::Resistor(Resistor { a, b, ohms }));
            }
            PartKind::Switch(_) => {
                for pole in nets::through(kind) {
                    let ohms = sample.of(&job.assume.contact);
                    self.between(job, p, pole, key, |a, b| Law::Resistor(Resistor { a, b, ohms }));
                }
            }
            PartKind::MainsSupply(_) | PartKind::RawSupply(_) if drawn[p] > 0.0 => {
                let knee = sample.mains() / 3.0;
                let law = |plus, minus| {
                    let draws = circuit::Draws::Power;
                    Law::Load(circuit::Load { plus, minus, draws, amount: drawn[p], knee })
                };
                // Line and neutral exchanged at a supply draw the same.
                let ends = if self.is_neutral(job, Terminal::Part(p, 0)) { (1, 0) } else { (0, 1) };
                self.between(job, p, ends, key, law);
            }
            PartKind::Resistor(r) => {
                let ohms = sample.of(&r.value);
                self.between(job, p, (0, 1), key, |a, b| Law::Resistor(Resistor { a, b, ohms }));
            }
            PartKind::Fan(m) | PartKind::Lamp(m) => {
                if let Some(ohms) = mains_part_ohms(m) {
                    self.between(job, p, (0, 1), key, |a, b| Law::Resistor(Resistor { a, b, ohms }));
                }
            }
            _ => {}
        }
    }

    fn is_neutral(&self, job: &Job, terminal: Terminal) -> bool {
        let neutral = job.inlet().and_then(|inlet| job.terminal(inlet, "neutral"));
        neutral.is_some_and(|neutral| self.wiring.paths.same(neutral, terminal))
    }

    fn between(
        &mut self,
        job: &Job,
        p: usize,
        (a, b): (usize, usize),
        name: &str,
        law: impl FnOnce(usize, usize) -> Law,
    ) {
        let (ta, tb) = (Terminal::Part(p, a), Terminal::Part(p, b));
        if self.wiring.is_on_mains(ta) && self.wiring.is_on_mains(tb) {
            let (a, b) = (self.node(job, ta), self.node(job, tb));
            let element = self.network.add(name, law(a, b));
            self.parts[p].push(element);
        }
    }
}

/// A part across the mains as a resistance, from its rated voltage and power, or its series resistor.
fn mains_part_ohms(m: &MainsPart) -> Option<f64> {
    let rated = m.rated.nominal().si();
    let power = m.power.as_ref().map(|p| rated * rated / p.nominal().si());
    power.or(m.series.as_ref().map(|r| r.nominal().si()))
}
