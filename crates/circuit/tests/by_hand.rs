//! Small networks worked out by hand, each with its formula.

mod common;

use common::{R, load, near, resistor, solved, source, two_nodes};
use voltwright_circuit::*;

/// U = E·R2/(r + R1 + R2), written as a current from the source.
#[test]
fn divider() {
    let (mut net, com, top) = two_nodes();
    net.leak = 0.0;
    let middle = net.node("middle");
    let supply = source(&mut net, top, com, 12.0, None, Overload::Hold);
    let upper = resistor(&mut net, top, middle, 1000.0);
    resistor(&mut net, middle, com, 2000.0);
    let point = solved(&net);
    let amps = 12.0 / (3000.0 + R);
    near(point.between(middle, com), 2000.0 * amps, 1e-12);
    near(point.current(supply), amps, 1e-15);
    near(point.current(upper), amps, 1e-15);
    near(point.heat(&net, upper), amps * amps * 1000.0, 1e-15);
    near(point.delivered(&net, supply), point.power.delivered, 1e-15);
}

/// Wheatstone's bridge (Phil. Trans. R. Soc. 133, 1843): no current in the middle where R1/R2 = R3/R4; off balance
/// the open bridge reads E·(R2/(R1 + R2) − R4/(R3 + R4)).
#[test]
fn wheatstone_bridge() {
    let bridge = |fourth: f64, across: f64| {
        let (mut net, com, top) = two_nodes();
        net.leak = 0.0;
        let (left, right) = (net.node("left"), net.node("right"));
        source(&mut net, top, com, 10.0, None, Overload::Hold);
        resistor(&mut net, top, left, 100.0);
        resistor(&mut net, left, com, 200.0);
        resistor(&mut net, top, right, 330.0);
        resistor(&mut net, right, com, fourth);
        let middle = resistor(&mut net, left, right, across);
        let point = solved(&net);
        (point.current(middle), point.between(left, right), point.volts[top])
    };
    let (balanced, _, _) = bridge(660.0, 50.0);
    near(balanced, 0.0, 1e-15);
    let (_, reads, top) = bridge(700.0, 1e12);
    near(reads, top * (2.0 / 3.0 - 700.0 / 1030.0), 1e-9);
}

/// Constant voltage up to E/R = limit, constant current beyond: U = limit·R.
#[test]
fn voltage_gives_way_to_current_limit() {
    let with_load = |ohms: f64| {
        let (mut net, com, top) = two_nodes();
        net.leak = 0.0;
        let supply = source(&mut net, top, com, 12.0, Some(2.0), Overload::Hold);
        resistor(&mut net, top, com, ohms);
        let point = solved(&net);
        (point.elements[supply].state, point.volts[top])
    };
    let (state, volts) = with_load(6.1);
    assert_eq!(state, State::Holding);
    near(volts, 12.0 * 6.1 / (6.1 + R), 1e-12);
    let (state, volts) = with_load(5.0);
    assert_eq!(state, State::Limiting);
    near(volts, 10.0, 1e-12);
}

/// A source in constant current that feeds a larger constant-current load starves it: U = knee·limit/amount.
#[test]
fn current_limit_against_a_current_load() {
    let (mut net, com, top) = two_nodes();
    net.leak = 0.0;
    source(&mut net, top, com, 5.0, Some(3.0), Overload::Hold);
    let drawn = load(&mut net, top, com, Draws::Current, 4.0, 2.5);
    let point = solved(&net);
    assert_eq!(point.elements[drawn].state, State::Starved);
    near(point.volts[top], 2.5 * 3.0 / 4.0, 1e-12);
}

/// Below its headroom a regulator gives Vin − headroom, above it its own voltage; negative ones mirror it.
#[test]
fn regulator_in_regulation_drop_out_and_limit() {
    for sign in [1.0, -1.0] {
        let at = |raw: f64, ohms: f64| {
            let (mut net, com, top) = two_nodes();
            let out = net.node("out");
            source(&mut net, top, com, sign * raw, None, Overload::Hold);
            let regulator = Regulator {
                input: top,
                reference: com,
                output: out,
                volts: sign * 5.0,
                ohms: R,
                headroom: 2.0,
                limit: 1.5,
            };
            let element = net.add("regulator", Law::Regulator(regulator));
            resistor(&mut net, out, com, ohms);
            let point = solved(&net);
            (point.elements[element].state, point.volts[out] * sign, point.current(element) * sign)
        };
        let (state, volts, amps) = at(9.0, 10.0);
        assert_eq!(state, State::Regulating);
        near(volts, 5.0 - R * amps, 1e-12);
        let (state, volts, amps) = at(6.0, 10.0);
        assert_eq!(state, State::DropOut);
        near(volts, 4.0 - 2.0 * R * amps, 1e-12);
        let (state, volts, amps) = at(9.0, 2.0);
        assert_eq!(state, State::Limiting);
        near(amps, 1.5, 1e-12);
        near(volts, 3.0, 1e-7);
        let (state, ..) = at(1.0, 10.0);
        assert_eq!(state, State::Off);
    }
}

/// A constant-power load behind a resistance: v = (E + √(E² − 4Pr))/2 as long as P ≤ E²/4r; beyond, only the starved
/// solution is left, where the load is knee²/P ohms.
#[test]
fn constant_power_up_to_its_maximum() {
    let (e, r, knee) = (12.0, 0.5, 3.0);
    let most = e * e / (4.0 * r);
    let at = |watts: f64| {
        let (mut net, com, top) = two_nodes();
        net.leak = 0.0;
        net.add("supply", Law::Source(Source::ideal(top, com, e, r)));
        let element = load(&mut net, top, com, Draws::Power, watts, knee);
        let point = solved(&net);
        (point.elements[element].state, point.volts[top])
    };
    for share in [0.01, 0.5, 0.9, 0.999, 0.999_999] {
        let watts = share * most;
        let (state, volts) = at(watts);
        assert_eq!(state, State::Normal);
        near(volts, (e + (e * e - 4.0 * watts * r).sqrt()) / 2.0, 1e-8);
    }
    for share in [1.001, 1.1, 2.0, 10.0] {
        let (state, volts) = at(share * most);
        assert_eq!(state, State::Starved, "{share} of the most");
        let ohms = knee * knee / (share * most);
        near(volts, e * ohms / (ohms + r), 1e-9);
    }
}

/// A clamp across a 12 V feed through a resistance takes (E − breakdown)/(r + ohms); reversed it conducts forward.
#[test]
fn clamp_both_ways() {
    for (volts, expected, state) in [
        (12.0, (12.0 - 6.2) / (1.0 + 0.02 + R), State::Clamping),
        (5.0, 0.0, State::Off),
        (-5.0, -(5.0 - 0.7) / (1.0 + 0.02 + R), State::Forward),
    ] {
        let (mut net, com, top) = two_nodes();
        net.leak = 0.0;
        let rail = net.node("rail");
        source(&mut net, top, com, volts, None, Overload::Hold);
        resistor(&mut net, top, rail, 1.0);
        let clamp = Clamp { cathode: rail, anode: com, breakdown: 6.2, forward: 0.7, ohms: 0.02 };
        let element = net.add("clamp", Law::Clamp(clamp));
        let point = solved(&net);
        assert_eq!(point.elements[element].state, state);
        near(point.current(element), expected, 1e-9);
    }
}

/// Two diodes in parallel share by their slopes; in series their drops add; a reversed one carries nothing.
#[test]
fn diodes_in_series_and_parallel() {
    let (mut net, com, top) = two_nodes();
    net.leak = 0.0;
    let (middle, out) = (net.node("middle"), net.node("out"));
    source(&mut net, top, com, 5.0, None, Overload::Hold);
    let mut diode =
        |anode, cathode, ohms| net.add("diode", Law::Diode(Diode { anode, cathode, forward: 0.6, ohms }));
    let (one, two) = (diode(top, middle, 0.02), diode(top, middle, 0.06));
    let third = diode(middle, out, 0.02);
    let reversed = diode(com, out, 0.02);
    let drawn = load(&mut net, out, com, Draws::Current, 2.0, 1.0);
    let point = solved(&net);
    near(point.current(one), 1.5, 1e-9);
    near(point.current(two), 0.5, 1e-9);
    near(point.current(third), 2.0, 1e-9);
    assert_eq!(point.elements[reversed].state, State::Off);
    near(point.volts[out], 5.0 - 2.0 * R - (0.6 + 1.5 * 0.02) - (0.6 + 2.0 * 0.02), 1e-9);
    near(point.current(drawn), 2.0, 1e-12);
}

/// One of two sources in parallel stands higher: it feeds all, the other is idle.
#[test]
fn back_fed_source_is_idle() {
    let (mut net, com, top) = two_nodes();
    let high = source(&mut net, top, com, 5.1, None, Overload::Hold);
    let low = source(&mut net, top, com, 5.0, None, Overload::Hold);
    load(&mut net, top, com, Draws::Current, 3.0, 1.0);
    let point = solved(&net);
    assert_eq!(point.elements[low].state, State::Idle);
    near(point.current(low), 0.0, 0.0);
    near(point.current(high), 3.0, 1e-8);
}

/// Above its limit a source trips with its whole group and leaves everything at 0 V; a source outside stays.
#[test]
fn trip_takes_the_group() {
    let supply = |amps: f64| {
        let (mut net, com, top) = two_nodes();
        let (second, third) = (net.node("second"), net.node("third"));
        net.groups.push(Group { name: "supply".into(), power_limit: None, trips: true });
        for (node, volts, group) in [(top, 5.0, Some(0)), (second, 12.0, Some(0)), (third, -12.0, None)] {
            let law = Source {
                plus: node,
                minus: com,
                volts,
                ohms: R,
                limit: Some(10.0),
                overload: Overload::Trip,
                group,
            };
            net.add("output", Law::Source(law));
        }
        load(&mut net, top, com, Draws::Current, amps, 2.5);
        load(&mut net, second, com, Draws::Power, 12.0, 6.0);
        load(&mut net, com, third, Draws::Current, 0.5, 6.0);
        solved(&net)
    };
    let point = supply(9.9);
    assert!(point.elements[..3].iter().all(|f| f.state == State::Holding));
    let point = supply(10.1);
    assert_eq!(point.elements[0].state, State::Tripped);
    assert_eq!(point.elements[1].state, State::Tripped);
    assert_eq!(point.elements[2].state, State::Holding);
    near(point.volts[1], 0.0, 1e-9);
    near(point.volts[2], 0.0, 1e-9);
    near(point.volts[3], -12.0 + 0.5 * R, 1e-8);
}

/// The whole group trips on its power, though each output is within its current.
#[test]
fn trip_on_power_of_the_group() {
    for (limit, state) in [(41.0, State::Holding), (39.0, State::Tripped)] {
        let (mut net, com, top) = two_nodes();
        let second = net.node("second");
        net.groups.push(Group { name: "supply".into(), power_limit: Some(limit), trips: true });
        for (node, volts) in [(top, 5.0), (second, 12.0)] {
            let law = Source {
                plus: node,
                minus: com,
                volts,
                ohms: R,
                limit: None,
                overload: Overload::Hold,
                group: Some(0),
            };
            net.add("output", Law::Source(law));
        }
        load(&mut net, top, com, Draws::Power, 20.0, 2.5);
        load(&mut net, second, com, Draws::Power, 20.0, 6.0);
        let point = solved(&net);
        assert!(point.elements[..2].iter().all(|f| f.state == state));
    }
}

/// A floating battery sits where its leaks balance: its ends at ±E/2, to the last digit of 9 A over the leak.
#[test]
fn floating_island_balances_its_leaks() {
    let (mut net, _, plus) = two_nodes();
    let minus = net.node("minus");
    source(&mut net, plus, minus, 9.0, None, Overload::Hold);
    resistor(&mut net, plus, minus, 1.0);
    let point = net.solve().expect("an operating point");
    let volts = 9.0 / (1.0 + R);
    near(point.volts[plus], volts / 2.0, 1e-6);
    near(point.volts[minus], -volts / 2.0, 1e-6);
    near(point.between(plus, minus), volts, 1e-12);
}

/// Without a source everything is at 0 V, and that is a solution; so is the empty network.
#[test]
fn nothing_fed_is_at_zero() {
    let (mut net, com, top) = two_nodes();
    load(&mut net, top, com, Draws::Power, 5.0, 2.0);
    load(&mut net, top, com, Draws::Current, 5.0, 2.0);
    let point = solved(&net);
    near(point.volts[top], 0.0, 0.0);
    assert_eq!(Network::new().solve().map(|s| s.volts), Ok(Vec::new()));
}

/// Values without meaning are refused by the name of their element.
#[test]
fn faulty_values_are_named() {
    let faulty = |ohms: f64, b: usize| {
        let (mut net, com, top) = two_nodes();
        source(&mut net, top, com, 5.0, None, Overload::Hold);
        net.add("bad wire", Law::Resistor(Resistor { a: com, b, ohms }));
        let (quick, plain) = (net.solve(), net.solve_plainly());
        assert_eq!(quick.as_ref().map(|s| &s.volts), plain.as_ref().map(|s| &s.volts));
        quick
    };
    assert!(faulty(1.0, 1).is_ok());
    for refused in
        [faulty(0.0, 1), faulty(-1.0, 1), faulty(f64::NAN, 1), faulty(f64::INFINITY, 1), faulty(1.0, 7)]
    {
        assert!(
            matches!(&refused, Err(Unsolved::Faulty { element, .. }) if element == "bad wire"),
            "{refused:?}"
        );
    }
}

/// Two constant-power loads in series, each with a resistance across it: where both can be above their knees, that is
/// the solution, at the voltage where the currents of both halves are equal.
#[test]
fn power_loads_in_series() {
    for ohms in [[5.0, 5.0], [5.0, 5.2], [12.0, 12.5]] {
        let (mut net, com, top) = two_nodes();
        net.leak = 0.0;
        let middle = net.node("middle");
        source(&mut net, top, com, 12.0, None, Overload::Hold);
        let pairs = [(top, middle, ohms[0]), (middle, com, ohms[1])];
        let loads = pairs.map(|(a, b, ohms)| {
            resistor(&mut net, a, b, ohms);
            load(&mut net, a, b, Draws::Power, 6.0, 2.0)
        });
        let point = solved(&net);
        assert_eq!(loads.map(|l| point.elements[l].state), [State::Normal; 2]);
        let current = |volts: f64, ohms: f64| volts / ohms + 6.0 / volts;
        let lower = point.volts[middle];
        near(current(point.between(top, middle), ohms[0]), current(lower, ohms[1]), 1e-10);
        assert!((4.0..8.0).contains(&lower), "{lower}");
    }
}

/// Lifting the limits shows what the loads would draw.
#[test]
fn limits_lifted() {
    let (mut net, com, top) = two_nodes();
    let supply = source(&mut net, top, com, 5.0, Some(1.0), Overload::Trip);
    load(&mut net, top, com, Draws::Current, 3.0, 2.5);
    assert_eq!(solved(&net).elements[supply].state, State::Tripped);
    net.lift_limits();
    near(solved(&net).current(supply), 3.0, 1e-7);
}
