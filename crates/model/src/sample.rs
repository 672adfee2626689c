//! One value for every input of the job: nominal, a corner, or a random draw.

use crate::mains::LocalMains;
use voltwright_job::inputs::Si;
use voltwright_job::{Given, Job};
use voltwright_quantity::Quantity;

/// A value for every input of a job, and one for the mains voltage.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    values: Vec<f64>,
}

impl Sample {
    /// Everything at its nominal value.
    pub fn nominal(job: &Job, mains: Option<&LocalMains>) -> Self {
        Self::new(job, mains, |si| si.nominal)
    }

    /// Each value chosen from its nominal and bounds; the mains voltage is the last.
    pub fn new(job: &Job, mains: Option<&LocalMains>, choose: impl FnMut(Si) -> f64) -> Self {
        Self { values: spreads(job, mains).map(choose).collect() }
    }

    /// The number of the mains voltage among the inputs.
    pub fn mains_input(job: &Job) -> usize {
        job.spreads.len()
    }

    /// The value of an input, SI.
    pub fn of<Q: Quantity>(&self, given: &Given<Q>) -> f64 {
        self.values.get(given.id).copied().unwrap_or_else(|| given.nominal().si())
    }

    /// The mains voltage, RMS volts; 0 where the country is not known.
    pub fn mains(&self) -> f64 {
        self.values.last().copied().unwrap_or(0.0)
    }

    /// The same with the mains at another voltage.
    #[must_use]
    pub fn with_mains(mut self, volts: f64) -> Self {
        if let Some(last) = self.values.last_mut() {
            *last = volts;
        }
        self
    }

    /// A corner: each input at the end of its spread that `ends` names: −1 low, 1 high, 0 nominal.
    pub fn corner(job: &Job, mains: Option<&LocalMains>, ends: &[i8]) -> Self {
        let mut ends = ends.iter();
        Self::new(job, mains, |si| match ends.next() {
            Some(1) => si.high,
            Some(-1) => si.low,
            _ => si.nominal,
        })
    }
}

fn spreads<'a>(job: &'a Job, mains: Option<&LocalMains>) -> impl Iterator<Item = Si> + use<'a> {
    let volts = mains.map_or(Si { nominal: 0.0, low: 0.0, high: 0.0 }, |m| Si {
        nominal: m.nominal.si(),
        low: m.low.si(),
        high: m.high.si(),
    });
    job.spreads.iter().copied().chain([volts])
}

/// A small seeded generator, so that a likelihood repeats to the last digit.
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    /// With a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Uniform in 0..1 (the splitmix generator of Steele, Lea and Flood, OOPSLA 2014).
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Triangular between low and high with its peak at the nominal value: all we claim to know of a spread.
    pub fn triangular(&mut self, si: Si) -> f64 {
        let Si { nominal, low, high } = si;
        let width = high - low;
        if width <= 0.0 {
            return nominal;
        }
        let u = self.uniform();
        let knee = (nominal - low) / width;
        if u < knee {
            low + (u * width * (nominal - low)).sqrt()
        } else {
            high - ((1.0 - u) * width * (high - nominal)).sqrt()
        }
    }
}
