//! Random networks: a supply of some rails, wires and loads on them, and now and then every other kind of element.

use super::{load, resistor};
use proptest::prelude::*;
use voltwright_circuit::*;

/// A small generator of its own, so that one number tells a network.
pub struct Dice(u64);

impl Dice {
    /// Seeded.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    /// In 0..1 (xorshift).
    pub fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly in a range.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Evenly in its logarithm.
    pub fn decades(&mut self, low: f64, high: f64) -> f64 {
        (self.between(low.ln(), high.ln())).exp()
    }

    /// One of 0..n.
    pub fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize % n.max(1)
    }

    /// With a chance.
    pub fn chance(&mut self, of: f64) -> bool {
        self.unit() < of
    }
}

/// Seeds for networks.
pub fn seeds() -> impl Strategy<Value = u64> {
    0u64..1_000_000
}

/// Resistors alone, connected, with at least three nodes.
pub fn resistive(seed: u64) -> Network {
    let mut dice = Dice::new(seed);
    let mut net = Network::new();
    let n = 3 + dice.below(12);
    for i in 0..n {
        net.node(format!("n{i}"));
    }
    net.datum = dice.below(n);
    for i in 1..n {
        let to = dice.below(i);
        resistor(&mut net, i, to, dice.decades(1e-3, 1e5));
    }
    for _ in 0..dice.below(2 * n) {
        let (a, b) = (dice.below(n), dice.below(n));
        resistor(&mut net, a, b, dice.decades(1e-3, 1e5));
    }
    net
}

/// How wild a network is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A tree from the supply outward, everything returned to one common, everything the right way round.
    Orderly,
    /// Cross connections, reversed diodes and loads, floating parts: many have more than one operating point.
    Wild,
}

/// Rails, wires, loads, regulators, converters, diodes, clamps.
pub fn network(kind: Kind, seed: u64) -> Network {
    let mut dice = Dice::new(seed);
    let mut net = Network::new();
    let com = net.node("com");
    let mut planes: Vec<(usize, f64)> = vec![(com, 0.0)];
    net.groups.push(Group {
        name: "supply".into(),
        power_limit: Some(dice.between(20.0, 200.0)),
        trips: dice.chance(0.5),
    });
    for _ in 0..1 + dice.below(3) {
        let volts = [5.0, 12.0, -12.0, -5.0, 24.0][dice.below(5)];
        let top = net.node(format!("rail {volts}"));
        let limit = dice.chance(0.7).then(|| dice.decades(0.5, 20.0));
        let overload = if dice.chance(0.4) { Overload::Trip } else { Overload::Hold };
        let group = dice.chance(0.5).then_some(0);
        let ohms = dice.decades(1e-4, 0.1);
        let law = Source { plus: top, minus: com, volts, ohms, limit, overload, group };
        net.add(format!("source {}", net.elements.len()), Law::Source(law));
        planes.push((top, volts));
    }
    for _ in 0..3 + dice.below(25) {
        grow(kind, &mut net, &mut dice, &mut planes);
    }
    net
}

/// Adds one element, and a node behind it where it feeds one.
fn grow(kind: Kind, net: &mut Network, dice: &mut Dice, planes: &mut Vec<(usize, f64)>) {
    let wild = kind == Kind::Wild;
    let first = usize::from(!wild);
    let (at, volts) = planes[first + dice.below(planes.len() - first)];
    let other = if wild { planes[dice.below(planes.len())].0 } else { 0 };
    let name = format!("e{}", net.elements.len());
    match dice.below(16) {
        0..=4 => {
            let next = net.node(format!("n{}", net.nodes.len()));
            resistor(net, at, next, dice.decades(1e-3, 1.0));
            planes.push((next, volts));
        }
        5..=9 => {
            let rail = if volts.abs() > 0.0 { volts.abs() } else { 5.0 };
            let draws = [Draws::Current, Draws::Power, Draws::Resistance][dice.below(3)];
            let amps = dice.decades(0.01, 5.0);
            let amount = [amps, amps * rail, rail / amps][draws as usize];
            let (plus, minus) = if volts < 0.0 { (other, at) } else { (at, other) };
            if plus != minus {
                load(net, plus, minus, draws, amount, rail * dice.between(0.2, 0.8));
            }
        }
        10 => {
            let next = net.node(format!("d{}", net.nodes.len()));
            let reversed = if wild { dice.chance(0.5) } else { volts < 0.0 };
            let (anode, cathode) = if reversed { (next, at) } else { (at, next) };
            net.add(name, Law::Diode(Diode { anode, cathode, forward: dice.between(0.2, 0.9), ohms: 0.02 }));
            planes.push((next, volts));
        }
        11 => {
            let breakdown = dice.between(3.0, 15.0);
            let (cathode, anode) = if volts < 0.0 { (other, at) } else { (at, other) };
            net.add(name, Law::Clamp(Clamp { cathode, anode, breakdown, forward: 0.7, ohms: 0.02 }));
        }
        12 => {
            let next = net.node(format!("v{}", net.nodes.len()));
            let size = [5.0, 3.3, 9.0][dice.below(3)];
            let out = if wild && dice.chance(0.3) { -size } else { size * volts.signum() };
            let limit = dice.decades(0.1, 5.0);
            let law = Regulator {
                input: at,
                reference: 0,
                output: next,
                volts: out,
                ohms: 1e-4,
                headroom: dice.between(0.3, 2.5),
                limit,
            };
            net.add(name, Law::Regulator(law));
            planes.push((next, out));
        }
        13 | 14 => {
            let converter = converter(kind, net, dice, (at, other), volts, planes);
            net.add(name, Law::Converter(converter));
        }
        _ => {
            resistor(net, at, other, dice.decades(0.01, 1e4));
        }
    }
}

fn converter(
    kind: Kind,
    net: &mut Network,
    dice: &mut Dice,
    (at, other): (usize, usize),
    volts: f64,
    planes: &mut Vec<(usize, f64)>,
) -> Converter {
    let isolated = kind == Kind::Wild && dice.chance(0.3);
    let minus = if isolated { net.node("isolated com") } else { 0 };
    let outputs = (0..1 + dice.below(2)).map(|_| {
        let out = [5.0, 12.0, -5.0, 3.3][dice.below(4)];
        let plus = net.node(format!("c{}", net.nodes.len()));
        planes.push((plus, out));
        let limit = dice.chance(0.6).then(|| dice.decades(0.3, 6.0));
        let overload = if dice.chance(0.3) { Overload::Trip } else { Overload::Hold };
        Output { plus, minus, volts: out, ohms: 1e-4, limit, overload }
    });
    let outputs = outputs.collect();
    let low = volts.abs().max(2.0) * dice.between(0.3, 0.9);
    let on_when = if dice.chance(0.5) { OnWhen::Above } else { OnWhen::Below };
    let enable = dice.chance(0.2).then(|| Enable {
        plus: other,
        minus: 0,
        threshold: dice.between(1.0, 6.0),
        on_when,
    });
    let (in_plus, in_minus) = if volts < 0.0 { (0, at) } else { (at, 0) };
    let efficiency = dice.between(0.6, 0.95);
    let idle = dice.between(0.0, 0.5);
    Converter {
        in_plus,
        in_minus,
        low,
        high: low * dice.between(1.5, 4.0),
        efficiency,
        idle,
        group: None,
        enable,
        outputs,
    }
}
