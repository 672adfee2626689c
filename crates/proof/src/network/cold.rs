//! All of the machine with the power off, as an ohmmeter sees it: below 0.2 V semiconductors do not conduct, a load is
//! the resistance that was measured or an interval where it was not, switches are on, fuses are in.
//!
//! Everything is a resistance, so the resistance between two terminals never falls when one of them rises (Rayleigh's
//! monotonicity law): the range over all spreads lies between everything at its lowest and everything at its highest.

use super::View;
use crate::harness::Harness;
use voltwright_job::{Draw, Draws, Given, Job, PartKind, Terminal, WayUse, nets};
use voltwright_model::Sample;
use voltwright_model::low_voltage::wire_ohms;
use voltwright_quantity::{Quantity, Resistance};
use voltwright_tables::fuses;

/// Leak of every node, siemens: no part of what a meter shows, not even beside [`MOST`].
const LEAK: f64 = 1e-15;
/// Above this a meter shows an open circuit, ohms: common practice for hand-held meters.
pub const OPEN: f64 = 2e7;
/// What a load is at most where nobody measured it: as good as open.
const MOST: f64 = 1e8;
/// What a load is at least where nobody measured it, as a share of its running voltage over current: a cold lamp is a tenth
/// to a fifteenth of a hot one. Common practice.
const LEAST_SHARE: f64 = 0.07;
/// What lies across an output or an input inside a supply or regulator at least: a minimum-load resistor, a divider, a
/// bleeder. Common practice.
const INSIDE: (f64, f64) = (20.0, MOST);
/// What lies across the mains input of a switching supply: its bleeder. Common practice.
const BLEEDER: (f64, f64) = (10e3, MOST);
/// A transformer's primary winding. Common practice.
const PRIMARY: (f64, f64) = (0.5, 2e3);

/// Which end of every resistance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Everything at its lowest.
    Lowest,
    /// Everything at its highest.
    Highest,
}

impl Side {
    fn of(self, (low, high): (f64, f64)) -> f64 {
        if self == Side::Lowest { low } else { high }
    }
}

/// Builds the network with some loads' plugs in, and one part open or none.
pub fn build(h: &Harness<'_>, mated: &[bool], open: Option<usize>, side: Side) -> View {
    let mut cold = Cold { h, mated, side, sample: sample(h.job, side), view: View::empty(h.job, &h.wiring) };
    cold.view.network.leak = LEAK;
    cold.terminals();
    (0..h.job.loads.len()).for_each(|l| cold.load(l));
    cold.wires();
    (0..h.job.plugs.len()).for_each(|p| cold.contacts(p));
    (0..h.job.parts.len()).filter(|p| Some(*p) != open).for_each(|p| cold.part(p));
    cold.view
}

fn sample(job: &Job, side: Side) -> Sample {
    Sample::new(job, None, |si| if side == Side::Lowest { si.low } else { si.high })
}

struct Cold<'a, 'j> {
    h: &'a Harness<'j>,
    mated: &'a [bool],
    side: Side,
    sample: Sample,
    view: View,
}

impl Cold<'_, '_> {
    fn node(&mut self, terminal: Terminal) -> usize {
        self.view.node(self.h.job, &self.h.wiring, terminal)
    }

    fn set(&mut self, terminal: Terminal, node: usize) {
        let index = self.h.wiring.terminals().index(terminal);
        self.view.at[index] = Some(node);
    }

    /// A node for every terminal; those that are one inside a part share it. Sockets come with their loads.
    fn terminals(&mut self) {
        for (p, part) in self.h.job.parts.iter().enumerate() {
            let joined = nets::joined_terminals(part);
            for t in 0..part.terminals.len() {
                let first = joined.first().filter(|_| joined.contains(&t)).copied().unwrap_or(t);
                let node = self.node(Terminal::Part(p, first));
                self.set(Terminal::Part(p, t), node);
            }
        }
        for (p, plug) in self.h.job.plugs.iter().enumerate() {
            (0..plug.ways).for_each(|w| _ = self.node(Terminal::Plug(p, w)));
        }
        self.node(Terminal::Chassis);
    }

    /// Ways of one use are one plane; each draw is a resistance from its plane to com.
    fn load(&mut self, l: usize) {
        if !self.mated[l] {
            return;
        }
        let load = &self.h.job.loads[l];
        let mut planes: Vec<(WayUse, usize)> = vec![(WayUse::Chassis, self.node(Terminal::Chassis))];
        let mut plane = |view: &mut View, way: WayUse| {
            if let Some((_, node)) = planes.iter().find(|(known, _)| *known == way) {
                return *node;
            }
            let name = match way {
                WayUse::Rail(r) => self.h.job.rails[r].name.text.as_str(),
                _ => "com",
            };
            let node = view.network.node(format!("{}.{name}", load.key));
            planes.push((way, node));
            node
        };
        for draw in &load.draws {
            let (a, b) = (plane(&mut self.view, WayUse::Rail(draw.rail)), plane(&mut self.view, WayUse::Com));
            let ohms = self.side.of(cold_ohms(self.h.job, draw));
            let name = format!("{} across {}", load.key, self.h.job.rails[draw.rail].name);
            self.view.resistor(name, a, b, ohms);
        }
        for (s, socket) in load.sockets.iter().enumerate() {
            for (w, (way, _)) in socket.ways.iter().enumerate() {
                let node = match way {
                    WayUse::Nothing => {
                        self.view.network.node(nets::name(self.h.job, Terminal::Socket(l, s, w)))
                    }
                    way => plane(&mut self.view, *way),
                };
                let index = self.h.wiring.terminals().index(Terminal::Socket(l, s, w));
                self.view.at[index] = Some(node);
            }
        }
    }

    fn wires(&mut self) {
        for (w, wire) in self.h.job.wires.iter().enumerate() {
            let ends = [wire.from, wire.to].map(|t| self.view.at[self.h.wiring.terminals().index(t)]);
            let [Some(a), Some(b)] = ends else { continue };
            if a != b {
                let (ohms, _) = wire_ohms(self.h.job, wire, self.h.wiring.metres[w].0, &self.sample);
                self.view.wires[w] = Some(self.view.resistor(self.h.wire(w), a, b, ohms));
            }
        }
    }

    fn contacts(&mut self, p: usize) {
        let plug = &self.h.job.plugs[p];
        let Some((l, s)) = plug.mates.filter(|(l, _)| self.mated[*l]) else { return };
        for w in 0..plug.ways.min(self.h.job.loads[l].sockets[s].ways.len()) {
            let (a, b) = (self.node(Terminal::Plug(p, w)), self.node(Terminal::Socket(l, s, w)));
            let ohms = self.sample.of(&self.h.job.assume.contact);
            let element = self.view.resistor(format!("contact {}.{}", plug.key, w + 1), a, b, ohms);
            self.view.contacts[p][w] = Some(element);
        }
    }

    fn between(&mut self, p: usize, a: usize, b: usize, ohms: f64) {
        let (a, b) = (self.node(Terminal::Part(p, a)), self.node(Terminal::Part(p, b)));
        if a != b {
            let element = self.view.resistor(self.h.job.parts[p].key.text.clone(), a, b, ohms);
            self.view.parts[p].push(element);
        }
    }

    fn given(&self, given: &Given<Resistance>) -> f64 {
        let spread = given.spread;
        self.side.of((spread.low.si(), spread.high.si()))
    }

    fn part(&mut self, p: usize) {
        let part = &self.h.job.parts[p];
        match &part.kind {
            PartKind::Fuse(f) => {
                let cold = fuses::cold_resistance(f.rating.nominal()).0.si();
                let ohms = f
                    .resistance
                    .as_ref()
                    .map_or_else(|| self.side.of((0.5 * cold, 2.0 * cold)), |g| self.given(g));
                self.between(p, 0, 1, ohms);
            }
            PartKind::Switch(_) => {
                let contact = self.sample.of(&self.h.job.assume.contact);
                nets::through(&part.kind).into_iter().for_each(|(a, b)| self.between(p, a, b, contact));
            }
            PartKind::Resistor(r) => self.between(p, 0, 1, self.given(&r.value)),
            PartKind::MainsSupply(_) => {
                self.between(p, 0, 1, self.side.of(BLEEDER));
                self.outputs(p);
            }
            PartKind::RawSupply(_) => {
                self.between(p, 0, 1, self.side.of(PRIMARY));
                self.outputs(p);
            }
            PartKind::Converter(_) => {
                self.between(p, 0, 1, self.side.of(INSIDE));
                self.outputs(p);
            }
            PartKind::Regulator(_) => {
                self.between(p, 0, 1, self.side.of(INSIDE));
                self.between(p, 1, 2, self.side.of(INSIDE));
            }
            PartKind::Fan(m) | PartKind::Lamp(m) => {
                let hot = m.power.as_ref().map(|w| m.rated.nominal().si().powi(2) / w.nominal().si());
                let ohms = hot.or(m.series.as_ref().map(|r| r.nominal().si())).unwrap_or(MOST);
                self.between(p, 0, 1, self.side.of((LEAST_SHARE * ohms, MOST)));
            }
            PartKind::Inlet
            | PartKind::Diode(_)
            | PartKind::Clamp(_)
            | PartKind::Capacitor(_)
            | PartKind::Varistor(_)
            | PartKind::Interlock(_)
            | PartKind::Strip => {}
        }
    }

    /// What lies across each output inside a supply.
    fn outputs(&mut self, p: usize) {
        let terminals = &self.h.job.parts[p].terminals;
        for (plus, name) in terminals.iter().enumerate() {
            let Some(stem) = name.strip_suffix(".plus").filter(|stem| *stem != "in") else { continue };
            if let Some(minus) = terminals.iter().position(|t| *t == format!("{stem}.minus")) {
                self.between(p, plus, minus, self.side.of(INSIDE));
            }
        }
    }
}

/// The least and most that a meter may show across a draw with the power off.
pub fn cold_ohms(job: &Job, draw: &Draw) -> (f64, f64) {
    if let Some(cold) = &draw.cold {
        return (cold.spread.low.si(), cold.spread.high.si());
    }
    let volts = job.rails[draw.rail].nominal.nominal().si().abs();
    let running = volts / draw.run.spread.high.si().max(1e-9);
    if draw.law == Draws::Resistance {
        return (running, volts / draw.run.spread.low.si().max(1e-9));
    }
    (LEAST_SHARE * running, MOST)
}
