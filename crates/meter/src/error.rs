//! Why a meter gave no reading, each in a sentence with what to do.

use super::Function;
use thiserror::Error;

/// Why a meter gave no reading.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MeterError {
    /// The machine at the address has no such door open.
    #[error(
        "{address} refuses the connection: switch the meter's network control on, and compare the port number"
    )]
    Refused {
        /// The address.
        address: String,
    },
    /// Nothing at the address answers at all.
    #[error(
        "nothing answers at {address}: see that the meter is on and its cable in, and compare the address it shows"
    )]
    Unreachable {
        /// The address.
        address: String,
    },
    /// The name cannot be turned into an address.
    #[error("no machine named {host} is known here: write the address the meter shows, such as 192.168.1.40")]
    NoSuchHost {
        /// The name.
        host: String,
    },
    /// The serial port is not there.
    #[error("there is no serial port {path}: plug its cable in, and compare the name the system gives it")]
    NoSuchPort {
        /// The serial port.
        path: String,
    },
    /// The serial port may not be opened.
    #[error(
        "this account may not open {path}: let it in by the system's settings (on Linux by joining the group that owns \
         the port, often dialout), then log in anew"
    )]
    NoPermission {
        /// The serial port.
        path: String,
    },
    /// The serial port is taken.
    #[error("another program seems to have {path} open: close it there, then try again")]
    PortBusy {
        /// The serial port.
        path: String,
    },
    /// The connection cannot be made for a reason of the system's.
    #[error("{address} cannot be opened ({why}): compare the address, or type the reading in")]
    NoConnection {
        /// The address.
        address: String,
        /// What the system says.
        why: String,
    },
    /// No whole answer came in time.
    #[error(
        "the meter gave no whole answer to {question} within {seconds} s: see that it is on and may be controlled from \
         outside; if it measures slowly, allow more time"
    )]
    NoAnswer {
        /// What was asked.
        question: String,
        /// The time allowed.
        seconds: String,
    },
    /// The connection ended while an answer was due.
    #[error(
        "the connection to the meter was lost at {question}: see to its cable and its power, then measure again"
    )]
    Lost {
        /// What was asked.
        question: String,
    },
    /// The meter is set by hand to something else.
    #[error("the meter is set to {set}; this reading needs {wanted}: {}", turn(.wanted))]
    WrongFunction {
        /// What it is set to, in words.
        set: String,
        /// What the reading needs.
        wanted: Function,
    },
    /// The answer is not of the form the question has.
    #[error(
        "the meter's answer to {question} cannot be read (`{answer}`): measure again, or type the reading in"
    )]
    Unreadable {
        /// What was asked.
        question: String,
        /// The answer, cut short, without control characters.
        answer: String,
    },
    /// The answer does not end.
    #[error(
        "the meter sent more than a reading to {question}: if it sends readings unasked, switch that off; compare the \
         rate of a serial port"
    )]
    TooLong {
        /// What was asked.
        question: String,
    },
    /// The meter says that it has no value.
    #[error(
        "the meter says that it has no value (its sign for `not a number`): see to its setting, then measure again"
    )]
    NoValue,
    /// The meter had errors of its own to tell when something went wrong; some may be older than the question.
    #[error("{trouble}. The meter's own list of errors says: {said}")]
    Own {
        /// What went wrong, as seen from here.
        trouble: Box<MeterError>,
        /// The errors, the oldest first.
        said: String,
    },
}

/// An ammeter is a short for what it is put across, so it is never turned to while its leads are on something live.
fn turn(wanted: &Function) -> &'static str {
    match wanted {
        Function::Ohms => "turn it to ohms",
        Function::Volts => "turn it to volts, DC",
        Function::Amps => "switch the machine off, put the meter in series, then turn it to amperes, DC",
    }
}
