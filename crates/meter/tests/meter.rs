//! A meter's answers, right and wrong, over the network and over a serial port.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "meter/late.rs"]
mod late;
#[path = "common/script.rs"]
mod script;
#[path = "meter/unreached.rs"]
mod unreached;

use script::{Act, Bench, hear, on_network, on_serial, say};
use std::time::Duration;
use voltwright_meter::{Function, Meter, MeterError, Shown, Way};

const NO_ERROR: &str = "0,\"No error\"";
/// Ample: for tests in which all answers come.
const AMPLE: u64 = 15_000;

fn open(bench: &Bench, timeout: u64) -> Meter {
    Meter::open(&bench.address, Duration::from_millis(timeout)).unwrap()
}

/// Plays the script on the network and on a serial port, each with the same test.
fn on_each(timeout: u64, script: &[Act], test: impl Fn(&mut Meter)) {
    for start in [on_network, on_serial] {
        let bench = start(script.to_vec());
        test(&mut open(&bench, timeout));
        bench.end();
    }
}

fn ohms(meter: &mut Meter) -> Result<Shown, MeterError> {
    meter.measure(Function::Ohms, Way::Measure)
}

fn unreadable(question: &str, answer: &str) -> MeterError {
    MeterError::Unreadable { question: question.into(), answer: answer.into() }
}

fn no_answer(question: &str, seconds: &str) -> MeterError {
    MeterError::NoAnswer { question: question.into(), seconds: seconds.into() }
}

fn own(trouble: MeterError, said: &str) -> MeterError {
    MeterError::Own { trouble: Box::new(trouble), said: said.into() }
}

#[test]
fn each_function_is_measured() {
    let script = [
        hear("MEAS:RES?"),
        say("+4.7000000E+01"),
        hear("MEAS:VOLT:DC?"),
        say("-12.05"),
        hear("MEAS:CURR:DC?"),
        say("0"),
        hear("MEAS:RES?"),
        say("-2.5E-02"),
    ];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(ohms(meter), Ok(Shown::Value(47.0)));
        assert_eq!(meter.measure(Function::Volts, Way::Measure), Ok(Shown::Value(-12.05)));
        assert_eq!(meter.measure(Function::Amps, Way::Measure), Ok(Shown::Value(0.0)));
        assert_eq!(ohms(meter), Ok(Shown::Value(-0.025)));
    });
}

#[test]
fn a_meter_set_by_hand_is_asked_what_it_is_set_to() {
    let script = [hear("SENS:FUNC?"), say("\"VOLT\""), hear("READ?"), say("5.02,5.03")];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(meter.measure(Function::Volts, Way::Read), Ok(Shown::Value(5.02)));
    });
}

#[test]
fn a_meter_set_to_something_else_is_not_read() {
    let script = [
        hear("SENS:FUNC?"),
        say("\"VOLT:DC\""),
        hear("SENS:FUNC?"),
        say("\"VOLT:AC\""),
        hear("SENS:FUNC?"),
        say("res"),
        hear("*IDN?"),
        say("x"),
    ];
    on_each(AMPLE, &script, |meter| {
        let mut told = |function| meter.measure(function, Way::Read).unwrap_err().to_string();
        assert_eq!(
            told(Function::Ohms),
            "the meter is set to voltage, DC; this reading needs ohms: turn it to ohms"
        );
        assert_eq!(
            told(Function::Volts),
            "the meter is set to voltage, AC; this reading needs volts, DC: turn it to volts, DC"
        );
        assert_eq!(
            told(Function::Amps),
            "the meter is set to ohms; this reading needs amperes, DC: switch the machine off, put the meter in series, \
             then turn it to amperes, DC"
        );
        assert_eq!(meter.identify().unwrap(), "x");
    });
}

#[test]
fn an_overload_is_a_reading_and_no_value_is_not() {
    let script = [
        hear("MEAS:RES?"),
        say("+9.90000000E+37"),
        hear("MEAS:RES?"),
        say("-9.9E37"),
        hear("MEAS:VOLT:DC?"),
        say("9.9E37"),
        hear("MEAS:CURR:DC?"),
        say("-9.9E+37"),
        hear("MEAS:VOLT:DC?"),
        say("9.91E37"),
    ];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(ohms(meter), Ok(Shown::Open));
        assert_eq!(ohms(meter), Ok(Shown::Open));
        assert_eq!(meter.measure(Function::Volts, Way::Measure), Ok(Shown::Overload));
        assert_eq!(meter.measure(Function::Amps, Way::Measure), Ok(Shown::Overload));
        assert_eq!(meter.measure(Function::Volts, Way::Measure), Err(MeterError::NoValue));
    });
}

#[test]
fn an_identity_is_cleaned_and_cut() {
    let long = format!("\u{1b}[1mMarlow\u{7} & Daughters,{}", "9".repeat(200));
    let script = [hear("*IDN?"), say(&long), hear("*IDN?"), Act::Say(b" a\xffb \n".to_vec())];
    on_each(AMPLE, &script, |meter| {
        let name = meter.identify().unwrap();
        assert!(name.starts_with("[1mMarlow & Daughters,999") && name.ends_with("9…"), "{name}");
        assert_eq!(name.chars().count(), 100);
        assert_eq!(meter.identify().unwrap(), "a\u{fffd}b");
    });
}

#[test]
fn other_line_ends_are_understood() {
    let ask = || hear("MEAS:RES?");
    let raw = |text: &str| Act::Say(text.as_bytes().to_vec());
    let script = [ask(), raw("1\r\n"), ask(), raw("2\r"), ask(), raw("\n3\n"), ask(), raw("\r\n\r\n 4 \n\r")];
    on_each(AMPLE, &script, |meter| {
        for expected in [1.0, 2.0, 3.0, 4.0] {
            assert_eq!(ohms(meter), Ok(Shown::Value(expected)));
        }
    });
}

#[test]
fn garbage_is_shown_and_refused() {
    let script = [
        hear("MEAS:RES?"),
        say("\u{2}HELLO\u{7} this is not a number, nor will it ever become one"),
        hear("SYST:ERR?"),
        say(NO_ERROR),
        hear("MEAS:RES?"),
        say("nan"),
        hear("SYST:ERR?"),
        say("-220,\"Parameter error\""),
        hear("SYST:ERR?"),
        say(NO_ERROR),
        hear("SENS:FUNC?"),
        say("+1.0E+00"),
        hear("SYST:ERR?"),
        say(NO_ERROR),
        hear("MEAS:RES?"),
        say("1"),
    ];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(ohms(meter), Err(unreadable("MEAS:RES?", "HELLO this is not a number, nor will it…")));
        assert_eq!(ohms(meter), Err(own(unreadable("MEAS:RES?", "nan"), "-220 Parameter error")));
        assert_eq!(meter.measure(Function::Ohms, Way::Read), Err(unreadable("SENS:FUNC?", "+1.0E+00")));
        assert_eq!(ohms(meter), Ok(Shown::Value(1.0)));
    });
}

#[test]
fn no_more_than_five_of_the_meters_own_errors_are_taken() {
    let mut script = vec![hear("MEAS:RES?"), say("?")];
    for _ in 0..5 {
        script.extend([hear("SYST:ERR?"), say("-350,\"Queue overflow\"")]);
    }
    script.extend([hear("MEAS:RES?"), say("1")]);
    on_each(AMPLE, &script, |meter| {
        let MeterError::Own { said, .. } = ohms(meter).unwrap_err() else { panic!("no error of its own") };
        assert_eq!(said.matches("Queue overflow").count(), 5);
        assert_eq!(ohms(meter), Ok(Shown::Value(1.0)));
    });
}

#[test]
fn an_answer_too_long_is_stopped() {
    let flood = |count: usize| Act::Say(vec![b'7'; count]);
    let script = [
        hear("MEAS:RES?"),
        flood(4097),
        hear("SYST:ERR?"),
        say(""),
        say(NO_ERROR),
        hear("MEAS:RES?"),
        say("1"),
    ];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(ohms(meter), Err(MeterError::TooLong { question: "MEAS:RES?".into() }));
        assert_eq!(ohms(meter), Ok(Shown::Value(1.0)));
    });
}

#[test]
fn an_answer_just_not_too_long_is_read() {
    let script = [hear("MEAS:RES?"), say(&format!("{}1", "0".repeat(4095)))];
    on_each(AMPLE, &script, |meter| assert_eq!(ohms(meter), Ok(Shown::Value(1.0))));
}

#[test]
fn a_connection_that_closes_in_the_middle_is_no_answer() {
    let script = [hear("MEAS:RES?"), Act::Say(b"+1.2".to_vec()), Act::HangUp];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(ohms(meter), Err(MeterError::Lost { question: "MEAS:RES?".into() }));
    });
}

#[test]
fn a_connection_that_was_lost_is_made_anew() {
    let script = vec![
        hear("MEAS:RES?"),
        Act::Say(b"+1.2".to_vec()),
        Act::HangUp,
        hear("SYST:ERR?"),
        say(NO_ERROR),
        hear("MEAS:RES?"),
        say("2"),
    ];
    let bench = on_network(script);
    let mut meter = open(&bench, AMPLE);
    assert_eq!(ohms(&mut meter), Err(MeterError::Lost { question: "MEAS:RES?".into() }));
    assert_eq!(ohms(&mut meter), Ok(Shown::Value(2.0)));
    bench.end();
}

#[test]
fn a_connection_closed_between_readings_is_made_anew_unseen() {
    let script = vec![hear("MEAS:RES?"), say("1"), Act::HangUp, hear("MEAS:RES?"), say("2")];
    let bench = on_network(script);
    let mut meter = open(&bench, AMPLE);
    assert_eq!(ohms(&mut meter), Ok(Shown::Value(1.0)));
    bench.wait_for_hang_up();
    assert_eq!(ohms(&mut meter), Ok(Shown::Value(2.0)));
    bench.end();
}

#[test]
fn a_silent_meter_is_given_up() {
    on_each(50, &[hear("MEAS:RES?"), hear("SYST:ERR?")], |meter| {
        assert_eq!(ohms(meter), Err(no_answer("MEAS:RES?", "0.05")));
    });
}

#[test]
fn a_silent_meter_may_have_an_error_to_tell() {
    let script = [
        hear("MEAS:RES?"),
        hear("SYST:ERR?"),
        say("-113,\"Undefined header;MEAS:RES?\""),
        hear("SYST:ERR?"),
        say("-221,\"Settings conflict\""),
        hear("SYST:ERR?"),
        say(NO_ERROR),
    ];
    on_each(400, &script, |meter| {
        let error = ohms(meter).unwrap_err();
        let said = "-113 Undefined header;MEAS:RES?; -221 Settings conflict";
        assert_eq!(error, own(no_answer("MEAS:RES?", "0.4"), said));
        assert!(
            error.to_string().ends_with(&format!("The meter's own list of errors says: {said}")),
            "{error}"
        );
    });
}

/// Each byte comes well before the time is over, the whole answer never: the instrument fails if it is not stopped.
#[test]
fn a_meter_that_dribbles_is_stopped() {
    let script = [hear("MEAS:RES?"), Act::Dribble, hear("SYST:ERR?"), say(""), say(NO_ERROR)];
    on_each(400, &script, |meter| {
        assert_eq!(ohms(meter), Err(no_answer("MEAS:RES?", "0.4")));
    });
}
