//! Addresses as a person writes them.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use proptest::prelude::*;
use voltwright_meter::{Address, AddressError};

fn tcp(host: &str, port: u16) -> Address {
    Address::Tcp { host: host.to_owned(), port }
}

fn serial(path: &str, rate: u32) -> Address {
    Address::Serial { path: path.to_owned(), rate }
}

#[test]
fn all_ways_to_write_one_are_read() {
    let known = [
        ("tcp:192.168.1.40:5025", tcp("192.168.1.40", 5025)),
        ("192.168.1.40", tcp("192.168.1.40", 5025)),
        (" 192.168.1.40:1394 ", tcp("192.168.1.40", 1394)),
        ("TCP:bench-meter.local", tcp("bench-meter.local", 5025)),
        ("meter", tcp("meter", 5025)),
        ("tcp:[fe80::1]:99", tcp("fe80::1", 99)),
        ("[::1]", tcp("::1", 5025)),
        ("serial:/dev/ttyUSB0", serial("/dev/ttyUSB0", 9600)),
        ("serial:/dev/ttyUSB0@115200", serial("/dev/ttyUSB0", 115_200)),
        ("/dev/serial/by-id/usb-1:2-port0", serial("/dev/serial/by-id/usb-1:2-port0", 9600)),
        ("/dev/ttyACM0@19200", serial("/dev/ttyACM0", 19_200)),
        ("COM3", serial("COM3", 9600)),
        ("com12@4800", serial("com12", 4800)),
        ("serial:COM3", serial("COM3", 9600)),
        ("company", tcp("company", 5025)),
        ("tcp:com3", tcp("com3", 5025)),
    ];
    for (text, address) in known {
        assert_eq!(Address::parse(text), Ok(address.clone()), "{text}");
        assert_eq!(Address::parse(&address.to_string()), Ok(address), "{text}");
    }
}

#[test]
fn what_is_wrong_is_told_with_what_was_expected() {
    let host = |text: &str| AddressError::Host(text.to_owned());
    let port = |text: &str| AddressError::Port(text.to_owned());
    let path = |text: &str| AddressError::Path(text.to_owned());
    let rate = |text: &str| AddressError::Rate(text.to_owned());
    let wrong = [
        ("", AddressError::Empty),
        ("  ", AddressError::Empty),
        ("tcp:", host("")),
        ("192.168.1", host("192.168.1")),
        ("192.168.1.400", host("192.168.1.400")),
        ("5025", host("5025")),
        ("my meter", host("my meter")),
        ("a..b", host("a..b")),
        ("[::1", host("[")),
        ("[nonsense]", host("nonsense")),
        ("meter:", port("")),
        ("meter:0", port("0")),
        ("meter:65536", port("65536")),
        ("meter:+80", port("+80")),
        ("fe80::1", port(":1")),
        ("[::1]x", port("x")),
        ("http://meter", port("//meter")),
        ("serial:", path("")),
        ("serial:ttyUSB0", path("ttyUSB0")),
        ("/etc/passwd", path("/etc/passwd")),
        ("/dev/", path("/dev/")),
        ("/dev/../etc/passwd", path("/dev/../etc/passwd")),
        ("serial:COM", path("COM")),
        ("COM3@", rate("")),
        ("COM3@0", rate("0")),
        ("COM3@fast", rate("fast")),
        ("/dev/ttyUSB0@-9600", rate("-9600")),
    ];
    for (text, error) in wrong {
        assert_eq!(Address::parse(text), Err(error), "{text}");
    }
}

#[test]
fn an_error_says_what_to_write() {
    for (text, shown) in [
        ("", "no address"),
        ("1.2.3.400", "`1.2.3.400`"),
        ("meter:0", "`0`"),
        ("serial:x", "`x`"),
        ("COM3@fast", "`fast`"),
    ] {
        let said = Address::parse(text).unwrap_err().to_string();
        assert!(said.contains(": write ") && said.contains(shown), "{said}");
    }
}

proptest! {
    #[test]
    fn what_is_read_is_written_so_that_it_reads_the_same(text in "(tcp:|serial:|/dev/|COM)?[a-c0-9.:@/\\[\\]]{0,12}") {
        if let Ok(address) = Address::parse(&text) {
            prop_assert_eq!(Address::parse(&address.to_string()), Ok(address));
        }
    }
}
