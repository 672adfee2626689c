//! The mains that the job will live on, at their low, nominal and high ends.

use voltwright_job::Job;
use voltwright_quantity::{Basis, Place, Quantity, Source, Voltage, Working};
use voltwright_tables::mains;

/// Local mains.
#[derive(Debug, Clone)]
pub struct LocalMains {
    /// Name of the country.
    pub country: &'static str,
    /// Lowest voltage to reckon with.
    pub low: Voltage,
    /// Nominal.
    pub nominal: Voltage,
    /// Highest voltage to reckon with.
    pub high: Voltage,
    /// Frequencies met in the country, hertz.
    pub hertz: &'static [f64],
    /// Where nominal and tolerance stand.
    pub source: Source,
    /// Where low and high were entered, if they were measured at the outlet.
    pub measured: Option<Place>,
    /// Other nominal voltages of the country.
    pub others: Vec<Voltage>,
}

impl LocalMains {
    /// From the job's country, narrowed or widened by what was measured.
    pub fn of(job: &Job) -> Option<Self> {
        let country = mains::of(&job.country.as_ref()?.text)?;
        let measured = job.mains_measured.as_ref();
        let middle = measured.map(|m| (m.low + m.high) / 2.0);
        // Where a country has two systems, what was measured tells which is at the outlet.
        let nearest = |s: &&mains::Supply| middle.map_or(0.0, |m| (s.nominal() - m).abs() / m);
        let supply = country.supplies.iter().min_by(|a, b| nearest(a).total_cmp(&nearest(b)))?;
        let others =
            country.supplies.iter().map(mains::Supply::nominal).filter(|v| *v != supply.nominal()).collect();
        Some(Self {
            country: country.country,
            low: measured.map_or(supply.low(), |m| m.low),
            nominal: supply.nominal(),
            high: measured.map_or(supply.high(), |m| m.high),
            hertz: supply.hertz,
            source: supply.tolerance_source,
            measured: measured.map(|m| m.place.clone()),
            others,
        })
    }

    /// One of its voltages or frequencies as the leaf of a working.
    pub fn working<Q: Quantity>(&self, symbol: &str, what: &str, value: Q) -> Working {
        let near = |end: Voltage| (value.si() - end.si()).abs() < 1e-9;
        match &self.measured {
            Some(place) if near(self.low) || near(self.high) => {
                Working::entered(symbol, what, value, place.clone(), Basis::Measured)
            }
            _ => Working::looked(symbol, what, value, self.source),
        }
    }

    /// The lowest frequency, hertz: where iron and ripple are worst.
    pub fn lowest_hertz(&self) -> f64 {
        self.hertz.iter().copied().fold(f64::INFINITY, f64::min)
    }
}
