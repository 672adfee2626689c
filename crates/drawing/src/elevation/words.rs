//! The elevation in words: what arrives at each load, and where every wire lies.

use super::chart::Chart;
use super::landing::Landing;
use super::potential::Potential;
use super::slots::Slot;
use crate::colours::Coat;
use crate::numbers;
use voltwright_job::Terminal;
use voltwright_proof::reading::Function;
use voltwright_quantity::Quantity;

/// All of it.
pub(super) fn text(chart: &Chart<'_>) -> String {
    let mut parts = vec![way(chart)];
    parts.extend(chart.potentials.note().map(|(wrong, drawn)| format!("STOP: {wrong}; {drawn}")));
    parts.extend(chart.flags.words(chart.job));
    parts.extend(chart.landings.iter().map(|l| landing(chart, l)));
    parts.extend(coms(chart));
    parts.extend(open(chart));
    parts.extend((0..chart.job.wires.len()).map(|w| wire(chart, w)));
    parts.push(
        "Heights: a symmetric logarithm of the potential, mains on top; within a rail's tolerance and near 0 V magnified; neutral is \
         drawn just above 0 V, protective earth and what is joined to nothing just below; conductors side by side are drawn apart between \
         their ends, in the order of their potentials"
            .into(),
    );
    parts.join(". ") + "."
}

fn volts(value: f64) -> String {
    numbers::value(Function::Volts, value)
}

/// The things in their order, with the gate.
fn way(chart: &Chart<'_>) -> String {
    let names = |out: bool| -> Vec<&str> {
        chart.slots.iter().filter(|s| chart.is_out(**s) == out).map(|s| s.name(chart.job)).collect()
    };
    let (inside, outside) = (names(false).join(", "), names(true).join(", "));
    match outside.is_empty() {
        true => format!("From the wall to the loads: {inside}; everything is plugged in"),
        false => format!(
            "From the wall to the loads: {inside}; beyond the gate, not plugged in at this stage: {outside}"
        ),
    }
}

fn landing(chart: &Chart<'_>, landing: &Landing) -> String {
    let (load, rail) = (&chart.job.loads[landing.load].name, &chart.job.rails[landing.rail]);
    let limits = match (&rail.tolerance, landing.holds) {
        (Some(t), Some(holds)) => {
            let word = if holds { "inside" } else { "OUTSIDE" };
            format!(", {word} its tolerance of {}", numbers::range(Function::Volts, t.low.si(), t.high.si()))
        }
        _ => ", no tolerance entered".into(),
    };
    format!("{load} sees {} at {}{limits}", volts(landing.seen), rail.name)
}

fn coms(chart: &Chart<'_>) -> Vec<String> {
    let com = |s: &Slot| match s {
        Slot::Load(l) => {
            let lift = chart.potentials.com(*l)?;
            Some(format!("0 V of {} lies at {}", chart.job.loads[*l].name, volts(lift)))
        }
        _ => None,
    };
    chart.slots.iter().filter_map(com).collect()
}

fn open(chart: &Chart<'_>) -> Vec<String> {
    let open = |p: &usize| {
        format!(
            "{} is open; dashed conductors lie where they would be with it closed",
            chart.job.parts[*p].key
        )
    };
    chart.open.iter().map(open).collect()
}

fn wire(chart: &Chart<'_>, w: usize) -> String {
    let wire = &chart.job.wires[w];
    let at = |t: Terminal| match chart.potentials.at(t) {
        Potential::Volts(v) => volts(v),
        Potential::Beyond(v) => format!("{} once it is plugged in", volts(v)),
        Potential::Line => "line".into(),
        Potential::Neutral => "neutral".into(),
        Potential::Earth => "protective earth".into(),
        Potential::Shorted => "line and neutral shorted".into(),
        Potential::Unknown => "joined to nothing".into(),
    };
    let dead = chart.bundles.iter().any(|b| b.wires.contains(&w) && !b.is_alive);
    let dead = if dead { ", no power" } else { "" };
    let coat = Coat::of(wire).words();
    format!("{coat} from {} ({}) to {} ({}){dead}", wire.from_text, at(wire.from), wire.to_text, at(wire.to))
}
