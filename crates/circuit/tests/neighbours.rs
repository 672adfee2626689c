//! Neighbours by correction against the plain ways, on random networks and by hand.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::edits::{edits, mistake, with_floating_parts};
use common::oracle::Judged;
use common::random::{Dice, Kind, network, resistive};
use common::{harness, near, resistor, source, two_nodes};
use std::collections::BTreeMap;
use voltwright_circuit::*;

fn highest(solution: &Solution) -> f64 {
    solution.volts.iter().fold(0.0, |most: f64, v| most.max(v.abs()))
}

fn largest(net: &Network, solution: &Solution) -> f64 {
    solution.elements.iter().map(|f| f.current.abs()).fold(net.leak, f64::max)
}

/// Whether two solutions are of one point: volts and amperes alike.
fn alike(net: &Network, one: &Solution, other: &Solution) -> bool {
    let volts =
        one.volts.iter().zip(&other.volts).all(|(a, b)| (a - b).abs() <= 1e-5 * highest(one).max(1.0));
    let amps = one.elements.iter().zip(&other.elements);
    volts && amps.fold(true, |good, (a, b)| good && (a.current - b.current).abs() <= 1e-6 * largest(net, one))
}

/// A neighbour as a solution, its power not reckoned.
fn as_solution(net: &Network, found: &Neighbour<'_>) -> Solution {
    let flow = |(e, element): (usize, &Element)| {
        let outputs = match &element.law {
            Law::Converter(c) => (0..c.outputs.len())
                .map(|o| OutputFlow { state: found.output_state(e, o), current: found.output_current(e, o) })
                .collect(),
            _ => Vec::new(),
        };
        Flow { state: found.state(e), current: found.current(e), outputs }
    };
    Solution {
        volts: found.volts.to_vec(),
        elements: net.elements.iter().enumerate().map(flow).collect(),
        residual: 0.0,
        power: Power::default(),
    }
}

/// Amperes below which rounding tells more than the network does: 1e-9 of it is what a few units in the last place of
/// 12 V drive through the 0.1 mΩ of a source.
const FLOOR: f64 = 0.1;

/// What became of a neighbour.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord, Clone, Copy)]
enum Outcome {
    Corrected,
    Plain(Doubt),
    Unsolved,
    /// The plain ways part among themselves, or this is another point than theirs, where the laws hold all the same.
    Parted,
}

/// Compares a neighbour with the plain ways.
fn judge(room: &mut Workspace, base: &Base, edits: &[Edit]) -> Result<Outcome, String> {
    let net = base.network().edited(edits);
    let (quick, plain) = (net.solve(), net.solve_plainly());
    let found = room.solve(base, edits);
    let (quick, plain, found) = match (quick, plain, found) {
        (Ok(quick), Ok(plain), Ok(found)) => (quick, plain, found),
        (Err(Unsolved::Hunting { .. }), _, Ok(found)) => return Err(format!("hunts, but {:?}", found.way)),
        (_, _, Ok(found)) => {
            // Where a plain way does not arrive, a point at which the laws hold is another outcome.
            let left = Judged::of(&net, &as_solution(&net, &found)).worst();
            let lawful = left <= 1e-9 * largest(&net, &as_solution(&net, &found)).max(FLOOR);
            return if lawful { Ok(Outcome::Parted) } else { Err(format!("{left:e} A left over")) };
        }
        (quick, _, Err(error)) => {
            return if quick.err() == Some(error.clone()) {
                Ok(Outcome::Unsolved)
            } else {
                Err(format!("{error}"))
            };
        }
    };
    let mine = as_solution(&net, &found);
    let left = Judged::of(&net, &mine).worst();
    let at_base = largest(base.network(), base.solution());
    let (volts, amps) = (highest(&quick).max(highest(&mine)).max(1.0), largest(&net, &quick).max(at_base));
    if left > 1e-9 * amps.max(FLOOR) {
        return Err(format!("{left:e} A left over of {amps} A, {:?}", found.way));
    }
    if !alike(&net, &quick, &plain) {
        return Ok(Outcome::Parted);
    }
    // Another stable point, told by a state: it has passed the laws above.
    let differs = |(a, b): (&Flow, &Flow)| a.state != b.state && (a.current - b.current).abs() > 1e-6 * amps;
    if mine.elements.iter().zip(&quick.elements).any(differs) {
        return Ok(Outcome::Parted);
    }
    for (node, v) in mine.volts.iter().enumerate() {
        let off = (v - quick.volts[node]).abs();
        if off > 1e-9 * volts {
            let name = &net.nodes[node];
            return Err(format!(
                "{name}: {v} V for {} V and {} V, {:?}",
                quick.volts[node], plain.volts[node], found.way
            ));
        }
    }
    for (e, (a, b)) in mine.elements.iter().zip(&quick.elements).enumerate() {
        let off = (a.current - b.current).abs();
        if off > 1e-9 * amps.max(FLOOR) {
            return Err(format!("{}: {a:?} for {b:?}, {:?}", net.elements[e].name, found.way));
        }
        // On the border of two states, where both carry the same, either will do.
        if a.state != b.state
            && quick.elements[e].state == plain.elements[e].state
            && b.current.abs() > 1e-9 * amps
        {
            return Err(format!("{}: {a:?} for {b:?}", net.elements[e].name));
        }
    }
    Ok(found.doubt.map_or(Outcome::Corrected, Outcome::Plain))
}

/// Tries many edits of many networks; gives how many came out how.
fn tried(kind: Kind, seeds: std::ops::Range<u64>, floating: bool) -> BTreeMap<Outcome, usize> {
    let mut room = Workspace::new();
    let mut counts = BTreeMap::new();
    let mut bad = Vec::new();
    for seed in seeds {
        let mut dice = Dice::new(seed ^ 0xabcd);
        let mut net = network(kind, seed);
        if floating {
            with_floating_parts(&mut net, &mut dice);
        }
        let Ok(base) = Base::new(net.clone(), &net.ordering()) else { continue };
        for _ in 0..30 {
            let edits = edits(&net, &mut dice);
            match judge(&mut room, &base, &edits) {
                Ok(outcome) => *counts.entry(outcome).or_default() += 1,
                Err(why) => bad.push(format!("seed {seed}, {edits:?}: {why}")),
            }
        }
    }
    println!("{kind:?} {counts:?}");
    assert!(bad.is_empty(), "{} of {counts:?}:\n{}", bad.len(), bad[..bad.len().min(12)].join("\n"));
    counts
}

/// At most one in a thousand ends at another point than the plain ways, and half of these rough networks or more
/// whose base point is not in doubt are solved by correction.
fn mostly(counts: &BTreeMap<Outcome, usize>) {
    let count = |outcome: Outcome| counts.get(&outcome).copied().unwrap_or(0);
    let all: usize = counts.values().sum();
    assert!(count(Outcome::Parted) <= all / 500, "{counts:?}");
    assert!(count(Outcome::Corrected) >= (all - count(Outcome::Plain(Doubt::Base))) / 2, "{counts:?}");
}

/// On networks built outward from a supply.
#[test]
fn orderly_networks() {
    mostly(&tried(Kind::Orderly, 0..120, false));
}

/// With parts that float, which edits may join to the rest.
#[test]
fn floating_parts() {
    mostly(&tried(Kind::Orderly, 1000..1120, true));
}

/// Cross connections, isolated outputs, devices the wrong way round.
#[test]
fn wild_networks() {
    mostly(&tried(Kind::Wild, 0..120, false));
}

/// Seeds that nothing was fitted to.
#[test]
fn fresh_networks() {
    for (kind, floating) in [(Kind::Orderly, false), (Kind::Orderly, true), (Kind::Wild, false)] {
        mostly(&tried(kind, 50_000..50_120, floating));
    }
}

/// A base serves all threads.
#[test]
fn base_is_shared() {
    fn shared<T: Send + Sync>() {}
    shared::<Base>();
}

/// A harness, where nearly all is solved by correction.
#[test]
fn harnesses() {
    let net = harness(60);
    let base = Base::new(net.clone(), &net.ordering()).unwrap();
    let (mut room, mut dice, mut fell_back) = (Workspace::new(), Dice::new(7), 0);
    for _ in 0..400 {
        let edits = mistake(&net, &mut dice);
        match judge(&mut room, &base, &edits) {
            Ok(Outcome::Corrected) => {}
            Ok(Outcome::Plain(_)) => fell_back += 1,
            other => panic!("{other:?}: {edits:?}"),
        }
    }
    assert!(fell_back <= 8, "{fell_back}");
}

/// A second mistake on the base of the first.
#[test]
fn pairs() {
    let mut room = Workspace::new();
    for seed in 0..40 {
        let mut dice = Dice::new(seed);
        let net = network(Kind::Orderly, seed);
        let Ok(base) = Base::new(net.clone(), &net.ordering()) else { continue };
        for _ in 0..4 {
            let first = mistake(&net, &mut dice);
            let Ok(corrected) = base.corrected(&first) else { continue };
            assert_eq!(corrected.network().elements, net.edited(&first).elements);
            for _ in 0..4 {
                let second = mistake(corrected.network(), &mut dice);
                if let Err(why) = judge(&mut room, &corrected, &second) {
                    panic!("seed {seed}, {first:?}, {second:?}: {why}");
                }
            }
        }
    }
}

/// Dense inverse of the conductances without leak, with the first node of each part held.
fn by_dense_inverse(net: &Network, part: &[usize]) -> nalgebra::DMatrix<f64> {
    let n = net.nodes.len();
    let mut matrix = nalgebra::DMatrix::zeros(n, n);
    for element in &net.elements {
        let Law::Resistor(r) = &element.law else { panic!("resistors alone") };
        for (row, column, sign) in [(r.a, r.a, 1.0), (r.b, r.b, 1.0), (r.a, r.b, -1.0), (r.b, r.a, -1.0)] {
            matrix[(row, column)] += sign / r.ohms;
        }
    }
    for held in (0..n).filter(|node| part[*node] == *node) {
        matrix.row_mut(held).fill(0.0);
        matrix.column_mut(held).fill(0.0);
        matrix[(held, held)] = 1.0;
    }
    let mut inverse = matrix.try_inverse().unwrap();
    (0..n).filter(|node| part[*node] == *node).for_each(|held| inverse[(held, held)] = 0.0);
    inverse
}

/// The first node of each node's part.
fn parts_of(net: &Network) -> Vec<usize> {
    let mut part: Vec<usize> = (0..net.nodes.len()).collect();
    for _ in 0..net.nodes.len() {
        for element in &net.elements {
            let Law::Resistor(r) = &element.law else { panic!("resistors alone") };
            let least = part[r.a].min(part[r.b]);
            (part[r.a], part[r.b]) = (least, least);
        }
    }
    part
}

/// Resistors alone, some parts floating: every resistance of every neighbour, open where nothing joins.
#[test]
fn resistances() {
    let mut room = Workspace::new();
    let (mut open, mut joined) = (0, 0);
    for seed in 0..60 {
        let mut dice = Dice::new(seed);
        let mut net = resistive(seed);
        for element in &mut net.elements {
            if let Law::Resistor(r) = &mut element.law {
                r.ohms = dice.decades(0.01, 10.0);
            }
        }
        with_floating_parts(&mut net, &mut dice);
        let n = net.nodes.len();
        let pairs: Vec<(usize, usize)> = (0..n).flat_map(|a| (0..a).map(move |b| (a, b))).collect();
        let mut found = vec![0.0; pairs.len()];
        let base = Base::new(net.clone(), &net.ordering()).unwrap();
        for _ in 0..20 {
            let edits = mistake(&net, &mut dice);
            let edited = net.edited(&edits);
            let part = parts_of(&edited);
            let inverse = by_dense_inverse(&edited, &part);
            let neighbour = room.solve(&base, &edits).unwrap();
            neighbour.resistances(&pairs, &mut found);
            for ((a, b), ohms) in pairs.iter().copied().zip(&found) {
                if part[a] == part[b] {
                    let expected = inverse[(a, a)] + inverse[(b, b)] - inverse[(a, b)] - inverse[(b, a)];
                    // What leaks beside it.
                    let within = expected * (1e-9 + expected * net.leak * n as f64) + 1e-11;
                    assert!(
                        (ohms - expected).abs() <= within,
                        "seed {seed} {edits:?} {a} {b}: {ohms} {expected}"
                    );
                    joined += 1;
                } else {
                    assert!(*ohms >= 1e9, "seed {seed} {edits:?} {a} {b}: {ohms}");
                    open += 1;
                }
            }
        }
    }
    assert!(open > 1000 && joined > 1000, "{open} {joined}");
}

fn wire(a: usize, b: usize, ohms: f64) -> Law {
    Law::Resistor(Resistor { a, b, ohms })
}

/// A wire that ends at nothing: off, its far end is at nothing; moved, it is where it is moved to.
#[test]
fn hanging_wire() {
    let (mut net, com, top) = two_nodes();
    let (way, end, other) = (net.node("way"), net.node("end"), net.node("other"));
    source(&mut net, top, com, 12.0, None, Overload::Hold);
    let first = resistor(&mut net, top, way, 0.005);
    let second = resistor(&mut net, way, end, 0.005);
    resistor(&mut net, other, com, 0.01);
    let base = Base::new(net.clone(), &net.ordering()).unwrap();
    let mut room = Workspace::new();
    let gone = [Edit::Remove(first)];
    let off = room.solve(&base, &gone).unwrap();
    assert_eq!(off.way, Way::Corrected);
    near(off.volts[way], 0.0, 1e-12);
    near(off.volts[end], 0.0, 1e-12);
    let moved = [Edit::Remove(first), Edit::Add(wire(other, way, 0.005))];
    near(room.solve(&base, &moved).unwrap().volts[end], 0.0, 1e-12);
    let farther = [Edit::Remove(second), Edit::Add(wire(other, end, 0.005))];
    let found = room.solve(&base, &farther).unwrap();
    near(found.volts[way], 12.0, 1e-9);
    near(found.volts[end], 0.0, 1e-12);
}

/// A bridge trips a source, and its whole group with it.
#[test]
fn group_trips() {
    let (mut net, com, top) = two_nodes();
    let (other, load) = (net.node("other"), net.node("load"));
    net.groups.push(Group { name: "supply".into(), power_limit: None, trips: true });
    for plus in [top, other] {
        let e = source(&mut net, plus, com, 12.0, Some(5.0), Overload::Trip);
        if let Law::Source(s) = &mut net.elements[e].law {
            s.group = Some(0);
        }
    }
    resistor(&mut net, top, load, 0.01);
    resistor(&mut net, load, com, 10.0);
    let base = Base::new(net.clone(), &net.ordering()).unwrap();
    let mut room = Workspace::new();
    let bridge = [Edit::Add(wire(load, com, 0.01))];
    let found = room.solve(&base, &bridge).unwrap();
    assert_eq!(found.way, Way::Corrected);
    assert_eq!([found.state(0), found.state(1)], [State::Tripped, State::Tripped]);
    near(found.volts[load], 0.0, 1e-9);
    (0..5).for_each(|e| near(found.current(e), 0.0, 1e-9));
    assert_eq!(found.changed().collect::<Vec<_>>(), [0, 1]);
    assert_eq!(room.solve(&base, &[]).unwrap().changed().count(), 0);
}

/// Without converters, every source such that it trips; in some one that never does: where all has tripped, what that one
/// feeds still lives. In some nothing is left but resistors.
fn that_trips(kind: Kind, seed: u64, dice: &mut Dice) -> Network {
    let mut net = network(kind, seed);
    let (bare, resistor_in_place) = (dice.chance(0.4), |a, b| Law::Resistor(Resistor { a, b, ohms: 50.0 }));
    for element in &mut net.elements {
        match &mut element.law {
            Law::Source(s) => {
                s.overload = Overload::Trip;
                s.limit = s.limit.or(Some(8.0));
            }
            Law::Converter(c) => {
                element.law = resistor_in_place(c.in_plus, c.in_minus);
            }
            Law::Load(l) if bare => element.law = resistor_in_place(l.plus, l.minus),
            Law::Diode(d) if bare => element.law = resistor_in_place(d.anode, d.cathode),
            Law::Clamp(c) if bare => element.law = resistor_in_place(c.cathode, c.anode),
            Law::Regulator(r) if bare => element.law = resistor_in_place(r.input, r.output),
            _ => {}
        }
    }
    if !bare {
        let (plus, minus) = (dice.below(net.nodes.len()), net.datum);
        net.add("cell", Law::Source(Source::ideal(plus, minus, 1.5, 200.0)));
    }
    net
}

/// Whether there are sources left, and all have tripped but the cell.
fn all_tripped(net: &Network, edits: &[Edit], found: &Neighbour<'_>) -> bool {
    let trips = |law: &Law| matches!(law, Law::Source(s) if s.overload == Overload::Trip);
    let left = (0..net.elements.len()).filter(|e| trips(&net.elements[*e].law));
    let left: Vec<usize> = left.filter(|e| !edits.contains(&Edit::Remove(*e))).collect();
    !left.is_empty() && left.iter().all(|e| found.state(*e) == State::Tripped)
}

/// Where everything that can trip does, the neighbour is the one that the plain ways find.
#[test]
fn fallen_networks() {
    let (mut room, mut counts, mut fell, mut bad) = (Workspace::new(), BTreeMap::new(), 0, Vec::new());
    for (kind, seed) in (0..150).flat_map(|seed| [(Kind::Orderly, seed), (Kind::Wild, 70_000 + seed)]) {
        let mut dice = Dice::new(seed ^ 0x7ea);
        let net = that_trips(kind, seed, &mut dice);
        let Ok(base) = Base::new(net.clone(), &net.ordering()) else { continue };
        for _ in 0..30 {
            let edits = edits(&net, &mut dice);
            match judge(&mut room, &base, &edits) {
                Ok(outcome) => *counts.entry(outcome).or_default() += 1,
                Err(why) => bad.push(format!("seed {seed}, {edits:?}: {why}")),
            }
            let Ok(found) = room.solve(&base, &edits) else { continue };
            let is_tripped = |f: &Flow| f.state == State::Tripped;
            if found.way == Way::Corrected && !base.solution().elements.iter().any(is_tripped) {
                fell += usize::from(all_tripped(&net, &edits, &found));
            }
        }
    }
    assert!(bad.is_empty(), "{} of {counts:?}:\n{}", bad.len(), bad[..bad.len().min(12)].join("\n"));
    mostly(&counts);
    assert!(fell >= 200, "only {fell} fell");
}

/// A converter that an edit makes hunt is reported to hunt.
#[test]
fn hunting_converter() {
    let (mut net, com, top) = two_nodes();
    let (input, out) = (net.node("input"), net.node("out"));
    source(&mut net, top, com, 12.0, None, Overload::Hold);
    let feed = resistor(&mut net, top, input, 0.5);
    let outputs =
        vec![Output { plus: out, minus: com, volts: 5.0, ohms: 1e-4, limit: None, overload: Overload::Hold }];
    let (low, high) = (9.0, 18.0);
    let (efficiency, idle, group, enable) = (0.8, 0.5, None, None);
    let law =
        Converter { in_plus: input, in_minus: com, low, high, efficiency, idle, group, enable, outputs };
    let converter = net.add("converter", Law::Converter(law));
    common::load(&mut net, out, com, Draws::Current, 2.0, 2.5);
    let base = Base::new(net.clone(), &net.ordering()).unwrap();
    let mut room = Workspace::new();
    let edits = [Edit::Remove(feed), Edit::Add(wire(top, input, 2.5))];
    let hunting = Unsolved::Hunting { devices: vec!["converter".into()] };
    assert_eq!(room.solve(&base, &edits).err(), Some(hunting));
    let gone = [Edit::Remove(feed)];
    let found = room.solve(&base, &gone).unwrap();
    assert_eq!(found.state(converter), State::BelowRange);
    let faulty = room.solve(&base, &[Edit::Add(wire(top, 99, 0.1))]).err();
    assert!(matches!(faulty, Some(Unsolved::Faulty { .. })));
}

/// A part that floats takes the potential of what it is joined to.
#[test]
fn chassis_joined() {
    let (mut net, com, top) = two_nodes();
    let (chassis, lug) = (net.node("chassis"), net.node("lug"));
    source(&mut net, top, com, 12.0, None, Overload::Hold);
    resistor(&mut net, chassis, lug, 0.01);
    let base = Base::new(net.clone(), &net.ordering()).unwrap();
    assert!(base.between(chassis, com).is_infinite());
    near(base.between(chassis, lug), 0.01, 1e-12);
    let mut room = Workspace::new();
    let chafed = [Edit::Add(wire(top, lug, 0.005))];
    let found = room.solve(&base, &chafed).unwrap();
    assert_eq!(found.way, Way::Corrected);
    near(found.volts[chassis], 12.0, 1e-9);
    near(found.current(2), 24e-9, 1e-12);
}
