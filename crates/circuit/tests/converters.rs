//! Converters worked out by hand: cascades, ranges, enable inputs, and the ones that hunt.

mod common;

use common::{R, load, near, resistor, solved, source, two_nodes};
use voltwright_circuit::*;

/// A converter with one 5 V output, fed from `top`.
fn converter(net: &mut Network, top: usize, com: usize, out: usize, range: (f64, f64)) -> usize {
    let outputs =
        vec![Output { plus: out, minus: com, volts: 5.0, ohms: R, limit: None, overload: Overload::Hold }];
    let law = Converter {
        in_plus: top,
        in_minus: com,
        low: range.0,
        high: range.1,
        efficiency: 0.8,
        idle: 0.5,
        group: None,
        enable: None,
        outputs,
    };
    net.add("converter", Law::Converter(law))
}

/// Two converters in a row: each takes idle + output/efficiency.
#[test]
fn converters_in_cascade() {
    let (mut net, com, top) = two_nodes();
    net.leak = 0.0;
    let (middle, out) = (net.node("middle"), net.node("out"));
    source(&mut net, top, com, 12.0, None, Overload::Hold);
    let first = converter(&mut net, top, com, middle, (9.0, 18.0));
    let second = converter(&mut net, middle, com, out, (4.5, 9.0));
    load(&mut net, out, com, Draws::Current, 1.0, 2.5);
    let point = solved(&net);
    let out_volts = 5.0 - R;
    let second_watts = 0.5 + out_volts * 1.0 / 0.8;
    near(point.between(middle, com) * point.current(second), second_watts, 1e-11);
    let first_watts = 0.5 + second_watts / 0.8;
    near(point.between(top, com) * point.current(first), first_watts, 1e-11);
    near(point.heat(&net, second), second_watts - out_volts, 1e-11);
    near(point.power.taken, out_volts, 1e-12);
    near(point.power.delivered, first_watts, 1e-11);
}

/// On, a converter pulls its input below its range through the feed's resistance; off, the input recovers: it hunts.
/// Through a lower resistance it runs, through any it stays off if the feed is below its range.
#[test]
fn hunting_converter() {
    let fed_through = |volts: f64, ohms: f64| {
        let (mut net, com, top) = two_nodes();
        let (input, out) = (net.node("input"), net.node("out"));
        source(&mut net, top, com, volts, None, Overload::Hold);
        resistor(&mut net, top, input, ohms);
        let element = converter(&mut net, input, com, out, (9.0, 18.0));
        load(&mut net, out, com, Draws::Current, 2.0, 2.5);
        assert_eq!(net.solve().err(), net.solve_plainly().err());
        net.solve().map(|point| point.elements[element].state)
    };
    assert_eq!(fed_through(12.0, 0.5), Ok(State::On));
    assert_eq!(fed_through(12.0, 2.5), Err(Unsolved::Hunting { devices: vec!["converter".into()] }));
    assert_eq!(fed_through(8.0, 0.5), Ok(State::BelowRange));
    assert_eq!(fed_through(20.0, 0.5), Ok(State::AboveRange));
}

/// Two converters, each enabled while the other's output is low: switched all at once they change places for ever,
/// one at a time the first yields and the second runs.
#[test]
fn one_at_a_time_finds_what_all_at_once_does_not() {
    let (mut net, com, top) = two_nodes();
    let outputs = [net.node("one"), net.node("two")];
    source(&mut net, top, com, 12.0, None, Overload::Hold);
    let elements = outputs.map(|out| converter(&mut net, top, com, out, (9.0, 18.0)));
    for (element, other) in elements.into_iter().zip([outputs[1], outputs[0]]) {
        if let Law::Converter(c) = &mut net.elements[element].law {
            c.enable = Some(Enable { plus: other, minus: com, threshold: 1.4, on_when: OnWhen::Below });
        }
    }
    let point = solved(&net);
    assert_eq!(elements.map(|e| point.elements[e].state), [State::Disabled, State::On]);
}

/// An enable input that the converter's own output pulls over its threshold the wrong way hunts; a strap does not.
#[test]
fn enable_input() {
    let enabled_by = |own_output: bool, on_when: OnWhen| {
        let (mut net, com, top) = two_nodes();
        let out = net.node("out");
        source(&mut net, top, com, 12.0, None, Overload::Hold);
        let element = converter(&mut net, top, com, out, (9.0, 18.0));
        let plus = if own_output { out } else { top };
        if let Law::Converter(c) = &mut net.elements[element].law {
            c.enable = Some(Enable { plus, minus: com, threshold: 1.4, on_when });
        }
        net.solve().map(|point| point.elements[element].state)
    };
    assert_eq!(enabled_by(false, OnWhen::Above), Ok(State::On));
    assert_eq!(enabled_by(false, OnWhen::Below), Ok(State::Disabled));
    assert_eq!(enabled_by(true, OnWhen::Above), Ok(State::On));
    assert!(matches!(enabled_by(true, OnWhen::Below), Err(Unsolved::Hunting { .. })));
}

/// An output that something else pulls backward gives nothing back to its converter's input.
#[test]
fn converter_does_not_feed_back() {
    let (mut net, com, top) = two_nodes();
    net.leak = 0.0;
    let (out, low) = (net.node("out"), net.node("low"));
    source(&mut net, top, com, 12.0, None, Overload::Hold);
    source(&mut net, low, com, -12.0, None, Overload::Hold);
    let element = converter(&mut net, top, com, out, (9.0, 18.0));
    if let Law::Converter(c) = &mut net.elements[element].law {
        c.outputs[0].limit = Some(2.0);
    }
    resistor(&mut net, out, low, 1.0);
    let point = solved(&net);
    assert_eq!(point.elements[element].outputs[0].state, State::Limiting);
    near(point.between(top, com) * point.current(element), 0.5, 1e-12);
    // What it loses is its idle power and what is pushed into its output.
    near(point.heat(&net, element), 0.5 - 2.0 * point.volts[out], 1e-9);
}
