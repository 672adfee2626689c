//! One type a physical quantity, each holding an SI value; only physically meaningful products exist.

use crate::print;
use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// What all quantities have in common: an SI value and the unit symbols they are written with.
pub trait Quantity: Copy + PartialOrd + fmt::Debug + fmt::Display + 'static {
    /// The quantity in words, with its article: "a voltage".
    const NAME: &'static str;
    /// Symbols that may follow a number, with the factor to SI; the first is the one we print.
    /// Prefixes are allowed before a symbol whose entry says so.
    const SYMBOLS: &'static [Symbol];
    /// Value in the SI unit (degrees Celsius for [`Temperature`]).
    fn si(self) -> f64;
    /// From a value in the SI unit.
    fn from_si(value: f64) -> Self;
}

/// A unit symbol as written, its factor to the SI unit, and whether SI prefixes may stand before it.
#[derive(Debug, Clone, Copy)]
pub struct Symbol {
    /// As written after the number.
    pub text: &'static str,
    /// SI value of one of it.
    pub factor: f64,
    /// Whether `m`, `k`, `µ` and the rest may stand before it.
    pub prefixed: bool,
}

const fn symbol(text: &'static str, factor: f64, prefixed: bool) -> Symbol {
    Symbol { text, factor, prefixed }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $words:literal, $ctor:ident, [$($sym:expr),+]) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, serde::Serialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// From a number of the SI unit.
            pub const fn $ctor(value: f64) -> Self { Self(value) }
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);
            /// The smaller of the two.
            pub fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }
            /// The larger of the two.
            pub fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
            /// Without its sign.
            pub fn abs(self) -> Self { Self(self.0.abs()) }
        }
        impl Quantity for $name {
            const NAME: &'static str = $words;
            const SYMBOLS: &'static [Symbol] = &[$($sym),+];
            fn si(self) -> f64 { self.0 }
            fn from_si(value: f64) -> Self { Self(value) }
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&print::quantity(*self, f.precision().unwrap_or(3)))
            }
        }
    };
}

macro_rules! linear {
    ($($name:ident),+) => {$(
        impl Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl Mul<f64> for $name { type Output = Self; fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl Div<f64> for $name { type Output = Self; fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        impl Div for $name { type Output = f64; fn div(self, o: Self) -> f64 { self.0 / o.0 } }
        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(all: I) -> Self { Self(all.map(|q| q.0).sum()) }
        }
    )+};
}

macro_rules! product {
    ($($a:ident * $b:ident = $c:ident),+ $(,)?) => {$(
        impl Mul<$b> for $a { type Output = $c; fn mul(self, o: $b) -> $c { $c(self.0 * o.0) } }
        impl Mul<$a> for $b { type Output = $c; fn mul(self, o: $a) -> $c { $c(self.0 * o.0) } }
        impl Div<$a> for $c { type Output = $b; fn div(self, o: $a) -> $b { $b(self.0 / o.0) } }
        impl Div<$b> for $c { type Output = $a; fn div(self, o: $b) -> $a { $a(self.0 / o.0) } }
    )+};
}

quantity!(/// Electric potential difference, volt.
    Voltage, "a voltage", volts, [symbol("V", 1.0, true)]);
quantity!(/// Electric current, ampere.
    Current, "a current", amps, [symbol("A", 1.0, true)]);
quantity!(/// Resistance, ohm.
    Resistance, "a resistance", ohms, [symbol("Ω", 1.0, true), symbol("\u{2126}", 1.0, true), symbol("ohm", 1.0, true)]);
quantity!(/// Active power, watt.
    Power, "a power", watts, [symbol("W", 1.0, true)]);
quantity!(/// Apparent power, volt-ampere: kept apart from watts.
    ApparentPower, "an apparent power", volt_amps, [symbol("VA", 1.0, true)]);
quantity!(/// Energy, joule.
    Energy, "an energy", joules, [symbol("J", 1.0, true)]);
quantity!(/// Capacitance, farad.
    Capacitance, "a capacitance", farads, [symbol("F", 1.0, true)]);
quantity!(/// Inductance, henry.
    Inductance, "an inductance", henries, [symbol("H", 1.0, true)]);
quantity!(/// Time, second.
    Time, "a time", seconds, [symbol("s", 1.0, true), symbol("min", 60.0, false), symbol("h", 3600.0, false)]);
quantity!(/// Frequency, hertz.
    Frequency, "a frequency", hertz, [symbol("Hz", 1.0, true)]);
quantity!(/// Length, metre.
    Length, "a length", metres, [symbol("m", 1.0, true), symbol("cm", 1e-2, false), symbol("in", 0.0254, false)]);
quantity!(/// Area, square metre; wires and vents are written in mm² and cm².
    Area, "an area", square_metres,
    [symbol("m²", 1.0, false), symbol("mm²", 1e-6, false), symbol("cm²", 1e-4, false),
     symbol("mm2", 1e-6, false), symbol("cm2", 1e-4, false), symbol("m2", 1.0, false)]);
quantity!(/// A temperature on the Celsius scale; differences are a [`TemperatureRise`].
    Temperature, "a temperature", celsius, [symbol("°C", 1.0, false), symbol("degC", 1.0, false)]);
quantity!(/// A difference of temperature, kelvin.
    TemperatureRise, "a temperature rise", kelvins, [symbol("K", 1.0, false)]);
quantity!(/// Thermal resistance, kelvin per watt.
    ThermalResistance, "a thermal resistance", kelvins_per_watt,
    [symbol("K/W", 1.0, false), symbol("°C/W", 1.0, false)]);
quantity!(/// ∫i²dt, ampere squared second: what melts a fuse and what a pulse delivers.
    MeltingIntegral, "a melting integral", amp_squared_seconds,
    [symbol("A²s", 1.0, false), symbol("A2s", 1.0, false)]);
quantity!(/// Air moved in a time, cubic metre per second.
    AirFlow, "an air flow", cubic_metres_per_second,
    [symbol("m³/s", 1.0, false), symbol("m³/h", 1.0 / 3600.0, false), symbol("m3/h", 1.0 / 3600.0, false)]);
quantity!(/// A share or ratio, written in percent.
    Ratio, "a percentage", new, [symbol("%", 0.01, false)]);

linear!(
    Voltage,
    Current,
    Resistance,
    Power,
    ApparentPower,
    Energy,
    Capacitance,
    Inductance,
    Time,
    Frequency,
    Length,
    Area,
    TemperatureRise,
    ThermalResistance,
    MeltingIntegral,
    AirFlow,
    Ratio
);

product!(
    Current * Resistance = Voltage,
    Voltage * Current = Power,
    Power * Time = Energy,
    Power * ThermalResistance = TemperatureRise,
    Resistance * Capacitance = Time,
);

impl Mul<Length> for Length {
    type Output = Area;
    fn mul(self, other: Length) -> Area {
        Area(self.0 * other.0)
    }
}
impl Sub for Temperature {
    type Output = TemperatureRise;
    fn sub(self, other: Self) -> TemperatureRise {
        TemperatureRise(self.0 - other.0)
    }
}
impl Add<TemperatureRise> for Temperature {
    type Output = Self;
    fn add(self, rise: TemperatureRise) -> Self {
        Self(self.0 + rise.0)
    }
}
impl Sub<TemperatureRise> for Temperature {
    type Output = Self;
    fn sub(self, rise: TemperatureRise) -> Self {
        Self(self.0 - rise.0)
    }
}

impl Area {
    /// From square millimetres, as conductors are sold.
    pub const fn square_millimetres(value: f64) -> Self {
        Self(value * 1e-6)
    }
    /// In square millimetres.
    pub fn as_square_millimetres(self) -> f64 {
        self.0 * 1e6
    }
}
impl Length {
    /// From millimetres.
    pub const fn millimetres(value: f64) -> Self {
        Self(value * 1e-3)
    }
    /// In millimetres.
    pub fn as_millimetres(self) -> f64 {
        self.0 * 1e3
    }
}
impl Ratio {
    /// From percent.
    pub const fn percent(value: f64) -> Self {
        Self(value * 0.01)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each derived unit against its definition in SI base units (BIPM SI Brochure, 9th ed., Table 4).
    #[test]
    fn derived_units_follow_their_definitions() {
        let volt = Voltage::volts(1.0);
        let amp = Current::amps(1.0);
        let second = Time::seconds(1.0);
        assert!((volt / amp - Resistance::ohms(1.0)).si().abs() < 1e-15);
        assert!(((volt * amp) - Power::watts(1.0)).si().abs() < 1e-15);
        assert!(((volt * amp * second) - Energy::joules(1.0)).si().abs() < 1e-15);
        assert!((second / Resistance::ohms(1.0) - Capacitance::farads(1.0)).si().abs() < 1e-15);
        assert!((Length::metres(1.0) * Length::millimetres(1.0)).si() - 1e-3 < 1e-18);
    }

    #[test]
    fn a_rise_is_the_difference_of_two_temperatures() {
        let rise = Temperature::celsius(114.0) - Temperature::celsius(40.0);
        assert!((rise - TemperatureRise::kelvins(74.0)).si().abs() < 1e-12);
        assert!((Power::watts(2.0) * ThermalResistance::kelvins_per_watt(65.0)).si() - 130.0 < 1e-12);
    }
}
