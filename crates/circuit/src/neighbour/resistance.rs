//! Resistances between pairs of nodes of a neighbour: the base's inverse with the small system's share taken off.

use super::Base;
use super::inverse::Inverse;
use super::parts::NONE;
use super::reading::Neighbour;
use super::workspace::Workspace;

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
            (None, Some(view)) => Corrections::of(self.room, &view.z).read(pairs, out),
            (plain, _) => {
                let net = plain.as_ref().map_or(&*self.base.net, |plain| &plain.net);
                let base = Base::new(net.clone(), &net.ordering());
                for ((a, b), ohms) in pairs.iter().zip(out) {
                    *ohms = base.as_ref().map_or(f64::NAN, |base| base.between(*a, *b));
                }
            }
        }
    }
}

impl<'z> Corrections<'z> {
    fn of(room: &Workspace, z: &'z Inverse) -> Self {
        let (n, size) = (z.nodes, room.ports.len() + room.shifted.len());
        let mut by_node = Vec::with_capacity(n * size);
        let mut entering = vec![0.0; size];
        for node in 0..n {
            let column = z.column(node);
            for (p, place) in entering.iter_mut().enumerate().take(room.ports.len()) {
                *place = room.terms_of(p).iter().map(|t| t.slope * t.volts(column)).sum();
            }
            for (place, s) in entering[room.ports.len()..].iter_mut().zip(&room.shifted) {
                let at = s.shift * n + node;
                *place = z.shifts.member[at] - z.shifts.drift[at];
            }
            let currents = room.ports.iter().map(|p| z.column(p.from)[node] - z.column(p.to)[node]);
            let makes = currents.chain(room.shifted.iter().map(|s| z.shifts.volts[s.shift * n + node]));
            by_node.extend(makes.zip(&entering).map(|(volts, of)| [volts, *of]));
        }
        let mut small = vec![0.0; size * size];
        for (i, column) in small.chunks_exact_mut(size.max(1)).enumerate() {
            column[i] = 1.0;
            room.system.solve(column);
        }
        Self { z, by_node, small, size, label: labels(room, z) }
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
