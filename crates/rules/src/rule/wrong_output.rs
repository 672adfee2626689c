//! Does every way of a load lie on an output that is made for it?
//!
//! A look at the wiring alone, before any circuit is solved: through wires, contacts, fuses, switches and diodes, a way
//! of a rail must reach outputs of that rail's voltage only (within a fifth), and no way of com may reach a live end.
//! Outputs of different voltages on one conductor are told by themselves.
//!
//! What the circuit makes of it is the other rules' matter; this names the cause.

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::Sink;
use std::collections::BTreeMap;
use voltwright_job::nets::Nets;
use voltwright_job::{Job, PartKind, Terminal, WayUse};
use voltwright_model::Solved;
use voltwright_quantity::Voltage;

static WRONG: Code =
    Code::new("wrong-output", Stretch::Wiring, "A way of a load lies on an output of another voltage.");
static JOINED: Code =
    Code::new("outputs-joined", Stretch::Wiring, "Outputs of different voltages are one conductor.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&WRONG, &JOINED];

/// How far an output may be from the rail it is wired to, as a share: beyond any tolerance of a rail.
const OFF: f64 = 0.2;

/// A live end: its name and its voltage against its return.
#[derive(Clone)]
struct Live {
    name: String,
    volts: Voltage,
}

/// Judges every way of every load, and every conductor.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    if job.wires.is_empty() || !sink.wants_any(CODES) {
        return;
    }
    let nets = &solved.wiring().paths;
    let live = live_ends(job, nets);
    for (key, ends) in live.values().enumerate() {
        let differs = |e: &&Live| off(e.volts, ends[0].volts);
        let other = ends.iter().find(differs);
        sink.judge(&JOINED, key, Severity::Stop, if other.is_some() { -1.0 } else { 1.0 }, || {
            let names: Vec<String> = ends.iter().map(|e| format!("{} ({})", e.name, e.volts)).collect();
            Finding::new(names.join(", "), format!("{} are joined by the wiring.", names.join(" and ")))
                .cure("follow the wires of both, one by one")
        });
    }
    let mut key = 0;
    for (l, load) in job.loads.iter().enumerate() {
        for (s, socket) in load.sockets.iter().enumerate() {
            for (w, (way, span)) in socket.ways.iter().enumerate() {
                key += 1;
                let ends = live.get(&nets.net(Terminal::Socket(l, s, w))).map_or(&[][..], Vec::as_slice);
                let (about, wrong, is) = match way {
                    WayUse::Rail(r) => {
                        let rail = &job.rails[*r];
                        let wrong = ends.iter().find(|e| off(e.volts, rail.nominal.nominal()));
                        (
                            About::Rail { load: l, rail: *r },
                            wrong,
                            format!("{} ({})", rail.name.text, rail.nominal.nominal()),
                        )
                    }
                    WayUse::Com => (About::Load(l), ends.first(), "com".to_owned()),
                    WayUse::Chassis | WayUse::Nothing => continue,
                };
                sink.judge(&WRONG, key, Severity::Stop, if wrong.is_some() { -1.0 } else { 1.0 }, || {
                    let (name, volts) = wrong.map_or(("", Voltage::ZERO), |e| (e.name.as_str(), e.volts));
                    let way = format!("way {} of {}.{}", w + 1, load.key.text, socket.name.text);
                    let says = format!("{way} is {is}, but the wiring brings it {name} of {volts}.");
                    Finding::new(format!("{}, {way}", load.name), says)
                        .about(about)
                        .cure("follow its wire to both ends; the figures behind it follow from this")
                        .at(span)
                });
            }
        }
    }
}

fn off(a: Voltage, b: Voltage) -> bool {
    ((a - b) / b).abs() > OFF
}

/// The live ends of all outputs and regulators, by conductor; a raw supply has no voltage that a rail could match.
fn live_ends(job: &Job, nets: &Nets) -> BTreeMap<usize, Vec<Live>> {
    let mut live: BTreeMap<usize, Vec<Live>> = BTreeMap::new();
    for (p, part) in job.parts.iter().enumerate() {
        let ends: Vec<(usize, Live)> = match &part.kind {
            PartKind::MainsSupply(s) | PartKind::Converter(s) => s
                .outputs
                .iter()
                .enumerate()
                .filter_map(|(o, output)| {
                    let terminal = crate::demand::live_terminal(job, p, o)?;
                    // Where the plus is the common end, the minus lies below it.
                    let is_plus = part.terminals[terminal].ends_with(".plus");
                    let volts = output.volts.nominal() * if is_plus { 1.0 } else { -1.0 };
                    Some((terminal, Live { name: format!("{}.{}", part.key.text, output.name.text), volts }))
                })
                .collect(),
            PartKind::Regulator(r) => {
                vec![(2, Live { name: part.key.text.clone(), volts: r.volts.nominal() })]
            }
            _ => Vec::new(),
        };
        for (t, end) in ends {
            live.entry(nets.net(Terminal::Part(p, t))).or_default().push(end);
        }
    }
    live
}
