//! Numbers with units and spread: parse, print, compute, and show their working.
//!
//! - [`units`]: one type a physical quantity, so that volts and ohms cannot be added.
//! - [`spread`]: a nominal value with its bounds, and the basis it rests on.
//! - [`parse`]: text such as `"2.3 A ± 25 %"` to values, with the place of every mistake.
//! - [`print`]: engineering notation with the digits that a figure deserves.
//! - [`working`]: a figure down to its inputs and sources, printed as one would write it by hand.
//!
//! ```
//! use voltwright_quantity::{Current, Resistance, Voltage};
//! let drop: Voltage = Current::amps(2.3) * Resistance::ohms(0.0124);
//! assert_eq!(drop.to_string(), "28.5 mV");
//! ```
//!
//! Volts and ohms do not add:
//! ```compile_fail
//! use voltwright_quantity::{Resistance, Voltage};
//! let nonsense = Voltage::volts(5.0) + Resistance::ohms(2.0);
//! ```
//!
//! A temperature is not a rise of temperature, and two temperatures do not add:
//! ```compile_fail
//! use voltwright_quantity::Temperature;
//! let nonsense = Temperature::celsius(20.0) + Temperature::celsius(30.0);
//! ```

pub mod parse;
pub mod print;
pub mod spread;
pub mod units;
pub mod working;

pub use spread::{Basis, Spread};
pub use units::*;
pub use working::{Origin, Place, Source, Sure, Working};
