//! Takes a reading from a meter that speaks SCPI, over the network or a serial port.
//!
//! What is asked and how answers look is from SCPI-1999 and the standard under it, IEEE 488.2-1992; only what these
//! name is sent. Neither was at hand when this was written: clauses and numbers said to be theirs are from memory.
//!
//! A reading decides whether a person goes on to the next step, so an answer must be the answer to the question just
//! asked: see [`instrument`] for how that is kept.

pub mod address;
mod connect;
mod deadline;
pub mod error;
pub mod instrument;
mod port;
mod scpi;
mod setting;

pub use address::{Address, AddressError};
pub use error::MeterError;
pub use instrument::{Meter, Shown, Way};

use std::fmt;

/// What is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Function {
    /// Resistance, two wires.
    Ohms,
    /// Voltage, DC.
    Volts,
    /// Current, DC.
    Amps,
}

impl fmt::Display for Function {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            Function::Ohms => "ohms",
            Function::Volts => "volts, DC",
            Function::Amps => "amperes, DC",
        })
    }
}
