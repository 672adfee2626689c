//! The order in which nodes are eliminated and where the factors then have entries: minimum degree, worked out once
//! for a wiring and used for every network wired alike.
//!
//! The pattern is symmetric, the datum is left out, and every node is an unknown. Eliminating the node with the fewest
//! neighbours first keeps a tree a tree: the factors of tree-like networks have about as many entries as the network.

use crate::network::Network;
use crate::potentials::Potentials;
use crate::walk::{Collector, Moves, Walk, first_states};
use std::collections::BTreeSet;

/// The row of the datum, which has none.
pub(crate) const NO_ROW: u32 = u32::MAX;

/// An elimination order with the places of all entries.
#[derive(Debug, Clone)]
pub struct Ordering {
    /// Kind and terminals of every element: what the ordering is for.
    wiring: Vec<u32>,
    /// Node of each row, in elimination order.
    pub(crate) nodes: Vec<u32>,
    /// First entry of each row, and one past the last.
    pub(crate) starts: Vec<u32>,
    /// First entry of each row right of the diagonal.
    pub(crate) uppers: Vec<u32>,
    /// Column of each entry, ascending in a row; the diagonal is not among them.
    pub(crate) columns: Vec<u32>,
    /// Where each slope of a walk goes, two a conductance and four a control. The places are: one a row for its column
    /// of the datum, one an entry, one for what goes nowhere.
    pub(crate) slots: Vec<u32>,
}

impl Network {
    /// The elimination order of this wiring; values do not matter. Nodes out of range are refused when the network is
    /// solved, not here.
    pub fn ordering(&self) -> Ordering {
        Ordering::of(self)
    }
}

impl Ordering {
    fn of(net: &Network) -> Self {
        let n = net.nodes.len();
        let mut inside = true;
        net.elements.iter().for_each(|e| e.law.terminals(|node| inside &= node < n));
        let mut pairs = Pairs::default();
        if inside {
            let at = Potentials::zero(n);
            Walk::new(Moves::None, 0.0).over(net, &mut first_states(net), &at, &mut pairs);
        }
        let mut neighbours = vec![BTreeSet::new(); n];
        for (row, column) in &pairs.0 {
            if row != column && *row != net.datum && *column != net.datum {
                neighbours[*row].insert(*column as u32);
                neighbours[*column].insert(*row as u32);
            }
        }
        let (nodes, later) = eliminate(neighbours, net.datum);
        let mut ordering = Self::with_pattern(nodes, &later, n);
        wiring(net, |part| ordering.wiring.push(part));
        ordering.slots = ordering.places(&pairs.0, n);
        ordering
    }

    /// Whether this ordering was made for a network wired like this one.
    pub(crate) fn fits(&self, net: &Network) -> bool {
        let mut known = self.wiring.iter();
        let mut same = true;
        wiring(net, |part| same &= known.next() == Some(&part));
        same && known.next().is_none()
    }

    /// Number of unknowns.
    pub(crate) fn rows(&self) -> usize {
        self.nodes.len()
    }

    /// Number of places that slopes go to.
    pub(crate) fn places_count(&self) -> usize {
        self.nodes.len() + self.columns.len() + 1
    }

    fn row_of_node(&self, nodes: usize) -> Vec<u32> {
        let mut rows = vec![NO_ROW; nodes];
        self.nodes.iter().enumerate().for_each(|(row, node)| rows[*node as usize] = row as u32);
        rows
    }

    /// Lays out the rows: left of the diagonal the rows eliminated earlier that reach this one, right of it what is
    /// eliminated later.
    fn with_pattern(nodes: Vec<u32>, later: &[Vec<u32>], node_count: usize) -> Self {
        let mut ordering = Self {
            wiring: Vec::new(),
            nodes,
            starts: vec![0],
            uppers: Vec::new(),
            columns: Vec::new(),
            slots: Vec::new(),
        };
        let row = ordering.row_of_node(node_count);
        let mut earlier = vec![Vec::new(); ordering.rows()];
        let mut uppers = Vec::with_capacity(ordering.rows());
        for (k, reached) in later.iter().enumerate() {
            let mut right: Vec<u32> = reached.iter().map(|node| row[*node as usize]).collect();
            right.sort_unstable();
            right.iter().for_each(|r| earlier[*r as usize].push(k as u32));
            uppers.push(right);
        }
        for (left, right) in earlier.iter().zip(&uppers) {
            ordering.columns.extend(left);
            ordering.uppers.push(ordering.columns.len() as u32);
            ordering.columns.extend(right);
            ordering.starts.push(ordering.columns.len() as u32);
        }
        ordering
    }

    fn places(&self, pairs: &[(usize, usize)], node_count: usize) -> Vec<u32> {
        let row = self.row_of_node(node_count);
        let nowhere = self.places_count() as u32 - 1;
        let place = |(r, c): &(usize, usize)| {
            let (r, c) = (row[*r], row[*c]);
            if r == NO_ROW || r == c {
                return nowhere;
            }
            if c == NO_ROW {
                return r;
            }
            let (from, to) = (self.starts[r as usize] as usize, self.starts[r as usize + 1] as usize);
            let found = self.columns[from..to].binary_search(&c);
            found.map_or(nowhere, |k| (self.rows() + from + k) as u32)
        };
        pairs.iter().map(place).collect()
    }
}

/// Gives datum, number of nodes, then kind and terminals of every element.
fn wiring(net: &Network, mut each: impl FnMut(u32)) {
    each(net.datum as u32);
    each(net.nodes.len() as u32);
    for element in &net.elements {
        each(element.law.kind());
        element.law.terminals(|node| each(node as u32));
    }
}

/// Eliminates all nodes but the datum, the one with the fewest neighbours first, the lowest number among equals. Gives
/// the order and the neighbours that each still had.
fn eliminate(mut neighbours: Vec<BTreeSet<u32>>, datum: usize) -> (Vec<u32>, Vec<Vec<u32>>) {
    let others = (0..neighbours.len()).filter(|node| *node != datum);
    let mut queue: BTreeSet<(usize, u32)> =
        others.map(|node| (neighbours[node].len(), node as u32)).collect();
    let mut order = Vec::with_capacity(queue.len());
    let mut later = Vec::with_capacity(queue.len());
    while let Some((_, node)) = queue.pop_first() {
        let reached: Vec<u32> = std::mem::take(&mut neighbours[node as usize]).into_iter().collect();
        for a in &reached {
            let of_a = &mut neighbours[*a as usize];
            queue.remove(&(of_a.len(), *a));
            of_a.remove(&node);
            of_a.extend(reached.iter().filter(|b| *b != a));
            queue.insert((of_a.len(), *a));
        }
        order.push(node);
        later.push(reached);
    }
    (order, later)
}

/// Collects the row and column of each slope of a walk, in the order of the walk.
#[derive(Default)]
struct Pairs(Vec<(usize, usize)>);

impl Collector for Pairs {
    fn flow(&mut self, _: usize, _: usize, _: f64) {}

    fn conduct(&mut self, a: usize, b: usize, _: f64) {
        self.0.extend([(a, b), (b, a)]);
    }

    fn control(&mut self, from: usize, to: usize, plus: usize, minus: usize, _: f64) {
        self.0.extend([(from, plus), (from, minus), (to, plus), (to, minus)]);
    }
}
