//! Resistances between pairs of nodes of a neighbour: the base's inverse with the small system's share taken off.

use super::inverse::Inverse;
use super::links::Term;
use super::parts::NONE;
use super::reading::Neighbour;
use super::system::System;
use super::workspace::{Of, Port, Shifted, Workspace, assemble};
use super::{Base, afresh};

/// Share of a pivot that rounding made, beyond which the neighbour is taken as a network of its own.
const JOINT_CUT: f64 = 1e-7;

/// What stays the same for all pairs of a neighbour; reused, so that reading allocates nothing.
#[derive(Debug, Default)]
pub(super) struct Corrections {
    tied: Tied,
    system: System,
    /// Node by node, for each unknown of the small system: the volts that it makes there, and how much of it an ampere
    /// makes that enters there and leaves at the first node of the same part. (Where a part floats, the small system's
    /// inverse is large: so it is applied to differences only.)
    by_node: Vec<f64>,
    size: usize,
    /// Nodes that hold together have the same.
    label: Vec<u32>,
    /// What an ampere into the node enters each unknown with.
    enters: Vec<f64>,
    column: Vec<f64>,
}

impl Neighbour<'_> {
    /// Resistance seen between the two nodes of each pair, ohms, with the sources replaced by their slopes at the
    /// operating point: infinite where nothing but the leak joins them. Bent currents keep the slopes of the base.
    ///
    /// # Panics
    /// If `out` is not as long as `pairs`, or a node is none of the network.
    pub fn resistances(&self, pairs: &[(usize, usize)], out: &mut [f64]) {
        assert_eq!(pairs.len(), out.len(), "one place a pair");
        if let (None, Some(view)) = (&self.room.plain, self.view()) {
            let mut corrections = self.room.corrections.take();
            let doubt = corrections.prepare(self.room, &view.z);
            if doubt <= JOINT_CUT {
                corrections.read(&view.z, pairs, out);
            }
            self.room.corrections.replace(corrections);
            if doubt <= JOINT_CUT {
                return;
            }
        }
        // With a pivot as small as that, the removed may together have been a cut.
        let net = self.base.net.edited(self.edits);
        if afresh::resistances(&net, pairs, out) {
            return;
        }
        let ordering = net.ordering();
        let base = Base::new(net, &ordering);
        for ((a, b), ohms) in pairs.iter().zip(out) {
            *ohms = base.as_ref().map_or(f64::NAN, |base| base.between(*a, *b));
        }
    }
}

impl Corrections {
    /// Gives the worst share of a pivot that rounding made.
    fn prepare(&mut self, room: &Workspace, z: &Inverse) -> f64 {
        label_parts(&mut self.label, room, z);
        self.tied.take(room, z, &self.label);
        let Self { tied, system, by_node, label, enters, column, .. } = self;
        let (n, size) = (z.nodes, tied.ports.len() + tied.shifted.len());
        assemble(system, (&tied.ports, &tied.terms, &tied.shifted), z);
        // What is wrong with the row of a shift is no doubt of its pivot.
        system.noise[tied.ports.len()..].fill(0.0);
        let doubt = system.factor().doubt;
        let width = size.max(1);
        enters.clear();
        enters.resize(n * width, 0.0);
        for (node, row) in enters.chunks_exact_mut(width).enumerate() {
            let of_node = z.column(node);
            for (cell, port) in row.iter_mut().zip(&tied.ports) {
                *cell = tied.terms(port).iter().map(|t| t.slope * t.volts(of_node)).sum();
            }
            for (cell, s) in row[tied.ports.len()..].iter_mut().zip(&tied.shifted) {
                let at = s.shift * n + node;
                *cell = z.shifts.member[at] - z.shifts.drift[at];
            }
        }
        by_node.clear();
        by_node.resize(n * 2 * width, 0.0);
        for (node, row) in by_node.chunks_exact_mut(2 * width).enumerate() {
            let first = label.iter().position(|its| *its == label[node]).unwrap_or(node);
            column.clear();
            let pairs = enters[node * width..(node + 1) * width].iter().zip(&enters[first * width..]);
            column.extend(pairs.take(size).map(|(a, b)| a - b));
            system.solve(column);
            let makes = row.chunks_exact_mut(2).zip(&*column);
            let shifts = tied.shifted.iter().map(|s| z.shifts.volts[s.shift * n + node]);
            let volts =
                tied.ports.iter().map(|p| z.column(p.from)[node] - z.column(p.to)[node]).chain(shifts);
            makes.zip(volts).for_each(|((cells, enters), volts)| cells.copy_from_slice(&[volts, *enters]));
        }
        self.size = width;
        doubt
    }

    fn read(&self, z: &Inverse, pairs: &[(usize, usize)], out: &mut [f64]) {
        match self.size {
            1 => self.read_rows(z, self.by_node.as_chunks::<2>().0, pairs, out),
            2 => self.read_rows(z, self.by_node.as_chunks::<4>().0, pairs, out),
            3 => self.read_rows(z, self.by_node.as_chunks::<6>().0, pairs, out),
            4 => self.read_rows(z, self.by_node.as_chunks::<8>().0, pairs, out),
            size => {
                let row = |node: usize| &self.by_node[node * 2 * size..(node + 1) * 2 * size];
                for ((a, b), ohms) in pairs.iter().zip(out) {
                    *ohms = self.between(z, (*a, *b), row(*a), row(*b));
                }
            }
        }
    }

    /// With the number of unknowns known to the compiler.
    fn read_rows<const N: usize>(
        &self,
        z: &Inverse,
        rows: &[[f64; N]],
        pairs: &[(usize, usize)],
        out: &mut [f64],
    ) {
        for ((a, b), ohms) in pairs.iter().zip(out) {
            *ohms = self.between(z, (*a, *b), &rows[*a], &rows[*b]);
        }
    }

    #[inline]
    fn between(&self, z: &Inverse, (a, b): (usize, usize), at_a: &[f64], at_b: &[f64]) -> f64 {
        if self.label[a] != self.label[b] {
            return f64::INFINITY;
        }
        let (of_a, of_b) = (z.column(a), z.column(b));
        let before = (of_a[a] - of_a[b]) - (of_b[a] - of_b[b]);
        let unknowns = at_a.as_chunks::<2>().0.iter().zip(at_b.as_chunks::<2>().0);
        before - unknowns.map(|([u, x], [v, y])| (u - v) * (x - y)).sum::<f64>()
    }
}

/// The changed currents and shifts, with one node of each floating whole tied to the datum by a siemens. No current
/// that enters and leaves such a whole goes that way, so differences stay, and its common potential no longer drowns
/// them.
#[derive(Debug, Default)]
struct Tied {
    ports: Vec<Port>,
    terms: Vec<Term>,
    shifted: Vec<Shifted>,
    /// Labels of what is held.
    whole: Vec<u32>,
}

impl Tied {
    fn take(&mut self, room: &Workspace, z: &Inverse, label: &[u32]) {
        self.ports.clone_from(&room.ports);
        self.terms.clone_from(&room.terms);
        self.shifted.clone_from(&room.shifted);
        self.whole.clear();
        self.whole.push(label[z.datum]);
        for s in &room.shifted {
            // The end of the cut within the part: what lies beyond another cut may hold to something else.
            let own = &z.shifts.one[s.shift];
            let node = if own.sense < 0.0 { own.to } else { own.from };
            if !self.whole.contains(&label[node]) {
                self.whole.push(label[node]);
                self.tie(node, z);
            }
        }
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
fn label_parts(label: &mut Vec<u32>, room: &Workspace, z: &Inverse) {
    label.clone_from(&z.island);
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
}
