//! Does every rail arrive at every load within its tolerance, and how far is the load's 0 V lifted?
//!
//! The circuit is solved at the corner that is worst for each figure: every value at whichever end of its spread is
//! worse, found by one adjoint solve and confirmed by solving there.
//! - voltage at a load: `U = V(rail) − V(com)`, both at the load, in volts;
//! - ground lift: `L = V(com at the load) − V(minus of its supply)`, judged by itself, since trimming the supply up
//!   hides it in `U` and leaves it on every signal that leaves the board.
//!
//! Limits: the rail's tolerance and harm limits as entered; ground lift 50 mV (`assume.ground-lift`), common practice.
//!
//! Not covered: ripple, and dips shorter than the operating points (a later rule in the time domain).

use crate::finding::{Code, Finding, Severity, Stretch};
use crate::sink::{Sink, above, below};
use voltwright_circuit::{Flow, Law, State};
use voltwright_job::nets::Nets;
use voltwright_job::{PartKind, Terminal, WayUse};
use voltwright_model::solved::InputLeaf;
use voltwright_model::{Loading, Solved, Worst};
use voltwright_quantity::{Quantity, Voltage, Working};

static RAIL_LOW: Code = Code::new("rail-low", Stretch::Load, "A rail arrives at a load below its tolerance.");
static RAIL_HIGH: Code =
    Code::new("rail-high", Stretch::Load, "A rail arrives at a load above its tolerance.");
static RAIL_HARM: Code =
    Code::new("rail-harm", Stretch::Load, "A rail arrives at a load beyond what does harm.");
static GROUND_LIFT: Code = Code::new(
    "ground-lift",
    Stretch::Load,
    "The 0 V of a load is lifted above its supply's by the return path.",
);
static NOT_FED: Code =
    Code::new("way-not-fed", Stretch::Load, "A load needs a rail that no wire brings to it.");
static UNSOLVED: Code =
    Code::new("no-operating-point", Stretch::Load, "The circuit has no steady operating point.");
static FALLS_AWAY: Code =
    Code::new("trips-at-start", Stretch::Supply, "A supply switches off when all loads start together.");

/// The codes of this rule.
pub static CODES: &[&Code] =
    &[&RAIL_LOW, &RAIL_HIGH, &RAIL_HARM, &GROUND_LIFT, &NOT_FED, &UNSOLVED, &FALLS_AWAY];

/// Rails below this are taken for logic rails, volts.
const LOGIC: f64 = 6.0;

/// Judges every rail at every load.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    if job.loads.is_empty() || !job.parts.iter().any(|p| is_source(&p.kind)) {
        if sink.is_written() {
            let enter = if job.loads.is_empty() {
                "[load.…] with draws and sockets"
            } else {
                "[part.…] of kind \"mains supply\""
            };
            sink.missing(
                &RAIL_LOW,
                "every rail",
                enter,
                "whether each rail arrives at each load within its tolerance",
            );
        }
        return;
    }
    if job.wires.is_empty() {
        sink.missing(
            &RAIL_LOW,
            "every rail",
            "[wiring] wires",
            "whether each rail arrives at each load within its tolerance",
        );
        return;
    }
    if let Err(unsolved) = solved.point(Loading::Run) {
        sink.judge(&UNSOLVED, 0, Severity::Stop, -1.0, || {
            Finding::new("the whole circuit", format!("With the loads running, {unsolved}."))
                .cure("look for a converter that is starved when it starts, or a supply fed through too much resistance")
        });
        return;
    }
    let tripped = solved.point(Loading::Run).is_ok_and(|p| p.solution.elements.iter().any(is_tripped));
    if tripped {
        sink.judge(&UNSOLVED, 1, Severity::Stop, -1.0, || {
            Finding::new(
                "the supply",
                "With the loads running the supply switches off: nothing behind it can be judged.",
            )
            .cure("see what asks too much of it; the rest is judged once it runs")
        });
        return;
    }
    let nets = &solved.wiring().conductors;
    if sink.wants_all() {
        prepare(solved, nets);
    }
    for l in 0..job.loads.len() {
        for draw in &job.loads[l].draws {
            rail(solved, sink, l, draw.rail, draw.start.is_some());
        }
        ground_lift(solved, sink, nets, l);
    }
    start(solved, sink);
}

fn is_source(kind: &PartKind) -> bool {
    matches!(kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_))
}

/// Names all figures that will be judged, so that they share corners.
fn prepare(solved: &Solved<'_>, nets: &Nets) {
    let (job, low) = (solved.job, solved.low_voltage(Loading::Run));
    let mut figures = [Vec::new(), Vec::new(), Vec::new()];
    for (l, load) in job.loads.iter().enumerate() {
        let Some(com) = low.loads[l].com else { continue };
        for draw in &load.draws {
            let Some(plane) = low.loads[l].rails[draw.rail] else { continue };
            let negative = job.rails[draw.rail].nominal.nominal() < Voltage::ZERO;
            let of = vec![(plane, 1), (com, -1)];
            figures[Loading::Run as usize].push((of.clone(), negative));
            figures[Loading::Light as usize].push((of.clone(), !negative));
            if draw.start.is_some() {
                figures[Loading::Start as usize].push((of, negative));
            }
        }
        if let Some(minus) = return_of(solved, nets, l) {
            figures[Loading::Run as usize].push((vec![(com, 1), (minus, -1)], true));
            if load.draws.iter().any(|d| d.start.is_some()) {
                figures[Loading::Start as usize].push((vec![(com, 1), (minus, -1)], true));
            }
        }
    }
    for loading in Loading::ALL {
        if loading != Loading::Start || holds_at_start(solved) {
            solved.prepare(loading, &figures[loading as usize]);
        }
    }
}

fn rail(solved: &Solved<'_>, sink: &mut Sink, l: usize, r: usize, starts: bool) {
    let (job, low) = (solved.job, solved.low_voltage(Loading::Run));
    let (load, rail) = (&job.loads[l], &job.rails[r]);
    let key = l * job.rails.len() + r;
    let subject = || format!("{}, rail {}", load.name, rail.name.text);
    let (Some(plane), Some(com)) = (low.loads[l].rails[r], low.loads[l].com) else { return };
    let wired = |way: WayUse| {
        load.sockets.iter().enumerate().any(|(s, socket)| {
            socket
                .ways
                .iter()
                .enumerate()
                .any(|(w, (u, _))| *u == way && solved.wiring().is_wired(Terminal::Socket(l, s, w)))
        })
    };
    if !(wired(WayUse::Rail(r)) && wired(WayUse::Com)) {
        let what = if wired(WayUse::Rail(r)) { "com" } else { rail.name.text.as_str() };
        sink.judge(&NOT_FED, key, Severity::Stop, -1.0, || {
            Finding::new(subject(), format!("No wire brings {what} to {}.", load.name))
                .cure(format!("wire a way of {what} in its sockets to the supply"))
        });
        return;
    }
    let of = [(plane, 1), (com, -1)];
    let Some(tolerance) = &rail.tolerance else {
        sink.missing(
            &RAIL_LOW,
            subject(),
            format!("rail.{}.tolerance", rail.name.text),
            "whether it arrives within its tolerance",
        );
        return;
    };
    // For a negative rail the weaker end is the algebraically higher one.
    let negative = rail.nominal.nominal() < Voltage::ZERO;
    let weak_limit = if negative { tolerance.high } else { tolerance.low };
    let strong_limit = if negative { tolerance.low } else { tolerance.high };
    let room = |value: f64, limit: Voltage, is_low: bool| {
        // The room is a share of the tolerance, so that rails of all sizes compare.
        let width = (tolerance.high - tolerance.low).si().max(1e-9) / 2.0;
        let past = if is_low { limit.si() - value } else { value - limit.si() };
        -past / width
    };
    for (loading, code_key) in [(Loading::Run, 0), (Loading::Start, 1)] {
        let judged = 2 * key + code_key;
        // A supply that has switched off at the start is told by itself.
        if (loading == Loading::Start && !(starts && holds_at_start(solved)))
            || !sink.wants(&RAIL_LOW, judged)
        {
            continue;
        }
        if let Ok(worst) = solved.worst(loading, &of, negative) {
            sink.judge(&RAIL_LOW, judged, Severity::Stop, room(worst.value, weak_limit, !negative), || {
                write_rail(solved, (l, r), &of, loading, &worst, weak_limit, "short of")
            });
        }
    }
    if sink.wants(&RAIL_HIGH, key)
        && let Ok(worst) = solved.worst(Loading::Light, &of, !negative)
    {
        sink.judge(&RAIL_HIGH, key, Severity::Stop, room(worst.value, strong_limit, negative), || {
            write_rail(solved, (l, r), &of, Loading::Light, &worst, strong_limit, "beyond")
        });
    }
    harm(solved, sink, (l, r), &of, key);
}

fn harm(solved: &Solved<'_>, sink: &mut Sink, (l, r): (usize, usize), of: &[(usize, i8)], key: usize) {
    let (load, rail) = (&solved.job.loads[l], &solved.job.rails[r]);
    let Some(harm) = &rail.harm else {
        let enter = format!("rail.{}.harm", rail.name.text);
        sink.missing(
            &RAIL_HARM,
            format!("{}, rail {}", load.name, rail.name.text),
            enter,
            "what would do harm, and which guard is needed",
        );
        return;
    };
    // The ends that the tolerance was judged at: strong when light, weak when running.
    let negative = rail.nominal.nominal() < Voltage::ZERO;
    let (strong, weak) = ((Loading::Light, !negative), (Loading::Run, negative));
    for (loading, upward) in [strong, weak] {
        let judged = 2 * key + usize::from(upward);
        if !sink.wants(&RAIL_HARM, judged) {
            continue;
        }
        let Ok(worst) = solved.worst(loading, of, upward) else { continue };
        let limit = if upward { harm.high } else { harm.low };
        let margin = if upward { below(worst.value, limit.si()) } else { above(worst.value, limit.si()) };
        sink.judge(&RAIL_HARM, judged, Severity::Stop, margin, || {
            write_rail(solved, (l, r), of, loading, &worst, limit, "beyond")
        });
    }
}

fn write_rail(
    solved: &Solved<'_>,
    (l, r): (usize, usize),
    of: &[(usize, i8)],
    loading: Loading,
    worst: &Worst,
    limit: Voltage,
    side: &str,
) -> Finding {
    let (load, rail) = (&solved.job.loads[l], &solved.job.rails[r]);
    let worst_volts = Voltage::volts(worst.value);
    let nominal = Voltage::volts(solved.nominal(loading, of).unwrap_or(f64::NAN));
    let name = &rail.name.text;
    let says = format!(
        "{name} arrives at {} at {worst_volts:.4} in the worst case {} (nominally {nominal:.4}), {side} its limit of {limit:.4}.",
        load.name,
        loading.words()
    );
    let working = working(solved, (l, r), of, loading, worst, limit);
    let cure = cure(solved, of, loading);
    // Inside is where the nominal lies.
    let (low, high) = match limit < rail.nominal.nominal() {
        true => (limit.si(), f64::INFINITY),
        false => (f64::NEG_INFINITY, limit.si()),
    };
    let share = solved.likelihood(loading, of, low, high);
    let mut finding =
        Finding::new(format!("{}, rail {name}", load.name), says).working(working).at(&rail.nominal.span);
    finding.likelihood = Some(share);
    match cure {
        Some(cure) => finding.cure(cure),
        None => finding,
    }
}

/// The voltage as its source less the drops out and back, each a current through a resistance.
fn working(
    solved: &Solved<'_>,
    (l, r): (usize, usize),
    of: &[(usize, i8)],
    loading: Loading,
    worst: &Worst,
    limit: Voltage,
) -> Working {
    let at = format!("{} at the worst corner", loading.words());
    let inputs = influences(solved, of, loading);
    let rail = &solved.job.rails[r];
    let load = &solved.job.loads[l];
    let u = Working::solved(
        "U",
        &format!("{} at {}", rail.name.text, load.name),
        Voltage::volts(worst.value),
        &at,
        inputs,
    );
    let lim = match &rail.tolerance {
        Some(t) if limit == t.low || limit == t.high => {
            Working::entered("limit", "tolerance", limit, t.place.clone(), voltwright_quantity::Basis::Chosen)
        }
        _ => Working::looked(
            "limit",
            "limit of the rail",
            limit,
            voltwright_quantity::Source::computed("entered in the job"),
        ),
    };
    Working::formula(
        "room",
        "left to the limit",
        (u_minus(&u, limit)).abs() * sign(worst.value, limit, rail.nominal.nominal()),
        "U − limit",
        vec![u, lim],
    )
}

fn u_minus(u: &Working, limit: Voltage) -> Voltage {
    Voltage::volts(u.si) - limit
}

/// Positive where the value is on the nominal's side of the limit.
fn sign(value: f64, limit: Voltage, nominal: Voltage) -> f64 {
    let inside = (value - limit.si()) * (nominal.si() - limit.si()) >= 0.0;
    if inside { 1.0 } else { -1.0 }
}

/// The inputs that move the figure most, as leaves.
pub(super) fn influences(solved: &Solved<'_>, of: &[(usize, i8)], loading: Loading) -> Vec<Working> {
    let Ok(base) = solved.point(loading) else { return Vec::new() };
    let slopes = solved.slopes(loading, of, base);
    let effect = |(leaf, slope): &(&InputLeaf, &f64)| (*slope * (leaf.si.high - leaf.si.low)).abs();
    let mut all: Vec<_> = solved.leaves().iter().zip(&slopes).filter(|pair| effect(pair) > 0.0).collect();
    all.sort_by(|a, b| effect(b).total_cmp(&effect(a)));
    let leaf = |pair: (&InputLeaf, &f64)| {
        let what = format!("{}, moves it by {}", pair.0.range, Voltage::volts(effect(&pair)));
        Working { what, ..pair.0.working.clone() }
    };
    all.into_iter().take(6).map(leaf).collect()
}

/// What costs most of the figure, and what would help: the spread of a source, a contact, or a wire.
fn cure(solved: &Solved<'_>, of: &[(usize, i8)], loading: Loading) -> Option<String> {
    let base = solved.point(loading).ok()?;
    let weights: Vec<(usize, f64)> = of.iter().map(|(n, w)| (*n, f64::from(*w))).collect();
    let slopes = base.network.sensitivities(solved.ordering(), &base.solution, &weights);
    let low = solved.low_voltage(loading);
    let cost = |e: usize| (slopes.to(e, voltwright_circuit::Field::Ohms) * base.network.ohms(e)).abs();
    let wires = low.wires.iter().enumerate().filter_map(|(w, e)| {
        let wire = &solved.job.wires[w];
        let volts = cost((*e)?);
        let says = format!(
            "a thicker, shorter or second wire beside {} ({}), which costs {}",
            wire.name(),
            wire.size_text.text,
            Voltage::volts(volts)
        );
        Some((volts, says))
    });
    let contacts = low
        .contacts
        .iter()
        .enumerate()
        .flat_map(|(p, ways)| ways.iter().enumerate().map(move |(w, e)| (p, w, *e)));
    let contacts = contacts.filter_map(|(p, w, e)| {
        // A contact may be as bad as the upper end of its spread.
        let worst = solved.job.assume.contact.spread.high / solved.job.assume.contact.nominal();
        let volts = cost(e?) * worst;
        let says = format!(
            "more ways in parallel for way {} of {}, whose contact may cost {}",
            w + 1,
            solved.job.plugs[p].key.text,
            Voltage::volts(volts)
        );
        Some((volts, says))
    });
    let sources = solved.leaves().iter().zip(solved.slopes(loading, of, base)).filter_map(|(leaf, slope)| {
        let is_source = leaf.working.symbol == "volts";
        let volts = (slope * (leaf.si.high - leaf.si.low) / 2.0).abs();
        let says = format!(
            "a tighter or trimmed source: the spread of {} alone may cost {}",
            leaf.working_path(),
            Voltage::volts(volts)
        );
        is_source.then_some((volts, says))
    });
    let (volts, says) = wires.chain(contacts).chain(sources).max_by(|a, b| a.0.total_cmp(&b.0))?;
    (volts > 1e-3).then_some(says)
}

fn ground_lift(solved: &Solved<'_>, sink: &mut Sink, nets: &Nets, l: usize) {
    let (job, low) = (solved.job, solved.low_voltage(Loading::Run));
    let load = &job.loads[l];
    let Some(com) = low.loads[l].com else { return };
    let Some(minus) = return_of(solved, nets, l) else { return };
    for (loading, k) in [(Loading::Run, 0), (Loading::Start, 1)] {
        let key = 2 * l + k;
        let starts = load.draws.iter().any(|d| d.start.is_some()) && holds_at_start(solved);
        if (loading == Loading::Start && !starts) || !sink.wants(&GROUND_LIFT, key) {
            continue;
        }
        let of = [(com, 1), (minus, -1)];
        let worst = [true, false].map(|upward| solved.worst(loading, &of, upward));
        let size = |w: &Worst| w.value.abs();
        let Some(worst) = worst.into_iter().flatten().max_by(|a, b| size(a).total_cmp(&size(b))) else { continue };
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
            let l = Working::solved("L", "0 V of the load against its supply", lift, &at, inputs);
            let limit_w = job.assume.ground_lift.working("limit", "ground lift still tolerated");
            let room = Working::formula("room", "left to the limit", limit - lift, "limit − L", vec![limit_w, l]);
            let says = format!(
                "The 0 V of {} is lifted by {lift} in the worst case {} (nominally {nominal}); {limit} is the limit.",
                load.name,
                loading.words()
            );
            let mut finding = Finding::new(load.name.clone(), says).working(room).at(&load.key.span);
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
    let com = job.loads[l].sockets.iter().enumerate().find_map(|(s, socket)| {
        let w = socket.ways.iter().position(|(w, _)| *w == WayUse::Com)?;
        Some(Terminal::Socket(l, s, w))
    })?;
    job.parts.iter().enumerate().find_map(|(p, part)| {
        let outputs =
            matches!(part.kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_) | PartKind::Converter(_));
        let t = (0..part.terminals.len()).find(|t| {
            outputs && part.terminals[*t].ends_with(".minus") && nets.same(Terminal::Part(p, *t), com)
        })?;
        low.node(Terminal::Part(p, t))
    })
}

fn is_tripped(flow: &Flow) -> bool {
    flow.state == State::Tripped || flow.outputs.iter().any(|o| o.state == State::Tripped)
}

/// Whether nothing switches off when all loads start together.
fn holds_at_start(solved: &Solved<'_>) -> bool {
    solved.point(Loading::Start).is_ok_and(|p| !p.solution.elements.iter().any(is_tripped))
}

/// A supply that runs but switches off when everything starts together, though each of its outputs is within its
/// limit: its power or its group is what trips.
fn start(solved: &Solved<'_>, sink: &mut Sink) {
    let starts = solved.job.loads.iter().any(|l| l.draws.iter().any(|d| d.start.is_some()));
    if !starts || !sink.wants(&FALLS_AWAY, 0) {
        return;
    }
    let (Ok(point), Some(demand)) = (solved.point(Loading::Start), solved.demand(Loading::Start, None))
    else {
        return;
    };
    let over = |e: usize| match &point.network.elements[e].law {
        Law::Source(s) => s.limit.is_some_and(|limit| demand.solution.elements[e].current.abs() > limit),
        _ => false,
    };
    if (0..point.network.elements.len()).any(over) {
        return;
    }
    let off: Vec<String> = point
        .network
        .elements
        .iter()
        .zip(&point.solution.elements)
        .filter(|(_, flow)| is_tripped(flow))
        .map(|(e, _)| e.name.clone())
        .collect();
    let margin = if off.is_empty() { 1.0 } else { -1.0 };
    sink.judge(&FALLS_AWAY, 0, Severity::Stop, margin, || {
        let says = format!("When all loads start together, {} switch off: together they pass the supply's power.", off.join(", "));
        Finding::new(off.join(", "), says)
            .cure("start the loads one after the other, or take a supply whose power or documented peak covers the starts")
    });
}
