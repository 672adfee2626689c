//! The inverse of the slopes at the base point, with the shifts of all parts that float or may come to.

use super::links::{Kind, Links, steadily};
use super::parts::{Forest, NONE, Shift, Shifts};
use crate::lu::{Equations, Pivots, Sparse};
use crate::network::Network;
use crate::ordering::Ordering;
use crate::potentials::Potentials;
use crate::solution::State;
use crate::walk::{Moves, Walk};

/// Conductance that ties an island, where nothing else conducts there, siemens.
const TIE: f64 = 1.0;

/// Ohms from every node to every node, and what floats.
#[derive(Debug, Default)]
pub(super) struct Inverse {
    pub nodes: usize,
    pub datum: usize,
    /// Column after column: volts everywhere for an ampere into a node that leaves by the same island, or by the datum.
    pub ohms: Vec<f64>,
    /// Most ohms in each column.
    pub reach: Vec<f64>,
    pub shifts: Shifts,
    /// The shift of each node's island; none for what the datum holds.
    pub island: Vec<u32>,
    /// The shift of what lies beyond each link; none if it is no cut.
    pub cut: Vec<u32>,
}

impl Inverse {
    /// Nothing if the point is not beyond doubt.
    pub fn of(
        net: &Network,
        ordering: &Ordering,
        states: &[State],
        at: &Potentials,
        links: &Links,
        kind: Kind,
    ) -> Option<Self> {
        let n = net.nodes.len();
        let forest = Forest::of(n, net.datum, links);
        let roots: Vec<usize> =
            (0..n).filter(|v| *v != net.datum && forest.root[*v] as usize == *v).collect();
        let ordering = net.fitting(ordering);
        let mut equations = Sparse::new(&ordering);
        let mut states = states.to_vec();
        let ties: Vec<f64> = roots.iter().map(|root| tie(*root, links)).collect();
        for steady in [false, true] {
            equations.clear();
            if steady {
                let mut k = 0;
                for element in &net.elements {
                    let next = k + element.law.states();
                    steadily(&element.law, &mut states[k..next], at, kind, &mut equations);
                    k = next;
                }
            } else {
                Walk::new(Moves::None, 0.0).over(net, &mut states, at, &mut equations);
            }
            roots.iter().zip(&ties).for_each(|(root, siemens)| equations.tie(*root, *siemens));
            if equations.factor(net.leak) != Pivots::Positive {
                return None;
            }
        }
        let mut ohms = vec![0.0; n * n];
        let column = Refined { net, links, ties: roots.iter().copied().zip(ties.iter().copied()).collect() };
        for (node, place) in ohms.chunks_exact_mut(n).enumerate().filter(|(node, _)| *node != net.datum) {
            column.solve(&mut equations, node, place);
        }
        let shifts = Shifts { nodes: n, ..Shifts::default() };
        let mut inverse = Self {
            nodes: n,
            datum: net.datum,
            ohms,
            reach: Vec::new(),
            shifts,
            island: vec![NONE; n],
            cut: vec![NONE; links.all.len()],
        };
        for (root, siemens) in roots.into_iter().zip(ties) {
            inverse.untie(&forest, root, siemens, net.leak);
        }
        let symmetric = inverse.shifts.one.is_empty()
            && (0..links.all.len()).all(|l| {
                links.terms(l).iter().all(|t| t.plus == links.all[l].from && t.minus == links.all[l].to)
            });
        inverse.cuts(&forest, links, net, at, symmetric);
        let most = |column: &[f64]| column.iter().fold(0.0, |most: f64, z| most.max(z.abs()));
        inverse.reach = inverse.ohms.chunks_exact(n).map(most).collect();
        inverse.ohms.iter().all(|z| z.is_finite()).then_some(inverse)
    }

    #[inline]
    pub fn column(&self, node: usize) -> &[f64] {
        &self.ohms[node * self.nodes..(node + 1) * self.nodes]
    }

    /// Takes the tie of an island away again.
    fn untie(&mut self, forest: &Forest, root: usize, siemens: f64, leak: f64) {
        let n = self.nodes;
        let members: Vec<usize> =
            (forest.enters[root]..forest.leaves[root]).map(|k| forest.order[k as usize] as usize).collect();
        let (mut q, mut q_back, mut inside) = (vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        for a in &members {
            inside[*a] = 1.0;
            self.island[*a] = self.shifts.one.len() as u32;
            for b in &members {
                let ohms = self.ohms[a * n + b];
                q[*b] += ohms;
                q_back[*a] += ohms;
            }
        }
        let scale = siemens * q[root];
        let lean: Vec<f64> = q.iter().map(|q| leak * q).collect();
        for a in &members {
            for b in &members {
                self.ohms[a * n + b] -= (1.0 - lean[*b]) * q_back[*a] / scale;
            }
        }
        let shift = Shift {
            rate: leak * scale,
            start: 0.0,
            noise: 0.0,
            slope: 0.0,
            sense: 0.0,
            from: root,
            to: root,
        };
        self.shifts.push(&inside, &lean, &inside, &vec![0.0; n], shift);
    }

    /// Finds the shift of what lies beyond each cut, by sums over subtrees.
    fn cuts(&mut self, forest: &Forest, links: &Links, net: &Network, at: &Potentials, symmetric: bool) {
        let n = self.nodes;
        let sums = |mut below: Vec<f64>| {
            for v in forest.order.iter().rev().map(|v| *v as usize) {
                let parent = forest.parent[v] as usize;
                if parent != v {
                    for k in 0..n {
                        below[parent * n + k] += below[v * n + k];
                    }
                }
            }
            below
        };
        let columns = sums(self.ohms.clone());
        let rows = if symmetric {
            Vec::new()
        } else {
            sums((0..n * n).map(|k| self.ohms[(k % n) * n + k / n]).collect())
        };
        let rows = if symmetric { &columns } else { &rows };
        for v in forest.order.iter().map(|v| *v as usize).filter(|v| forest.cut[*v] != NONE) {
            let l = forest.cut[v] as usize;
            self.cut[l] = self.shifts.one.len() as u32;
            let range = v * n..(v + 1) * n;
            self.cut_at(forest, v, l, links, net, at, (&columns[range.clone()], &rows[range]));
        }
    }

    #[expect(clippy::too_many_arguments, reason = "a step of `cuts`, which has them all")]
    fn cut_at(
        &mut self,
        forest: &Forest,
        top: usize,
        l: usize,
        links: &Links,
        net: &Network,
        at: &Potentials,
        (q, q_back): (&[f64], &[f64]),
    ) {
        let n = self.nodes;
        let link = links.all[l];
        let member: Vec<f64> = (0..n).map(|v| f64::from(u8::from(forest.beyond(top, v)))).collect();
        let mut lean: Vec<f64> = q.iter().map(|q| net.leak * q).collect();
        let drift: Vec<f64> = q_back.iter().map(|q| net.leak * q).collect();
        let mut inside = member.clone();
        // Within an island, what is cut off and what is left shift against each other.
        if let Some(island) = self.island.get(top).filter(|s| **s != NONE).map(|s| *s as usize) {
            let count: f64 = member.iter().sum();
            let share = net.leak * count / self.shifts.one[island].rate;
            for k in 0..n {
                inside[k] -= share * self.shifts.inside[island * n + k];
                lean[k] -= share * self.shifts.lean[island * n + k];
            }
        }
        let sense = if member[link.from] > 0.5 { 1.0 } else { -1.0 };
        let slope = links.terms(l)[0].slope;
        // What leaves through the cut is what does not leave otherwise.
        let mut start = -net.leak * (0..n).map(|v| member[v] * at.volts(v)).sum::<f64>();
        let mut size = start.abs();
        for (_, other) in links.all.iter().enumerate().filter(|(k, _)| *k != l) {
            let leaves = member[other.from] - member[other.to];
            if leaves.abs() > 0.5 {
                start -= leaves * other.flow;
                size += other.flow.abs();
            }
        }
        let rate = slope * sense * (lean[link.from] - lean[link.to]);
        let noise = 4.0 * f64::EPSILON * size;
        let shift = Shift { rate, start, noise, slope, sense, from: link.from, to: link.to };
        self.shifts.push(&inside, &lean, &member, &drift, shift);
    }
}

/// A column of the inverse to the last digit: what the factors leave over is solved for once more.
struct Refined<'a> {
    net: &'a Network,
    links: &'a Links,
    ties: Vec<(usize, f64)>,
}

impl Refined<'_> {
    fn solve(&self, equations: &mut Sparse<'_>, node: usize, place: &mut [f64]) {
        let mut at = Potentials::zero(place.len());
        place[node] = 1.0;
        for pass in 0..2 {
            if pass > 0 {
                self.leave_over(&at, node, place);
            }
            place[self.net.datum] = 0.0;
            equations.solve(place);
            place.iter().enumerate().for_each(|(v, by)| at.shift(v, *by, f64::INFINITY));
        }
        place.iter_mut().enumerate().for_each(|(v, ohms)| *ohms = at.volts(v));
        place[self.net.datum] = 0.0;
    }

    /// An ampere into the node, less what the voltages make leave.
    fn leave_over(&self, at: &Potentials, node: usize, place: &mut [f64]) {
        place.iter_mut().enumerate().for_each(|(v, left)| *left = -self.net.leak * at.volts(v));
        place[node] += 1.0;
        self.ties.iter().for_each(|(v, siemens)| place[*v] -= siemens * at.volts(*v));
        for (l, link) in self.links.all.iter().enumerate() {
            for term in self.links.terms(l) {
                let amps = term.slope * at.across(term.plus, term.minus).volts();
                place[link.from] -= amps;
                place[link.to] += amps;
            }
        }
    }
}

fn tie(root: usize, links: &Links) -> f64 {
    let touching = |l: &usize| links.all[*l].from == root || links.all[*l].to == root;
    let slopes = (0..links.all.len()).filter(touching).flat_map(|l| links.terms(l)).map(|t| t.slope);
    let most = slopes.fold(0.0, f64::max);
    if most > 0.0 { most } else { TIE }
}
