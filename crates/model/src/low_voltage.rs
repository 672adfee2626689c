//! The low-voltage network of a job: outputs, wires, contacts, regulators, loads.

mod parts;

pub use parts::EFFICIENCY;

use crate::air_inside;
use crate::sample::Sample;
use crate::stage::{Loading, Stage};
use crate::wiring::Wiring;
use std::sync::Arc;
use voltwright_circuit::{Draws as Law, Field, Law as ElementLaw, Load as LoadLaw, Network, Resistor};
use voltwright_job::nets;
use voltwright_job::{Draw, Draws, Job, PartKind, Terminal, WayUse, Wire};
use voltwright_tables::copper;

/// Volts below which a load no longer draws as it should, as a share of its rail: common practice.
const KNEE: f64 = 0.5;

/// How a parameter of an element follows an input of the job.
#[derive(Debug, Clone, Copy)]
pub struct Link {
    /// The element.
    pub element: usize,
    /// Its parameter.
    pub field: Field,
    /// Number of the input.
    pub input: usize,
    /// Change of the parameter for a change of the input, both SI.
    pub gradient: f64,
}

/// Where a load sits in the network.
#[derive(Debug, Clone, Default)]
pub struct LoadNodes {
    /// Its 0 V plane.
    pub com: Option<usize>,
    /// Its planes, by rail.
    pub rails: Vec<Option<usize>>,
}

/// The low-voltage network with the way back from its nodes and elements to the job.
#[derive(Debug, Clone)]
pub struct LowVoltage {
    /// The network.
    pub network: Network,
    /// How its parameters follow the inputs.
    pub links: Vec<Link>,
    /// Node of each terminal, in the order of [`Terminals`].
    pub at: Vec<Option<usize>>,
    /// Element of each wire.
    pub wires: Vec<Option<usize>>,
    /// Elements of each plug's contacts.
    pub contacts: Vec<Vec<Option<usize>>>,
    /// Each load.
    pub loads: Vec<LoadNodes>,
    /// Elements of each part: one an output for a supply.
    pub parts: Vec<Vec<usize>>,
    /// What the wiring alone determines.
    pub wiring: Arc<Wiring>,
}

/// What a network is built for.
#[derive(Debug, Clone, Copy)]
pub struct Setting<'a> {
    /// Which loads are connected.
    pub stage: &'a Stage,
    /// How they draw.
    pub loading: Loading,
    /// A value for every input.
    pub sample: &'a Sample,
    /// Mains frequency in hertz, for the ripple of raw supplies.
    pub hertz: f64,
}

impl LowVoltage {
    /// Builds the network of a job.
    pub fn build(job: &Job, setting: &Setting<'_>) -> Self {
        Self::build_on(&Arc::new(Wiring::of(job)), job, setting, true)
    }

    /// The same for wiring that is known already; names are for people and may be left out.
    pub fn build_on(wiring: &Arc<Wiring>, job: &Job, setting: &Setting<'_>, named: bool) -> Self {
        Builder::new(wiring, job, setting, named).run()
    }

    /// The network alone, without names and links: the values of another sample.
    pub fn network_on(wiring: &Arc<Wiring>, job: &Job, setting: &Setting<'_>) -> Network {
        let mut builder = Builder::new(wiring, job, setting, false);
        builder.linked = false;
        builder.run().network
    }

    /// Gives a node to every low-voltage terminal that has none: a way without a wire, the case. Existing nodes keep
    /// their numbers. Ways of loads that are not connected stay without.
    pub fn with_all_terminals(mut self, job: &Job, named: bool) -> Self {
        for terminal in nets::all(job) {
            let index = self.wiring.terminals().index(terminal);
            let is_low = !self.wiring.is_on_mains(terminal) && !is_earth(job, terminal);
            if self.at[index].is_none() && is_low && !matches!(terminal, Terminal::Socket(..)) {
                let name = if named { nets::name(job, terminal) } else { String::new() };
                self.at[index] = Some(self.network.node(name));
            }
        }
        self
    }

    /// Node of a terminal.
    pub fn node(&self, terminal: Terminal) -> Option<usize> {
        self.at[self.wiring.terminals().index(terminal)]
    }

    /// Node of a part's terminal, by name.
    pub fn part_node(&self, job: &Job, part: usize, terminal: &str) -> Option<usize> {
        self.node(job.terminal(part, terminal)?)
    }
}

/// Whether a terminal is one for protective earth.
fn is_earth(job: &Job, terminal: Terminal) -> bool {
    matches!(terminal, Terminal::Part(p, t) if job.parts[p].terminals[t] == "earth")
}

/// Resistance of a wire with its two joints, ohms, and its change with length (Ω/m); `per_metre` is at 20 °C.
pub fn wire_ohms(job: &Job, wire: &Wire, per_metre: f64, sample: &Sample) -> (f64, f64) {
    let hot = per_metre * copper::resistance_factor(air_inside(job));
    (hot * sample.of(&wire.length) + 2.0 * sample.of(&job.assume.joint), hot)
}

struct Builder<'j, 's> {
    job: &'j Job,
    setting: &'s Setting<'s>,
    named: bool,
    linked: bool,
    out: LowVoltage,
}

impl<'j, 's> Builder<'j, 's> {
    fn new(wiring: &Arc<Wiring>, job: &'j Job, setting: &'s Setting<'s>, named: bool) -> Self {
        let out = LowVoltage {
            network: Network::new(),
            links: Vec::new(),
            at: vec![None; wiring.terminals().count],
            wires: vec![None; job.wires.len()],
            contacts: job.plugs.iter().map(|p| vec![None; p.ways]).collect(),
            loads: Vec::new(),
            parts: vec![Vec::new(); job.parts.len()],
            wiring: wiring.clone(),
        };
        Self { job, setting, named, linked: true, out }
    }

    fn run(mut self) -> LowVoltage {
        self.loads();
        self.joints();
        for p in 0..self.job.parts.len() {
            self.part(p);
        }
        for (w, wire) in self.job.wires.iter().enumerate() {
            self.wire(w, wire);
        }
        for p in 0..self.job.plugs.len() {
            self.contacts(p);
        }
        self.datum();
        self.out
    }

    /// The node of a terminal, made when it is first met.
    fn node(&mut self, terminal: Terminal) -> usize {
        let index = self.out.wiring.terminals().index(terminal);
        if let Some(node) = self.out.at[index] {
            return node;
        }
        let name = if self.named { nets::name(self.job, terminal) } else { String::new() };
        let node = self.out.network.node(name);
        self.out.at[index] = Some(node);
        node
    }

    fn add(&mut self, name: impl FnOnce() -> String, law: ElementLaw) -> usize {
        let name = if self.named { name() } else { String::new() };
        self.out.network.add(name, law)
    }

    fn link(&mut self, element: usize, field: Field, input: usize, gradient: f64) {
        if self.linked && input != voltwright_job::NO_INPUT {
            self.out.links.push(Link { element, field, input, gradient });
        }
    }

    fn is_low(&self, terminal: Terminal) -> bool {
        !self.out.wiring.is_on_mains(terminal) && !is_earth(self.job, terminal)
    }

    /// Planes and draws of the loads that are connected.
    fn loads(&mut self) {
        for (l, load) in self.job.loads.iter().enumerate() {
            let mut nodes = LoadNodes { rails: vec![None; self.job.rails.len()], ..Default::default() };
            if self.setting.stage.connected[l] {
                let key = &load.key.text;
                nodes.com = Some(self.plane(|| format!("{key}.com")));
                let ways = load.sockets.iter().flat_map(|s| s.ways.iter().map(|(w, _)| *w));
                let drawn = load.draws.iter().map(|d| WayUse::Rail(d.rail));
                for way in ways.chain(drawn).collect::<Vec<_>>() {
                    let WayUse::Rail(r) = way else { continue };
                    if nodes.rails[r].is_none() {
                        nodes.rails[r] =
                            Some(self.plane(|| format!("{key}.{}", self.job.rails[r].name.text)));
                    }
                }
                for draw in &load.draws {
                    self.draw(key, draw, &nodes);
                }
                self.socket_ways(l, &nodes);
            }
            self.out.loads.push(nodes);
        }
    }

    fn plane(&mut self, name: impl FnOnce() -> String) -> usize {
        let name = if self.named { name() } else { String::new() };
        self.out.network.node(name)
    }

    /// A load's ways are its planes: what joins them lies on the load.
    fn socket_ways(&mut self, l: usize, nodes: &LoadNodes) {
        for (s, socket) in self.job.loads[l].sockets.iter().enumerate() {
            for (w, (way, _)) in socket.ways.iter().enumerate() {
                let plane = match way {
                    WayUse::Rail(r) => nodes.rails[*r],
                    WayUse::Com => nodes.com,
                    WayUse::Chassis => Some(self.node(Terminal::Chassis)),
                    WayUse::Nothing => None,
                };
                let index = self.out.wiring.terminals().index(Terminal::Socket(l, s, w));
                self.out.at[index] = plane;
            }
        }
    }

    fn draw(&mut self, key: &str, draw: &Draw, nodes: &LoadNodes) {
        let rail = &self.job.rails[draw.rail];
        let volts = rail.nominal.nominal();
        let size = volts.abs();
        let volts_si = voltwright_quantity::Quantity::si(size);
        let given = match (self.setting.loading, &draw.start, &draw.idle) {
            (Loading::Start, Some((start, _)), _) => start,
            (Loading::Light, _, Some(idle)) => idle,
            _ => &draw.run,
        };
        let amps = match (self.setting.loading, &draw.idle) {
            (Loading::Light, None) => voltwright_quantity::Quantity::si(draw.run.spread.least()),
            _ => self.setting.sample.of(given),
        };
        let (law, amount, gradient) = match draw.law {
            Draws::Current => (Law::Current, amps, 1.0),
            Draws::Power => (Law::Power, amps * volts_si, volts_si),
            Draws::Resistance => {
                (Law::Resistance, volts_si / amps.max(1e-12), -volts_si / (amps * amps).max(1e-24))
            }
        };
        let plane = nodes.rails[draw.rail].or(nodes.com).unwrap_or_default();
        let com = nodes.com.unwrap_or_default();
        // A load is written so that its voltage is positive: a negative rail is its minus end.
        let (plus, minus) =
            if volts < voltwright_quantity::Voltage::ZERO { (com, plane) } else { (plane, com) };
        let load = LoadLaw { plus, minus, draws: law, amount, knee: KNEE * volts_si };
        let element = self.add(|| format!("{key} draws {}", rail.name.text), ElementLaw::Load(load));
        // At light load without an idle figure the lower end of `run` is fixed: nothing moves it.
        if self.setting.loading != Loading::Light || draw.idle.is_some() {
            self.link(element, Field::Amount, given.id, gradient);
        }
    }

    /// Terminals that are one inside a part share a node.
    fn joints(&mut self) {
        for (p, part) in self.job.parts.iter().enumerate() {
            let mut joined = nets::joined_terminals(part).into_iter().map(|t| Terminal::Part(p, t));
            let Some(first) = joined.next().filter(|t| self.is_low(*t)) else { continue };
            let node = self.node(first);
            for terminal in joined {
                let index = self.out.wiring.terminals().index(terminal);
                self.out.at[index] = Some(node);
            }
        }
    }

    fn wire(&mut self, w: usize, wire: &Wire) {
        if !self.is_low(wire.from) || !self.is_low(wire.to) || !self.is_reached(wire) {
            return;
        }
        let (a, b) = (self.node(wire.from), self.node(wire.to));
        if a == b {
            return;
        }
        let (ohms, per_metre) = wire_ohms(self.job, wire, self.out.wiring.metres[w].0, self.setting.sample);
        let element = self.add(
            || format!("wire {}: {}", w + 1, wire.name()),
            ElementLaw::Resistor(Resistor { a, b, ohms }),
        );
        self.link(element, Field::Ohms, wire.length.id, per_metre);
        self.link(element, Field::Ohms, self.job.assume.joint.id, 2.0);
        self.out.wires[w] = Some(element);
    }

    /// A wire soldered to the socket of a load that is not connected yet is not there either.
    fn is_reached(&self, wire: &Wire) -> bool {
        [wire.from, wire.to].iter().all(|t| match t {
            Terminal::Socket(l, _, _) => self.setting.stage.connected[*l],
            _ => true,
        })
    }

    fn contacts(&mut self, p: usize) {
        let plug = &self.job.plugs[p];
        let Some((l, s)) = plug.mates.filter(|(l, _)| self.setting.stage.connected[*l]) else { return };
        for w in 0..plug.ways.min(self.job.loads[l].sockets[s].ways.len()) {
            let way = self.out.wiring.terminals().index(Terminal::Socket(l, s, w));
            let here = self.out.wiring.terminals().index(Terminal::Plug(p, w));
            // A way that no wire goes to carries nothing.
            let (Some(a), Some(b)) = (self.out.at[here], self.out.at[way]) else { continue };
            let ohms = self.setting.sample.of(&self.job.assume.contact);
            let name = || format!("contact {}.{}", plug.key.text, w + 1);
            let element = self.add(name, ElementLaw::Resistor(Resistor { a, b, ohms }));
            self.link(element, Field::Ohms, self.job.assume.contact.id, 1.0);
            self.out.contacts[p][w] = Some(element);
        }
    }

    /// 0 V is where the first source returns: the minus of an output, whatever the sign of its voltage, and the plus
    /// of a negative raw one.
    fn datum(&mut self) {
        if self.out.network.nodes.is_empty() {
            self.out.network.node("com");
        }
        let first = self.job.parts.iter().enumerate().find_map(|(p, part)| {
            let (name, end) = match &part.kind {
                PartKind::MainsSupply(s) => (&s.outputs.first()?.name.text, "minus"),
                PartKind::RawSupply(s) => {
                    let o = s.outputs.first()?;
                    (&o.name.text, if o.negative { "plus" } else { "minus" })
                }
                _ => return None,
            };
            self.out.part_node(self.job, p, &format!("{name}.{end}"))
        });
        self.out.network.datum = first.unwrap_or(0);
    }
}
