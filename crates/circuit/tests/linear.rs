//! Linear networks: against an independent dense solver, and the theorems that hold for them.

mod common;

use common::random::{Dice, resistive, seeds};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use voltwright_circuit::*;

/// Adds a current of `amps` from the datum into a node, as a limited source far below its voltage.
fn inject(net: &mut Network, node: usize, amps: f64) -> usize {
    let law = Source {
        plus: node,
        minus: net.datum,
        volts: 1e7 * amps.signum(),
        ohms: 1.0,
        limit: Some(amps.abs()),
        overload: Overload::Hold,
        group: None,
    };
    net.add(format!("into {node}"), Law::Source(law))
}

/// Potentials by nalgebra's dense LU of the conductance matrix.
fn by_nalgebra(net: &Network, currents: &[(usize, f64)]) -> DVector<f64> {
    let n = net.nodes.len();
    let mut matrix = DMatrix::<f64>::identity(n, n) * net.leak;
    let mut rhs = DVector::zeros(n);
    for element in &net.elements {
        if let Law::Resistor(r) = &element.law {
            let g = 1.0 / r.ohms;
            if r.a != r.b {
                matrix[(r.a, r.a)] += g;
                matrix[(r.b, r.b)] += g;
                matrix[(r.a, r.b)] -= g;
                matrix[(r.b, r.a)] -= g;
            }
        }
    }
    matrix.row_mut(net.datum).fill(0.0);
    matrix[(net.datum, net.datum)] = 1.0;
    for (node, amps) in currents {
        rhs[*node] += amps;
    }
    rhs[net.datum] = 0.0;
    matrix.lu().solve(&rhs).expect("not singular")
}

/// Two different nodes other than the datum.
fn two_nodes(net: &Network, seed: u64) -> (usize, usize) {
    let mut dice = Dice::new(seed + 7);
    let others: Vec<usize> = (0..net.nodes.len()).filter(|n| *n != net.datum).collect();
    let a = dice.below(others.len());
    (others[a], others[(a + 1 + dice.below(others.len() - 1)) % others.len()])
}

fn volts_with(net: &Network, currents: &[(usize, f64)]) -> Solution {
    let mut net = net.clone();
    for (node, amps) in currents {
        inject(&mut net, *node, *amps);
    }
    net.solve().expect("linear")
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Potentials as by an independent dense LU, as exactly as that one is: it loses digits where wires of a milliohm
    /// stand beside 100 kΩ.
    #[test]
    fn as_nalgebra(seed in seeds()) {
        let net = resistive(seed);
        let (a, b) = two_nodes(&net, seed);
        let currents = [(a, 0.7), (b, -0.2)];
        let (ours, theirs) = (volts_with(&net, &currents), by_nalgebra(&net, &currents));
        let most = theirs.amax();
        for (v, w) in ours.volts.iter().zip(theirs.iter()) {
            prop_assert!((v - w).abs() <= 1e-6 * most, "{} and {}", v, w);
        }
    }

    /// Reciprocity: a current into a gives at b what the same current into b gives at a.
    #[test]
    fn reciprocity(seed in seeds()) {
        let net = resistive(seed);
        let (a, b) = two_nodes(&net, seed);
        let (at_b, at_a) = (volts_with(&net, &[(a, 1.0)]).volts[b], volts_with(&net, &[(b, 1.0)]).volts[a]);
        prop_assert!((at_b - at_a).abs() <= 1e-11 * at_a.abs().max(1e-6), "{} and {}", at_b, at_a);
    }

    /// Superposition: two currents together give the sum of what each gives.
    #[test]
    fn superposition(seed in seeds()) {
        let net = resistive(seed);
        let (a, b) = two_nodes(&net, seed);
        let (one, two) = (volts_with(&net, &[(a, 0.3)]), volts_with(&net, &[(b, 1.1)]));
        let both = volts_with(&net, &[(a, 0.3), (b, 1.1)]);
        let most = both.volts.iter().fold(1e-6, |most: f64, v| most.max(v.abs()));
        for node in 0..net.nodes.len() {
            let sum = one.volts[node] + two.volts[node];
            prop_assert!((both.volts[node] - sum).abs() <= 1e-11 * most);
        }
    }

    /// Tellegen: the voltages of one state times the currents of another, over all branches, sum to nothing.
    #[test]
    fn tellegen(seed in seeds()) {
        let net = resistive(seed);
        let (a, b) = two_nodes(&net, seed);
        let (one, two) = (volts_with(&net, &[(a, 0.4)]), volts_with(&net, &[(b, -0.9)]));
        // The injected −0.9 A flows at b from the datum: its branch voltage is −V(b) against the current into b.
        let (mut sum, mut size) = (0.9 * one.volts[b], 1e-12);
        for (node, v) in one.volts.iter().enumerate() {
            sum += net.leak * v * two.volts[node];
        }
        for (e, element) in net.elements.iter().enumerate() {
            if let Law::Resistor(r) = &element.law {
                let product = one.between(r.a, r.b) * two.current(e);
                sum += product;
                size += product.abs() + 1e-15 * (one.volts[r.a].abs() + one.volts[r.b].abs()) * two.current(e).abs();
            }
        }
        prop_assert!(sum.abs() <= 1e-9 * size.max(one.volts[b].abs()), "{} of {}", sum, size);
    }
}
