//! The conductors of an elevation: wires with the same ends and height are one bundle, with their colours and number.

use super::potential::{Potential, Potentials};
use super::slots::{Link, Slot};
use crate::colours::Coat;
use voltwright_job::{Job, Terminal};

/// Wires that are drawn as one: between the same two things, at the same potential at either end.
#[derive(Debug, Clone)]
pub(super) struct Bundle {
    /// From the wall outwards, once the order is known.
    pub ends: [(Slot, Potential); 2],
    /// Their colours in the order of the job, each with the number of its wires.
    pub coats: Vec<(Coat, usize)>,
    pub is_alive: bool,
    pub wires: Vec<usize>,
}

/// Colours that are drawn side by side in one bundle; its letters name all.
const SIDE_BY_SIDE: usize = 4;

impl Bundle {
    /// One wire more.
    fn take(&mut self, coat: Coat, wire: usize) {
        self.wires.push(wire);
        match self.coats.iter_mut().find(|(known, _)| *known == coat) {
            Some((_, n)) => *n += 1,
            None => self.coats.push((coat, 1)),
        }
    }

    /// What it is painted with: each colour's paints.
    pub fn paints(&self) -> Vec<&[&'static str]> {
        self.coats.iter().take(SIDE_BY_SIDE).map(|(coat, _)| coat.paints.as_slice()).collect()
    }

    /// `3 × BK, RD`; nothing for a single wire whose colour is not entered.
    pub fn letters(&self) -> String {
        let one = |(coat, n): &(Coat, usize)| match (&coat.code, n) {
            (Some(code), 1) => code.clone(),
            (Some(code), n) => format!("{n} × {code}"),
            (None, n) => format!("{n} uncoloured"),
        };
        match self.coats.as_slice() {
            [(Coat { code: None, .. }, 1)] => String::new(),
            coats => coats.iter().map(one).collect::<Vec<_>>().join(", "),
        }
    }

    /// The same with numbers and signs close together, where there is little room.
    pub fn dense(&self) -> String {
        self.letters().replace(" × ", "×").replace(", ", ",")
    }
}

/// Volts within which two ends count as one.
const SAME: f64 = 0.01;

/// The conductors of a job, and its wires as links for the order.
pub(super) fn bundles(job: &Job, potentials: &Potentials<'_>) -> (Vec<Bundle>, Vec<Link>) {
    let (mut bundles, mut links): (Vec<Bundle>, Vec<Link>) = (Vec::new(), Vec::new());
    for (w, wire) in job.wires.iter().enumerate() {
        let end = |t: Terminal| (Slot::of(job, t), potentials.at(t));
        let ends = [end(wire.from), end(wire.to)];
        let way = potentials.turn(wire.from, wire.to);
        let turn = if is_signal(job, wire.from) || is_signal(job, wire.to) { 2 } else { way };
        links.push(Link { ends: (ends[0].0, ends[1].0), turn });
        let is_there = !ends.iter().any(|(_, p)| matches!(p, Potential::Beyond(_)));
        // What brings the current back is not dead when the way out is open.
        let is_alive = is_there && (way > 0 || potentials.is_alive(wire.from));
        let (coat, is_same) =
            (Coat::of(wire), |b: &&mut Bundle| b.is_alive == is_alive && are_same(&b.ends, &ends));
        match bundles.iter_mut().find(is_same) {
            Some(known) => known.take(coat, w),
            None => bundles.push(Bundle { ends, coats: vec![(coat, 1)], is_alive, wires: vec![w] }),
        }
    }
    (bundles, links)
}

/// Whether a terminal tells a part something rather than feeding it.
fn is_signal(job: &Job, terminal: Terminal) -> bool {
    let Terminal::Part(p, t) = terminal else { return false };
    let name = job.parts[p].terminals[t].as_str();
    name == "enable" || name == "power-good" || name.starts_with("sense.")
}

fn are_same(a: &[(Slot, Potential); 2], b: &[(Slot, Potential); 2]) -> bool {
    let near = |a: Potential, b: Potential| match (a, b) {
        (Potential::Volts(a), Potential::Volts(b)) => (a - b).abs() < SAME,
        _ => a == b,
    };
    let same = |i: usize, k: usize| a[i].0 == b[k].0 && near(a[i].1, b[k].1);
    same(0, 0) && same(1, 1) || same(0, 1) && same(1, 0)
}
