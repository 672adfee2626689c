//! The proof as a problem for another solver: the networks of every stage, every mistake in terms of the wiring, what is
//! watched and what can be read, and what was found. docs/mistakes.md says what it means.

use serde_json::{Value, json};
use voltwright_circuit::Base;
use voltwright_job::{Job, Terminal, nets};
use voltwright_proof::change::{Change, End, Failure};
use voltwright_proof::harm::{Threat, Watch};
use voltwright_proof::mains_effect::MainsJudge;
use voltwright_proof::mistake::Mistake;
use voltwright_proof::network::View;
use voltwright_proof::network::mains::MainsNetwork;
use voltwright_proof::pairs::Pair;
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::Function;
use voltwright_proof::setup::{Setup, Table};
use voltwright_proof::trial::nominal_volts;

/// Version of the shape of `schemas/mistakes.json`.
const FORMAT: u32 = 1;

/// Everything, with so many pairs as were tried.
pub fn of(proof: &Proof<'_>, pairs: &[Pair]) -> Value {
    let setup = &proof.setup;
    let job = setup.job();
    json!({
        "format": FORMAT,
        "job": job.title.text,
        "wiring": wiring(setup),
        "meter": meter(setup),
        "stages": (0..setup.stages.len()).map(|s| stage(setup, s)).collect::<Vec<_>>(),
        "mains": setup.mains.as_ref().map(|m| mains(setup, m)),
        "mistakes": proof.mistakes.iter().enumerate().map(|(m, mistake)| one(proof, m, mistake)).collect::<Vec<_>>(),
        "pairs": pairs.iter().map(|p| pair(proof, p)).collect::<Vec<_>>(),
        "plan": { "readings": proof.plan.readings, "cost": proof.plan.cost, "bound": proof.plan.bound },
    })
}

fn meter(setup: &Setup<'_>) -> Value {
    let accuracy = |function| {
        let (share, fixed) = setup.meter.accuracy(function);
        json!({ "share": share, "fixed": fixed })
    };
    json!({ "ohms": accuracy(Function::Ohms), "volts": accuracy(Function::Volts), "amps": accuracy(Function::Amps) })
}

/// What the conductors of the job are, for questions that need no currents.
fn wiring(setup: &Setup<'_>) -> Value {
    let (job, h) = (setup.job(), &setup.harness);
    let name = |t: Terminal| nets::name(job, t);
    let of_part = |p: usize| (0..job.parts[p].terminals.len()).map(move |t| Terminal::Part(p, t));
    let parts: Vec<Value> = job
        .parts
        .iter()
        .enumerate()
        .map(|(p, part)| {
            let pair = |(a, b): (usize, usize)| [name(Terminal::Part(p, a)), name(Terminal::Part(p, b))];
            json!({
                "name": part.key.text,
                "kind": part.kind.name(),
                "terminals": of_part(p).map(name).collect::<Vec<_>>(),
                "joined": nets::joined_terminals(part).into_iter().map(|t| name(Terminal::Part(p, t))).collect::<Vec<_>>(),
                "through": nets::through(&part.kind).into_iter().map(pair).collect::<Vec<_>>(),
                "mains": of_part(p).filter(|t| h.wiring.is_on_mains(*t)).map(name).collect::<Vec<_>>(),
                "earth": of_part(p).filter(|t| h.is_earth(*t)).map(name).collect::<Vec<_>>(),
            })
        })
        .collect();
    let plugs: Vec<Value> = job
        .plugs
        .iter()
        .enumerate()
        .map(|(p, plug)| {
            let ways = (0..plug.ways).map(|w| name(Terminal::Plug(p, w)));
            json!({ "name": plug.key.text, "ways": ways.collect::<Vec<_>>() })
        })
        .collect();
    let wires: Vec<Value> =
        job.wires.iter().map(|w| json!({ "from": name(w.from), "to": name(w.to) })).collect();
    json!({ "parts": parts, "plugs": plugs, "wires": wires })
}

/// Where terminals, wires, contacts and parts are in a network.
fn view(job: &Job, view: &View) -> Value {
    let terminals: serde_json::Map<String, Value> = nets::all(job)
        .into_iter()
        .zip(&view.at)
        .filter_map(|(t, node)| Some((nets::name(job, t), json!((*node)?))))
        .collect();
    let contacts: serde_json::Map<String, Value> =
        job.plugs.iter().zip(&view.contacts).map(|(p, c)| (p.key.text.clone(), json!(c))).collect();
    let parts: serde_json::Map<String, Value> =
        job.parts.iter().zip(&view.parts).map(|(p, e)| (p.key.text.clone(), json!(e))).collect();
    json!({ "terminals": terminals, "wires": view.wires, "contacts": contacts, "parts": parts })
}

fn mains(setup: &Setup<'_>, mains: &MainsNetwork) -> Value {
    let job = setup.job();
    let judge = MainsJudge::new(&setup.harness, Some(mains));
    let fuses = (0..job.parts.len()).filter_map(|p| Some((p, judge.fuse_opens(p)?)));
    let supplies = (0..job.parts.len()).filter_map(|p| Some((p, judge.needs(p)?)));
    let named = |(p, volts): (usize, f64)| (job.parts[p].key.text.clone(), json!(volts));
    json!({
        "view": view(job, &mains.view), "network": mains.view.network, "outlet": mains.outlet, "volts": mains.volts,
        "fuses": fuses.map(named).collect::<serde_json::Map<_, _>>(),
        "supplies": supplies.map(named).collect::<serde_json::Map<_, _>>(),
        "reversible": judge.is_reversible(),
    })
}

fn stage(setup: &Setup<'_>, s: usize) -> Value {
    let job = setup.job();
    let stage = &setup.stages[s];
    let (of_view, bases, range): (&View, Vec<&Base>, _) = match &setup.tables[s] {
        Table::Cold(cold) => (&cold.view, cold.bases.iter().collect(), cold.readings.clone()),
        Table::Live(live) => (&live.view, live.corners.iter().collect(), live.readings.clone()),
    };
    let readings: Vec<Value> = range
        .map(|r| {
            let reading = &setup.readings[r];
            json!({
                "index": r, "function": reading.function, "nodes": [reading.nodes.0, reading.nodes.1],
                "red": nets::name(job, reading.red), "black": nets::name(job, reading.black), "cost": reading.cost,
                "range": interval(reading.range), "window": interval(reading.window),
            })
        })
        .collect();
    let networks: Vec<_> = bases.iter().map(|b| b.network()).collect();
    let mut out = json!({
        "name": stage.name, "live": stage.live, "view": view(job, of_view), "networks": networks, "readings": readings,
    });
    if let Table::Live(live) = &setup.tables[s] {
        out["followers"] = live.followers.iter().map(|f| {
            json!({ "part": job.parts[f.part].key.text, "elements": f.elements, "plus": f.plus, "minus": f.minus,
                    "threshold": f.threshold, "above": f.above })
        }).collect();
        out["fuses"] = live.fuses.iter().map(|(p, element, opens)| {
            json!({ "part": job.parts[*p].key.text, "element": element, "opens": opens })
        }).collect();
        out["watched"] = live.watched.iter().map(|w| watched(setup, w.threat, w.watch)).collect();
        out["wires_survive"] =
            (0..job.wires.len()).map(|w| voltwright_proof::harm::wire_survives(&setup.harness, w)).collect();
    }
    out
}

/// No JSON number is infinite: null stands for it.
fn interval(of: voltwright_proof::reading::Interval) -> Value {
    let end = |v: f64| if v.is_finite() { json!(v) } else { Value::Null };
    json!({ "low": end(of.low), "high": end(of.high) })
}

fn watched(setup: &Setup<'_>, threat: Threat, watch: Watch) -> Value {
    let protected = threat.is_worth_protecting(setup.job());
    let mut out = json!({ "threat": format!("{threat:?}"), "protected": protected });
    if let Threat::Capacitor(p) = threat {
        out["capacitor"] = json!(setup.job().parts[p].key.text);
    }
    let finite = |v: f64| if v.is_finite() { json!(v) } else { Value::Null };
    match watch {
        Watch::Volts { plus, minus, low, high } => {
            out["volts"] = json!({ "plus": plus, "minus": minus, "low": low, "high": finite(high) });
        }
        Watch::Amps { element, most } => out["amps"] = json!({ "element": element, "most": most }),
        Watch::Order { first, then } => {
            out["order"] = json!({ "first": [first.0, first.1], "first_nominal": first.2,
                                   "then": [then.0, then.1], "then_nominal": then.2 });
        }
    }
    out
}

fn change(job: &Job, change: &Change) -> Value {
    let name = |t: Terminal| nets::name(job, t);
    match change {
        Change::Off(wire) => json!({ "change": "off", "wire": wire }),
        Change::End { wire, end, at } => {
            let end = if *end == End::From { "from" } else { "to" };
            json!({ "change": "end", "wire": wire, "end": end, "at": name(*at) })
        }
        Change::Bridge(a, b) => json!({ "change": "bridge", "a": name(*a), "b": name(*b) }),
        Change::Mate { plug, ways } => {
            let ways: Vec<Value> = ways.iter().map(|w| w.map_or(Value::Null, |t| json!(name(t)))).collect();
            json!({ "change": "mate", "plug": job.plugs[*plug].key.text, "ways": ways })
        }
        Change::Turned(p) => json!({ "change": "turned", "part": job.parts[*p].key.text }),
        Change::Failed(p, failure) => {
            let (word, output) = match failure {
                Failure::Shorted => ("shorted", None),
                Failure::Open => ("open", None),
                Failure::High(o) => ("high", Some(*o)),
                Failure::Dead(o) => ("dead", Some(*o)),
                Failure::Stuck => ("stuck", None),
            };
            let mut out = json!({ "change": "failed", "part": job.parts[*p].key.text, "how": word });
            if let Some(output) = output {
                out["output"] = json!(output);
                out["volts"] = json!(voltwright_proof::step::highest(&job.parts[*p], output));
            }
            out
        }
    }
}

fn one(proof: &Proof<'_>, index: usize, mistake: &Mistake) -> Value {
    let outcome = &proof.class(index).outcome;
    let stage = |s: usize| &proof.setup.stages[s].name;
    let prepared = &proof.class(index).prepared;
    let volts = (0..proof.setup.stages.len()).map(|s| nominal_volts(&proof.setup, prepared, s));
    json!({
        "kind": mistake.kind().code,
        "says": mistake.says,
        "changes": mistake.changes.iter().map(|c| change(proof.setup.job(), c)).collect::<Vec<_>>(),
        "harm": outcome.harm.map(|(s, harm)| json!({ "stage": stage(s), "threat": format!("{:?}", harm.threat) })),
        "caught": outcome.harm.map(|_| outcome.caught.iter().collect::<Vec<_>>()),
        "hunting": outcome.hunting.iter().map(|s| stage(*s)).collect::<Vec<_>>(),
        "volts": volts.collect::<Vec<_>>(),
    })
}

fn pair(proof: &Proof<'_>, pair: &Pair) -> Value {
    let stage = |s: usize| &proof.setup.stages[s].name;
    json!({
        "first": proof.classes[pair.first].mistakes[0],
        "second": proof.classes[pair.second].mistakes[0],
        "harm": pair.harm.map(|(s, _)| stage(s)),
        "caught_at": pair.caught_at.map(stage),
    })
}
