//! A meter that cannot be reached: each reason has its own sentence.

use super::*;
use std::net::TcpListener;
use voltwright_meter::Address;

fn refusal(address: &str, timeout: u64) -> MeterError {
    let address = Address::parse(address).unwrap();
    match Meter::open(&address, Duration::from_millis(timeout)) {
        Ok(_) => panic!("{address} was opened"),
        Err(error) => error,
    }
}

#[test]
fn a_closed_door_refuses() {
    let address = format!("tcp:{}", TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap());
    assert_eq!(refusal(&address, AMPLE), MeterError::Refused { address });
}

/// Names under `.invalid` exist nowhere (RFC 6761, 6.4).
#[test]
fn an_unknown_name_is_told() {
    let host = "no-such-meter.invalid".to_owned();
    assert_eq!(refusal(&host, 2000), MeterError::NoSuchHost { host });
}

#[test]
fn a_missing_serial_port_is_told() {
    let path = "/dev/no-such-port".to_owned();
    assert_eq!(refusal(&path, AMPLE), MeterError::NoSuchPort { path });
}

#[test]
fn what_is_no_serial_port_is_told() {
    let MeterError::NoConnection { address, why } = refusal("/dev/null", AMPLE) else {
        panic!("another reason")
    };
    assert_eq!(address, "serial:/dev/null@9600");
    assert!(!why.is_empty());
}

#[test]
fn a_serial_port_in_use_is_told() {
    let bench = on_serial(Vec::new());
    let _first = open(&bench, AMPLE);
    let Address::Serial { path, .. } = bench.address.clone() else { panic!("no serial port") };
    assert_eq!(refusal(&path, AMPLE), MeterError::PortBusy { path });
}

#[test]
fn no_time_is_not_enough() {
    let bench = on_network(Vec::new());
    let address = bench.address.to_string();
    assert_eq!(refusal(&address, 0), MeterError::Unreachable { address });
}
