//! Does every rail arrive at every load within its tolerance?
//!
//! The circuit is solved at the corner that is worst for each figure: every value at whichever end of its spread is
//! worse, found by one adjoint solve and confirmed by solving there.
//! - voltage at a load: `U = V(rail) − V(com)`, both at the load, in volts;
//!
//! Limits: the rail's tolerance and harm limits as entered.
//!
//! Not covered: ripple, and dips shorter than the operating points (a later rule in the time domain).

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::holds::{holds, is_tripped};
use crate::influence::{cure, influences};
use crate::sink::{Sink, above, below};
use voltwright_circuit::Law;
use voltwright_job::{PartKind, Socket, Terminal, WayUse};
use voltwright_model::{Loading, Solved};
use voltwright_quantity::{Basis, Quantity, Voltage, Working};

static RAIL_LOW: Code = Code::new("rail-low", Stretch::Load, "A rail arrives at a load below its tolerance.");
static RAIL_HIGH: Code =
    Code::new("rail-high", Stretch::Load, "A rail arrives at a load above its tolerance.");
static RAIL_HARM: Code =
    Code::new("rail-harm", Stretch::Load, "A rail arrives at a load beyond what does harm.");
static NOT_FED: Code =
    Code::new("way-not-fed", Stretch::Load, "A load needs a rail that no wire brings to it.");
static UNSOLVED: Code =
    Code::new("no-operating-point", Stretch::Load, "The circuit has no steady operating point.");
static FALLS_AWAY: Code =
    Code::new("trips-at-start", Stretch::Supply, "A supply switches off when all loads start together.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&RAIL_LOW, &RAIL_HIGH, &RAIL_HARM, &NOT_FED, &UNSOLVED, &FALLS_AWAY];

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
    if !holds(solved, Loading::Run) {
        sink.judge(&UNSOLVED, 1, Severity::Stop, -1.0, || {
            Finding::new(
                "the supply",
                "With the loads running the supply switches off: nothing behind it can be judged.",
            )
            .cure("see what asks too much of it; the rest is judged once it runs")
        });
        return;
    }
    if sink.wants_all() {
        prepare(solved);
    }
    for l in 0..job.loads.len() {
        for draw in &job.loads[l].draws {
            rail(solved, sink, l, draw.rail, draw.start.is_some());
        }
    }
    start(solved, sink);
}

fn is_source(kind: &PartKind) -> bool {
    matches!(kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_))
}

/// Names all figures that will be judged, so that they share corners.
fn prepare(solved: &Solved<'_>) {
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
    }
    for loading in Loading::ALL {
        if loading != Loading::Start || holds(solved, Loading::Start) {
            solved.prepare(loading, &figures[loading as usize]);
        }
    }
}

/// The rail, or com, if no wire brings it to any way of a load.
fn not_brought<'j>(solved: &Solved<'j>, l: usize, r: usize) -> Option<&'j str> {
    let sockets = &solved.job.loads[l].sockets;
    let wired = |wanted: WayUse| {
        let is_wired = |s: usize, w: usize| solved.wiring().is_wired(Terminal::Socket(l, s, w));
        let of_socket = |(s, socket): (usize, &Socket)| {
            socket.ways.iter().enumerate().any(|(w, (way, _))| *way == wanted && is_wired(s, w))
        };
        sockets.iter().enumerate().any(of_socket)
    };
    match (wired(WayUse::Rail(r)), wired(WayUse::Com)) {
        (false, _) => Some(&solved.job.rails[r].name.text),
        (_, false) => Some("com"),
        _ => None,
    }
}

fn rail(solved: &Solved<'_>, sink: &mut Sink, l: usize, r: usize, starts: bool) {
    let (job, low) = (solved.job, solved.low_voltage(Loading::Run));
    let (load, rail) = (&job.loads[l], &job.rails[r]);
    let key = l * job.rails.len() + r;
    let subject = || format!("{}, rail {}", load.name, rail.name.text);
    let (Some(plane), Some(com)) = (low.loads[l].rails[r], low.loads[l].com) else { return };
    if let Some(what) = not_brought(solved, l, r) {
        sink.judge(&NOT_FED, key, Severity::Stop, -1.0, || {
            Finding::new(subject(), format!("No wire brings {what} to {}.", load.name))
                .about(About::Rail { load: l, rail: r })
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
        if (loading == Loading::Start && !(starts && holds(solved, Loading::Start)))
            || !sink.wants(&RAIL_LOW, judged)
        {
            continue;
        }
        if let Ok(worst) = solved.worst(loading, &of, negative) {
            sink.judge(&RAIL_LOW, judged, Severity::Stop, room(worst, weak_limit, !negative), || {
                write_rail(
                    solved,
                    (l, r),
                    &of,
                    loading,
                    worst,
                    Limit { volts: weak_limit, is_low: !negative, side: "short of" },
                )
            });
        }
    }
    if sink.wants(&RAIL_HIGH, key)
        && let Ok(worst) = solved.worst(Loading::Light, &of, !negative)
    {
        sink.judge(&RAIL_HIGH, key, Severity::Stop, room(worst, strong_limit, negative), || {
            write_rail(
                solved,
                (l, r),
                &of,
                Loading::Light,
                worst,
                Limit { volts: strong_limit, is_low: negative, side: "beyond" },
            )
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
        let margin = if upward { below(worst, limit.si()) } else { above(worst, limit.si()) };
        sink.judge(&RAIL_HARM, judged, Severity::Stop, margin, || {
            write_rail(
                solved,
                (l, r),
                of,
                loading,
                worst,
                Limit { volts: limit, is_low: !upward, side: "beyond" },
            )
        });
    }
}

/// A limit of a rail, and whether the voltage must stay above it.
#[derive(Clone, Copy)]
struct Limit {
    volts: Voltage,
    is_low: bool,
    /// How a voltage past it is called.
    side: &'static str,
}

fn write_rail(
    solved: &Solved<'_>,
    (l, r): (usize, usize),
    of: &[(usize, i8)],
    loading: Loading,
    worst: f64,
    limit: Limit,
) -> Finding {
    let (load, rail) = (&solved.job.loads[l], &solved.job.rails[r]);
    let worst_volts = Voltage::volts(worst);
    let nominal = Voltage::volts(solved.nominal(loading, of).unwrap_or(f64::NAN));
    let name = &rail.name.text;
    let says = format!(
        "{name} arrives at {} at {worst_volts:.4} in the worst case {} (nominally {nominal:.4}), {} its limit of {:.4}.",
        load.name,
        loading.words(),
        limit.side,
        limit.volts
    );
    let working = working(solved, (l, r), of, loading, worst, limit);
    let cure = cure(solved, of, loading);
    let (low, high) = match limit.is_low {
        true => (limit.volts.si(), f64::INFINITY),
        false => (f64::NEG_INFINITY, limit.volts.si()),
    };
    let share = solved.likelihood(loading, of, low, high);
    let mut finding = Finding::new(format!("{}, rail {name}", load.name), says)
        .about(About::Rail { load: l, rail: r })
        .working(working)
        .at(&rail.nominal.span);
    finding.likelihood = Some(share);
    match cure {
        Some(cure) => finding.cure(cure),
        None => finding,
    }
}

/// The room to the limit, from the solved voltage and what moves it.
fn working(
    solved: &Solved<'_>,
    (l, r): (usize, usize),
    of: &[(usize, i8)],
    loading: Loading,
    worst: f64,
    limit: Limit,
) -> Working {
    let (rail, load) = (&solved.job.rails[r], &solved.job.loads[l]);
    let at = format!("{} at the worst corner", loading.words());
    let what = format!("{} at {}", rail.name.text, load.name);
    let volts = Voltage::volts(worst);
    let u = Working::solved("U", &what, volts, &at, influences(solved, of, loading));
    let stands = [&rail.tolerance, &rail.harm]
        .into_iter()
        .flatten()
        .find(|b| limit.volts == b.low || limit.volts == b.high);
    let place = stands.map_or_else(|| rail.nominal.place.clone(), |b| b.place.clone());
    let l = Working::entered("limit", "limit of the rail", limit.volts, place, Basis::Chosen);
    let (formula, room) = match limit.is_low {
        true => ("U − limit", volts - limit.volts),
        false => ("limit − U", limit.volts - volts),
    };
    Working::formula("room", "left to the limit", room, formula, vec![u, l])
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
