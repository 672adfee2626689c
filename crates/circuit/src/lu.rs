//! Sparse factors of the network's equations, on the diagonal and in a fixed order, without cancellation.
//!
//! Every law depends on voltage differences only, so a row of the matrix sums to the leak plus what it has in the
//! datum's column, and elimination keeps that so. The sum of each row, its *excess*, is therefore carried along and the
//! pivot made from it: `pivot = excess − Σ entries right of the diagonal`. For passive networks all these terms have
//! one sign (Grassmann, Taksar and Heyman's way for Markov chains, 1985, from memory), so that even a part which only
//! the leak ties to the datum, 13 decades below its wires, gets an exact pivot. The leak's own share is carried apart
//! from the rest: a regulator's input takes no current of its own accord, so there the rest must cancel and leave it.
//!
//! Accuracy beyond that is the business of Newton's method: each step starts from an exactly computed residual, which
//! makes the last step of a network whose devices stay put an iterative refinement.

use crate::ordering::Ordering;
use crate::walk::Collector;

/// A pivot this small beside the terms that it is made of has no true digits.
const TINY: f64 = 1e-15;

/// What the pivots say of a matrix.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Pivots {
    /// All above zero: the operating point is stable.
    Positive,
    /// Some below zero: a source feeds a constant-power load past the knee of its own curve.
    Negative,
    /// One is zero but for rounding.
    Tiny,
}

/// Equations being assembled, factored and solved.
pub(crate) trait Equations: Collector {
    /// Begins anew.
    fn clear(&mut self);
    /// Factors with a conductance (siemens) from every node to the datum.
    fn factor(&mut self, to_datum: f64) -> Pivots;
    /// Solves in place; right-hand side and result by node.
    fn solve(&mut self, by_node: &mut [f64]);
    /// Solves with the matrix transposed, likewise.
    fn solve_transposed(&mut self, by_node: &mut [f64]);
}

/// Values for an [`Ordering`].
pub(crate) struct Sparse<'o> {
    ordering: &'o Ordering,
    /// Next slot of the walk.
    slot: usize,
    /// Assembled: datum column of each row, entries, waste.
    assembled: Vec<f64>,
    factors: Vec<f64>,
    excess: Vec<f64>,
    /// The part of the excess that comes from the leak.
    leaked: Vec<f64>,
    inverse: Vec<f64>,
    row: Vec<f64>,
}

impl<'o> Sparse<'o> {
    pub fn new(ordering: &'o Ordering) -> Self {
        let n = ordering.rows();
        Self {
            ordering,
            slot: 0,
            assembled: vec![0.0; ordering.places_count()],
            factors: vec![0.0; ordering.columns.len()],
            excess: vec![0.0; n],
            leaked: vec![0.0; n],
            inverse: vec![0.0; n],
            row: vec![0.0; n],
        }
    }

    /// Ties a node to the datum by a conductance; between assembling and factoring.
    pub fn tie(&mut self, node: usize, siemens: f64) {
        if let Some(row) = self.ordering.nodes.iter().position(|n| *n as usize == node) {
            self.assembled[row] -= siemens;
        }
    }

    /// Columns and places of a row left of the diagonal and right of it.
    #[inline]
    fn bounds(&self, row: usize) -> (usize, usize, usize) {
        let o = self.ordering;
        (o.starts[row] as usize, o.uppers[row] as usize, o.starts[row + 1] as usize)
    }

    /// Eliminates one row by those before it.
    fn eliminate(&mut self, i: usize, to_datum: f64) -> Pivots {
        let columns = &self.ordering.columns;
        let (start, upper, end) = self.bounds(i);
        let entries = &self.assembled[self.ordering.rows()..];
        for (c, value) in columns[start..end].iter().zip(&entries[start..end]) {
            self.row[*c as usize] = *value;
        }
        let (mut excess, mut leaked) = (-self.assembled[i], to_datum);
        for p in start..upper {
            let k = columns[p] as usize;
            let share = std::mem::take(&mut self.row[k]) * self.inverse[k];
            self.factors[p] = share;
            if share.abs() > 0.0 {
                excess -= share * self.excess[k];
                leaked -= share * self.leaked[k];
                let (from, to) = (self.ordering.uppers[k] as usize, self.ordering.starts[k + 1] as usize);
                for (c, value) in columns[from..to].iter().zip(&self.factors[from..to]) {
                    self.row[*c as usize] -= share * value;
                }
            }
        }
        // What was subtracted at the diagonal is implied by the excess.
        self.row[i] = 0.0;
        let (mut sum, mut size) = (0.0, excess.abs() + leaked.abs());
        for (c, factor) in columns[upper..end].iter().zip(&mut self.factors[upper..end]) {
            *factor = std::mem::take(&mut self.row[*c as usize]);
            sum += *factor;
            size += factor.abs();
        }
        let pivot = (excess - sum) + leaked;
        (self.excess[i], self.leaked[i]) = (excess, leaked);
        self.inverse[i] = 1.0 / pivot;
        if pivot > TINY * size {
            Pivots::Positive
        } else if pivot < -TINY * size {
            Pivots::Negative
        } else {
            Pivots::Tiny
        }
    }

    /// Takes values by node into `row`, in elimination order.
    fn gather(&mut self, by_node: &[f64]) {
        for (y, node) in self.row.iter_mut().zip(&self.ordering.nodes) {
            *y = by_node[*node as usize];
        }
    }

    /// Gives `row` back by node, and leaves it clear for the next factorisation.
    fn scatter(&mut self, by_node: &mut [f64]) {
        for (y, node) in self.row.iter_mut().zip(&self.ordering.nodes) {
            by_node[*node as usize] = std::mem::take(y);
        }
    }

    fn dot(&self, from: usize, to: usize) -> f64 {
        let columns = &self.ordering.columns[from..to];
        columns.iter().zip(&self.factors[from..to]).map(|(c, f)| f * self.row[*c as usize]).sum()
    }

    fn spread(&mut self, from: usize, to: usize, value: f64) {
        for (c, factor) in self.ordering.columns[from..to].iter().zip(&self.factors[from..to]) {
            self.row[*c as usize] -= factor * value;
        }
    }
}

impl Collector for Sparse<'_> {
    fn flow(&mut self, _: usize, _: usize, _: f64) {}

    #[inline]
    fn conduct(&mut self, _: usize, _: usize, slope: f64) {
        let slots = &self.ordering.slots[self.slot..self.slot + 2];
        self.slot += 2;
        self.assembled[slots[0] as usize] -= slope;
        self.assembled[slots[1] as usize] -= slope;
    }

    #[inline]
    fn control(&mut self, _: usize, _: usize, _: usize, _: usize, slope: f64) {
        let slots = &self.ordering.slots[self.slot..self.slot + 4];
        self.slot += 4;
        for (slot, sign) in slots.iter().zip([1.0, -1.0, -1.0, 1.0]) {
            self.assembled[*slot as usize] += sign * slope;
        }
    }
}

impl Equations for Sparse<'_> {
    fn clear(&mut self) {
        self.slot = 0;
        self.assembled.fill(0.0);
    }

    fn factor(&mut self, to_datum: f64) -> Pivots {
        let mut worst = Pivots::Positive;
        for i in 0..self.ordering.rows() {
            match self.eliminate(i, to_datum) {
                Pivots::Positive => {}
                Pivots::Negative => worst = Pivots::Negative,
                Pivots::Tiny => {
                    self.row.fill(0.0);
                    return Pivots::Tiny;
                }
            }
        }
        worst
    }

    fn solve(&mut self, by_node: &mut [f64]) {
        self.gather(by_node);
        for i in 0..self.row.len() {
            let (start, upper, _) = self.bounds(i);
            self.row[i] -= self.dot(start, upper);
        }
        for i in (0..self.row.len()).rev() {
            let (_, upper, end) = self.bounds(i);
            self.row[i] = (self.row[i] - self.dot(upper, end)) * self.inverse[i];
        }
        self.scatter(by_node);
    }

    fn solve_transposed(&mut self, by_node: &mut [f64]) {
        self.gather(by_node);
        for i in 0..self.row.len() {
            let (_, upper, end) = self.bounds(i);
            self.row[i] *= self.inverse[i];
            self.spread(upper, end, self.row[i]);
        }
        for i in (0..self.row.len()).rev() {
            let (start, upper, _) = self.bounds(i);
            self.spread(start, upper, self.row[i]);
        }
        self.scatter(by_node);
    }
}
