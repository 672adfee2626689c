//! The wiring as things with terminals: what sits beside what, and how far a wire reaches.

use crate::change::End;
use std::collections::BTreeMap;
use std::sync::Arc;
use voltwright_job::{Job, Terminal, nets};
use voltwright_model::Wiring;
use voltwright_quantity::Quantity;

/// Slack of a wire: it reaches where a wire of so many times its length is known to go. Our own estimate.
const SLACK: f64 = 1.1;

/// A job with its wiring as things.
pub struct Harness<'j> {
    /// The job.
    pub job: &'j Job,
    /// What the wiring alone determines.
    pub wiring: Arc<Wiring>,
    /// The shortest wire between two things, metres.
    shortest: BTreeMap<(Thing, Thing), f64>,
}

/// What terminals sit on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    /// A part.
    Part(usize),
    /// A plug.
    Plug(usize),
    /// A load's socket: load, socket.
    Socket(usize, usize),
    /// The case.
    Chassis,
}

/// What a terminal sits on.
pub fn thing(terminal: Terminal) -> Thing {
    match terminal {
        Terminal::Part(p, _) => Thing::Part(p),
        Terminal::Plug(p, _) => Thing::Plug(p),
        Terminal::Socket(l, s, _) => Thing::Socket(l, s),
        Terminal::Chassis => Thing::Chassis,
    }
}

impl<'j> Harness<'j> {
    /// Of a job.
    pub fn new(job: &'j Job) -> Self {
        let mut shortest: BTreeMap<(Thing, Thing), f64> = BTreeMap::new();
        for wire in &job.wires {
            let (a, b, length) = (thing(wire.from), thing(wire.to), wire.length.nominal().si());
            for pair in [(a, b), (b, a)] {
                let known = shortest.entry(pair).or_insert(length);
                *known = known.min(length);
            }
        }
        Self { job, wiring: Arc::new(Wiring::of(job)), shortest }
    }

    /// The terminals of a thing, in order.
    pub fn terminals(&self, of: Thing) -> Vec<Terminal> {
        match of {
            Thing::Part(p) => (0..self.job.parts[p].terminals.len()).map(|t| Terminal::Part(p, t)).collect(),
            Thing::Plug(p) => (0..self.job.plugs[p].ways).map(|w| Terminal::Plug(p, w)).collect(),
            Thing::Socket(l, s) => {
                let ways = self.job.loads[l].sockets[s].ways.len();
                (0..ways).map(|w| Terminal::Socket(l, s, w)).collect()
            }
            Thing::Chassis => vec![Terminal::Chassis],
        }
    }

    /// All things that have terminals to wire to, in a fixed order.
    pub fn things(&self) -> Vec<Thing> {
        let mut things: Vec<Thing> = (0..self.job.parts.len()).map(Thing::Part).collect();
        things.extend((0..self.job.plugs.len()).map(Thing::Plug));
        // Sockets count where a wire goes to them without a plug.
        let mut sockets: Vec<Thing> =
            self.job.wires.iter().flat_map(|w| [thing(w.from), thing(w.to)]).collect();
        sockets.retain(|t| matches!(t, Thing::Socket(..)));
        sockets.sort();
        sockets.dedup();
        things.extend(sockets);
        things.push(Thing::Chassis);
        things
    }

    /// The things that an end of a wire reaches instead of its own: those at most as far from its other end as the wire
    /// is long, as other wires between the two show. What reaches the case by no wire is not counted.
    pub fn within_reach(&self, wire: usize, end: End) -> Vec<Thing> {
        let (own, other) = (thing(end.of(self.job, wire)), thing(end.other().of(self.job, wire)));
        let length = self.job.wires[wire].length.nominal().si();
        let from = self.shortest.range((other, Thing::Part(0))..).take_while(|((a, _), _)| *a == other);
        from.filter(|((_, b), d)| *b != own && *b != other && **d <= SLACK * length)
            .map(|((_, b), _)| *b)
            .collect()
    }

    /// The ends of wires that sit on a thing.
    pub fn ends_on(&self, on: Thing) -> Vec<(usize, End)> {
        let ends = (0..self.job.wires.len()).flat_map(|w| End::BOTH.map(|e| (w, e)));
        ends.filter(|(w, e)| thing(e.of(self.job, *w)) == on).collect()
    }

    /// The name of a terminal as it is written in wires.
    pub fn name(&self, terminal: Terminal) -> String {
        nets::name(self.job, terminal)
    }

    /// A wire for people: its ends, and its colour where it has one.
    pub fn wire(&self, wire: usize) -> String {
        let w = &self.job.wires[wire];
        match &w.colour {
            Some(colour) => format!("{} ({})", w.name(), colour.text),
            None => w.name(),
        }
    }

    /// Whether a wire tells a device something rather than feeding it: to an enable, sense or power-good terminal.
    pub fn is_strap(&self, wire: usize) -> bool {
        End::BOTH.iter().any(|end| match end.of(self.job, wire) {
            Terminal::Part(p, t) => {
                let name = self.job.parts[p].terminals[t].as_str();
                name == "enable" || name == "power-good" || name.starts_with("sense.")
            }
            _ => false,
        })
    }

    /// Whether a terminal is for protective earth, or is the case.
    pub fn is_earth(&self, terminal: Terminal) -> bool {
        match terminal {
            Terminal::Part(p, t) => self.job.parts[p].terminals[t] == "earth",
            Terminal::Chassis => true,
            _ => false,
        }
    }

    /// Whether a wire belongs to the mains: both ends on it.
    pub fn is_mains(&self, wire: usize) -> bool {
        End::BOTH.iter().all(|e| self.wiring.is_on_mains(e.of(self.job, wire)))
    }

    /// Whether a wire is one of protective earth.
    pub fn is_earth_wire(&self, wire: usize) -> bool {
        End::BOTH.iter().all(|e| self.is_earth(e.of(self.job, wire)))
    }

    /// Ways of a plug that face each other's neighbours: pairs side by side in a row, and across two rows.
    pub fn neighbours(&self, of: Thing) -> Vec<(Terminal, Terminal)> {
        let terminals = self.terminals(of);
        let row = self.row(of);
        let mut pairs = Vec::new();
        for (i, pair) in terminals.windows(2).enumerate() {
            if (i + 1) % row != 0 {
                pairs.push((pair[0], pair[1]));
            }
        }
        for i in 0..terminals.len().saturating_sub(row) {
            pairs.push((terminals[i], terminals[i + row]));
        }
        pairs
    }

    /// Terminals in a row of a thing: a plug with a look-alike has two rows.
    pub fn row(&self, of: Thing) -> usize {
        match of {
            Thing::Plug(p) if self.job.plugs[p].look_alike.is_some() => self.job.plugs[p].ways / 2,
            other => self.terminals(other).len().max(1),
        }
    }
}
