//! The least set of test vectors for c17, the smallest of the ISCAS-85 circuits, found by our cover.
//!
//! Published: netlist (public c17.v, marked "seen"); 17 lines, 34 single stuck-at faults, all detectable, least detection
//! set 4 vectors, 10 such sets (marked "computed": worked out beforehand by another program); 22 classes of equivalent
//! faults ("computed", and from memory of ISCAS-85).
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::{BTreeMap, BTreeSet};
use voltwright_proof::cover::{Bits, Column, least_cost};

/// Each NAND gate: its output and its two inputs, in an order in which they can be worked out.
const GATES: [(usize, [usize; 2]); 6] =
    [(10, [1, 3]), (11, [3, 6]), (16, [2, 11]), (19, [11, 7]), (22, [10, 16]), (23, [16, 19])];
const INPUTS: [usize; 5] = [1, 2, 3, 6, 7];
const OUTPUTS: [usize; 2] = [22, 23];

/// Where a line can be stuck: the net at what drives it, or one gate's branch of a net that feeds several.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Line {
    Stem(usize),
    Branch { net: usize, gate: usize },
}

/// 5 inputs and 6 gates drive 11 nets; 3, 11 and 16 feed two gates each, which makes 6 branches.
fn lines() -> Vec<Line> {
    let nets = INPUTS.into_iter().chain(GATES.map(|(out, _)| out));
    let mut lines: Vec<Line> = nets.map(Line::Stem).collect();
    for net in INPUTS.into_iter().chain(GATES.map(|(out, _)| out)) {
        let fed = GATES.iter().filter(|(_, inputs)| inputs.contains(&net)).map(|(gate, _)| *gate);
        let fed: Vec<usize> = fed.collect();
        if fed.len() > 1 {
            lines.extend(fed.into_iter().map(|gate| Line::Branch { net, gate }));
        }
    }
    lines
}

/// Both outputs for one vector, with a line stuck or none.
fn outputs(vector: u32, stuck: Option<(Line, bool)>) -> [bool; 2] {
    let at = |line: Line, value: bool| match stuck {
        Some((where_, level)) if where_ == line => level,
        _ => value,
    };
    let mut value: BTreeMap<usize, bool> = BTreeMap::new();
    for (bit, net) in INPUTS.into_iter().enumerate() {
        value.insert(net, at(Line::Stem(net), vector >> bit & 1 == 1));
    }
    for (out, inputs) in GATES {
        let [a, b] = inputs.map(|net| at(Line::Branch { net, gate: out }, value[&net]));
        value.insert(out, at(Line::Stem(out), !(a && b)));
    }
    OUTPUTS.map(|net| value[&net])
}

fn faults() -> Vec<(Line, bool)> {
    lines().into_iter().flat_map(|line| [(line, false), (line, true)]).collect()
}

/// A column for each vector: the faults that it shows.
fn vectors() -> Vec<Column> {
    let faults = faults();
    let shown = |vector| {
        let good = outputs(vector, None);
        let differs = |i: &usize| outputs(vector, Some(faults[*i])) != good;
        (0..faults.len()).filter(differs).collect()
    };
    (0..32).map(|vector| Column { cost: 1, rows: shown(vector) }).collect()
}

#[test]
fn thirty_four_faults_on_seventeen_lines_all_detectable() {
    let branches = lines().into_iter().filter(|line| matches!(line, Line::Branch { .. }));
    let expected = [(3, 10), (3, 11), (11, 16), (11, 19), (16, 22), (16, 23)];
    assert!(branches.eq(expected.map(|(net, gate)| Line::Branch { net, gate })));
    assert_eq!((lines().len(), faults().len()), (17, 34));
    let mut shown = Bits::new(34);
    vectors().iter().for_each(|vector| shown.unite(&vector.rows));
    assert_eq!(shown, Bits::full(34));
}

/// Faults are equivalent if no vector tells them apart.
#[test]
fn twenty_two_classes() {
    let responses = faults().into_iter().map(|fault| (0..32).map(|v| outputs(v, Some(fault))).collect());
    let classes: BTreeSet<Vec<[bool; 2]>> = responses.collect();
    assert_eq!(classes.len(), 22);
}

#[test]
fn four_vectors_are_the_least() {
    let vectors = vectors();
    let cover = least_cost(&vectors, 34, 1000).unwrap();
    assert_eq!((cover.cost, cover.bound, cover.columns.len()), (4, 4, 4));
    assert!(complete(&vectors, &cover.columns));
}

fn complete(vectors: &[Column], chosen: &[usize]) -> bool {
    let all = chosen.iter().fold(Bits::new(34), |shown, v| shown.union(&vectors[*v].rows));
    all == Bits::full(34)
}

/// How many sets of `size` vectors, grown from those chosen in ascending order, show every fault.
fn complete_sets(vectors: &[Column], chosen: &mut Vec<usize>, size: usize) -> usize {
    if chosen.len() == size {
        return usize::from(complete(vectors, chosen));
    }
    let mut sets = 0;
    for next in chosen.last().map_or(0, |last| last + 1)..vectors.len() {
        chosen.push(next);
        sets += complete_sets(vectors, chosen, size);
        chosen.pop();
    }
    sets
}

#[test]
fn ten_sets_of_four_and_none_of_three() {
    let vectors = vectors();
    assert_eq!(complete_sets(&vectors, &mut Vec::new(), 3), 0);
    assert_eq!(complete_sets(&vectors, &mut Vec::new(), 4), 10);
}
