//! The plain way to solve the equations: the whole matrix, rebuilt at every step, with partial pivoting.
//!
//! It is the reference that the sparse way is tested against, and what is fallen back on where a pivot has no digits.

use crate::lu::{Equations, Pivots};
use crate::network::Network;
use crate::walk::Collector;

/// The matrix over all nodes; the datum's equation is "its voltage is zero".
pub(crate) struct Dense {
    datum: usize,
    matrix: Vec<Vec<f64>>,
    factored: Vec<Vec<f64>>,
    /// Row that was swapped up at each step.
    swaps: Vec<usize>,
}

impl Dense {
    pub fn new(net: &Network) -> Self {
        let n = net.nodes.len();
        Self { datum: net.datum, matrix: vec![vec![0.0; n]; n], factored: Vec::new(), swaps: Vec::new() }
    }
}

impl Collector for Dense {
    fn flow(&mut self, _: usize, _: usize, _: f64) {}

    fn conduct(&mut self, a: usize, b: usize, slope: f64) {
        self.control(a, b, a, b, slope);
    }

    fn control(&mut self, from: usize, to: usize, plus: usize, minus: usize, slope: f64) {
        self.matrix[from][plus] += slope;
        self.matrix[from][minus] -= slope;
        self.matrix[to][plus] -= slope;
        self.matrix[to][minus] += slope;
    }
}

impl Equations for Dense {
    fn clear(&mut self) {
        self.matrix.iter_mut().for_each(|row| row.fill(0.0));
    }

    fn factor(&mut self, to_datum: f64) -> Pivots {
        let n = self.matrix.len();
        self.factored = self.matrix.clone();
        self.swaps.clear();
        let lu = &mut self.factored;
        for (i, row) in lu.iter_mut().enumerate() {
            row[i] += to_datum;
            if i == self.datum {
                row.fill(0.0);
                row[i] = 1.0;
            } else {
                row[self.datum] = 0.0;
            }
        }
        for k in 0..n {
            let largest = (k..n).max_by(|a, b| lu[*a][k].abs().total_cmp(&lu[*b][k].abs())).unwrap_or(k);
            lu.swap(k, largest);
            self.swaps.push(largest);
            let (above, below) = lu.split_at_mut(k + 1);
            let pivot_row = &above[k];
            if pivot_row[k].abs() <= 0.0 || pivot_row[k].is_nan() {
                return Pivots::Tiny;
            }
            for row in below {
                row[k] /= pivot_row[k];
                let share = row[k];
                row[k + 1..].iter_mut().zip(&pivot_row[k + 1..]).for_each(|(x, p)| *x -= share * p);
            }
        }
        // The sign of the determinant: each swap turns it once.
        let swapped = self.swaps.iter().enumerate().filter(|(k, to)| k != *to).count();
        let negative = (0..n).filter(|k| self.factored[*k][*k] < 0.0).count();
        if (swapped + negative) % 2 == 0 { Pivots::Positive } else { Pivots::Negative }
    }

    fn solve(&mut self, by_node: &mut [f64]) {
        let (lu, n) = (&self.factored, self.factored.len());
        by_node[self.datum] = 0.0;
        for k in 0..n {
            by_node.swap(k, self.swaps[k]);
        }
        for i in 0..n {
            let known: f64 = (0..i).map(|j| lu[i][j] * by_node[j]).sum();
            by_node[i] -= known;
        }
        for i in (0..n).rev() {
            let known: f64 = (i + 1..n).map(|j| lu[i][j] * by_node[j]).sum();
            by_node[i] = (by_node[i] - known) / lu[i][i];
        }
    }

    fn solve_transposed(&mut self, by_node: &mut [f64]) {
        let (lu, n) = (&self.factored, self.factored.len());
        by_node[self.datum] = 0.0;
        for i in 0..n {
            let known: f64 = (0..i).map(|j| lu[j][i] * by_node[j]).sum();
            by_node[i] = (by_node[i] - known) / lu[i][i];
        }
        for i in (0..n).rev() {
            let known: f64 = (i + 1..n).map(|j| lu[j][i] * by_node[j]).sum();
            by_node[i] -= known;
        }
        for k in (0..n).rev() {
            by_node.swap(k, self.swaps[k]);
        }
    }
}
