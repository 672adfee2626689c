//! What melts a wire: Onderdonk for seconds, Preece for minutes.
//!
//! - Onderdonk: I = A · √(log₁₀((Tm − Ta)/(234 + Ta) + 1) / (33 · t)), A in circular mils, temperatures in °C, t in s.
//!   All heat stays in the copper, so it holds to about 10 s; Tm is 1083 °C.
//! - Preece: I = 80 A · (d / 1 mm)^1.5, a bare copper wire in still air that melts in the end.
//!
//! Source: a reprinted derivation of Onderdonk's and Preece's equations (Brooks). The constant 33 is the common one;
//! another printing amounts to 33.7, which gives 1 % less.
//!
//! ```
//! use voltwright_quantity::{Area, Quantity, Temperature, Time};
//! use voltwright_tables::fusing::{MELTING, onderdonk, square_millimetres};
//! let amps = onderdonk(square_millimetres(2581.0), Time::seconds(5.0), Temperature::celsius(25.0), MELTING);
//! assert!((amps.si() - 168.9).abs() < 0.1);
//! ```

use crate::Table;
use crate::conductors::awg;
use voltwright_quantity::{Area, Current, Length, MeltingIntegral, Quantity, Source, Temperature, Time};

/// Where copper melts, as Onderdonk's equation has it.
pub const MELTING: Temperature = Temperature::celsius(1083.0);
/// Where Onderdonk's equation stands.
pub const ONDERDONK_SOURCE: Source = Source::seen("Onderdonk's equation, reprinted by Brooks");
/// Where Preece's equation stands.
pub const PREECE_SOURCE: Source = Source::seen("Preece's equation, 10 244 A/in^1.5 for copper");

/// Square millimetres of a circular mil.
const CIRCULAR_MIL: f64 = std::f64::consts::PI / 4.0 * 0.0254 * 0.0254;

/// The area of so many circular mils.
pub fn square_millimetres(circular_mils: f64) -> Area {
    Area::square_millimetres(circular_mils * CIRCULAR_MIL)
}

/// The current that brings a wire from `ambient` to `melt` in that time. Holds to about 10 s.
pub fn onderdonk(area: Area, time: Time, ambient: Temperature, melt: Temperature) -> Current {
    Current::amps((wire_survives(area, ambient, melt).si() / time.si()).sqrt())
}

/// The ∫i²dt that brings a copper wire from one temperature to another, no heat being lost on the way.
pub fn wire_survives(area: Area, from: Temperature, to: Temperature) -> MeltingIntegral {
    let mils = area.as_square_millimetres() / CIRCULAR_MIL;
    let heat = ((to.si() - from.si()) / (234.0 + from.si()) + 1.0).log10() / 33.0;
    MeltingIntegral::amp_squared_seconds(mils * mils * heat)
}

/// The current that melts a bare copper wire in still air, given time.
pub fn preece(diameter: Length) -> Current {
    Current::amps(10_244.0 * (diameter.as_millimetres() / 25.4).powf(1.5))
}

/// For print: gauges at 40 °C.
pub fn table() -> Table {
    let columns = &["AWG", "melts in 1 s", "melts in 10 s", "melts in the end", "source", "sure"];
    let mut t =
        Table::new("fusing", "What melts a copper wire, from 40 °C (Onderdonk; Preece at the end)", columns);
    let from = Temperature::celsius(40.0);
    for row in (10..=30).step_by(2).map(awg) {
        let area = Area::square_millimetres(row.area_mm2);
        let [one, ten] = [1.0, 10.0].map(|s| onderdonk(area, Time::seconds(s), from, MELTING));
        t.row(&[&row.gauge, &one, &ten, &preece(Length::millimetres(row.diameter_mm))], ONDERDONK_SOURCE);
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};

    fn melts(cmil: f64, seconds: f64, from: f64) -> f64 {
        onderdonk(square_millimetres(cmil), Time::seconds(seconds), Temperature::celsius(from), MELTING).si()
    }
    /// √(I²t) of 1 mm²: the k of the standards.
    fn k(from: f64, to: f64) -> f64 {
        let one = Area::square_millimetres(1.0);
        wire_survives(one, Temperature::celsius(from), Temperature::celsius(to)).si().sqrt()
    }

    #[test]
    fn published_examples() {
        let checks: [Check; 11] = [
            (
                "AWG 16, 5 s, 25 °C",
                melts(2581.0, 5.0, 25.0),
                168.9,
                5e-4,
                "published example, its sign error mended",
            ),
            ("AWG 18, 1 s, 40 °C", melts(1624.3, 1.0, 40.0), 233.5, 5e-4, "worked by hand from the equation"),
            (
                "AWG 18, 10 s, 40 °C",
                melts(1624.3, 10.0, 40.0),
                73.8,
                1e-3,
                "worked by hand from the equation",
            ),
            ("AWG 22, 1 s, 40 °C", melts(642.4, 1.0, 40.0), 92.3, 1e-3, "worked by hand from the equation"),
            (
                "Preece 0.0524 in",
                preece(Length::metres(0.0524 * 0.0254)).si(),
                123.0,
                2e-3,
                "Brooks, example",
            ),
            (
                "Preece AWG 24",
                preece(Length::metres(0.0201 * 0.0254)).si(),
                29.2,
                2e-3,
                "Preece, d = 0.0201 in",
            ),
            (
                "Preece 1 mm",
                preece(Length::millimetres(1.0)).si(),
                80.0,
                1e-3,
                "Preece in SI units, handbooks",
            ),
            // A standard of another field, with its own constants for the same physics.
            ("k, PVC 70 to 160 °C", k(70.0, 160.0), 115.0, 5e-3, "IEC 60364-4-43 table 43A, from memory"),
            ("k, XLPE 90 to 250 °C", k(90.0, 250.0), 143.0, 5e-3, "IEC 60364-4-43 table 43A, from memory"),
            (
                "k, PVC apart 30 to 160 °C",
                k(30.0, 160.0),
                143.0,
                5e-3,
                "IEC 60364-5-54 table A.54.2, from memory",
            ),
            ("k, bare 30 to 200 °C", k(30.0, 200.0), 159.0, 7e-3, "IEC 60364-5-54 table A.54.6, from memory"),
        ];
        all_hold(&checks);
    }

    /// Energy: what Onderdonk allows for a small rise is the heat the copper takes up (385 J/(kg·K), 8890 kg/m³).
    #[test]
    fn a_small_rise_is_the_heat_capacity_of_copper() {
        let one = Area::square_millimetres(1.0);
        let i2t = wire_survives(one, Temperature::celsius(20.0), Temperature::celsius(21.0)).si();
        let energy_per_metre = i2t * crate::copper::RHO20;
        let heat_per_metre = 385.0 * 8890.0 * 1e-6;
        assert!(
            (energy_per_metre / heat_per_metre - 1.0).abs() < 0.03,
            "{energy_per_metre} {heat_per_metre}"
        );
    }
}
