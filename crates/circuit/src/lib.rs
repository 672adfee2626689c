//! Networks of sources, wires, loads and converters: their operating point, checked, and its sensitivities.
//!
//! Everything is a current as a function of node voltages, in plain SI units (volts, amperes, ohms, siemens, watts);
//! the unknowns are the node voltages alone. Mains networks are solved at RMS values taken as direct ones.
//!
//! - [`network`]: the data: nodes, elements and their laws.
//! - [`solution`]: an operating point: voltages, currents, states, residual, power balance; or why there is none.
//! - [`ordering`]: the order of elimination, which depends on the wiring alone and serves every network wired alike.
//! - [`neighbour`]: networks that differ in a few elements from one solved before, by small corrections.
//! - [`sensitivity`]: slopes of a reading to every value, by one adjoint solve.
//!
//! Inside: `laws` (what each device draws), `walk` (elements to equations), `lu` and `dense` (the equations solved),
//! `newton` (voltages for given switch positions), `operating` (switch positions made consistent), `balance` (the
//! result verified by substitution).
//!
//! ```
//! use voltwright_circuit::{Law, Network, Resistor, Source};
//! let mut net = Network::new();
//! let (com, top, middle) = (net.node("com"), net.node("top"), net.node("middle"));
//! net.datum = com;
//! net.add("supply", Law::Source(Source::ideal(top, com, 12.0, 1e-4)));
//! net.add("upper", Law::Resistor(Resistor { a: top, b: middle, ohms: 1e3 }));
//! net.add("lower", Law::Resistor(Resistor { a: middle, b: com, ohms: 2e3 }));
//! let point = net.solve()?;
//! assert!((point.between(middle, com) - 8.0).abs() < 1e-5);
//! # Ok::<(), voltwright_circuit::Unsolved>(())
//! ```

mod balance;
mod check;
mod dense;
mod laws;
mod lu;
pub mod neighbour;
pub mod network;
mod newton;
mod operating;
pub mod ordering;
mod potentials;
pub mod sensitivity;
pub mod solution;
mod walk;

pub use neighbour::{Base, Doubt, Edit, Neighbour, Way, Workspace};
pub use network::{
    Clamp, Converter, Diode, Draws, Element, Enable, Group, LEAK, Law, Load, Network, OnWhen, Output,
    Overload, Regulator, Resistor, Source,
};
pub use ordering::Ordering;
pub use sensitivity::{Field, Sensitivities};
pub use solution::{Flow, OutputFlow, Power, Solution, State, Unsolved};
