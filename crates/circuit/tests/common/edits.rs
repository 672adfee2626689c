//! Random edits of a network: what can go wrong between an intention and its wiring.

use super::random::Dice;
use voltwright_circuit::*;

/// Edits that make one or two mistakes.
pub fn edits(net: &Network, dice: &mut Dice) -> Vec<Edit> {
    let mut edits = mistake(net, dice);
    if dice.chance(0.3) {
        edits.extend(mistake(net, dice));
    }
    edits
}

/// Edits that make one mistake.
pub fn mistake(net: &Network, dice: &mut Dice) -> Vec<Edit> {
    let element = dice.below(net.elements.len());
    let law = &net.elements[element].law;
    let node = dice.below(net.nodes.len());
    let replaced = |law: Law| vec![Edit::Remove(element), Edit::Add(law)];
    match dice.below(6) {
        0 => vec![Edit::Remove(element)],
        1 => replaced(moved(net, law, node, dice.chance(0.5))),
        2 => {
            let (a, b) = (node, dice.below(net.nodes.len()));
            vec![Edit::Add(Law::Resistor(Resistor { a, b, ohms: dice.decades(1e-3, 10.0) }))]
        }
        3 => replaced(turned(law)),
        4 => exchanged(net, dice),
        _ => replaced(failed(law, dice)),
    }
}

/// One terminal on another node.
fn moved(net: &Network, law: &Law, node: usize, first: bool) -> Law {
    let mut law = law.clone();
    let (one, other) = match &mut law {
        Law::Resistor(r) => (&mut r.a, &mut r.b),
        Law::Source(s) => (&mut s.plus, &mut s.minus),
        Law::Diode(d) => (&mut d.anode, &mut d.cathode),
        Law::Clamp(c) => (&mut c.cathode, &mut c.anode),
        Law::Load(l) => (&mut l.plus, &mut l.minus),
        Law::Regulator(r) => (&mut r.input, &mut r.reference),
        Law::Converter(c) => (&mut c.in_plus, &mut c.in_minus),
    };
    let (end, kept) = if first { (one, *other) } else { (other, *one) };
    // Both leads of a source on one node would carry thousands of amperes round through it.
    *end = if node == kept { (node + 1) % net.nodes.len() } else { node };
    law
}

/// The wrong way round.
fn turned(law: &Law) -> Law {
    let mut law = law.clone();
    match &mut law {
        Law::Resistor(r) => std::mem::swap(&mut r.a, &mut r.b),
        Law::Source(s) => std::mem::swap(&mut s.plus, &mut s.minus),
        Law::Diode(d) => std::mem::swap(&mut d.anode, &mut d.cathode),
        Law::Clamp(c) => std::mem::swap(&mut c.cathode, &mut c.anode),
        Law::Load(l) => std::mem::swap(&mut l.plus, &mut l.minus),
        Law::Regulator(r) => std::mem::swap(&mut r.input, &mut r.output),
        Law::Converter(c) => std::mem::swap(&mut c.in_plus, &mut c.in_minus),
    }
    law
}

/// Failed in a bad way.
fn failed(law: &Law, dice: &mut Dice) -> Law {
    let short = |a: usize, b: usize| Law::Resistor(Resistor { a, b, ohms: 0.01 });
    match law {
        Law::Resistor(r) => Law::Resistor(Resistor { ohms: r.ohms * dice.decades(0.01, 1e5), ..r.clone() }),
        Law::Source(s) => Law::Source(Source { limit: Some(0.1), ..s.clone() }),
        Law::Diode(d) => short(d.anode, d.cathode),
        Law::Clamp(c) => short(c.cathode, c.anode),
        Law::Load(l) => Law::Load(Load { amount: l.amount * dice.decades(0.1, 5.0), ..l.clone() }),
        Law::Regulator(r) => short(r.input, r.output),
        Law::Converter(c) => short(c.in_plus, c.outputs[0].plus),
    }
}

/// Two wires' ends exchanged; a bridge if there are no two.
fn exchanged(net: &Network, dice: &mut Dice) -> Vec<Edit> {
    let wires = net.elements.iter().enumerate().filter_map(|(e, element)| match &element.law {
        Law::Resistor(r) => Some((e, r.clone())),
        _ => None,
    });
    let wires: Vec<(usize, Resistor)> = wires.collect();
    let (one, other) = (dice.below(wires.len()), dice.below(wires.len()));
    if wires.is_empty() || one == other {
        return vec![Edit::Add(Law::Resistor(Resistor { a: 0, b: net.nodes.len() - 1, ohms: 0.01 }))];
    }
    let ((e, one), (f, other)) = (wires[one].clone(), wires[other].clone());
    vec![
        Edit::Remove(e),
        Edit::Remove(f),
        Edit::Add(Law::Resistor(Resistor { b: other.b, ..one.clone() })),
        Edit::Add(Law::Resistor(Resistor { b: one.b, ..other })),
    ]
}

/// A chassis that nothing holds, and a mesh of a few nodes on its own.
pub fn with_floating_parts(net: &mut Network, dice: &mut Dice) {
    let add = |net: &mut Network, a: usize, b: usize, ohms: f64| {
        net.add(format!("r{}", net.elements.len()), Law::Resistor(Resistor { a, b, ohms }));
    };
    let chassis = net.node("chassis");
    for _ in 0..1 + dice.below(3) {
        let next = net.node("lug");
        add(net, chassis, next, dice.decades(1e-3, 0.1));
    }
    let first = net.nodes.len();
    for _ in 0..2 + dice.below(4) {
        let next = net.node("apart");
        if next > first {
            add(net, next, first + dice.below(next - first), dice.decades(1e-3, 1e3));
        }
    }
    let nodes = net.nodes.len();
    for _ in 0..dice.below(3) {
        add(
            net,
            first + dice.below(nodes - first),
            first + dice.below(nodes - first),
            dice.decades(0.01, 1e3),
        );
    }
}
