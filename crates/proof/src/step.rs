//! A mistake's changes as steps on the elements of one network: the same for every sample of that network's values.

use crate::change::{Change, End, Failure};
use crate::network::{BRIDGE_OHMS, View};
use std::collections::BTreeMap;
use voltwright_circuit::Edit;
use voltwright_circuit::{Law, Network, Resistor};
use voltwright_job::nets::Terminals;
use voltwright_job::{Job, PartKind, Terminal};
use voltwright_quantity::Quantity;

/// What a part has between its terminals when it is shorted, ohms: common practice.
const SHORTED_OHMS: f64 = 0.05;
/// Times its nominal voltage that an output without cut-off reaches when its feedback is open: common practice.
const HIGH: f64 = 1.5;
/// Resistance of a contact of a plug that sits where it should not, ohms: common practice.
const CONTACT_OHMS: f64 = 0.01;

/// A change of a network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// An element is gone.
    Remove(usize),
    /// A resistor's ends are elsewhere.
    Rewire {
        /// The element.
        element: usize,
        /// Its ends now.
        ends: [usize; 2],
    },
    /// A wire that had no place in this network has one now.
    Join {
        /// Its ends.
        ends: [usize; 2],
        /// Its resistance.
        ohms: f64,
        /// The wire, if it is one: it can burn.
        wire: Option<usize>,
    },
    /// A diode or clamp is the other way round.
    Turn(usize),
    /// A source, or a converter's output by index, has another voltage.
    Raise(usize, usize, f64),
    /// A converter's output, by index, gives nothing.
    Kill(usize, usize),
    /// The follower of this part no longer acts.
    Stick(usize),
    /// The capacitor of this part has its marked end at the other terminal.
    Flip(usize),
}

/// The steps that changes make on a network; none where they do not touch it.
pub fn steps(job: &Job, terminals: &Terminals, view: &View, changes: &[Change]) -> Vec<Step> {
    let node = |t: Terminal| view.at[terminals.index(t)];
    let mut steps = Vec::new();
    for (wire, ends) in ends_of(job, changes) {
        let ends = ends.and_then(|[a, b]| Some([node(a)?, node(b)?])).filter(|[a, b]| a != b);
        match (view.wires[wire], ends) {
            (Some(element), Some(ends)) if same_ends(&view.network, element, ends) => {}
            (Some(element), Some(ends)) => steps.push(Step::Rewire { element, ends }),
            (Some(element), None) => steps.push(Step::Remove(element)),
            (None, Some(ends)) => {
                steps.push(Step::Join { ends, ohms: BRIDGE_OHMS, wire: Some(wire) });
            }
            (None, None) => {}
        }
    }
    for change in changes {
        match change {
            Change::Off(_) | Change::End { .. } => {}
            Change::Bridge(a, b) => {
                if let (Some(a), Some(b)) = (node(*a), node(*b))
                    && a != b
                {
                    steps.push(Step::Join { ends: [a, b], ohms: BRIDGE_OHMS, wire: None });
                }
            }
            Change::Mate { plug, ways } => mate(&mut steps, view, &node, *plug, ways),
            Change::Turned(p) if matches!(job.parts[*p].kind, PartKind::Capacitor(_)) => {
                steps.push(Step::Flip(*p))
            }
            Change::Turned(p) => steps.extend(view.parts[*p].iter().map(|e| Step::Turn(*e))),
            Change::Failed(p, failure) => failed(&mut steps, job, view, &node, *p, *failure),
        }
    }
    steps
}

/// Where the ends of each wire that is changed are now; nothing if it is off.
fn ends_of(job: &Job, changes: &[Change]) -> BTreeMap<usize, Option<[Terminal; 2]>> {
    let mut ends = BTreeMap::new();
    for change in changes {
        match change {
            Change::Off(wire) => _ = ends.insert(*wire, None),
            Change::End { wire, end, at } => {
                let now = ends.entry(*wire).or_insert(Some([job.wires[*wire].from, job.wires[*wire].to]));
                if let Some(now) = now {
                    now[usize::from(*end == End::To)] = *at;
                }
            }
            _ => {}
        }
    }
    ends
}

fn same_ends(network: &Network, element: usize, [a, b]: [usize; 2]) -> bool {
    match &network.elements[element].law {
        Law::Resistor(r) => (r.a, r.b) == (a, b) || (r.b, r.a) == (a, b),
        _ => false,
    }
}

fn mate(
    steps: &mut Vec<Step>,
    view: &View,
    node: &impl Fn(Terminal) -> Option<usize>,
    plug: usize,
    ways: &[Option<Terminal>],
) {
    for (w, at) in ways.iter().enumerate() {
        let ends = node(Terminal::Plug(plug, w)).zip(at.and_then(node)).map(|(a, b)| [a, b]);
        match (view.contacts[plug][w], ends.filter(|[a, b]| a != b)) {
            (Some(element), Some(ends)) if same_ends(&view.network, element, ends) => {}
            (Some(element), Some(ends)) => steps.push(Step::Rewire { element, ends }),
            (Some(element), None) => steps.push(Step::Remove(element)),
            (None, Some(ends)) => steps.push(Step::Join { ends, ohms: CONTACT_OHMS, wire: None }),
            (None, None) => {}
        }
    }
}

fn failed(
    steps: &mut Vec<Step>,
    job: &Job,
    view: &View,
    node: &impl Fn(Terminal) -> Option<usize>,
    p: usize,
    failure: Failure,
) {
    let elements = &view.parts[p];
    let part = &job.parts[p];
    let through = |a: usize, b: usize| {
        let ends = node(Terminal::Part(p, a)).zip(node(Terminal::Part(p, b))).filter(|(a, b)| a != b);
        ends.map(|(a, b)| Step::Join { ends: [a, b], ohms: SHORTED_OHMS, wire: None })
    };
    let is_cold = !elements.iter().any(|e| !matches!(view.network.elements[*e].law, Law::Resistor(_)));
    match failure {
        Failure::Stuck => steps.push(Step::Stick(p)),
        Failure::Open => steps.extend(elements.iter().map(|e| Step::Remove(*e))),
        Failure::Shorted => {
            steps.extend(elements.iter().map(|e| Step::Remove(*e)));
            let far = match &part.kind {
                PartKind::Regulator(_) => 2,
                PartKind::Converter(_) => part
                    .terminals
                    .iter()
                    .position(|t| t.ends_with(".plus") && !t.starts_with("in."))
                    .unwrap_or(1),
                _ => 1,
            };
            steps.extend(through(0, far));
        }
        // With the power off a supply is what lies across its outputs, however it failed.
        Failure::High(_) | Failure::Dead(_) if is_cold => {}
        Failure::High(output) => steps.extend(raise(part, elements, output)),
        Failure::Dead(output) => match (&part.kind, elements.as_slice()) {
            (PartKind::Converter(_), [element]) => steps.push(Step::Kill(*element, output)),
            (_, all) => steps.extend(all.get(output).map(|e| Step::Remove(*e))),
        },
    }
}

/// The voltage of an output that is as high as it goes: its own cut-off at its highest, or half as much again as it
/// should be. Nothing for what is no such output.
pub fn highest(part: &voltwright_job::Part, output: usize) -> Option<f64> {
    let (PartKind::MainsSupply(s) | PartKind::Converter(s)) = &part.kind else { return None };
    let o = s.outputs.get(output)?;
    let volts = o.volts.nominal().si();
    let cut_off = o.cuts_off_at.as_ref().map(|b| b.low.si().abs().max(b.high.si().abs()));
    Some(volts.signum() * cut_off.unwrap_or(HIGH * volts.abs()))
}

fn raise(part: &voltwright_job::Part, elements: &[usize], output: usize) -> Option<Step> {
    let high = highest(part, output)?;
    match (&part.kind, elements) {
        (PartKind::Converter(_), [element]) => Some(Step::Raise(*element, output, high)),
        (_, all) => all.get(output).map(|e| Step::Raise(*e, 0, high)),
    }
}

/// The edits that steps make on a network of certain values.
pub fn edits(network: &Network, steps: &[Step], edits: &mut Vec<Edit>) {
    edits.clear();
    for step in steps {
        match *step {
            Step::Remove(e) => edits.push(Edit::Remove(e)),
            Step::Rewire { element, ends: [a, b] } => {
                edits.push(Edit::Remove(element));
                edits.push(Edit::Add(Law::Resistor(Resistor { a, b, ohms: network.ohms(element) })));
            }
            Step::Join { ends: [a, b], ohms, .. } => {
                edits.push(Edit::Add(Law::Resistor(Resistor { a, b, ohms })))
            }
            Step::Turn(e) => replace(network, edits, e, turned),
            Step::Raise(e, output, volts) => replace(network, edits, e, |law| raised(law, output, volts)),
            Step::Kill(e, output) => replace(network, edits, e, |law| killed(law, output)),
            Step::Stick(_) | Step::Flip(_) => {}
        }
    }
}

fn replace(network: &Network, edits: &mut Vec<Edit>, element: usize, by: impl Fn(&mut Law)) {
    let mut law = network.elements[element].law.clone();
    by(&mut law);
    edits.push(Edit::Remove(element));
    edits.push(Edit::Add(law));
}

fn turned(law: &mut Law) {
    match law {
        Law::Diode(d) => std::mem::swap(&mut d.anode, &mut d.cathode),
        Law::Clamp(c) => std::mem::swap(&mut c.anode, &mut c.cathode),
        _ => {}
    }
}

/// The voltage is what the part can drive: of what the law allows, none is held back.
fn raised(law: &mut Law, output: usize, volts: f64) {
    match law {
        Law::Source(s) => s.volts = volts,
        Law::Converter(c) => {
            if let Some(o) = c.outputs.get_mut(output) {
                o.volts = volts;
            }
        }
        _ => {}
    }
}

fn killed(law: &mut Law, output: usize) {
    if let Law::Converter(c) = law
        && output < c.outputs.len()
    {
        c.outputs.remove(output);
    }
}
