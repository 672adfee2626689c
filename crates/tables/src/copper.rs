//! Copper: resistivity, how it rises with temperature, density.
//!
//! R(t) = R₂₀ · (1 + α₂₀ · (t − 20 °C)), with α₂₀ per kelvin. Source: IEC 60028:1925 clause I, the International
//! Annealed Copper Standard. Holds well from −50 °C to 200 °C; commercial annealed copper is within about 1 % of it.
//!
//! ```
//! use voltwright_quantity::Temperature;
//! use voltwright_tables::copper;
//! assert!((copper::resistance_factor(Temperature::celsius(70.0)) - 1.1965).abs() < 1e-9);
//! ```

use crate::Table;
use voltwright_quantity::{Quantity, Source, Temperature};

/// Resistivity at 20 °C, Ω·mm²/m: IEC 60028:1925 clause I.
pub const RHO20: f64 = 1.0 / 58.0;
/// Temperature coefficient of resistance at 20 °C, per kelvin: IEC 60028:1925 clause I.
pub const ALPHA20: f64 = 0.00393;
/// Density, kg/m³: IEC 60028, from memory.
pub const DENSITY: f64 = 8890.0;
/// Where resistivity and temperature coefficient stand.
pub const SOURCE: Source = Source::seen("IEC 60028:1925 clause I");

const KT_SOURCE: Source = Source::seen("IEC 60228 annex, temperature correction factors");

/// Temperature in °C, and the factor kt that brings a resistance measured there back to 20 °C: R₂₀ = kt · Rt.
pub const KT: [(f64, f64); 14] = [
    (5.0, 1.064),
    (10.0, 1.042),
    (15.0, 1.020),
    (20.0, 1.000),
    (25.0, 0.980),
    (30.0, 0.962),
    (35.0, 0.943),
    (40.0, 0.926),
    (50.0, 0.893),
    (60.0, 0.862),
    (70.0, 0.833),
    (80.0, 0.806),
    (90.0, 0.781),
    (100.0, 0.758),
];

/// The factor on a resistance at 20 °C that gives it at `t`.
pub fn resistance_factor(t: Temperature) -> f64 {
    1.0 + ALPHA20 * (t.si() - 20.0)
}

/// For print: the constants, then the temperature factors.
pub fn table() -> Table {
    let mut t = Table::new(
        "copper",
        "Copper: constants and temperature factors",
        &["what", "value", "unit", "source", "sure"],
    );
    t.row(&[&"resistivity at 20 °C", &format!("1/58 = {RHO20:.6}"), &"Ω·mm²/m"], SOURCE);
    t.row(&[&"temperature coefficient at 20 °C", &ALPHA20, &"1/K"], SOURCE);
    t.row(&[&"density", &DENSITY, &"kg/m³"], Source::memory("IEC 60028"));
    for (celsius, factor) in KT {
        t.row(&[&format!("kt at {celsius} °C"), &format!("{factor:.3}"), &"R₂₀/R"], KT_SOURCE);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};

    #[test]
    fn published_facts() {
        let checks: [Check; 4] = [
            // 100 % conductivity is 58 MS/m.
            ("conductivity, MS/m", 1.0 / RHO20, 58.0, 1e-9, "IEC 60028:1925, the 100 % IACS definition"),
            (
                "resistance of 1 m of 1 mm², mΩ",
                RHO20 * 1e3,
                17.241,
                3e-5,
                "IEC 60028:1925, to the digits printed",
            ),
            // 1/α₂₀ is 254.5 K, so resistance would vanish at −234.5 °C.
            ("inferred zero, K below 20 °C", 1.0 / ALPHA20, 254.5, 2e-4, "254.5/(234.5+t), handbook form"),
            // A gram of wire a metre long has 0.15328 Ω: the old mass form of the same standard.
            ("Ω·g/m²", RHO20 * DENSITY * 1e-3, 0.15328, 2e-4, "IACS mass resistivity 0.15328 Ω·g/m²"),
        ];
        all_hold(&checks);
    }

    #[test]
    fn the_factors_of_the_standard_follow_its_rounded_form_and_the_exact_one() {
        for (celsius, kt) in KT {
            let rounded = 250.0 / (230.0 + celsius);
            assert!((kt / rounded - 1.0).abs() < 0.003, "{celsius} °C: {kt} against {rounded}");
            // The standard's rounded form itself strays from the exact one by 0.42 % at 100 °C.
            let exact = 1.0 / resistance_factor(Temperature::celsius(celsius));
            assert!((kt / exact - 1.0).abs() < 0.005, "{celsius} °C: {kt} against {exact}");
        }
    }
}
