//! How warm a wire gets from its current, and what current destroys it.
//!
//! `T = T_air + I² · r′ / (π · d · h) / k²`: current `I` (A), resistance of a metre at the wire's temperature `r′` (Ω/m),
//! outer diameter `d` = conductor diameter + 1.6 mm of insulation, heat transfer of thin wires in still air
//! `h` = 23 W/m²K (it reproduces the single-core currents of DIN VDE 0298-4, from memory, within a tenth of the rise), and
//! the bundle factor `k` of MIL-W-5088L. Wires wound up, in foam, or beside hot parts get hotter.

use voltwright_quantity::Temperature;
use voltwright_tables::{ampacity, copper};

/// Heat transfer of a thin wire in still air, W/m²K.
const TRANSFER: f64 = 23.0;
/// What insulation adds to a conductor's diameter, metres.
const INSULATION: f64 = 1.6e-3;
/// Temperature that plain insulation stands, °C: common practice for PVC.
pub const PLAIN_INSULATION: f64 = 70.0;
/// Temperature at which PVC is destroyed in a short time, °C: from memory (IEC 60364-4-43).
pub const DESTROYED: f64 = 160.0;

/// Rise of a wire over the air, kelvin: amperes, square metres, ohms per metre at 20 °C, wires in its bundle; its
/// resistance is that of 70 °C.
pub fn rise(amps: f64, area: f64, ohms_per_metre: f64, bundle: usize) -> f64 {
    rise_at(PLAIN_INSULATION, amps, area, ohms_per_metre, bundle)
}

/// The same with the resistance of a copper temperature, °C.
pub fn rise_at(celsius: f64, amps: f64, area: f64, ohms_per_metre: f64, bundle: usize) -> f64 {
    let hot = ohms_per_metre * copper::resistance_factor(Temperature::celsius(celsius));
    let factor = bundle_factor(bundle);
    amps * amps * hot / (std::f64::consts::PI * outside(area) * TRANSFER) / (factor * factor)
}

/// The current that destroys a wire's insulation in the end, amperes, in air of so many °C.
pub fn destroys(air: f64, area: f64, ohms_per_metre: f64, bundle: usize) -> f64 {
    ((DESTROYED - air).max(0.0) / rise_at(DESTROYED, 1.0, area, ohms_per_metre, bundle)).sqrt()
}

/// Diameter over the insulation, metres.
pub fn outside(area: f64) -> f64 {
    (4.0 * area / std::f64::consts::PI).sqrt() + INSULATION
}

/// Factor on the current of a wire among so many in a bundle.
pub fn bundle_factor(wires: usize) -> f64 {
    if wires > 1 { ampacity::bundle_factor(wires, 100.0) } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::{destroys, rise, rise_at};

    /// DIN VDE 0298-4 Table 11, single core in free air, 70 °C conductor, 30 °C air (from memory): the rise at the
    /// rated current is 40 K; the simple formula must come within a tenth of it.
    #[test]
    fn rated_currents_of_single_cores() {
        let rows =
            [(0.75, 26.0, 15.0), (1.0, 19.5, 19.0), (1.5, 13.3, 24.0), (2.5, 7.98, 32.0), (4.0, 4.95, 42.0)];
        for (area, ohms_per_km, amps) in rows {
            let k = rise(amps, area * 1e-6, ohms_per_km / 1000.0, 1);
            assert!((36.0..=44.0).contains(&k), "{area} mm² at {amps} A: {k} K");
        }
    }

    #[test]
    fn a_bundle_is_hotter() {
        assert!(rise(5.0, 1e-6, 0.0195, 7) > 3.0 * rise(5.0, 1e-6, 0.0195, 1));
    }

    #[test]
    fn what_destroys_a_wire_brings_it_to_160_degrees() {
        let amps = destroys(45.0, 1e-6, 0.0195, 3);
        assert!((45.0 + rise_at(160.0, amps, 1e-6, 0.0195, 3) - 160.0).abs() < 1e-9);
    }
}
