//! The meter, and values of ours that a job may replace.

use super::Given;
use std::ops::Range;
use voltwright_quantity::parse::Accuracy;
use voltwright_quantity::{
    Current, Quantity, Ratio, Resistance, Spread, Temperature, TemperatureRise, Voltage,
};

/// Accuracy of the meter.
#[derive(Debug, Clone, Default)]
pub struct Meter {
    /// On direct voltage.
    pub dc_volts: Option<Accuracy<Voltage>>,
    /// On alternating voltage.
    pub ac_volts: Option<Accuracy<Voltage>>,
    /// On resistance.
    pub ohms: Option<Accuracy<Resistance>>,
    /// On direct current.
    pub dc_amps: Option<Accuracy<Current>>,
}

/// A stage of first power as the job names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GivenStage {
    /// Whether power is on.
    pub live: bool,
    /// The load whose plugs go in, besides those that are in already.
    pub adds: Option<usize>,
    /// The fuse that is out, or the switch that is off, for this stage only.
    pub open: Option<usize>,
    /// Where it stands in the file.
    pub span: Range<usize>,
}

/// Values of ours that the job may replace; each is used where the job gives nothing nearer.
#[derive(Debug, Clone)]
pub struct Assume {
    /// Resistance of one mated contact.
    pub contact: Given<Resistance>,
    /// Resistance of one wire joint (crimp, solder, screw).
    pub joint: Given<Resistance>,
    /// Share of a rating that may be used continuously.
    pub continuous: Given<Ratio>,
    /// Ratio of watts to volt-amperes of a rectifier input.
    pub power_factor: Given<Ratio>,
    /// Ground lift that is still tolerated at a load.
    pub ground_lift: Given<Voltage>,
    /// Junction temperature that is planned for.
    pub junction: Given<Temperature>,
    /// Air inside the case over the ambient, where the case is not described.
    pub inside_rise: Given<TemperatureRise>,
    /// Resistance of the mains supply up to the inlet.
    pub mains_loop: Given<Resistance>,
}

impl Default for Assume {
    fn default() -> Self {
        let spread = |nominal: f64, low: f64, high: f64| Spread { nominal, low, high };
        fn of<Q: Quantity>(s: Spread<f64>) -> Spread<Q> {
            Spread { nominal: Q::from_si(s.nominal), low: Q::from_si(s.low), high: Q::from_si(s.high) }
        }
        // Common practice, all of them: starting values with their spread, see design page 3 and bench-practice 2.3.
        Self {
            contact: Given::ours("assume.contact", of(spread(0.01, 0.005, 0.03))),
            joint: Given::ours("assume.joint", of(spread(0.001, 0.0005, 0.003))),
            continuous: Given::ours("assume.continuous", of(spread(0.8, 0.8, 0.8))),
            power_factor: Given::ours("assume.power-factor", of(spread(0.65, 0.55, 0.75))),
            ground_lift: Given::ours("assume.ground-lift", of(spread(0.05, 0.05, 0.05))),
            junction: Given::ours("assume.junction", of(spread(110.0, 110.0, 110.0))),
            inside_rise: Given::ours("assume.inside-rise", of(spread(10.0, 10.0, 10.0))),
            mains_loop: Given::ours("assume.mains-loop", of(spread(0.5, 0.2, 1.0))),
        }
    }
}
