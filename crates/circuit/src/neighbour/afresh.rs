//! Resistances of a network of resistors alone, from nothing: for neighbours whose edits cut it in several places at once.
//!
//! One node of each part is grounded, and the matrix of conductances is inverted in place (Gauss and Jordan's sweep, from memory),
//! which for some tens of nodes is quicker than preparing a base. The leak takes no part.

use crate::network::{Law, Network};

/// The two-terminal resistance of each pair, infinite between parts; false if not all elements are resistors.
pub(super) fn resistances(net: &Network, pairs: &[(usize, usize)], out: &mut [f64]) -> bool {
    let n = net.nodes.len();
    let mut part: Vec<usize> = (0..n).collect();
    let mut matrix = vec![0.0; n * n];
    for element in &net.elements {
        let Law::Resistor(r) = &element.law else { return false };
        if r.a == r.b {
            continue;
        }
        let siemens = 1.0 / r.ohms;
        for (i, j) in [(r.a, r.b), (r.b, r.a)] {
            matrix[i * n + i] += siemens;
            matrix[i * n + j] -= siemens;
        }
        let (keep, old) = (part[r.a].min(part[r.b]), part[r.a].max(part[r.b]));
        part.iter_mut().filter(|p| **p == old).for_each(|p| *p = keep);
    }
    // The first node of each part is its own number, and ground.
    for k in (0..n).filter(|k| part[*k] != *k) {
        sweep(&mut matrix, n, k);
    }
    for ((a, b), ohms) in pairs.iter().zip(out) {
        let z = |i: usize, j: usize| if part[i] == i || part[j] == j { 0.0 } else { -matrix[i * n + j] };
        *ohms = if part[*a] == part[*b] {
            (z(*a, *a) - z(*a, *b)) - (z(*b, *a) - z(*b, *b))
        } else {
            f64::INFINITY
        };
    }
    true
}

/// Sweeps one node; once all are swept, the matrix holds its negative inverse.
fn sweep(matrix: &mut [f64], n: usize, k: usize) {
    let pivot = 1.0 / matrix[k * n + k];
    let row: Vec<f64> = matrix[k * n..(k + 1) * n].to_vec();
    for (i, of) in matrix.chunks_exact_mut(n).enumerate() {
        let share = row[i] * pivot;
        if i != k && share.abs() > 0.0 {
            of.iter_mut().zip(&row).for_each(|(cell, across)| *cell -= share * across);
            of[k] = share;
        }
    }
    for (cell, across) in matrix[k * n..(k + 1) * n].iter_mut().zip(&row) {
        *cell = across * pivot;
    }
    matrix[k * n + k] = -pivot;
}
