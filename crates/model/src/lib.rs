//! A job as networks: what is joined to what at each stage of first power, and the solved operating points.
//!
//! - [`mains`]: the mains that the job will live on, at their low, nominal and high ends.
//! - [`stage`]: which loads are connected, and how they draw.
//! - [`sample`]: one value for every input of the job: nominal, a corner, or a random draw.
//! - [`low_voltage`] and [`mains_side`]: the two networks.
//! - [`raw`]: a transformer with rectifier and reservoir as an averaged source.
//! - [`wire_heat`]: how warm a wire gets, and what destroys it.
//! - [`wiring`]: what the wiring alone determines, whatever its values.
//! - [`solved`]: operating points of a job, computed when they are first asked for.

pub mod low_voltage;
pub mod mains;
pub mod mains_side;
pub mod raw;
pub mod sample;
pub mod solved;
pub mod stage;
pub mod wire_heat;
pub mod wiring;

pub use low_voltage::LowVoltage;
pub use mains::LocalMains;
pub use sample::Sample;
pub use solved::{Point, Solved};
pub use stage::{Loading, Stage};
pub use wiring::Wiring;

use voltwright_job::Job;
use voltwright_quantity::{Temperature, TemperatureRise};

/// Resistance inside an ideal source, so that every device is a current: 0.1 mΩ, below any joint.
pub const SOURCE_OHMS: f64 = 1e-4;

/// Ambient where the job says nothing: a workshop. Our own default.
pub const AMBIENT: (f64, f64) = (15.0, 30.0);

/// The air around the machine at its warmest.
pub fn ambient_high(job: &Job) -> Temperature {
    job.ambient.as_ref().map_or(Temperature::celsius(AMBIENT.1), |a| a.high)
}

/// The air inside the case at its warmest, where heat is not computed: ambient plus `assume.inside-rise`.
/// Conductors are taken at this temperature.
pub fn air_inside(job: &Job) -> Temperature {
    let rise: TemperatureRise = job.assume.inside_rise.nominal();
    ambient_high(job) + rise
}
