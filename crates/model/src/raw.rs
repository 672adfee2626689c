//! A transformer with rectifier and reservoir as an averaged source.
//!
//! Until the time-domain model comes, the mean voltage over the reservoir is a straight line between no load and
//! the rated current:
//! - no load: `E = U·(1+r)·√2·m − d0`
//! - rated:   `V = U·√2·m − d1 − I/(2·p·f·C)`
//!
//! with the winding's loaded RMS voltage `U` (V), its regulation `r`, the mains over the primary's nominal `m`, the
//! drop of the diodes at light and heavy load `d0`, `d1` (V), the rated direct current `I` (A), the pulses per
//! period `p`, the mains frequency `f` (Hz) and the reservoir `C` (F). Ripple peak to peak is `I/(p·f·C)`.
//!
//! Common practice; against the time-domain solution the mean is within about ±5 % at the rated current.
//!
//! ```
//! // 9.0 V at 1.2 A, 12 %, bridge, 4700 µF on 100 V 60 Hz: 12.9 V unloaded; peak 10.7 V, mean 9.7 V loaded.
//! use voltwright_model::raw::Averaged;
//! let a = Averaged::of(9.0, 0.12, 1.2, voltwright_job::Rectifier::Bridge, 4700e-6, 1.0, 60.0);
//! assert!((a.unloaded - 12.86).abs() < 0.01);
//! assert!((a.mean_at(1.2) - 9.66).abs() < 0.01);
//! ```

use voltwright_job::Rectifier;

/// Relative error of the mean voltage that the straight line may have.
pub const ERROR: f64 = 0.05;

/// Drop of one conducting diode at light and at heavy load, volts: common practice.
const DIODE: (f64, f64) = (0.7, 1.0);

/// An unregulated supply as a source with an inner resistance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Averaged {
    /// Voltage without load.
    pub unloaded: f64,
    /// Loss of mean voltage a load's ampere.
    pub ohms: f64,
    /// Ripple peak to peak a load's ampere.
    pub ripple_per_amp: f64,
}

impl Averaged {
    /// From the winding (RMS volts, loaded), its regulation, rated direct current, rectifier, reservoir (F), the
    /// mains over the primary's nominal voltage, and the mains frequency.
    pub fn of(
        winding: f64,
        regulation: f64,
        rated: f64,
        rectifier: Rectifier,
        reservoir: f64,
        mains_ratio: f64,
        hertz: f64,
    ) -> Self {
        let in_series = if rectifier == Rectifier::Bridge { 2.0 } else { 1.0 };
        let pulses = if rectifier == Rectifier::HalfWave { 1.0 } else { 2.0 };
        let peak = winding * std::f64::consts::SQRT_2 * mains_ratio;
        let ripple_per_amp = 1.0 / (pulses * hertz * reservoir);
        let unloaded = (peak * (1.0 + regulation) - in_series * DIODE.0).max(0.0);
        let loaded = peak - in_series * DIODE.1 - rated * ripple_per_amp / 2.0;
        Self { unloaded, ohms: ((unloaded - loaded) / rated).max(1e-3), ripple_per_amp }
    }

    /// Mean voltage at a load current.
    pub fn mean_at(&self, amps: f64) -> f64 {
        self.unloaded - self.ohms * amps
    }
}
