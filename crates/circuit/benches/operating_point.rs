//! Microseconds for an operating point of a tree-like harness: cold, warm, with sensitivities, and for the ordering.
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]

#[path = "../tests/common/mod.rs"]
mod common;

use std::hint::black_box;
use std::time::{Duration, Instant};
use voltwright_circuit::{Law, Network, Unsolved};

/// Best of several runs of many calls each, in microseconds a call.
fn micros(mut work: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..7 {
        let (start, mut calls) = (Instant::now(), 0);
        while start.elapsed() < Duration::from_millis(40) {
            work();
            calls += 1;
        }
        best = best.min(start.elapsed().as_secs_f64() * 1e6 / f64::from(calls));
    }
    best
}

/// The same wiring with every load two per cent heavier.
fn neighbour(net: &Network) -> Network {
    let mut other = net.clone();
    for element in &mut other.elements {
        if let Law::Load(load) = &mut element.law {
            load.amount *= 1.02;
        }
    }
    other
}

fn main() -> Result<(), Unsolved> {
    println!("nodes  elements  ordering      cold      warm  adjoint   (microseconds)");
    for nodes in [70, 100, 1000, 4000] {
        let net = common::harness(nodes);
        let other = neighbour(&net);
        let ordering = net.ordering();
        let solution = net.solve_in(&ordering)?;
        let order = micros(|| drop(black_box(net.ordering())));
        let cold = micros(|| drop(black_box(net.solve_in(&ordering))));
        let warm = micros(|| drop(black_box(other.solve_from(&ordering, &solution))));
        let adjoint =
            micros(|| drop(black_box(net.sensitivities(&ordering, &solution, &[(nodes / 2, 1.0)]))));
        let (n, e) = (net.nodes.len(), net.elements.len());
        println!("{n:5}  {e:8}  {order:8.1}  {cold:8.1}  {warm:8.1}  {adjoint:7.1}");
    }
    Ok(())
}
