//! What a meter shows, as people write it down: engineering notation with the digits that a window deserves.

use voltwright_proof::network::cold::OPEN;
use voltwright_proof::reading::{Function, Interval, Reading};
use voltwright_quantity::print::number;
use voltwright_quantity::{Current, Resistance, Voltage};

/// Volts and amperes below which there are none: no meter shows less.
const NOTHING: f64 = 1e-6;

/// A value as read off the meter.
pub fn value(function: Function, value: f64) -> String {
    match function {
        Function::Volts if value.abs() < NOTHING => "0 V".into(),
        Function::Amps if value.abs() < NOTHING => "0 A".into(),
        Function::Ohms if value >= OPEN => "open".into(),
        _ if !value.is_finite() => "more than the meter shows".into(),
        Function::Ohms if value < 10.0 => format!("{} Ω", number(value, if value < 1.0 { 2 } else { 3 })),
        Function::Ohms => Resistance::ohms(rounded(value)).to_string(),
        Function::Volts => Voltage::volts(rounded(value)).to_string(),
        Function::Amps => Current::amps(rounded(value)).to_string(),
    }
}

/// To three digits.
fn rounded(value: f64) -> f64 {
    if value.abs() < 1e-300 || !value.is_finite() {
        return value;
    }
    let scale = 10f64.powi(2 - value.abs().log10().floor() as i32);
    (value * scale).round() / scale
}

/// Two values of one reading with the same unit: `−7 V to 0.5 V`.
pub fn range(function: Function, low: f64, high: f64) -> String {
    let unit = unit(function);
    let is_plain = |v: f64| v.abs() < 1e-300 || (0.1..1000.0).contains(&v.abs());
    if is_plain(low) && is_plain(high) {
        let show = |v: f64| number(rounded(v), 3);
        return format!("{} {unit} to {} {unit}", show(low), show(high));
    }
    format!("{} to {}", value(function, low), value(function, high))
}

fn unit(function: Function) -> &'static str {
    match function {
        Function::Ohms => "Ω",
        Function::Volts => "V",
        Function::Amps => "A",
    }
}

/// A bound to the digits that are shown, moved into the window: what is shown as inside is inside.
pub(crate) fn inward(function: Function, bound: f64, up: bool) -> f64 {
    if bound.abs() < 1e-300 || !bound.is_finite() {
        return bound;
    }
    let digits = if function == Function::Ohms && bound < 1.0 { 2 } else { 3 };
    let scale = 10f64.powi(digits - 1 - bound.abs().log10().floor() as i32);
    // What is those digits but for the last bit is not moved.
    let moved = bound * scale + if up { -1e-9 } else { 1e-9 };
    (if up { moved.ceil() } else { moved.floor() }) / scale
}

/// The window of a reading: `4.85 V to 5.15 V`, `at most 1.2 Ω`, `at least 2.1 kΩ`, `open`.
pub fn window(reading: &Reading) -> String {
    let Interval { low, high } = reading.window;
    let (low, high) = (inward(reading.function, low, true), inward(reading.function, high, false));
    let show = |v: f64| value(reading.function, v);
    match reading.function {
        Function::Ohms if low >= OPEN => "open".into(),
        Function::Ohms if high.is_infinite() => format!("at least {}", show(low)),
        Function::Ohms if low <= 0.0 => format!("at most {}", show(high)),
        _ => range(reading.function, low, high),
    }
}

/// What the meter is set to.
pub fn function(function: Function) -> &'static str {
    match function {
        Function::Ohms => "ohms",
        Function::Volts => "DC volts",
        Function::Amps => "DC amperes",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_as_a_meter_shows_them() {
        assert_eq!(value(Function::Volts, -4.9876), "−4.99 V");
        assert_eq!(value(Function::Ohms, 1e9), "open");
        assert_eq!(value(Function::Ohms, 0.123), "0.12 Ω");
        assert_eq!(range(Function::Volts, -7.0, 0.5), "−7 V to 0.5 V");
        assert_eq!(range(Function::Amps, 0.02, 1.5), "20 mA to 1.5 A");
    }

    #[test]
    fn a_bound_is_shown_inside_its_window() {
        for (function, bound, up, shown) in [
            (Function::Volts, 5.09525, false, 5.09),
            (Function::Volts, 4.90525, true, 4.91),
            (Function::Volts, -12.66, true, -12.6),
            (Function::Volts, -11.34, false, -11.4),
            (Function::Ohms, 0.336, false, 0.33),
            (Function::Ohms, 9915.0, true, 9920.0),
            (Function::Volts, 4.9, true, 4.9),
            (Function::Volts, 0.0, true, 0.0),
        ] {
            let is = inward(function, bound, up);
            assert!((is - shown).abs() < 1e-9, "{bound}: {is}");
        }
        assert!(inward(Function::Ohms, f64::INFINITY, false).is_infinite());
    }
}
