//! A stage with power on: its network at every corner that is worst for some reading, what is watched, what can be read.

use super::followers::{Follower, followers};
use super::{Setup, reachable};
use crate::harm::{Watched, watched};
use crate::mains_effect::FUSE_OPENS;
use crate::network::View;
use crate::reading::{Function, Reading, cost};
use std::ops::Range;
use std::sync::Arc;
use voltwright_circuit::{Base, Law, Network, Overload, Unsolved};
use voltwright_job::{Job, PartKind, Terminal};
use voltwright_model::low_voltage::Setting;
use voltwright_model::{Loading, LowVoltage, Sample, Solved, Stage as Connected, Wiring};
use voltwright_quantity::Quantity;

/// A stage with power on.
pub struct Live {
    /// Its network at nominal values.
    pub view: View,
    /// The network solved at nominal values and at every corner that is worst for some reading.
    pub corners: Vec<Base>,
    /// The same with supplies that hold at their limits where they would trip: the moment before.
    pub holding: Vec<Base>,
    /// Elements that can trip.
    pub tripping: Vec<usize>,
    /// What is watched.
    pub watched: Vec<Watched>,
    /// Devices that act on a voltage elsewhere.
    pub followers: Vec<Follower>,
    /// Fuses: part, element, amperes at which it opens.
    pub fuses: Vec<(usize, usize, f64)>,
    /// Its readings among all.
    pub readings: Range<usize>,
}

impl Setup<'_> {
    pub(super) fn live(&mut self, s: usize) -> Result<Live, Unsolved> {
        let job = self.harness.job;
        let mated = self.stages[s].mated.clone();
        let mut solved = Solved::new(job);
        solved.stage = Connected { name: self.stages[s].name.clone(), connected: mated.clone() };
        let wiring = self.harness.wiring.clone();
        let build = |loading, sample: &Sample, named| low_voltage(&solved, &wiring, loading, sample, named);
        let nominal = solved.nominal_sample();
        let (low, followers) = build(Loading::Run, &nominal, true);
        let loads = low.loads.clone();
        let view = View::of(low);
        let ordering = view.network.ordering();
        let start = self.readings.len();
        self.live_menu(s, &view);
        let figures = figures(&self.readings[start..], view.network.datum, solved.low_voltage(Loading::Run));
        let mut corners = vec![Base::new(view.network.clone(), &ordering)?];
        for loading in loadings(&mated) {
            // With little drawn a voltage is further from zero than with much: only that end can be worse.
            let outward = |(of, upward): &&(Vec<(usize, i8)>, bool)| {
                *loading != Loading::Light
                    || (corners[0].solution().between(of[0].0, of[1].0) > 0.0) == *upward
            };
            let figures: Vec<_> = figures.iter().filter(outward).cloned().collect();
            for sample in solved.corners(*loading, &figures) {
                corners.push(Base::new(build(*loading, &sample, false).0.network, &ordering)?);
            }
        }
        let watched = self.unharmed(watched(&self.harness, &view, &loads), &corners);
        for reading in &mut self.readings[start..] {
            for corner in &corners {
                let solution = corner.solution();
                let (a, b) = reading.nodes;
                reading.range.take(match reading.function {
                    Function::Amps => solution.current(a),
                    _ => solution.between(a, b),
                });
            }
        }
        self.close_windows(start);
        let fuses = fuses(job, &view);
        // One that waits for something the plan never gives is not what mistakes are judged by.
        let nominal = corners[0].solution();
        let followers = followers.into_iter().filter(|f| f.conducts(&nominal.volts)).collect();
        let tripping =
            (0..view.network.elements.len()).filter(|e| trips(&view.network, *e)).collect::<Vec<_>>();
        let holding = match tripping.is_empty() {
            true => Vec::new(),
            false => {
                corners.iter().map(|c| Base::new(held(c.network()), &ordering)).collect::<Result<_, _>>()?
            }
        };
        Ok(Live {
            view,
            corners,
            holding,
            tripping,
            watched,
            followers,
            fuses,
            readings: start..self.readings.len(),
        })
    }

    /// What is past its limit without any mistake is a finding of `check`, not of a mistake.
    fn unharmed(&self, watched: Vec<Watched>, corners: &[Base]) -> Vec<Watched> {
        let is_fine = |w: &Watched| {
            corners.iter().all(|c| {
                let solution = c.solution();
                w.watch.harm(&solution.volts, |e| solution.current(e)).is_none()
            })
        };
        watched.into_iter().filter(is_fine).collect()
    }

    /// Every reachable low-voltage terminal against the return of the first source, where the black lead stays clipped; and
    /// the current of every output.
    fn live_menu(&mut self, s: usize, view: &View) {
        let h = &self.harness;
        let mated = &self.stages[s].mated;
        let datum = view.network.datum;
        let at = |t: Terminal| view.at[h.wiring.terminals().index(t)];
        let reachable: Vec<Terminal> = reachable(h).into_iter().filter(|t| at(*t).is_some()).collect();
        let Some(black) = reachable.iter().copied().find(|t| at(*t) == Some(datum)) else { return };
        let mut menu = Vec::new();
        let mut seen = vec![datum];
        for red in reachable {
            let Some(node) = at(red).filter(|n| !seen.contains(n)) else { continue };
            seen.push(node);
            menu.push((Function::Volts, red, (node, datum)));
        }
        for (p, part) in h.job.parts.iter().enumerate() {
            if matches!(part.kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_)) {
                let plus = |t: &usize| part.terminals[*t].ends_with(".plus");
                let outputs = (0..part.terminals.len()).filter(plus).map(|t| Terminal::Part(p, t));
                menu.extend(outputs.zip(&view.parts[p]).map(|(red, e)| (Function::Amps, red, (*e, *e))));
            }
        }
        for (function, red, nodes) in menu {
            let cost = cost(h, function, red, black, mated);
            self.readings.push(Reading::new(s, function, (red, black), nodes, cost));
        }
    }
}

/// The low-voltage network of a stage with a node for every terminal, and the followers on it.
pub(super) fn low_voltage(
    solved: &Solved<'_>,
    wiring: &Arc<Wiring>,
    loading: Loading,
    sample: &Sample,
    named: bool,
) -> (LowVoltage, Vec<Follower>) {
    let setting = Setting { stage: &solved.stage, loading, sample, hertz: solved.hertz() };
    let low = LowVoltage::build_on(wiring, solved.job, &setting, named);
    let mut low = low.with_all_terminals(solved.job, named);
    let followers = followers(solved.job, &mut low);
    (low, followers)
}

/// Whether an element switches off above its limit, alone or with its group.
fn trips(network: &Network, element: usize) -> bool {
    let group = |g: Option<usize>| g.is_some_and(|g| network.groups[g].trips);
    match &network.elements[element].law {
        Law::Source(s) => s.overload == Overload::Trip || group(s.group),
        Law::Converter(c) => group(c.group) || c.outputs.iter().any(|o| o.overload == Overload::Trip),
        _ => false,
    }
}

/// The network with everything holding at its limit that would trip.
fn held(network: &Network) -> Network {
    let mut held = network.clone();
    held.groups.iter_mut().for_each(|g| g.trips = false);
    for element in &mut held.elements {
        match &mut element.law {
            Law::Source(s) => s.overload = Overload::Hold,
            Law::Converter(c) => c.outputs.iter_mut().for_each(|o| o.overload = Overload::Hold),
            _ => {}
        }
    }
    held
}

/// How the loads may draw while a stage is read.
fn loadings(mated: &[bool]) -> &'static [Loading] {
    if mated.contains(&true) { &[Loading::Run, Loading::Light] } else { &[Loading::Run] }
}

/// The readings as figures of the network that corners are found on, at both ends; what has no node there has no spread.
fn figures(readings: &[Reading], datum: usize, low: &LowVoltage) -> Vec<(Vec<(usize, i8)>, bool)> {
    let mut figures = Vec::new();
    for reading in
        readings.iter().filter(|r| r.function == Function::Volts && r.nodes.0 < low.network.nodes.len())
    {
        for upward in [true, false] {
            figures.push((vec![(reading.nodes.0, 1), (datum, -1)], upward));
        }
    }
    figures
}

fn fuses(job: &Job, view: &View) -> Vec<(usize, usize, f64)> {
    let mut fuses = Vec::new();
    for (p, part) in job.parts.iter().enumerate() {
        if let PartKind::Fuse(f) = &part.kind {
            fuses.extend(view.parts[p].iter().map(|e| (p, *e, FUSE_OPENS * f.rating.nominal().si())));
        }
    }
    fuses
}
