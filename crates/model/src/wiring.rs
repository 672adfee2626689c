//! What the wiring of a job alone determines, whatever its values: shared by all that is solved on it.

use std::sync::OnceLock;
use voltwright_circuit::{Network, Ordering};
use voltwright_job::nets::{self, Nets, Terminals};
use voltwright_job::{Job, PartKind, Terminal, Wire};
use voltwright_quantity::Quantity;
use voltwright_tables::conductors;

/// What the wiring alone determines.
#[derive(Debug, Clone)]
pub struct Wiring {
    /// Terminals that are one conductor.
    pub conductors: Nets,
    /// The same, through fuses, closed switches, diodes and interlocks.
    pub paths: Nets,
    /// Resistance of a metre of each wire at 20 °C, ohms, and its cross-section, m².
    pub metres: Vec<(f64, f64)>,
    on_mains: Vec<bool>,
    wired: Vec<bool>,
    fuse_steps: OnceLock<Vec<(Option<usize>, Nets)>>,
    low_voltage: OnceLock<Ordering>,
    mains: OnceLock<Ordering>,
}

impl Wiring {
    /// Of a job.
    pub fn of(job: &Job) -> Self {
        let paths = Nets::of_paths(job);
        Self {
            conductors: Nets::of_conductors(job),
            on_mains: mains_terminals(job, &paths),
            wired: wired(job, &paths.terminals),
            paths,
            metres: job.wires.iter().map(metre).collect(),
            fuse_steps: OnceLock::new(),
            low_voltage: OnceLock::new(),
            mains: OnceLock::new(),
        }
    }

    /// Numbers of the terminals.
    pub fn terminals(&self) -> &Terminals {
        &self.conductors.terminals
    }

    /// Whether a terminal belongs to the mains.
    pub fn is_on_mains(&self, terminal: Terminal) -> bool {
        self.on_mains[self.terminals().index(terminal)]
    }

    /// Whether a wire, or a wired way of a plug, reaches a terminal.
    pub fn is_wired(&self, terminal: Terminal) -> bool {
        self.wired[self.terminals().index(terminal)]
    }

    /// What is joined without any fuse, then with each fuse added, the largest first: the step at which a terminal is
    /// joined to its source names the fuse that protects it.
    pub fn fuse_steps(&self, job: &Job) -> &[(Option<usize>, Nets)] {
        self.fuse_steps.get_or_init(|| {
            let is_fuse = |kind: &PartKind| matches!(kind, PartKind::Fuse(_));
            let mut nets = Nets::through_only(job, |kind| !is_fuse(kind));
            let mut fuses: Vec<(usize, f64)> = Vec::new();
            for (p, part) in job.parts.iter().enumerate() {
                if let PartKind::Fuse(f) = &part.kind {
                    fuses.push((p, f.rating.nominal().si()));
                }
            }
            fuses.sort_by(|a, b| b.1.total_cmp(&a.1));
            let mut steps = vec![(None, nets.clone())];
            for (p, _) in fuses {
                nets.join(Terminal::Part(p, 0), Terminal::Part(p, 1));
                steps.push((Some(p), nets.clone()));
            }
            steps
        })
    }

    /// Whether line and neutral of the inlet are one conductor.
    pub fn mains_shorted(&self, job: &Job) -> bool {
        let pole = |name| job.inlet().and_then(|inlet| job.terminal(inlet, name));
        pole("line").zip(pole("neutral")).is_some_and(|(line, neutral)| self.paths.same(line, neutral))
    }

    /// Elimination order of the low-voltage network with everything connected.
    pub fn ordering(&self, network: &Network) -> &Ordering {
        self.low_voltage.get_or_init(|| network.ordering())
    }

    /// Elimination order of the mains network.
    pub fn mains_ordering(&self, network: &Network) -> &Ordering {
        self.mains.get_or_init(|| network.ordering())
    }
}

fn wired(job: &Job, terminals: &Terminals) -> Vec<bool> {
    let mut wired = vec![false; terminals.count];
    for wire in &job.wires {
        wired[terminals.index(wire.from)] = true;
        wired[terminals.index(wire.to)] = true;
    }
    for (p, plug) in job.plugs.iter().enumerate() {
        let Some((l, s)) = plug.mates else { continue };
        for w in 0..plug.ways.min(job.loads[l].sockets[s].ways.len()) {
            if wired[terminals.index(Terminal::Plug(p, w))] {
                wired[terminals.index(Terminal::Socket(l, s, w))] = true;
            }
        }
    }
    wired
}

fn metre(wire: &Wire) -> (f64, f64) {
    let (ohms, area, _) = conductors::per_metre(wire.size);
    (ohms, area.si())
}

/// Terminals that lie on the mains: reached from the inlet and the mains inputs through conductors and closed parts.
fn mains_terminals(job: &Job, paths: &Nets) -> Vec<bool> {
    let mut on = std::collections::BTreeSet::new();
    for (p, part) in job.parts.iter().enumerate() {
        for (t, name) in part.terminals.iter().enumerate() {
            let mains = match &part.kind {
                PartKind::Inlet => name != "earth",
                PartKind::MainsSupply(_) | PartKind::RawSupply(_) => {
                    matches!(name.as_str(), "line" | "neutral")
                }
                PartKind::Varistor(_) | PartKind::Fan(_) | PartKind::Lamp(_) => true,
                _ => false,
            };
            if mains {
                on.insert(paths.net(Terminal::Part(p, t)));
            }
        }
    }
    nets::all(job).into_iter().map(|t| on.contains(&paths.net(t))).collect()
}
