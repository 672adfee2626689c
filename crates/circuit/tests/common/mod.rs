//! Networks for tests and benchmarks, and the laws of the specification written a second time, as an oracle.
#![allow(dead_code, reason = "each test file uses a part of it")]

pub mod edits;
pub mod oracle;
pub mod random;

use voltwright_circuit::*;

/// Inner resistance of the sources here, ohms.
pub const R: f64 = 1e-4;

/// Within a margin.
pub fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected} within {within}");
}

/// A network of a datum and one more node.
pub fn two_nodes() -> (Network, usize, usize) {
    let mut net = Network::new();
    let (com, top) = (net.node("com"), net.node("top"));
    (net, com, top)
}

/// Solved the quick way, and the plain way gives the same.
pub fn solved(net: &Network) -> Solution {
    let quick = net.solve().expect("an operating point");
    let plain = net.solve_plainly().expect("an operating point the plain way");
    for (a, b) in quick.volts.iter().zip(&plain.volts) {
        near(*a, *b, 1e-9 * a.abs().max(1.0));
    }
    quick
}

/// Adds a resistor.
pub fn resistor(net: &mut Network, a: usize, b: usize, ohms: f64) -> usize {
    net.add(format!("r{}", net.elements.len()), Law::Resistor(Resistor { a, b, ohms }))
}

/// Adds a load.
pub fn load(net: &mut Network, plus: usize, minus: usize, draws: Draws, amount: f64, knee: f64) -> usize {
    net.add(format!("load{}", net.elements.len()), Law::Load(Load { plus, minus, draws, amount, knee }))
}

/// Adds a source with a limit.
pub fn source(
    net: &mut Network,
    plus: usize,
    minus: usize,
    volts: f64,
    limit: Option<f64>,
    overload: Overload,
) -> usize {
    let name = format!("source{}", net.elements.len());
    net.add(name, Law::Source(Source { plus, minus, volts, ohms: R, limit, overload, group: None }))
}

/// A supply with three rails, each a backbone of harness wires with loads along it: about `nodes` nodes.
pub fn harness(nodes: usize) -> Network {
    let mut net = Network::new();
    let com = net.node("com");
    let rails = [5.0, 12.0, -12.0];
    let per_rail = nodes.saturating_sub(1) / rails.len() / 4;
    for (r, volts) in rails.into_iter().enumerate() {
        let mut feed = net.node("rail");
        source(&mut net, feed, com, volts, Some(40.0 * per_rail as f64), Overload::Trip);
        let mut back = com;
        for i in 0..per_rail {
            // Out and back by wire, a contact each, and a load between the planes.
            let ways = [net.node("plug"), net.node("plane"), net.node("plane back"), net.node("plug back")];
            resistor(&mut net, feed, ways[0], 0.004 / per_rail as f64);
            resistor(&mut net, ways[0], ways[1], 0.005);
            resistor(&mut net, ways[2], ways[3], 0.005);
            resistor(&mut net, ways[3], back, 0.004 / per_rail as f64);
            let (plus, minus) = if volts > 0.0 { (ways[1], ways[2]) } else { (ways[2], ways[1]) };
            let draws = [Draws::Current, Draws::Power, Draws::Resistance][(i + r) % 3];
            let amount = if draws == Draws::Resistance { 10.0 } else { 0.5 + 0.01 * (i % 7) as f64 };
            load(&mut net, plus, minus, draws, amount, 0.5 * f64::abs(volts));
            if i % 4 == 3 {
                (feed, back) = (ways[0], ways[3]);
            }
        }
    }
    net
}
