//! Resistances between pairs of nodes of a neighbour: the base's inverse with the small system's share taken off.

use super::Base;
use super::inverse::Inverse;
use super::links::Term;
use super::parts::NONE;
use super::reading::Neighbour;
use super::system::System;
use super::workspace::{Of, Port, Shifted, Workspace, assemble};

/// Share of a pivot that rounding made, beyond which the neighbour is taken as a network of its own.
const JOINT_CUT: f64 = 1e-7;

/// What stays the same for all pairs of a neighbour.
struct Corrections<'z> {
    z: &'z Inverse,
    /// Node by node, for each unknown of the small system: the volts that it makes there, and what of it an ampere into
    /// the node makes.
    by_node: Vec<[f64; 2]>,
    /// Inverse of the small system, column by column. Where a part floats it is large, so that it is applied to
    /// differences only.
    small: Vec<f64>,
    size: usize,
    /// Nodes that hold together have the same.
    label: Vec<u32>,
}

impl Neighbour<'_> {
    /// Resistance seen between the two nodes of each pair, ohms, with the sources replaced by their slopes at the
    /// operating point: infinite where nothing but the leak joins them. Bent currents keep the slopes of the base.
    ///
    /// # Panics
    /// If `out` is not as long as `pairs`, or a node is none of the network.
    pub fn resistances(&self, pairs: &[(usize, usize)], out: &mut [f64]) {
        assert_eq!(pairs.len(), out.len(), "one place a pair");
        match (&self.room.plain, self.view()) {
            // With a pivot as small as this, the removed may together have been a cut.
            (None, Some(view)) if self.room.doubt <= JOINT_CUT => {
                Corrections::of(self.room, &view.z).read(pairs, out);
            }
            _ => {
                let net = self.base.net.edited(self.edits);
                let ordering = net.ordering();
                let base = Base::new(net, &ordering);
                for ((a, b), ohms) in pairs.iter().zip(out) {
                    *ohms = base.as_ref().map_or(f64::NAN, |base| base.between(*a, *b));
                }
            }
        }
    }
}

impl<'z> Corrections<'z> {
    fn of(room: &Workspace, z: &'z Inverse) -> Self {
        let label = labels(room, z);
        let tied = Tied::of(room, z, &label);
        let (n, size) = (z.nodes, tied.ports.len() + tied.shifted.len());
        let mut by_node = Vec::with_capacity(n * size);
        for node in 0..n {
            let column = z.column(node);
            for port in &tied.ports {
                let enters = tied.terms(port).iter().map(|t| t.slope * t.volts(column)).sum();
                by_node.push([z.column(port.from)[node] - z.column(port.to)[node], enters]);
            }
            by_node.extend(tied.shifted.iter().map(|s| {
                let at = s.shift * n + node;
                [z.shifts.volts[at], z.shifts.member[at] - z.shifts.drift[at]]
            }));
        }
        let mut system = System::default();
        assemble(&mut system, (&tied.ports, &tied.terms, &tied.shifted), z);
        system.factor();
        let mut small = vec![0.0; size * size];
        for (i, column) in small.chunks_exact_mut(size.max(1)).enumerate() {
            column[i] = 1.0;
            system.solve(column);
        }
        Self { z, by_node, small, size, label }
    }

    fn read(&self, pairs: &[(usize, usize)], out: &mut [f64]) {
        for ((a, b), ohms) in pairs.iter().zip(out) {
            *ohms = if self.label[*a] == self.label[*b] { self.between(*a, *b) } else { f64::INFINITY };
        }
    }

    #[inline]
    fn between(&self, a: usize, b: usize) -> f64 {
        let (of_a, of_b) = (self.z.column(a), self.z.column(b));
        let before = (of_a[a] - of_a[b]) - (of_b[a] - of_b[b]);
        let of = |node: usize| &self.by_node[node * self.size..(node + 1) * self.size];
        let (at_a, at_b) = (of(a), of(b));
        let mut share = 0.0;
        for (i, column) in self.small.chunks_exact(self.size.max(1)).enumerate() {
            let enters = at_a[i][1] - at_b[i][1];
            let makes = at_a.iter().zip(at_b).map(|(x, y)| x[0] - y[0]);
            share += enters * makes.zip(column).map(|(volts, of)| volts * of).sum::<f64>();
        }
        before - share
    }
}

/// The changed currents and shifts, with one node of each floating whole tied to the datum by a siemens. No current
/// that enters and leaves such a whole goes that way, so differences stay, and its common potential no longer drowns
/// them.
struct Tied {
    ports: Vec<Port>,
    terms: Vec<Term>,
    shifted: Vec<Shifted>,
}

impl Tied {
    fn of(room: &Workspace, z: &Inverse, label: &[u32]) -> Self {
        let (ports, terms, shifted) = (room.ports.clone(), room.terms.clone(), room.shifted.clone());
        let mut tied = Self { ports, terms, shifted };
        let mut whole = vec![label[z.datum]];
        for s in &room.shifted {
            // The end of the cut within the part: what lies beyond another cut may hold to something else.
            let own = &z.shifts.one[s.shift];
            let node = if own.sense < 0.0 { own.to } else { own.from };
            if !whole.contains(&label[node]) {
                whole.push(label[node]);
                tied.tie(node, z);
            }
        }
        tied
    }

    fn tie(&mut self, node: usize, z: &Inverse) {
        let first = self.terms.len() as u32;
        self.terms.push(Term { plus: node, minus: z.datum, slope: 1.0 });
        let (last, of) = (first + 1, Of::Link(usize::MAX));
        self.ports.push(Port { from: node, to: z.datum, constant: 0.0, first, last, carries: None, of });
        let island = z.island[node];
        if island != NONE && self.shifted.iter().all(|s| s.shift != island as usize) {
            self.shifted.push(Shifted {
                shift: island as usize,
                start: 0.0,
                noise: 0.0,
                carries: 0.0,
                link: NONE,
            });
        }
    }

    fn terms(&self, port: &Port) -> &[Term] {
        &self.terms[port.first as usize..port.last as usize]
    }
}

/// Tells the parts that the neighbour falls into: the islands of the base, split at cuts, joined by what is new.
fn labels(room: &Workspace, z: &Inverse) -> Vec<u32> {
    let mut label = z.island.clone();
    let cuts = room.shifted.iter().filter(|s| s.link != NONE);
    for (s, fresh) in cuts.zip(z.shifts.one.len() as u32..) {
        let split = label[z.shifts.one[s.shift].from];
        let member = &z.shifts.member[s.shift * z.nodes..];
        for (its, member) in label.iter_mut().zip(member).filter(|(its, _)| **its == split) {
            if *member > 0.5 {
                *its = fresh;
            }
        }
    }
    for (p, port) in room.ports.iter().enumerate() {
        for term in room.terms_of(p) {
            for node in [port.to, term.plus, term.minus] {
                let (keep, old) = (label[port.from], label[node]);
                label.iter_mut().filter(|its| **its == old).for_each(|its| *its = keep);
            }
        }
    }
    label
}
