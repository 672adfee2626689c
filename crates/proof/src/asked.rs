//! What first power asks: the readings of the plan, and at each live stage where it has none, what every output gives.
//!
//! No mistake that was tried needs those. But a supply that gives what it should before anything is put on it, and still does
//! after each thing that was, is what a careful engineer looks at (common practice), and it stands in the record.

use crate::proof::Plan;
use crate::reading::Function;
use crate::setup::{Setup, Table};
use voltwright_job::{PartKind, Terminal};

/// All readings that are asked, in the order of their stages.
pub(crate) fn asked(setup: &Setup<'_>, plan: &Plan) -> Vec<usize> {
    let planned = |s: usize| plan.readings.iter().copied().filter(move |r| setup.readings[*r].stage == s);
    let mut asked = Vec::new();
    for s in 0..setup.stages.len() {
        match planned(s).next() {
            Some(_) => asked.extend(planned(s)),
            None => asked.extend(outputs(setup, s)),
        }
    }
    asked
}

/// The voltage of each output at a live stage, where it is read against the black lead's point; none with the power off.
fn outputs(setup: &Setup<'_>, s: usize) -> Vec<usize> {
    let Table::Live(live) = &setup.tables[s] else { return Vec::new() };
    let (h, datum) = (&setup.harness, live.view.network.datum);
    let node = |t: Terminal| live.view.at[h.wiring.terminals().index(t)];
    let reads = |n: usize| {
        let of =
            |r: &usize| setup.readings[*r].function == Function::Volts && setup.readings[*r].nodes.0 == n;
        live.readings.clone().find(of)
    };
    let mut readings: Vec<usize> = Vec::new();
    for [plus, minus] in ends(setup) {
        let (Some(plus), Some(minus)) = (node(plus), node(minus)) else { continue };
        let end = if plus == datum { minus } else { plus };
        readings.extend(reads(end).filter(|r| !readings.contains(r)));
    }
    readings
}

/// Both ends of every output of a part that makes a direct voltage.
fn ends(setup: &Setup<'_>) -> Vec<[Terminal; 2]> {
    let job = setup.job();
    let mut ends = Vec::new();
    for (p, part) in job.parts.iter().enumerate() {
        let end = |name: &str| job.terminal(p, name);
        let mut output =
            |plus: &str, minus: &str| ends.extend(end(plus).zip(end(minus)).map(|(a, b)| [a, b]));
        match &part.kind {
            PartKind::MainsSupply(s) | PartKind::Converter(s) => s
                .outputs
                .iter()
                .for_each(|o| output(&format!("{}.plus", o.name.text), &format!("{}.minus", o.name.text))),
            PartKind::RawSupply(s) => s
                .outputs
                .iter()
                .for_each(|o| output(&format!("{}.plus", o.name.text), &format!("{}.minus", o.name.text))),
            PartKind::Regulator(_) => output("out", "ref"),
            _ => {}
        }
    }
    ends
}
