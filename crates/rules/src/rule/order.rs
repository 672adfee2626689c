//! Does the rail that must be there first really come first, and do the signals mean the same on both sides?
//!
//! An order is assured if the later rail passes an interlock whose sense lies on the earlier one, or if the latest
//! moment of the first (`ready`, and that of the regulators between) lies before the earliest moment of the second.
//! A rail that hangs on a regulator comes after its source; two outputs of one supply come in any order unless their
//! times say otherwise. Power-good: level and delay of the supply against what the load wants. Enable: level on which
//! the supply starts against the level that the load gives.
//!
//! That an order matters at all is the load's affair and entered with it (for three-rail memories sources disagree:
//! makers' notes ask for −5 V first, last off; others say only with overshoot).

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::Sink;
use voltwright_job::nets::Nets;
use voltwright_job::{Bounds, Job, Load, Order, PartKind, Terminal, WayUse};
use voltwright_model::Solved;
use voltwright_quantity::{Quantity, Time, Voltage};

static NOT_ASSURED: Code =
    Code::new("order-not-assured", Stretch::Load, "Nothing assures that a rail comes before another.");
static POWER_GOOD: Code =
    Code::new("power-good", Stretch::Load, "The power-good signal is not what the load wants.");
static ENABLE: Code =
    Code::new("enable-level", Stretch::Supply, "The level that starts the supply is not the load's.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&NOT_ASSURED, &POWER_GOOD, &ENABLE];

/// Share of the earlier rail below which an interlock must not close: common practice.
const CLOSES_AT_LEAST: f64 = 0.75;

/// Judges every order and signal.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    let nets = &solved.wiring().conductors;
    for (l, load) in job.loads.iter().enumerate() {
        for (k, order) in load.order.iter().enumerate() {
            judge_order(job, sink, nets, l, load, order, l * 1000 + k);
        }
        signals(job, sink, load);
    }
}

fn judge_order(job: &Job, sink: &mut Sink, nets: &Nets, l: usize, load: &Load, order: &Order, key: usize) {
    let (first, then) = (&job.rails[order.first].name.text, &job.rails[order.then].name.text);
    let subject = format!("{}, {first} before {then}", load.name);
    let (Some(way_first), Some(way_then)) =
        (job.way(l, WayUse::Rail(order.first)), job.way(l, WayUse::Rail(order.then)))
    else {
        return;
    };
    if job.wires.is_empty() {
        return sink.missing(&NOT_ASSURED, subject, "[wiring] wires", "whether the order is assured");
    }
    match interlock(job, nets, (way_first, order.first), way_then) {
        Some(Interlocking::Works) => {
            sink.judge(&NOT_ASSURED, key, Severity::Stop, 1.0, || Finding::new("", ""));
            return;
        }
        Some(Interlocking::Fails(name, why)) => {
            sink.judge(&NOT_ASSURED, key, Severity::Stop, -1.0, || {
                Finding::new(
                    &subject,
                    format!("The interlock {name} does not assure that {first} comes before {then}: {why}."),
                )
                .about(About::Load(l))
                .at(&order.span)
            });
            return;
        }
        None => {}
    }
    let (a, b) = (ready(job, nets, way_first), ready(job, nets, way_then));
    let why = if order.why.is_empty() { String::new() } else { format!(" ({})", order.why) };
    let cure = format!(
        "an interlock in {then} whose sense lies on {first}, so that {then} also goes when {first} is lost"
    );
    match (a, b) {
        (Ok(a), Ok(b)) => {
            let margin = (b.low - a.high) / a.high.max(Time::seconds(1e-6));
            sink.judge(&NOT_ASSURED, key, Severity::Stop, margin, || {
                let says = format!(
                    "{first} is up {} to {} after switch-on and {then} after {} to {}: {then} may come first{why}.",
                    a.low, a.high, b.low, b.high
                );
                Finding::new(&subject, says).about(About::Load(l)).cure(&cure).at(&order.span)
            });
        }
        (a, b) => {
            sink.judge(&NOT_ASSURED, key, Severity::Stop, -1.0, || {
                let says = format!("Nothing assures that {first} comes before {then}{why}, and no times are entered from which it would follow.");
                Finding::new(&subject, says).about(About::Load(l)).cure(&cure).at(&order.span)
            });
            let keys: Vec<String> = [a, b].into_iter().filter_map(|time| time.err().flatten()).collect();
            let enter = if keys.is_empty() { "[part.…] with ready".to_owned() } else { keys.join(", ") };
            sink.missing(&NOT_ASSURED, subject, enter, "whether their times assure the order");
        }
    }
}

/// What an interlock in the later rail is good for.
enum Interlocking {
    Works,
    Fails(String, String),
}

/// The interlock that the later rail passes, with its sense on the earlier rail.
fn interlock(
    job: &Job,
    nets: &Nets,
    (first, rail): (Terminal, usize),
    then: Terminal,
) -> Option<Interlocking> {
    let rail = &job.rails[rail];
    let negative = rail.nominal.nominal() < Voltage::ZERO;
    job.parts.iter().enumerate().find_map(|(p, part)| {
        let at = |t| nets.net(Terminal::Part(p, t));
        let PartKind::Interlock(i) = &part.kind else { return None };
        if at(1) != nets.net(then) {
            return None;
        }
        // On a negative rail the sense's minus lies on the rail and its plus on 0 V.
        let (on_rail, other) = if negative { (3, 2) } else { (2, 3) };
        let name = part.key.text.clone();
        let fails = |why: String| Some(Interlocking::Fails(name.clone(), why));
        if at(on_rail) != nets.net(first) {
            return match at(other) == nets.net(first) {
                true => fails("its sense is the wrong way round, so that it never closes".into()),
                false => None,
            };
        }
        let weakest = rail
            .tolerance
            .as_ref()
            .map_or(rail.nominal.nominal().abs() * 0.9, |t| t.low.abs().min(t.high.abs()));
        let (low, high) = (i.closes_at.spread.low, i.closes_at.spread.high);
        if high > weakest {
            return fails(format!(
                "it closes at up to {high}, and {} may be only {weakest} in use",
                rail.name.text
            ));
        }
        if low < rail.nominal.nominal().abs() * CLOSES_AT_LEAST {
            return fails(format!("it closes at {low} already, long before {} is there", rail.name.text));
        }
        Some(Interlocking::Works)
    })
}

/// When the source of a net is up: its own time, and before it that of what feeds it. If that is not known, the key to enter,
/// where there is one.
fn ready(job: &Job, nets: &Nets, at: Terminal) -> Result<Bounds<Time>, Option<String>> {
    ready_of_net(job, nets, nets.net(at), &mut Vec::new())
}

fn ready_of_net(
    job: &Job,
    nets: &Nets,
    net: usize,
    seen: &mut Vec<usize>,
) -> Result<Bounds<Time>, Option<String>> {
    if seen.contains(&net) {
        return Err(None);
    }
    seen.push(net);
    let mut missing = None;
    for p in 0..job.parts.len() {
        match ready_of_part(job, nets, net, p, seen) {
            Some(Ok(time)) => return Ok(time),
            Some(Err(key)) => missing = missing.or(key),
            None => {}
        }
    }
    Err(missing)
}

/// The same of a part, if it is the one that feeds the net.
fn ready_of_part(
    job: &Job,
    nets: &Nets,
    net: usize,
    p: usize,
    seen: &mut Vec<usize>,
) -> Option<Result<Bounds<Time>, Option<String>>> {
    let part = &job.parts[p];
    let at = |t: usize| nets.net(Terminal::Part(p, t));
    let or_key = |time: &Option<Bounds<Time>>, of: &str| {
        time.clone().ok_or_else(|| Some(format!("part.{}.{of}ready", part.key.text)))
    };
    let mut fed_by = |net: usize| ready_of_net(job, nets, net, seen);
    match &part.kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => {
            let feeds = |o: &usize| crate::demand::live_terminal(job, p, *o).is_some_and(|t| at(t) == net);
            let output = &s.outputs[(0..s.outputs.len()).find(feeds)?];
            let own = or_key(&output.ready, &format!("output.{}.", output.name.text));
            Some(match &part.kind {
                PartKind::Converter(_) => own.and_then(|own| Ok(later(fed_by(at(0))?, &own))),
                _ => own,
            })
        }
        PartKind::Regulator(r) if at(2) == net => {
            Some(or_key(&r.ready, "").and_then(|own| Ok(later(fed_by(at(0))?, &own))))
        }
        PartKind::Fuse(_) | PartKind::Diode(_) if at(0) == net || at(1) == net => {
            Some(fed_by(if at(0) == net { at(1) } else { at(0) }))
        }
        PartKind::Interlock(_) if at(1) == net => Some(fed_by(at(0))),
        _ => None,
    }
}

fn later(source: Bounds<Time>, own: &Bounds<Time>) -> Bounds<Time> {
    Bounds { low: source.low + own.low, high: source.high + own.high, ..source }
}

fn signals(job: &Job, sink: &mut Sink, load: &Load) {
    let supplies = job.parts.iter().enumerate().filter_map(|(p, part)| match &part.kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => Some((p, part, s)),
        _ => None,
    });
    for (p, part, s) in supplies {
        if let (Some((gives, _)), Some((wants, at))) = (&load.control, &s.enable)
            && gives != wants
        {
            sink.tell(&ENABLE, Severity::Stop, || {
                let says = format!(
                    "{} switches its supply on with the other level than {} starts on: always on, or never.",
                    load.name, part.key.text
                );
                Finding::new(&part.key.text, says)
                    .about(About::Part(p))
                    .cure("an inverter between them, or a supply with the other level")
                    .at(&at.span)
            });
        }
    }
    let Some(wants) = &load.power_good else { return };
    let Some((part, gives)) = job.parts.iter().find_map(|p| match &p.kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => s.power_good.as_ref().map(|g| (p, g)),
        _ => None,
    }) else {
        sink.tell(&POWER_GOOD, Severity::Caution, || {
            let says = format!("{} waits for a power-good signal and no supply gives one.", load.name);
            Finding::new(&load.name, says)
                .cure("a supervisor that also falls when the rails fall; a resistor and capacitor from +5 V does not see a brown-out")
                .at(&wants.span)
        });
        return;
    };
    let levels = wants.level.is_some() && gives.level.is_some() && wants.level != gives.level;
    let times = match (&wants.delay, &gives.delay) {
        (Some(w), Some(g)) => g.low.si() < w.low.si() || g.high.si() > w.high.si(),
        _ => false,
    };
    if levels || times {
        sink.tell(&POWER_GOOD, Severity::Caution, || {
            let what = if levels { "has the other level" } else { "comes at another time" };
            let says = format!("The power-good of {} {what} than {} wants.", part.key.text, load.name);
            Finding::new(&load.name, says)
                .cure("a supervisor with the right level and delay between them")
                .at(&gives.span)
        });
    }
}
