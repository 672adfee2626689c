//! Neighbours of a tree-like harness by correction and the plain way: nanoseconds a point, and how many fall back.
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]

#[path = "../tests/common/mod.rs"]
mod common;

use std::collections::BTreeMap;
use std::hint::black_box;
use std::time::{Duration, Instant};
use voltwright_circuit::{Base, Edit, Law, Network, Resistor, Unsolved, Workspace};

/// Best of several runs over all of a list, in nanoseconds an item.
fn nanos<T>(items: &[T], mut work: impl FnMut(&T)) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..7 {
        let (start, mut calls) = (Instant::now(), 0);
        while calls == 0 || start.elapsed() < Duration::from_millis(60) {
            items.iter().for_each(&mut work);
            calls += items.len();
        }
        best = best.min(start.elapsed().as_secs_f64() * 1e9 / calls as f64);
    }
    best
}

fn wires(net: &Network) -> Vec<(usize, Resistor)> {
    let wires = net.elements.iter().enumerate().filter_map(|(e, element)| match &element.law {
        Law::Resistor(r) => Some((e, r.clone())),
        _ => None,
    });
    wires.collect()
}

/// Each wire with an end on every other node.
fn moved(net: &Network) -> Vec<Vec<Edit>> {
    let mut all = Vec::new();
    for (e, wire) in wires(net) {
        for node in (0..net.nodes.len()).filter(|n| *n != wire.a && *n != wire.b) {
            all.push(vec![Edit::Remove(e), Edit::Add(Law::Resistor(Resistor { b: node, ..wire.clone() }))]);
        }
    }
    all
}

/// Each wire off.
fn off(net: &Network) -> Vec<Vec<Edit>> {
    wires(net).into_iter().map(|(e, _)| vec![Edit::Remove(e)]).collect()
}

/// Each node bridged to each of the next few.
fn bridged(net: &Network) -> Vec<Vec<Edit>> {
    let n = net.nodes.len();
    let pairs = (0..n).flat_map(|a| (a + 1..(a + 6).min(n)).map(move |b| (a, b)));
    pairs.map(|(a, b)| vec![Edit::Add(Law::Resistor(Resistor { a, b, ohms: 0.01 }))]).collect()
}

fn row(base: &Base, name: &str, edits: &[Vec<Edit>]) {
    let mut room = Workspace::new();
    let mut doubts = BTreeMap::new();
    let (mut unsolved, mut changed) = (0, 0);
    let (mut quick, mut slow) = (Vec::new(), Vec::new());
    for edits in edits {
        match room.solve(base, edits) {
            Ok(found) => {
                let moved = found.changed().next().is_some();
                changed += usize::from(moved);
                if let Some(doubt) = found.doubt {
                    *doubts.entry(doubt).or_insert(0) += 1;
                } else if moved {
                    slow.push(edits.clone());
                } else {
                    quick.push(edits.clone());
                }
            }
            Err(_) => unsolved += 1,
        }
    }
    let mut solve = |edits: &Vec<Edit>| {
        if let Ok(found) = room.solve(base, edits) {
            black_box(found.volts[0]);
        }
    };
    let all = nanos(edits, &mut solve);
    let of_quick = nanos(&quick, &mut solve);
    let of_slow = if slow.is_empty() { 0.0 } else { nanos(&slow, &mut solve) };
    let some: Vec<&Vec<Edit>> = edits.iter().step_by(1 + edits.len() / 60).collect();
    let plain = nanos(&some, |edits| drop(black_box(base.network().edited(edits).solve())));
    println!(
        "  {name:8} {:6} edits: {all:7.0} ns a point, {of_quick:5.0} where no state changes, {of_slow:6.0} where one \
         does ({changed}); plain way {plain:7.0} ns; fell back {doubts:?}, unsolved {unsolved}",
        edits.len()
    );
}

/// The power off: resistors alone, floating, and what a meter shows between many pairs of nodes.
fn resistances(net: &Network) -> Result<(), Unsolved> {
    let mut cold = net.clone();
    cold.elements.retain(|element| matches!(element.law, Law::Resistor(_)));
    cold.datum = cold.node("meter");
    let n = net.nodes.len();
    let pairs: Vec<(usize, usize)> = (0..n).flat_map(|a| (0..a).map(move |b| (a, b))).take(900).collect();
    let base = Base::new(cold.clone(), &cold.ordering())?;
    let (mut room, mut shown) = (Workspace::new(), vec![0.0; pairs.len()]);
    let edits: Vec<Vec<Edit>> =
        moved(net).into_iter().step_by(7).map(|edits| cold_edits(net, &cold, edits)).collect();
    let mut solve = |edits: &Vec<Edit>| {
        if let Ok(found) = room.solve(&base, edits) {
            black_box(found.volts[0]);
        }
    };
    let of_solve = nanos(&edits, &mut solve);
    let both = nanos(&edits, |edits| {
        if let Ok(found) = room.solve(&base, edits) {
            found.resistances(&pairs, &mut shown);
            black_box(shown[0]);
        }
    });
    let a_pair = (both - of_solve) / pairs.len() as f64;
    println!("  resistances: {of_solve:.0} ns a solve, {a_pair:.2} ns a pair of {}", pairs.len());
    Ok(())
}

/// The same edits where only the resistors are left.
fn cold_edits(net: &Network, cold: &Network, edits: Vec<Edit>) -> Vec<Edit> {
    let place = |e: usize| cold.elements.iter().position(|its| its.name == net.elements[e].name);
    let removed = |edit| match edit {
        Edit::Remove(e) => place(e).map(Edit::Remove),
        add => Some(add),
    };
    edits.into_iter().filter_map(removed).collect()
}

fn main() -> Result<(), Unsolved> {
    for nodes in [60, 120] {
        let net = common::harness(nodes);
        let ordering = net.ordering();
        let base = Base::new(net.clone(), &ordering)?;
        println!("{} nodes, {} elements", net.nodes.len(), net.elements.len());
        row(&base, "moved", &moved(&net));
        row(&base, "off", &off(&net));
        row(&base, "bridged", &bridged(&net));
        let new = nanos(&[()], |()| drop(black_box(Base::new(net.clone(), &ordering)))) / 1e3;
        let some: Vec<Vec<Edit>> = moved(&net).into_iter().step_by(97).collect();
        let corrected = nanos(&some, |edits| drop(black_box(base.corrected(edits)))) / 1e3;
        resistances(&net)?;
        println!("  Base::new {new:.0} us, Base::corrected {corrected:.0} us");
    }
    Ok(())
}
