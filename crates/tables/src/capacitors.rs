//! Capacitors: surge voltage of electrolytics, impulse of X and Y classes, life of electrolytics.
//!
//! Life L = L₀ · 2^((T₀ − T)/10 K) · 2^(−ΔT/5 K): rated life at the rated temperature, temperature of the air around the
//! can, rise of the core by ripple. Tracks Arrhenius' law from 70 to 90 °C; never more than 15 years are promised.
//!
//! ```
//! use voltwright_quantity::{Quantity, Temperature, TemperatureRise, Time};
//! use voltwright_tables::capacitors::life;
//! let hours = |h: f64| Time::seconds(h * 3600.0);
//! let l = life(hours(2000.0), Temperature::celsius(105.0), Temperature::celsius(65.0), TemperatureRise::ZERO);
//! assert!((l.si() / 3600.0 - 32_000.0).abs() < 1e-6);
//! ```

use crate::Table;
use voltwright_quantity::{Capacitance, Quantity, Source, Temperature, TemperatureRise, Time, Voltage};

const ELECTROLYTIC: Source = Source::memory("IEC 60384-4");
const SUPPRESSION: Source = Source::memory("IEC 60384-14; a public page quotes the same");
/// Where the rule of life stands.
pub const LIFE_SOURCE: Source =
    Source::seen("capacitor makers' technical notes; the cap of 15 years from memory");

/// The highest voltage that an electrolytic capacitor stands for moments.
pub fn surge(rated: Voltage) -> (Voltage, Source) {
    (rated * if rated.si() > 315.0 { 1.10 } else { 1.15 }, ELECTROLYTIC)
}

/// Class of a suppression capacitor: X across the mains, Y to earth or across insulation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum Class {
    /// Across the mains, for outlets with high surges.
    X1,
    /// Across the mains.
    X2,
    /// Bridges reinforced insulation.
    Y1,
    /// Bridges basic insulation, mains up to 300 V.
    Y2,
    /// Bridges basic insulation, mains up to 150 V.
    Y4,
}

/// Class, name, impulse in volts at up to 1 µF, whether the impulse falls above 1 µF, what the class is for.
const CLASSES: [(Class, &str, f64, bool, &str); 5] = [
    (Class::X1, "X1", 4000.0, true, "line to line, overvoltage category III"),
    (Class::X2, "X2", 2500.0, true, "line to line, overvoltage category II"),
    (Class::Y1, "Y1", 8000.0, false, "line to earth or low voltage, up to 500 V AC, reinforced"),
    (Class::Y2, "Y2", 5000.0, true, "line to earth, 150 to 300 V AC, basic"),
    (Class::Y4, "Y4", 2500.0, false, "line to earth, below 150 V AC, basic"),
];

/// The impulse with which a suppression capacitor is tested: above 1 µF it falls by √(C/1 µF), except for Y1 and Y4.
pub fn impulse(class: Class, value: Capacitance) -> (Voltage, Source) {
    let (volts, falls) = CLASSES.iter().find(|c| c.0 == class).map_or((0.0, false), |c| (c.2, c.3));
    let divisor = if falls { (value.si() / 1e-6).max(1.0).sqrt() } else { 1.0 };
    (Voltage::volts(volts / divisor), SUPPRESSION)
}

/// Life of an electrolytic capacitor whose rated life is `rated` at `at`, in air of `around`, its core `rise` warmer by
/// ripple. At most 15 years.
pub fn life(rated: Time, at: Temperature, around: Temperature, rise: TemperatureRise) -> Time {
    let doublings = (at - around).si() / 10.0 - rise.si() / 5.0;
    let most = Time::seconds(15.0 * 365.25 * 86_400.0);
    (rated * doublings.exp2()).min(most)
}

/// For print.
pub fn table() -> Table {
    let mut t = Table::new(
        "capacitors",
        "Capacitors: surge and impulse",
        &["what", "value", "for", "source", "sure"],
    );
    t.row(&[&"electrolytic up to 315 V", &"1.15 × rated", &"surge for moments"], ELECTROLYTIC);
    t.row(&[&"electrolytic above 315 V", &"1.10 × rated", &"surge for moments"], ELECTROLYTIC);
    for (_, name, volts, falls, what) in CLASSES {
        let above = if falls { ", above 1 µF divided by √(C/µF)" } else { "" };
        t.row(
            &[&format!("{name} impulse"), &format!("{}{above}", Voltage::volts(volts)), &what],
            SUPPRESSION,
        );
    }
    t.row(&[&"life of an electrolytic", &"doubles for each 10 K less", &"70 to 90 °C"], LIFE_SOURCE);
    t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Check, all_hold};

    fn hours(rated: f64, around: f64, rise: f64) -> f64 {
        let t = Temperature::celsius;
        life(Time::seconds(rated * 3600.0), t(105.0), t(around), TemperatureRise::kelvins(rise)).si() / 3600.0
    }

    #[test]
    fn published_examples() {
        let x2 = |uf: f64| impulse(Class::X2, Capacitance::farads(uf * 1e-6)).0.si();
        let checks: [Check; 10] = [
            ("2000 h at 95 °C", hours(2000.0, 95.0, 0.0), 4000.0, 1e-9, "maker's note: twice for 10 K"),
            ("2000 h at 85 °C", hours(2000.0, 85.0, 0.0), 8000.0, 1e-9, "maker's note"),
            ("2000 h at 65 °C", hours(2000.0, 65.0, 0.0), 32_000.0, 1e-9, "published example, 3.65 years"),
            (
                "5000 h at 55 °C",
                hours(5000.0, 55.0, 0.0),
                15.0 * 8766.0,
                1e-9,
                "160 000 h, capped at 15 years",
            ),
            ("ripple of 5 K", hours(2000.0, 85.0, 5.0) / 8000.0, 0.5, 1e-9, "maker's formula 2^(−ΔT/5)"),
            ("ripple of 10 K", hours(2000.0, 85.0, 10.0) / 8000.0, 0.25, 1e-9, "maker's formula"),
            // Arrhenius with 0.765 eV between 80 and 90 °C.
            (
                "Arrhenius 80 to 90 °C",
                (0.765 / 8.617e-5 * (1.0 / 353.15 - 1.0 / 363.15f64)).exp(),
                hours(100.0, 80.0, 0.0) / hours(100.0, 90.0, 0.0),
                0.01,
                "Arrhenius' law, Boltzmann constant 8.617e-5 eV/K",
            ),
            ("X2 of 2.2 µF", x2(2.2), 1685.0, 1e-3, "by hand: 2.5 kV/√2.2"),
            ("X2 of 0.1 µF", x2(0.1), 2500.0, 1e-9, "IEC 60384-14, from memory"),
            ("surge of 400 V", surge(Voltage::volts(400.0)).0.si(), 440.0, 1e-9, "IEC 60384-4, from memory"),
        ];
        all_hold(&checks);
    }
}
