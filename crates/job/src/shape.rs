//! What must hold between the parts of a job before anything can be computed from it.

use crate::diagnostic::Diagnostic;
use crate::document::{Job, Load, Output, Part, PartKind, Terminal, WayUse};
use crate::nets::Nets;
use crate::sheet::{Name, Sheet};
use std::collections::{BTreeMap, BTreeSet};

/// Reports what cannot be computed with: mains joined to low voltage, rails nobody feeds, supplies that feed
/// themselves, plugs in one socket. Where the power path could not be read whole, what seems to be left out
/// is not held against it.
pub(crate) fn check(job: &Job, sheet: &Sheet<'_>, whole: bool) {
    one_plug_a_socket(job, sheet);
    ways_for_every_draw(job, sheet);
    let apart = mains_apart(job, sheet);
    no_loops(job, sheet);
    if whole && apart {
        rails_are_fed(job, &Nets::of_paths(job), sheet);
    }
}

fn one_plug_a_socket(job: &Job, sheet: &Sheet<'_>) {
    let mut taken = BTreeMap::new();
    for plug in &job.plugs {
        let Some(socket) = plug.mates else { continue };
        if let Some(other) = taken.insert(socket, &plug.key.text) {
            let message = format!("`{}` mates with the socket that `{other}` is in already", plug.key.text);
            sheet.report(Diagnostic::error(plug.key.span.clone(), message));
        }
    }
}

fn ways_for_every_draw(job: &Job, sheet: &Sheet<'_>) {
    let judged = |l: &&Load| !l.sockets.is_empty() && !sheet.is_unread(Name::Ways, &l.key.text);
    for load in job.loads.iter().filter(judged) {
        for draw in &load.draws {
            let way = WayUse::Rail(draw.rail);
            if !load.sockets.iter().any(|s| s.ways.iter().any(|(w, _)| *w == way)) {
                let rail = &job.rails[draw.rail].name.text;
                let message = format!(
                    "`{}` draws from `{rail}`, but none of its sockets has a way for it",
                    load.key.text
                );
                let hint = format!("name the way \"{rail}\" in its sockets, or take the draw out");
                sheet.report(Diagnostic::error(draw.run.span.clone(), message).hint(hint));
            }
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Mains,
    Low,
}

/// The side that a terminal of a part belongs to by its nature.
fn side(part: &Part, terminal: usize) -> Option<Side> {
    let name = part.terminals[terminal].as_str();
    match &part.kind {
        PartKind::Inlet | PartKind::MainsSupply(_) | PartKind::RawSupply(_) if name == "earth" => None,
        PartKind::Inlet | PartKind::Varistor(_) | PartKind::Fan(_) | PartKind::Lamp(_) => Some(Side::Mains),
        PartKind::MainsSupply(_) | PartKind::RawSupply(_) => {
            Some(if matches!(name, "line" | "neutral") { Side::Mains } else { Side::Low })
        }
        // These may lie on either side.
        PartKind::Capacitor(_) | PartKind::Resistor(_) => None,
        PartKind::Fuse(_) | PartKind::Switch(_) | PartKind::Strip => None,
        _ => Some(Side::Low),
    }
}

/// Joins wire by wire, so that the wire that joins mains to low voltage can be named.
fn mains_apart(job: &Job, sheet: &Sheet<'_>) -> bool {
    let mut bare = job.clone();
    bare.wires.clear();
    let mut nets = Nets::of_paths(&bare);
    let mut sides: BTreeMap<usize, Side> = BTreeMap::new();
    for (p, part) in job.parts.iter().enumerate() {
        for t in 0..part.terminals.len() {
            if let Some(side) = side(part, t) {
                sides.insert(nets.net(Terminal::Part(p, t)), side);
            }
        }
    }
    for (p, plug) in job.plugs.iter().enumerate() {
        sides.extend((0..plug.ways).map(|w| (nets.net(Terminal::Plug(p, w)), Side::Low)));
    }
    for (l, load) in job.loads.iter().enumerate() {
        for (s, socket) in load.sockets.iter().enumerate() {
            sides.extend((0..socket.ways.len()).map(|w| (nets.net(Terminal::Socket(l, s, w)), Side::Low)));
        }
    }
    let mut apart = true;
    for wire in &job.wires {
        let ends = [nets.net(wire.from), nets.net(wire.to)];
        let [a, b] = ends.map(|n| sides.get(&n).copied());
        if let (Some(a), Some(b)) = (a, b)
            && a != b
        {
            let message = format!("this wire joins the mains to low voltage: {}", wire.name());
            let hint = "look at both of its ends; a board on it would see the mains";
            sheet.report(Diagnostic::error(wire.span.clone(), message).hint(hint));
            apart = false;
            continue;
        }
        nets.join(wire.from, wire.to);
        if let Some(side) = a.or(b) {
            sides.insert(nets.net(wire.from), side);
        }
    }
    apart
}

/// Terminals at which a part delivers a voltage, with the terminals through which it is fed.
fn delivers(part: &Part) -> (Vec<usize>, Vec<usize>) {
    let ends = |suffix: &str| -> Vec<usize> {
        part.terminals.iter().enumerate().filter(|(_, t)| t.ends_with(suffix)).map(|(i, _)| i).collect()
    };
    match &part.kind {
        PartKind::MainsSupply(s) => (live_terminals(part, &s.outputs), vec![]),
        PartKind::Converter(s) => (live_terminals(part, &s.outputs), vec![0]),
        PartKind::RawSupply(_) => ([ends(".plus"), ends(".minus")].concat(), vec![]),
        PartKind::Regulator(_) => (vec![2], vec![0]),
        _ => (vec![], vec![]),
    }
}

/// Both ends of every output, without those that are one with another output's end inside the part.
fn live_terminals(part: &Part, outputs: &[Output]) -> Vec<usize> {
    let joined: BTreeSet<usize> = crate::nets::joined_terminals(part).into_iter().collect();
    outputs
        .iter()
        .flat_map(|o| [format!("{}.plus", o.name.text), format!("{}.minus", o.name.text)])
        .filter_map(|name| part.terminals.iter().position(|t| *t == name))
        .filter(|t| !joined.contains(t))
        .collect()
}

fn rails_are_fed(job: &Job, nets: &Nets, sheet: &Sheet<'_>) {
    let fed: BTreeSet<usize> = job
        .parts
        .iter()
        .enumerate()
        .flat_map(|(p, part)| delivers(part).0.into_iter().map(move |t| Terminal::Part(p, t)))
        .map(|t| nets.net(t))
        .collect();
    // Without any low-voltage wiring there is nothing to judge yet.
    if fed.is_empty()
        || !job.wires.iter().any(|w| {
            matches!(
                (w.from, w.to),
                (Terminal::Plug(..) | Terminal::Socket(..), _)
                    | (_, Terminal::Plug(..) | Terminal::Socket(..))
            )
        })
    {
        return;
    }
    for (r, rail) in job.rails.iter().enumerate() {
        let ways = |l: usize| {
            job.loads[l].sockets.iter().enumerate().flat_map(move |(s, socket)| {
                socket
                    .ways
                    .iter()
                    .enumerate()
                    .filter(move |(_, (w, _))| *w == WayUse::Rail(r))
                    .map(move |(w, _)| Terminal::Socket(l, s, w))
            })
        };
        let drawn = job.loads.iter().any(|l| l.draws.iter().any(|d| d.rail == r));
        let reached = (0..job.loads.len()).any(|l| ways(l).any(|way| fed.contains(&nets.net(way))));
        if drawn && !reached {
            let message =
                format!("nobody feeds the rail `{}`: no way of it is wired to an output", rail.name.text);
            let hint = "wire it to an output of a supply, converter or regulator, or take its draws out";
            sheet.report(Diagnostic::error(rail.name.span.clone(), message).hint(hint));
        }
    }
}

/// Follows each part's feed back: a part that feeds itself over wires, or that nothing else feeds even over
/// diodes, has no source. A diode from a regulator's output back to its input is usual and no loop.
fn no_loops(job: &Job, sheet: &Sheet<'_>) {
    let by_wire = Feeds::new(job, &Nets::through_only(job, |kind| !matches!(kind, PartKind::Diode(_))));
    let by_path = Feeds::new(job, &Nets::of_paths(job));
    let sourced = by_path.sourced();
    for (p, part) in job.parts.iter().enumerate() {
        if by_wire.feeds_itself(p) || by_path.feeds_itself(p) && !sourced.contains(&p) {
            let message = format!("`{}` is fed from its own output: a loop of supplies", part.key.text);
            let hint = "wire its input to something that does not depend on it";
            sheet.report(Diagnostic::error(part.key.span.clone(), message).hint(hint));
        }
    }
}

/// Which parts feed which.
struct Feeds {
    /// By part: those whose outputs are at its input.
    feeders: Vec<Vec<usize>>,
    /// Parts that deliver and need no other part for it.
    sources: Vec<usize>,
}

impl Feeds {
    fn new(job: &Job, nets: &Nets) -> Self {
        let ends: Vec<_> = job.parts.iter().map(delivers).collect();
        let mut at_net: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (p, (outputs, _)) in ends.iter().enumerate() {
            for t in outputs {
                at_net.entry(nets.net(Terminal::Part(p, *t))).or_default().push(p);
            }
        }
        let at_input = |(p, t): (usize, &usize)| {
            at_net.get(&nets.net(Terminal::Part(p, *t))).cloned().unwrap_or_default()
        };
        let feeders = ends
            .iter()
            .enumerate()
            .map(|(p, (_, inputs))| inputs.iter().flat_map(|t| at_input((p, t))).collect());
        let is_source = |(_, (outputs, inputs)): &(usize, &(Vec<usize>, Vec<usize>))| {
            !outputs.is_empty() && inputs.is_empty()
        };
        let sources = ends.iter().enumerate().filter(is_source).map(|(p, _)| p).collect();
        Self { feeders: feeders.collect(), sources }
    }

    fn feeds_itself(&self, p: usize) -> bool {
        let mut seen = BTreeSet::new();
        let mut open = self.feeders[p].clone();
        while let Some(q) = open.pop() {
            if seen.insert(q) && q != p {
                open.extend(&self.feeders[q]);
            }
        }
        seen.contains(&p)
    }

    /// Parts that a source reaches, over however many others.
    fn sourced(&self) -> BTreeSet<usize> {
        let mut sourced: BTreeSet<usize> = self.sources.iter().copied().collect();
        loop {
            let reached =
                |p: &usize| !sourced.contains(p) && self.feeders[*p].iter().any(|q| sourced.contains(q));
            let more: Vec<usize> = (0..self.feeders.len()).filter(reached).collect();
            if more.is_empty() {
                return sourced;
            }
            sourced.extend(more);
        }
    }
}
