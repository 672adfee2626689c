//! The instrument that runs for other tests answers as a meter would.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "common/simulator.rs"]
mod simulator;

use simulator::Simulator;
use std::time::Duration;
use voltwright_meter::{Address, Function, Meter, MeterError, Shown, Way};

fn meter(simulator: &Simulator, timeout: u64) -> Meter {
    let address = Address::parse(&simulator.address()).unwrap();
    Meter::open(&address, Duration::from_millis(timeout)).unwrap()
}

#[test]
fn it_answers_from_its_table_and_the_table_can_change() {
    let simulator = Simulator::start(&[
        ("*IDN?", "Thornby Instruments,Dipper 4,0007,1.0"),
        ("MEAS:RES?", "+1.5E+01"),
        ("SENS:FUNC?", "\"VOLT:DC\""),
        ("READ?", "+5.1E+00"),
    ]);
    let mut meter = meter(&simulator, 10_000);
    assert_eq!(meter.identify().unwrap(), "Thornby Instruments,Dipper 4,0007,1.0");
    assert_eq!(meter.measure(Function::Ohms, Way::Measure), Ok(Shown::Value(15.0)));
    assert_eq!(meter.measure(Function::Volts, Way::Read), Ok(Shown::Value(5.1)));
    simulator.set("MEAS:RES?", "+9.9E+37");
    assert_eq!(meter.measure(Function::Ohms, Way::Measure), Ok(Shown::Open));
    assert_eq!(simulator.asked(), ["*IDN?", "MEAS:RES?", "SENS:FUNC?", "READ?", "MEAS:RES?"]);
}

#[test]
fn two_can_ask_it_at_once() {
    let simulator = Simulator::start(&[("MEAS:VOLT:DC?", "12")]);
    let (mut one, mut other) = (meter(&simulator, 10_000), meter(&simulator, 10_000));
    assert_eq!(other.measure(Function::Volts, Way::Measure), Ok(Shown::Value(12.0)));
    assert_eq!(one.measure(Function::Volts, Way::Measure), Ok(Shown::Value(12.0)));
}

#[test]
fn what_it_does_not_know_it_does_not_answer_but_lists_as_an_error() {
    let simulator = Simulator::start(&[("MEAS:VOLT:DC?", "12")]);
    let mut meter = meter(&simulator, 400);
    let MeterError::Own { trouble, said } = meter.measure(Function::Ohms, Way::Measure).unwrap_err() else {
        panic!("the meter's own error is missing");
    };
    assert_eq!(*trouble, MeterError::NoAnswer { question: "MEAS:RES?".into(), seconds: "0.4".into() });
    assert_eq!(said, "-113 Undefined header");
    assert_eq!(meter.measure(Function::Volts, Way::Measure), Ok(Shown::Value(12.0)));
}
