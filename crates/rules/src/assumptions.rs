//! How far each assumed value may move before the verdict turns.
//!
//! The verdict is the set of judgements that say stop. For each assumed value (nameplate, typical, guess, or a default
//! of ours) the smallest factor on its nominal and bounds, upward and downward, is sought at which that set changes:
//! by the Illinois form of the rule of false position on the least room of all judgements, on the real model.

use crate::finding::Severity;
use crate::rule::RULES;
use crate::sink::{Judged, ON_THE_LIMIT, Sink};
use std::collections::BTreeMap;
use std::sync::Arc;
use voltwright_job::Job;
use voltwright_job::inputs::Si;
use voltwright_model::solved::KnownEnds;
use voltwright_model::{Loading, Solved, Wiring};
use voltwright_quantity::Basis;

/// An assumed value with its break points.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Assumption {
    /// Path of keys in the job file.
    pub path: String,
    /// Line in the job file; 0 for a default that the file does not set.
    pub line: usize,
    /// Where it comes from.
    pub basis: Basis,
    /// Nominal value, SI.
    pub nominal: f64,
    /// Nominal value as shown.
    pub shown: String,
    /// Where the verdict turns when the value falls.
    pub below: Option<BreakPoint>,
    /// Where the verdict turns when the value rises.
    pub above: Option<BreakPoint>,
}

/// The value at which the verdict turns.
#[derive(Debug, Clone, serde::Serialize)]
pub struct BreakPoint {
    /// As a factor on the nominal value.
    pub factor: f64,
    /// As shown.
    pub shown: String,
    /// Code of the judgement that turns.
    pub code: &'static str,
}

impl Assumption {
    /// Room to the nearer break point as a share of the nominal value; none if it has no break point.
    pub fn room(&self) -> f64 {
        [&self.below, &self.above]
            .into_iter()
            .flatten()
            .map(|b| (b.factor - 1.0).abs())
            .fold(f64::INFINITY, f64::min)
    }
}

/// How far a value is moved at most: between a tenth and ten times its nominal.
pub const FARTHEST: f64 = 10.0;
/// How many assumptions are followed; the others are counted only.
pub const MOST: usize = 16;

/// The assumptions of a job.
#[derive(Debug, Clone, Default, serde::Serialize)]
pub struct Assumptions {
    /// Those that were followed, with the least room first.
    pub followed: Vec<Assumption>,
    /// How many more there are, which move the circuit less.
    pub others: usize,
}

/// The assumptions of a job with their break points.
pub fn of(solved: &Solved<'_>, sink: &Sink) -> Assumptions {
    let mut job = solved.job.clone();
    let (ids, others) = chosen(solved, &mut job);
    let base = Verdict::of(&sink.judged);
    let search = Search { base: &base, wiring: solved.wiring().clone(), ends: solved.known_ends() };
    // Two workers, each with a job of its own; the results are put back in the order of the inputs.
    let work = |part: usize| {
        let mut job = solved.job.clone();
        ids.iter()
            .skip(part)
            .step_by(WORKERS)
            .map(|id| (*id, search.assumption(&mut job, *id)))
            .collect::<Vec<_>>()
    };
    let mut all = std::thread::scope(|scope| {
        let others: Vec<_> = (1..WORKERS).map(|part| scope.spawn(move || work(part))).collect();
        let mut all = work(0);
        for other in others {
            // A worker that panicked has met a mistake of ours: let it surface here.
            match other.join() {
                Ok(part) => all.extend(part),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    all.sort_by_key(|(id, _)| *id);
    let mut followed: Vec<Assumption> = all.into_iter().map(|(_, a)| a).collect();
    followed.sort_by(|a, b| a.room().total_cmp(&b.room()));
    Assumptions { followed, others }
}

/// Threads that follow assumptions.
const WORKERS: usize = 2;

/// Numbers of the assumed inputs; where there are many, those that move the circuit most.
fn chosen(solved: &Solved<'_>, job: &mut Job) -> (Vec<usize>, usize) {
    let inputs = job.inputs();
    let assumed = inputs.iter().enumerate().filter(|(_, i)| i.basis().is_assumption());
    let mut ids: Vec<(usize, f64)> = assumed.map(|(id, i)| (id, i.si().nominal.abs())).collect();
    if ids.len() > MOST {
        let slopes = all_rails(solved);
        for (id, effect) in &mut ids {
            *effect *= slopes.get(*id).map_or(0.0, |s| s.abs());
        }
        ids.sort_by(|a, b| b.1.total_cmp(&a.1));
    }
    let others = ids.len().saturating_sub(MOST);
    ids.truncate(MOST);
    let mut ids: Vec<usize> = ids.into_iter().map(|(id, _)| id).collect();
    ids.sort_unstable();
    (ids, others)
}

/// Slopes of the sum of all rails at all loads, each by its size.
fn all_rails(solved: &Solved<'_>) -> Vec<f64> {
    let Ok(point) = solved.point(Loading::Run) else { return Vec::new() };
    let low = solved.low_voltage(Loading::Run);
    let mut figure = Vec::new();
    for (load, nodes) in solved.job.loads.iter().zip(&low.loads) {
        for draw in &load.draws {
            if let (Some(rail), Some(com)) = (nodes.rails[draw.rail], nodes.com) {
                let sign = if point.solution.volts[rail] < point.solution.volts[com] { -1 } else { 1 };
                figure.extend([(rail, sign), (com, -sign)]);
            }
        }
    }
    solved.slopes(Loading::Run, &figure, point)
}

/// The stops of a verdict: every judgement that could stop, and its margin.
struct Verdict(BTreeMap<(&'static str, usize), f64>);

/// A judgement that turns between two verdicts.
#[derive(Clone, Copy)]
struct Turning {
    name: &'static str,
    key: usize,
    /// Its margin here and there.
    before: f64,
    after: f64,
    /// 1 where it begins to stop, −1 where it ceases to.
    sign: f64,
}

fn clamped(margin: f64) -> f64 {
    if margin.is_nan() { -1.0 } else { margin.clamp(-1.0, 1.0) }
}

impl Verdict {
    fn of(judged: &[Judged]) -> Self {
        let mut all = BTreeMap::new();
        for j in judged.iter().filter(|j| j.severity == Severity::Stop) {
            let margin = all.entry((j.code.name, j.key)).or_insert(1.0f64);
            *margin = margin.min(clamped(j.margin));
        }
        Self(all)
    }

    /// The judgement that seems to turn first on the way to another verdict: its margin crosses the limit earliest, if
    /// it moves in a straight line.
    fn first_to_turn(&self, other: &Self) -> Option<Turning> {
        let keys = self.0.keys().chain(other.0.keys().filter(|k| !self.0.contains_key(*k)));
        let turning = keys.filter_map(|key| {
            let margin = |of: &Self| of.0.get(key).copied().unwrap_or(1.0);
            let (before, after) = (margin(self), margin(other));
            let (fails, will_fail) = (before < ON_THE_LIMIT, after < ON_THE_LIMIT);
            let sign = if fails { -1.0 } else { 1.0 };
            (fails != will_fail).then_some(Turning { name: key.0, key: key.1, before, after, sign })
        });
        let crossing = |t: &Turning| t.before.abs() / (t.before - t.after).abs().max(1e-300);
        turning.min_by(|a, b| crossing(a).total_cmp(&crossing(b)))
    }
}

/// How many times another judgement may turn out to turn earlier.
const MOST_TURNS: usize = 8;

struct Search<'a> {
    base: &'a Verdict,
    wiring: Arc<Wiring>,
    ends: Arc<KnownEnds>,
}

/// Relative width to which a break point is found.
const WIDTH: f64 = 1e-5;

impl Search<'_> {
    fn assumption(&self, job: &mut Job, id: usize) -> Assumption {
        let nominal = job.spreads[id];
        let find = |job: &mut Job, upward: bool| {
            let found = self.break_point(job, id, nominal, upward);
            job.move_input(id, nominal);
            found
        };
        let (below, above) = (find(job, false), find(job, true));
        let mut inputs = job.inputs();
        let input = &mut inputs[id];
        let point = |found: Option<(f64, &'static str)>| {
            found.map(|(factor, code)| BreakPoint {
                factor,
                shown: input.show(nominal.nominal * factor),
                code,
            })
        };
        Assumption {
            path: input.place().path.clone(),
            line: input.place().line,
            basis: input.basis(),
            nominal: nominal.nominal,
            shown: input.show(nominal.nominal),
            below: point(below),
            above: point(above),
        }
    }

    /// The factor nearest to 1 at which the verdict differs, in one direction: the judgement that seems to turn first
    /// is followed alone to where it turns; if another has turned before, that one is followed, and so on.
    fn break_point(
        &self,
        job: &mut Job,
        id: usize,
        nominal: Si,
        upward: bool,
    ) -> Option<(f64, &'static str)> {
        let mut far = if upward { FARTHEST.ln() } else { -FARTHEST.ln() };
        let mut found = None;
        for _ in 0..MOST_TURNS {
            // In logarithms, so that halving and doubling weigh the same.
            job.move_input(id, nominal.scaled(far.exp()));
            let first = self.base.first_to_turn(&self.verdict(job));
            let Some(first) = first else { break };
            let turns = self.root(job, id, nominal, far, first);
            found = Some((turns.exp(), first.name));
            // Just before it turns, nothing else may have turned.
            far = turns - WIDTH * if upward { 2.0 } else { -2.0 };
            if far * turns <= 0.0 {
                break;
            }
        }
        found
    }

    /// Where one judgement turns between the nominal value and `far`, by the Illinois form of false position; every
    /// third step halves, against figures that jump.
    fn root(&self, job: &mut Job, id: usize, nominal: Si, far: f64, judgement: Turning) -> f64 {
        let mut at = |x: f64| {
            job.move_input(id, nominal.scaled(x.exp()));
            judgement.sign * (self.margin(job, judgement) - ON_THE_LIMIT)
        };
        let (mut inside, mut g_in) = (0.0, judgement.before.abs());
        let (mut outside, mut g_out) = (far, -judgement.after.abs());
        let mut side = 0;
        for round in 0..60 {
            let width = outside - inside;
            if width.abs() < WIDTH {
                break;
            }
            let share = if round % 3 == 2 { 0.5 } else { (g_in / (g_in - g_out)).clamp(1e-3, 1.0 - 1e-3) };
            let x = inside + width * share;
            let g = at(x);
            if g < 0.0 {
                (outside, g_out) = (x, g);
                if side == 1 {
                    g_in /= 2.0;
                }
                side = 1;
            } else {
                (inside, g_in) = (x, g);
                if side == -1 {
                    g_out /= 2.0;
                }
                side = -1;
            }
        }
        outside
    }

    /// The margin of one judgement; where it is not made, it does not stop.
    fn margin(&self, job: &Job, judgement: Turning) -> f64 {
        let solved = Solved::beside(job, self.wiring.clone(), self.ends.clone());
        let mut sink = Sink::of_one(judgement.name, judgement.key);
        for rule in RULES.iter().filter(|r| r.codes.iter().any(|c| c.name == judgement.name)) {
            (rule.run)(&solved, &mut sink);
        }
        let margins = sink.judged.iter().filter(|j| j.severity == Severity::Stop).map(|j| clamped(j.margin));
        margins.fold(1.0, f64::min)
    }

    fn verdict(&self, job: &Job) -> Verdict {
        let solved = Solved::beside(job, self.wiring.clone(), self.ends.clone());
        let mut sink = Sink::of_margins();
        RULES.iter().for_each(|rule| (rule.run)(&solved, &mut sink));
        Verdict::of(&sink.judged)
    }
}
