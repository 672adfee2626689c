//! The conductors of an elevation: wires with the same ends, colour and height are one line with their number.

use super::potential::{Potential, Potentials};
use super::slots::{Link, Slot};
use crate::colours::Coat;
use voltwright_job::{Job, Terminal};

/// Wires that are drawn as one.
#[derive(Debug, Clone)]
pub(super) struct Run {
    /// From the wall outwards, once the order is known.
    pub ends: [(Slot, Potential); 2],
    pub coat: Coat,
    pub count: usize,
    pub is_alive: bool,
    /// One of its wires.
    pub wire: usize,
}

/// Volts within which two ends count as one.
const SAME: f64 = 0.01;

/// The conductors of a job, and its wires as links for the order.
pub(super) fn runs(job: &Job, potentials: &Potentials<'_>) -> (Vec<Run>, Vec<Link>) {
    let (mut runs, mut links): (Vec<Run>, Vec<Link>) = (Vec::new(), Vec::new());
    for (w, wire) in job.wires.iter().enumerate() {
        let end = |t: Terminal| (Slot::of(job, t), potentials.at(t));
        let ends = [end(wire.from), end(wire.to)];
        let way = potentials.turn(wire.from, wire.to);
        let turn = if is_signal(job, wire.from) || is_signal(job, wire.to) { 2 } else { way };
        links.push(Link { ends: (ends[0].0, ends[1].0), turn });
        let is_there = !ends.iter().any(|(_, p)| matches!(p, Potential::Beyond(_)));
        // What brings the current back is not dead when the way out is open.
        let is_alive = is_there && (way > 0 || potentials.is_alive(wire.from));
        let run = Run { ends, coat: Coat::of(wire), count: 1, is_alive, wire: w };
        match runs.iter_mut().find(|r| is_same(r, &run)) {
            Some(known) => known.count += 1,
            None => runs.push(run),
        }
    }
    (runs, links)
}

/// Whether a terminal tells a part something rather than feeding it.
fn is_signal(job: &Job, terminal: Terminal) -> bool {
    let Terminal::Part(p, t) = terminal else { return false };
    let name = job.parts[p].terminals[t].as_str();
    name == "enable" || name == "power-good" || name.starts_with("sense.")
}

fn is_same(a: &Run, b: &Run) -> bool {
    let near = |a: Potential, b: Potential| match (a, b) {
        (Potential::Volts(a), Potential::Volts(b)) => (a - b).abs() < SAME,
        _ => a == b,
    };
    let same = |i: usize, k: usize| a.ends[i].0 == b.ends[k].0 && near(a.ends[i].1, b.ends[k].1);
    a.coat == b.coat && a.is_alive == b.is_alive && (same(0, 0) && same(1, 1) || same(0, 1) && same(1, 0))
}
