//! Adjoint sensitivities against central differences, for every value of every law in every state.

mod common;

use common::{load, resistor, source};
use voltwright_circuit::*;

/// The place of a value.
fn value(law: &mut Law, field: Field) -> Option<&mut f64> {
    match (law, field) {
        (Law::Resistor(r), Field::Ohms) => Some(&mut r.ohms),
        (Law::Source(s), Field::Volts) => Some(&mut s.volts),
        (Law::Source(s), Field::Ohms) => Some(&mut s.ohms),
        (Law::Source(s), Field::Limit) => s.limit.as_mut(),
        (Law::Diode(d), Field::Forward) => Some(&mut d.forward),
        (Law::Diode(d), Field::Ohms) => Some(&mut d.ohms),
        (Law::Clamp(c), Field::Forward) => Some(&mut c.forward),
        (Law::Clamp(c), Field::Breakdown) => Some(&mut c.breakdown),
        (Law::Clamp(c), Field::Ohms) => Some(&mut c.ohms),
        (Law::Load(l), Field::Amount) => Some(&mut l.amount),
        (Law::Load(l), Field::Knee) => Some(&mut l.knee),
        (Law::Regulator(r), Field::Volts) => Some(&mut r.volts),
        (Law::Regulator(r), Field::Ohms) => Some(&mut r.ohms),
        (Law::Regulator(r), Field::Headroom) => Some(&mut r.headroom),
        (Law::Regulator(r), Field::Limit) => Some(&mut r.limit),
        (Law::Converter(c), Field::Efficiency) => Some(&mut c.efficiency),
        (Law::Converter(c), Field::Idle) => Some(&mut c.idle),
        (Law::Converter(c), Field::OutputVolts(i)) => c.outputs.get_mut(i).map(|o| &mut o.volts),
        (Law::Converter(c), Field::OutputOhms(i)) => c.outputs.get_mut(i).map(|o| &mut o.ohms),
        (Law::Converter(c), Field::OutputLimit(i)) => c.outputs.get_mut(i).and_then(|o| o.limit.as_mut()),
        _ => None,
    }
}

const FIELDS: [Field; 16] = [
    Field::Ohms,
    Field::Volts,
    Field::Limit,
    Field::Forward,
    Field::Breakdown,
    Field::Amount,
    Field::Knee,
    Field::Headroom,
    Field::Efficiency,
    Field::Idle,
    Field::OutputVolts(0),
    Field::OutputVolts(1),
    Field::OutputOhms(0),
    Field::OutputOhms(1),
    Field::OutputLimit(0),
    Field::OutputLimit(1),
];

/// Every slope of every node against the central difference; gives the fields that had an effect.
fn compare(net: &Network, expected: &[State]) -> Vec<(usize, Field)> {
    let ordering = net.ordering();
    let solution = net.solve_in(&ordering).expect("an operating point");
    let states: Vec<State> = solution.elements.iter().map(|f| f.state).collect();
    assert_eq!(states, expected);
    let weights: Vec<(usize, f64)> = (0..net.nodes.len()).map(|n| (n, 1.0 + 0.3 * n as f64)).collect();
    let slopes = net.sensitivities(&ordering, &solution, &weights);
    let reading = |s: &Solution| weights.iter().map(|(n, w)| w * s.volts[*n]).sum::<f64>();
    let mut effective = Vec::new();
    for e in 0..net.elements.len() {
        for field in FIELDS {
            let moved = |share: f64| {
                let mut other = net.clone();
                let place = value(&mut other.elements[e].law, field)?;
                let step = share * place.abs();
                *place += step;
                Some((reading(&other.solve().expect("a neighbour")), step))
            };
            let found = slopes.to(e, field);
            let Some(((up, h), (down, _))) = moved(1e-5).zip(moved(-1e-5)) else {
                assert!(found.abs() <= 0.0, "{field:?} of {:?}", net.elements[e]);
                continue;
            };
            let difference = (up - down) / (2.0 * h);
            let unsure = 1e-13 * (1.0 + up.abs()) / h + 1e-8 * difference.abs();
            assert!(
                (found - difference).abs() <= unsure,
                "{field:?} of {:?}: {found}, {difference}",
                net.elements[e]
            );
            if difference.abs() > 1e3 * unsure {
                effective.push((e, field));
            }
        }
    }
    effective
}

fn fields_of(effective: &[(usize, Field)], element: usize) -> Vec<Field> {
    effective.iter().filter(|(e, _)| *e == element).map(|(_, f)| *f).collect()
}

/// A supply behind 0.3 Ω with com and a plane.
fn fed(volts: f64) -> (Network, usize, usize) {
    let mut net = Network::new();
    let (com, top, plane) = (net.node("com"), net.node("top"), net.node("plane"));
    source(&mut net, top, com, volts, Some(20.0), Overload::Hold);
    resistor(&mut net, top, plane, 0.3);
    (net, com, plane)
}

#[test]
fn of_loads_in_both_states() {
    let (mut net, com, plane) = fed(12.0);
    load(&mut net, plane, com, Draws::Current, 1.0, 6.0);
    load(&mut net, plane, com, Draws::Power, 10.0, 6.0);
    load(&mut net, plane, com, Draws::Resistance, 15.0, 6.0);
    let effective =
        compare(&net, &[State::Holding, State::Conducting, State::Normal, State::Normal, State::Normal]);
    assert_eq!(fields_of(&effective, 0), [Field::Ohms, Field::Volts]);
    assert_eq!(fields_of(&effective, 1), [Field::Ohms]);
    (2..5).for_each(|e| assert_eq!(fields_of(&effective, e), [Field::Amount]));

    let (mut net, com, plane) = fed(5.0);
    load(&mut net, plane, com, Draws::Current, 1.0, 6.0);
    load(&mut net, plane, com, Draws::Power, 10.0, 6.0);
    let effective = compare(&net, &[State::Holding, State::Conducting, State::Starved, State::Starved]);
    (2..4).for_each(|e| assert_eq!(fields_of(&effective, e), [Field::Amount, Field::Knee]));
}

#[test]
fn of_a_source_at_its_limit() {
    for sign in [1.0, -1.0] {
        let mut net = Network::new();
        let (com, top) = (net.node("com"), net.node("top"));
        source(&mut net, top, com, sign * 12.0, Some(2.0), Overload::Hold);
        resistor(&mut net, top, com, 4.0);
        let effective = compare(&net, &[State::Limiting, State::Conducting]);
        assert_eq!(fields_of(&effective, 0), [Field::Limit]);
    }
}

#[test]
fn of_diodes_and_clamps() {
    let (mut net, com, plane) = fed(12.0);
    let out = net.node("out");
    net.add("diode", Law::Diode(Diode { anode: plane, cathode: out, forward: 0.6, ohms: 0.02 }));
    net.add(
        "clamp",
        Law::Clamp(Clamp { cathode: out, anode: com, breakdown: 6.2, forward: 0.7, ohms: 0.05 }),
    );
    net.add(
        "other",
        Law::Clamp(Clamp { cathode: com, anode: out, breakdown: 30.0, forward: 8.0, ohms: 0.05 }),
    );
    load(&mut net, out, com, Draws::Current, 1.0, 3.0);
    let states = [State::Holding, State::Conducting, State::On, State::Clamping, State::Off, State::Normal];
    let effective = compare(&net, &states);
    assert_eq!(fields_of(&effective, 2), [Field::Ohms, Field::Forward]);
    assert_eq!(fields_of(&effective, 3), [Field::Ohms, Field::Breakdown]);

    let (mut net, com, plane) = fed(12.0);
    net.add(
        "forward",
        Law::Clamp(Clamp { cathode: com, anode: plane, breakdown: 30.0, forward: 8.0, ohms: 0.05 }),
    );
    let effective = compare(&net, &[State::Holding, State::Conducting, State::Forward]);
    assert_eq!(fields_of(&effective, 2), [Field::Ohms, Field::Forward]);
}

#[test]
fn of_a_regulator_in_each_state() {
    for sign in [1.0, -1.0] {
        for (raw, ohms, state, fields) in [
            (12.0, 10.0, State::Regulating, vec![Field::Ohms, Field::Volts]),
            (6.0, 10.0, State::DropOut, vec![Field::Ohms, Field::Headroom]),
            (12.0, 2.0, State::Limiting, vec![Field::Limit]),
        ] {
            let (mut net, com, plane) = fed(sign * raw);
            let out = net.node("out");
            let law = Regulator {
                input: plane,
                reference: com,
                output: out,
                volts: sign * 5.0,
                ohms: 0.01,
                headroom: 2.0,
                limit: 1.0,
            };
            net.add("regulator", Law::Regulator(law));
            resistor(&mut net, out, com, ohms);
            let effective = compare(&net, &[State::Holding, State::Conducting, state, State::Conducting]);
            assert_eq!(fields_of(&effective, 2), fields);
        }
    }
}

#[test]
fn of_a_converter_with_an_output_at_its_limit() {
    let (mut net, com, plane) = fed(12.0);
    let (one, two) = (net.node("one"), net.node("two"));
    let output = |plus, volts, limit| {
        let overload = Overload::Hold;
        Output { plus, minus: com, volts, ohms: 0.01, limit: Some(limit), overload }
    };
    let law = Converter {
        in_plus: plane,
        in_minus: com,
        low: 6.0,
        high: 20.0,
        efficiency: 0.8,
        idle: 0.5,
        group: None,
        enable: None,
        outputs: vec![output(one, 5.0, 3.0), output(two, -5.0, 0.5)],
    };
    net.add("converter", Law::Converter(law));
    resistor(&mut net, one, com, 5.0);
    resistor(&mut net, two, com, 6.0);
    let states = [State::Holding, State::Conducting, State::On, State::Conducting, State::Conducting];
    let effective = compare(&net, &states);
    let expected =
        [Field::Efficiency, Field::Idle, Field::OutputVolts(0), Field::OutputOhms(0), Field::OutputLimit(1)];
    assert_eq!(fields_of(&effective, 2), expected);
}
