//! What each way of a socket would receive if its plug were put in otherwise, or wired mirror-image: the whole table, with
//! the rails that are then shorted and the worst potential across each rail of the load.
//!
//! Potentials are nominal ones, as the sources would give them if nothing limited: the table is for the eye, harm is judged in
//! the circuit.

use crate::change::{Change, End};
use crate::harm::limits;
use crate::mistake::Mistake;
use crate::proof::Proof;
use voltwright_job::{Job, Terminal, WayUse};
use voltwright_quantity::Quantity;

/// The kinds of mistakes that put ways in other places.
const MANNERS: [&str; 6] =
    ["plug-turned", "plug-shifted", "plug-half-mated", "twins-exchanged", "plug-mirrored", "look-alike"];

/// One manner in which a load's ways may receive what is not theirs.
#[derive(Debug, Clone, PartialEq)]
pub struct Permutation {
    /// The mistake, by index.
    pub mistake: usize,
    /// The load.
    pub load: usize,
    /// Its ways: all of the sockets that are touched.
    pub ways: Vec<Way>,
    /// Rails whose supply is then joined to com or to another rail, by index.
    pub shorted: Vec<usize>,
    /// For each rail of the load that receives anything: the rail, and the worst potential across it, volts.
    pub across: Vec<(usize, f64)>,
}

/// A way of a socket.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// The way.
    pub at: Terminal,
    /// What it should receive.
    pub should: WayUse,
    /// What it would receive; nothing if nothing touches it.
    pub gets: Option<WayUse>,
}

impl Permutation {
    /// Whether every way gets what it should, or nothing.
    pub fn is_harmless(&self) -> bool {
        self.ways.iter().all(|w| w.gets.is_none_or(|gets| gets == w.should || gets == WayUse::Nothing))
    }

    /// Whether a rail would be past its limits.
    pub fn is_past_limits(&self, job: &Job, (rail, volts): (usize, f64)) -> bool {
        let (low, high) = limits(&job.rails[rail]);
        volts < low || volts > high
    }
}

/// All permutations of a job, one a load that a mistake of these kinds touches.
pub fn all(proof: &Proof<'_>) -> Vec<Permutation> {
    let mut all = Vec::new();
    for (m, mistake) in proof.mistakes.iter().enumerate().filter(|(_, m)| MANNERS.contains(&m.kind().code)) {
        for load in loads(proof.setup.job(), mistake) {
            all.push(of(proof.setup.job(), m, mistake, load));
        }
    }
    all
}

/// The plug a change has to do with.
fn plug(change: &Change, job: &Job) -> Option<usize> {
    let of = |t: Terminal| if let Terminal::Plug(p, _) = t { Some(p) } else { None };
    match change {
        Change::Mate { plug, .. } => Some(*plug),
        Change::End { at, .. } => of(*at),
        Change::Off(w) => of(job.wires[*w].from).or(of(job.wires[*w].to)),
        _ => None,
    }
}

fn loads(job: &Job, mistake: &Mistake) -> Vec<usize> {
    let plugs = mistake.changes.iter().filter_map(|c| plug(c, job));
    let mut loads: Vec<usize> = plugs.filter_map(|p| job.plugs[p].mates.map(|(l, _)| l)).collect();
    loads.sort_unstable();
    loads.dedup();
    loads
}

/// What belongs on a way of a plug, as the plan has it; nothing where no wire goes to it.
fn carries(job: &Job, plug: usize, way: usize) -> WayUse {
    let wired =
        job.wires.iter().any(|w| w.from == Terminal::Plug(plug, way) || w.to == Terminal::Plug(plug, way));
    let meant = job.plugs[plug].mates.and_then(|(l, s)| job.loads[l].sockets[s].ways.get(way));
    meant.map_or(WayUse::Nothing, |(way, _)| if wired { *way } else { WayUse::Nothing })
}

fn of(job: &Job, index: usize, mistake: &Mistake, load: usize) -> Permutation {
    let mut ways = Vec::new();
    let touched = |p: usize| mistake.changes.iter().any(|c| plug(c, job) == Some(p));
    for (s, socket) in job.loads[load].sockets.iter().enumerate() {
        let fed = (0..job.plugs.len()).any(|p| touched(p) && (job.plugs[p].mates == Some((load, s))));
        for (w, (should, _)) in socket.ways.iter().enumerate().filter(|_| fed) {
            let at = Terminal::Socket(load, s, w);
            ways.push(Way { at, should: *should, gets: received(job, mistake, at) });
        }
    }
    let all = everything(job, mistake, load);
    let shorted = shorted(job, &all);
    let across = across(job, &all);
    Permutation { mistake: index, load, ways, shorted, across }
}

/// What a way of a socket receives with the mistake: from the plug that then touches it, and the wire that is then on it.
fn received(job: &Job, mistake: &Mistake, at: Terminal) -> Option<WayUse> {
    let Terminal::Socket(load, socket, way) = at else { return None };
    let moved = |p: usize| {
        mistake.changes.iter().find_map(|c| match c {
            Change::Mate { plug, ways } if *plug == p => Some(ways),
            _ => None,
        })
    };
    let touching = |p: usize| match moved(p) {
        Some(ways) => ways.iter().position(|t| *t == Some(at)),
        None => (job.plugs[p].mates == Some((load, socket)) && way < job.plugs[p].ways).then_some(way),
    };
    let (plug, plug_way) = (0..job.plugs.len()).find_map(|p| Some((p, touching(p)?)))?;
    rewired(job, mistake, plug, plug_way)
}

/// What is on a way of a plug after wires have been moved: what belonged where the wire now here came from.
fn rewired(job: &Job, mistake: &Mistake, plug: usize, way: usize) -> Option<WayUse> {
    let here = Terminal::Plug(plug, way);
    let mut gets = Some(carries(job, plug, way));
    for change in &mistake.changes {
        let left = match change {
            Change::End { wire, end, .. } => end.of(job, *wire) == here,
            Change::Off(wire) => End::BOTH.iter().any(|e| e.of(job, *wire) == here),
            _ => false,
        };
        if left {
            gets = None;
        }
    }
    for change in &mistake.changes {
        if let Change::End { wire, end, at } = change
            && *at == here
            && let Terminal::Plug(p, w) = end.of(job, *wire)
        {
            gets = Some(carries(job, p, w));
        }
    }
    gets
}

/// Every wired way of a load with what it should be and what it gets.
fn everything(job: &Job, mistake: &Mistake, load: usize) -> Vec<(WayUse, WayUse)> {
    let mut all = Vec::new();
    for (s, socket) in job.loads[load].sockets.iter().enumerate() {
        for (w, (should, _)) in socket.ways.iter().enumerate() {
            let gets = received(job, mistake, Terminal::Socket(load, s, w)).filter(|g| *g != WayUse::Nothing);
            if let Some(gets) = gets.filter(|_| *should != WayUse::Nothing) {
                all.push((*should, gets));
            }
        }
    }
    all
}

/// Rails whose supply one plane of the load joins to com or to another rail.
fn shorted(job: &Job, all: &[(WayUse, WayUse)]) -> Vec<usize> {
    let mut group: Vec<usize> = (0..=job.rails.len()).collect();
    let place = |way: WayUse| match way {
        WayUse::Rail(r) => r,
        _ => job.rails.len(),
    };
    for (i, (plane, first)) in all.iter().enumerate() {
        for (_, second) in all[i + 1..].iter().filter(|(other, _)| other == plane) {
            let (a, b) = (group[place(*first)], group[place(*second)]);
            group.iter_mut().filter(|g| **g == b).for_each(|g| *g = a);
        }
    }
    let alone = |r: usize| group.iter().filter(|g| **g == group[r]).count() == 1;
    (0..job.rails.len()).filter(|r| !alone(*r)).collect()
}

/// The worst potential across each rail of the load that receives anything.
fn across(job: &Job, all: &[(WayUse, WayUse)]) -> Vec<(usize, f64)> {
    let volts = |way: WayUse| match way {
        WayUse::Rail(r) => job.rails[r].nominal.nominal().si(),
        _ => 0.0,
    };
    let coms: Vec<f64> =
        all.iter().filter(|(plane, _)| *plane == WayUse::Com).map(|(_, g)| volts(*g)).collect();
    let mut worst = Vec::new();
    for (r, rail) in job.rails.iter().enumerate() {
        let (low, high) = limits(rail);
        let middle = (low + high) / 2.0;
        let here = all.iter().filter(|(plane, _)| *plane == WayUse::Rail(r));
        let differences = here.flat_map(|(_, g)| coms.iter().map(move |c| volts(*g) - c));
        if let Some(most) = differences.max_by(|a, b| (a - middle).abs().total_cmp(&(b - middle).abs())) {
            worst.push((r, most));
        }
    }
    worst
}
