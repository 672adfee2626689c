//! What a mistake does on the mains side: what it makes hazardous, and which supplies get no mains.

use crate::change::{Change, End};
use crate::harm::{Harm, TOUCH, Threat};
use crate::harness::Harness;
use crate::network::mains::MainsNetwork;
use crate::step::{Step, edits, steps};
use voltwright_circuit::Edit;
use voltwright_circuit::Solution;
use voltwright_job::{PartKind, Terminal, nets};
use voltwright_quantity::Quantity;
use voltwright_tables::mains;

/// Times its rating at which a fuse opens (IEC 60127-2: 2.1 times, within half an hour).
pub const FUSE_OPENS: f64 = 2.1;
/// Amperes at which the outlet's own protection opens: twice a 16 A circuit. Common practice.
const BREAKER: f64 = 32.0;
/// Share of its lowest input voltage below which a supply does not run.
const RUNS: f64 = 0.9;
/// Plug types that go in either way round (IEC TR 60083, from memory).
const REVERSIBLE: &str = "ACFL";

/// What a mistake does on the mains side.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MainsEffect {
    /// What it makes hazardous whenever power is on.
    pub harms: Vec<Harm>,
    /// What opens: easy to replace, and named.
    pub opens: Vec<Threat>,
    /// Supplies that get no mains.
    pub dead: Vec<usize>,
    /// Whether low voltage is joined with the mains.
    pub crossing: bool,
}

impl MainsEffect {
    /// The worst of its harms.
    pub fn worst(&self) -> Option<Harm> {
        self.harms.iter().copied().max_by(|a, b| a.excess.total_cmp(&b.excess))
    }

    /// Whether it shows on the low-voltage side, or harms.
    pub fn acts(&self) -> bool {
        !self.harms.is_empty() || !self.dead.is_empty()
    }
}

/// Judges the mains side of one job.
pub struct MainsJudge<'a, 'j> {
    h: &'a Harness<'j>,
    network: Option<&'a MainsNetwork>,
    healthy: Facts,
    reversible: bool,
}

/// What the conductors alone tell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct Facts {
    crossing: bool,
    unearthed: Vec<usize>,
    /// Terminals of supplies that are on the line with all fuses, or all switches, open.
    stay_live: Vec<Terminal>,
}

impl<'a, 'j> MainsJudge<'a, 'j> {
    /// For a job and its mains network.
    pub fn new(h: &'a Harness<'j>, network: Option<&'a MainsNetwork>) -> Self {
        let country = h.job.country.as_ref().and_then(|c| mains::of(&c.text));
        let first = country.and_then(|c| c.plugs.chars().find(char::is_ascii_alphabetic));
        let reversible = first.is_none_or(|letter| REVERSIBLE.contains(letter));
        let mut judge = Self { h, network, healthy: Facts::default(), reversible };
        judge.healthy = judge.facts(&[]);
        judge
    }

    /// The effect of changes; none where they do not touch the mains side.
    pub fn effect(&self, changes: &[Change]) -> MainsEffect {
        let Some(network) = self.network.filter(|_| self.touches(changes)) else {
            return MainsEffect::default();
        };
        let facts = self.facts(changes);
        let mut effect = MainsEffect { crossing: facts.crossing, ..MainsEffect::default() };
        let harm = |threat| Harm { threat, value: network.volts, excess: 1.0 };
        if facts.crossing {
            effect.harms.push(harm(Threat::Touch));
        }
        if facts.unearthed != self.healthy.unearthed {
            effect.harms.push(harm(Threat::NoEarth));
        }
        let stays_live = facts.stay_live.iter().any(|t| !self.healthy.stay_live.contains(t));
        if stays_live && !self.reversible {
            effect.harms.push(harm(Threat::StaysLive));
        }
        self.solve(network, changes, &mut effect);
        effect
    }

    /// Whether a change has to do with a terminal of the mains or of protective earth.
    pub fn touches(&self, changes: &[Change]) -> bool {
        let mains = |t: &Terminal| self.h.wiring.is_on_mains(*t) || self.h.is_earth(*t);
        let wire = |w: usize| End::BOTH.iter().any(|e| mains(&e.of(self.h.job, w)));
        changes.iter().any(|change| match change {
            Change::Off(w) => wire(*w),
            Change::End { wire: w, at, .. } => wire(*w) || mains(at),
            Change::Bridge(a, b) => mains(a) || mains(b),
            Change::Failed(p, _) | Change::Turned(p) => {
                (0..self.h.job.parts[*p].terminals.len()).any(|t| mains(&Terminal::Part(*p, t)))
            }
            Change::Mate { .. } => false,
        })
    }

    fn facts(&self, changes: &[Change]) -> Facts {
        let h = self.h;
        let whole = Joined::of(h, changes, |_| true);
        let Some(inlet) = h.job.inlet() else { return Facts::default() };
        let pole = |name: &str| h.job.terminal(inlet, name).map(|t| h.wiring.terminals().index(t));
        let on_a_pole = |joined: &Joined, index: usize| {
            ["line", "neutral"].into_iter().filter_map(pole).any(|p| joined.same(p, index))
        };
        let index = |t: Terminal| h.wiring.terminals().index(t);
        let low =
            |t: &Terminal| !h.wiring.is_on_mains(*t) && !h.is_earth(*t) && !matches!(t, Terminal::Socket(..));
        let crossing = nets::all(h.job).into_iter().filter(low).any(|t| on_a_pole(&whole, index(t)));
        let earth = pole("earth");
        let unearthed = nets::all(h.job).into_iter().filter(|t| h.is_earth(*t)).map(index);
        let unearthed = unearthed.filter(|i| !earth.is_some_and(|e| whole.same(e, *i))).collect();
        let is_fuse = |kind: &PartKind| matches!(kind, PartKind::Fuse(_));
        let is_switch = |kind: &PartKind| matches!(kind, PartKind::Switch(_));
        let live = |open: &dyn Fn(&PartKind) -> bool| -> Vec<Terminal> {
            let joined = Joined::of(h, changes, |kind| !open(kind));
            let line = pole("line");
            let inputs = self.supplies().flat_map(|p| [0, 1].map(|t| Terminal::Part(p, t)));
            inputs.filter(|t| line.is_some_and(|l| joined.same(l, index(*t)))).collect()
        };
        let stay_live = [live(&is_fuse), live(&is_switch)].concat();
        Facts { crossing, unearthed, stay_live }
    }

    fn solve(&self, mains: &MainsNetwork, changes: &[Change], effect: &mut MainsEffect) {
        let h = self.h;
        let mut all = steps(h.job, h.wiring.terminals(), &mains.view, changes);
        let mut made: Vec<Edit> = Vec::new();
        loop {
            edits(&mains.view.network, &all, &mut made);
            let Ok(solution) = mains.view.network.edited(&made).solve() else { break };
            let fuse = |p: &usize| self.opens(mains, &all, *p, &solution);
            if let Some(p) = (0..h.job.parts.len()).find(fuse) {
                effect.opens.push(Threat::Fuse(p));
                all.extend(mains.view.parts[p].iter().map(|e| Step::Remove(*e)));
            } else if solution.current(mains.outlet).abs() > BREAKER {
                effect.dead = self.supplies().collect();
                return;
            } else {
                self.judge(mains, &solution, effect);
                return;
            }
        }
    }

    /// The amperes at which a part opens, if it is a fuse.
    pub fn fuse_opens(&self, p: usize) -> Option<f64> {
        let PartKind::Fuse(f) = &self.h.job.parts[p].kind else { return None };
        Some(FUSE_OPENS * f.rating.nominal().si())
    }

    /// The volts RMS without which a supply is dead, if the part is one.
    pub fn needs(&self, p: usize) -> Option<f64> {
        let half = self.network.map_or(0.0, |m| m.volts / 2.0);
        let lowest = match &self.h.job.parts[p].kind {
            PartKind::MainsSupply(s) => s.input_voltage.as_ref().map_or(half, |b| b.low.si()),
            PartKind::RawSupply(s) => s.primary.nominal().si() / 2.0,
            _ => return None,
        };
        Some(RUNS * lowest)
    }

    /// Whether the plug at the outlet goes in either way round.
    pub fn is_reversible(&self) -> bool {
        self.reversible
    }

    fn opens(&self, mains: &MainsNetwork, steps: &[Step], p: usize, solution: &Solution) -> bool {
        let Some(most) = self.fuse_opens(p) else { return false };
        let still = |e: &&usize| !steps.contains(&Step::Remove(**e));
        mains.view.parts[p].iter().filter(still).any(|e| solution.current(*e).abs() > most)
    }

    fn supplies(&self) -> impl Iterator<Item = usize> + '_ {
        let is_supply = |p: &usize| {
            matches!(self.h.job.parts[*p].kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_))
        };
        (0..self.h.job.parts.len()).filter(is_supply)
    }

    fn judge(&self, mains: &MainsNetwork, solution: &Solution, effect: &mut MainsEffect) {
        let h = self.h;
        let volts =
            |t: Terminal| mains.view.at[h.wiring.terminals().index(t)].map_or(0.0, |n| solution.volts[n]);
        for t in nets::all(h.job).into_iter().filter(|t| h.is_earth(*t)) {
            let touched = volts(t).abs();
            if touched > TOUCH {
                effect.harms.push(Harm { threat: Threat::Touch, value: touched, excess: touched / TOUCH });
                break;
            }
        }
        for p in self.supplies() {
            let across = (volts(Terminal::Part(p, 0)) - volts(Terminal::Part(p, 1))).abs();
            if self.needs(p).is_some_and(|needs| across < needs) {
                effect.dead.push(p);
            }
        }
    }
}

/// Terminals that are one conductor, changes made, through fuses, closed switches and the like.
struct Joined(Vec<usize>);

impl Joined {
    fn of(h: &Harness<'_>, changes: &[Change], through: impl Fn(&PartKind) -> bool) -> Self {
        let terminals = h.wiring.terminals();
        let index = |t: Terminal| terminals.index(t);
        let mut joined = Self((0..terminals.count).collect());
        for (p, part) in h.job.parts.iter().enumerate() {
            for pair in nets::joined_terminals(part).windows(2) {
                joined.join(index(Terminal::Part(p, pair[0])), index(Terminal::Part(p, pair[1])));
            }
            if through(&part.kind) {
                for (a, b) in nets::through(&part.kind) {
                    joined.join(index(Terminal::Part(p, a)), index(Terminal::Part(p, b)));
                }
            }
        }
        for w in 0..h.job.wires.len() {
            let mut ends = Some([h.job.wires[w].from, h.job.wires[w].to]);
            for change in changes {
                match change {
                    Change::Off(off) if *off == w => ends = None,
                    Change::End { wire, end, at } if *wire == w => {
                        if let Some(ends) = &mut ends {
                            ends[usize::from(*end == End::To)] = *at;
                        }
                    }
                    _ => {}
                }
            }
            if let Some([a, b]) = ends {
                joined.join(index(a), index(b));
            }
        }
        for change in changes {
            if let Change::Bridge(a, b) = change {
                joined.join(index(*a), index(*b));
            }
        }
        joined
    }

    fn root(&self, mut i: usize) -> usize {
        while self.0[i] != i {
            i = self.0[i];
        }
        i
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b)] = a.min(b);
    }

    fn same(&self, a: usize, b: usize) -> bool {
        self.root(a) == self.root(b)
    }
}
