//! Where the meter is: a network address or a serial port, as a person writes it.

use std::fmt;
use std::net::{Ipv4Addr, Ipv6Addr};
use thiserror::Error;

/// The port of SCPI over a plain socket where none is written (common practice).
const USUAL_PORT: u16 = 5025;
/// The rate of a serial port where none is written, in bits per second (common practice).
const USUAL_RATE: u32 = 9600;

/// Where a meter is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Address {
    /// On the network.
    Tcp {
        /// Its name or its IP address, without brackets.
        host: String,
        /// The port, never 0.
        port: u16,
    },
    /// On a serial port: 8 data bits, no parity, one stop bit, no flow control.
    Serial {
        /// The port's name: `/dev/…` or `COM` and a number.
        path: String,
        /// Bits per second, never 0.
        rate: u32,
    },
}

/// Why a text is no address, and what was expected.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AddressError {
    /// Nothing is written.
    #[error("no address is written: write 192.168.1.40 for a meter on the network, or serial:/dev/ttyUSB0")]
    Empty,
    /// The host is none.
    #[error("`{0}` is no host: write four numbers up to 255 such as 192.168.1.40, a name, or [::1]")]
    Host(String),
    /// The port is none.
    #[error("`{0}` is no port: write a number from 1 to 65535, such as 5025")]
    Port(String),
    /// The serial port's name is none.
    #[error("`{0}` is no serial port: write a name such as /dev/ttyUSB0, or COM3")]
    Path(String),
    /// The serial port's rate is none.
    #[error("`{0}` is no rate: write the bits per second the meter is set to, such as 9600")]
    Rate(String),
}

impl Address {
    /// Reads `tcp:HOST:PORT`, `HOST:PORT`, `HOST`, `serial:PATH`, `serial:PATH@RATE` or `COM3`.
    pub fn parse(text: &str) -> Result<Address, AddressError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(AddressError::Empty);
        }
        match text.split_once(':') {
            Some((way, rest)) if way.eq_ignore_ascii_case("tcp") => tcp(rest),
            Some((way, rest)) if way.eq_ignore_ascii_case("serial") => serial(rest),
            _ if text.starts_with('/') || is_com(before_rate(text)) => serial(text),
            _ => tcp(text),
        }
    }
}

/// Written so that [`Address::parse`] reads the same again.
impl fmt::Display for Address {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Address::Tcp { host, port } if host.contains(':') => write!(out, "tcp:[{host}]:{port}"),
            Address::Tcp { host, port } => write!(out, "tcp:{host}:{port}"),
            Address::Serial { path, rate } => write!(out, "serial:{path}@{rate}"),
        }
    }
}

fn tcp(text: &str) -> Result<Address, AddressError> {
    let (host, port) = match text.strip_prefix('[').and_then(|rest| rest.split_once(']')) {
        Some((host, "")) => (host, None),
        Some((host, rest)) => (host, Some(rest.strip_prefix(':').unwrap_or(rest))),
        None => text.split_once(':').map_or((text, None), |(host, port)| (host, Some(port))),
    };
    let is_host = if text.starts_with('[') { host.parse::<Ipv6Addr>().is_ok() } else { is_host(host) };
    if !is_host {
        return Err(AddressError::Host(host.to_owned()));
    }
    let port =
        port.map_or(Some(USUAL_PORT), number).ok_or_else(|| AddressError::Port(port.unwrap_or("").into()))?;
    Ok(Address::Tcp { host: host.to_owned(), port })
}

fn serial(text: &str) -> Result<Address, AddressError> {
    let path = before_rate(text);
    let rate = text.strip_prefix(path).and_then(|rest| rest.strip_prefix('@'));
    if !is_com(path) && !is_device(path) {
        return Err(AddressError::Path(path.to_owned()));
    }
    let rate =
        rate.map_or(Some(USUAL_RATE), number).ok_or_else(|| AddressError::Rate(rate.unwrap_or("").into()))?;
    Ok(Address::Serial { path: path.to_owned(), rate })
}

fn before_rate(text: &str) -> &str {
    text.rsplit_once('@').map_or(text, |(path, _)| path)
}

/// A number above zero, of digits alone.
fn number<T: std::str::FromStr + From<u8> + PartialOrd>(text: &str) -> Option<T> {
    let digits = text.bytes().all(|byte| byte.is_ascii_digit());
    text.parse().ok().filter(|number| digits && *number > T::from(0))
}

/// What is of digits and points alone must be an IPv4 address: a slip in one is never looked up as a name.
fn is_host(text: &str) -> bool {
    let numeric = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let letter = |byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_');
    let named =
        text.len() < 254 && text.split('.').all(|label| !label.is_empty() && label.bytes().all(letter));
    if numeric { text.parse::<Ipv4Addr>().is_ok() } else { named }
}

fn is_com(path: &str) -> bool {
    let Some((com, digits)) = path.split_at_checked(3) else { return false };
    com.eq_ignore_ascii_case("com") && digits.len() < 4 && number::<u16>(digits).is_some()
}

/// Only names under `/dev`, so that an address never opens any other file.
fn is_device(path: &str) -> bool {
    let named = path.strip_prefix("/dev/").is_some_and(|name| !name.is_empty());
    named && !path.split('/').any(|part| part == "..") && !path.chars().any(char::is_control)
}
