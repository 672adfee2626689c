//! How far is the 0 V of a load lifted above that of its supply?
//!
//! `L = |V(com at the load) − V(minus of its supply)|` (V), at the corner that is worst for it, either way: on a negative
//! rail the return current lowers the load's 0 V. Judged by itself, since trimming the supply up hides it in the rails
//! and leaves it on every signal that leaves the board.
//!
//! Limit: 50 mV (`assume.ground-lift`), common practice; a stop for a load with a logic rail (below 6 V), a caution for
//! motors and lamps.
//!
//! ```
//! // 4 A back through two wires and contacts of 20 mΩ each, in parallel: 40 mV.
//! assert!((4.0 * 0.020 / 2.0 - 0.040_f64).abs() < 1e-12);
//! ```

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::holds::holds;
use crate::influence::{cure, influences};
use crate::sink::{Sink, below};
use voltwright_job::nets::Nets;
use voltwright_job::{PartKind, Terminal, WayUse};
use voltwright_model::{Loading, Solved};
use voltwright_quantity::{Quantity, Voltage, Working};

static GROUND_LIFT: Code = Code::new(
    "ground-lift",
    Stretch::Load,
    "The 0 V of a load is lifted above its supply's by the return path.",
);

/// The codes of this rule.
pub static CODES: &[&Code] = &[&GROUND_LIFT];

/// Rails below this are taken for logic rails, volts.
const LOGIC: f64 = 6.0;

/// Judges every load.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    // Without wires, or where the supply has switched off, the rule on voltages says so.
    if solved.job.wires.is_empty() || !holds(solved, Loading::Run) || !sink.wants_any(CODES) {
        return;
    }
    let nets = &solved.wiring().conductors;
    if sink.wants_all() {
        prepare(solved, nets);
    }
    for l in 0..solved.job.loads.len() {
        judge(solved, sink, nets, l);
    }
}

/// Names all figures that will be judged, so that they share corners.
fn prepare(solved: &Solved<'_>, nets: &Nets) {
    let low = solved.low_voltage(Loading::Run);
    let figure = |l: usize| Some(vec![(low.loads[l].com?, 1), (return_of(solved, nets, l)?, -1)]);
    let figures: Vec<Vec<(usize, i8)>> = (0..solved.job.loads.len()).filter_map(figure).collect();
    let both: Vec<_> =
        [true, false].into_iter().flat_map(|up| figures.iter().map(move |of| (of.clone(), up))).collect();
    solved.prepare(Loading::Run, &both);
    if holds(solved, Loading::Start) {
        solved.prepare(Loading::Start, &both);
    }
}

fn judge(solved: &Solved<'_>, sink: &mut Sink, nets: &Nets, l: usize) {
    let (job, low) = (solved.job, solved.low_voltage(Loading::Run));
    let load = &job.loads[l];
    let Some(com) = low.loads[l].com else { return };
    let Some(minus) = return_of(solved, nets, l) else { return };
    for (loading, k) in [(Loading::Run, 0), (Loading::Start, 1)] {
        let key = 2 * l + k;
        let starts = load.draws.iter().any(|d| d.start.is_some()) && holds(solved, Loading::Start);
        if (loading == Loading::Start && !starts) || !sink.wants(&GROUND_LIFT, key) {
            continue;
        }
        let of = [(com, 1), (minus, -1)];
        let worst = [true, false].map(|upward| solved.worst(loading, &of, upward));
        let size = |w: &f64| w.abs();
        let Some(worst) = worst.into_iter().flatten().max_by(|a, b| size(a).total_cmp(&size(b))) else {
            continue;
        };
        let limit = job.assume.ground_lift.nominal();
        // Logic is what a lifted ground upsets; a motor or lamp only suffers from it.
        let logic =
            load.draws.iter().any(|d| job.rails[d.rail].nominal.nominal().abs() < Voltage::volts(LOGIC));
        let severity = if logic { Severity::Stop } else { Severity::Caution };
        sink.judge(&GROUND_LIFT, key, severity, below(size(&worst), limit.si()), || {
            let lift = Voltage::volts(size(&worst));
            let nominal = Voltage::volts(solved.nominal(loading, &of).unwrap_or(f64::NAN));
            let at = format!("{} at the worst corner", loading.words());
            let inputs = influences(solved, &of, loading);
            let lifted = Working::solved("L", "0 V of the load against its supply", lift, &at, inputs);
            let limit_w = job.assume.ground_lift.working("limit", "ground lift still tolerated");
            let room = Working::formula("room", "left to the limit", limit - lift, "limit − L", vec![limit_w, lifted]);
            let says = format!(
                "The 0 V of {} is lifted by {lift} in the worst case {} (nominally {nominal}); {limit} is the limit.",
                load.name,
                loading.words()
            );
            let mut finding = Finding::new(load.name.clone(), says).about(About::Load(l)).working(room).at(&load.key.span);
            finding.likelihood = Some(solved.likelihood(loading, &of, -limit.si(), limit.si()));
            match cure(solved, &of, loading) {
                Some(cure) => finding.cure(cure),
                None => finding.cure("more return ways, or thicker return wires"),
            }
        });
    }
}

/// Node of the supply terminal to which the load's 0 V is wired.
fn return_of(solved: &Solved<'_>, nets: &Nets, l: usize) -> Option<usize> {
    let (job, low) = (solved.job, solved.low_voltage(Loading::Run));
    let com = job.way(l, WayUse::Com)?;
    let find = |wanted: &dyn Fn(&PartKind, &str) -> bool| {
        job.parts.iter().enumerate().find_map(|(p, part)| {
            let t = (0..part.terminals.len())
                .find(|t| wanted(&part.kind, &part.terminals[*t]) && nets.same(Terminal::Part(p, *t), com))?;
            low.node(Terminal::Part(p, t))
        })
    };
    // Behind a regulator the rails are held against its reference, not against the raw supply before it.
    let regulated = |kind: &PartKind, t: &str| {
        matches!(kind, PartKind::MainsSupply(_) | PartKind::Converter(_)) && t.ends_with(".minus")
    };
    let reference = |kind: &PartKind, t: &str| matches!(kind, PartKind::Regulator(_)) && t == "ref";
    let raw = |kind: &PartKind, t: &str| matches!(kind, PartKind::RawSupply(_)) && t.ends_with(".minus");
    find(&regulated).or_else(|| find(&reference)).or_else(|| find(&raw))
}
