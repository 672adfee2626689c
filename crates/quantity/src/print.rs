//! Engineering notation with the digits that a figure deserves.

use crate::units::Quantity;

const PREFIXES: [(f64, &str); 9] = [
    (1e9, "G"),
    (1e6, "M"),
    (1e3, "k"),
    (1.0, ""),
    (1e-3, "m"),
    (1e-6, "µ"),
    (1e-9, "n"),
    (1e-12, "p"),
    (1e-15, "f"),
];

/// A quantity with its unit: `digits` significant ones, an SI prefix where its unit takes one.
///
/// Areas print in mm² or cm², percentages in percent, everything else by thousands.
pub fn quantity<Q: Quantity>(value: Q, digits: usize) -> String {
    let unit = Q::SYMBOLS[0];
    let si = value.si();
    match unit.text {
        // Nobody says kiloseconds.
        "s" if si.abs() >= 3600.0 => format!("{} h", number(si / 3600.0, digits)),
        "s" if si.abs() >= 120.0 => format!("{} min", number(si / 60.0, digits)),
        "m²" if si.abs() < 1e-4 => format!("{} mm²", number(si * 1e6, digits)),
        "m²" if si.abs() < 1e-1 => format!("{} cm²", number(si * 1e4, digits)),
        _ if unit.prefixed => with_prefix(si, unit.text, digits),
        _ => format!("{} {}", number(si / unit.factor, digits), unit.text),
    }
}

/// A number with `digits` significant digits and the SI prefix of its thousands before `unit`.
pub fn with_prefix(si: f64, unit: &str, digits: usize) -> String {
    if si.abs() < 1e-15 || !si.is_finite() {
        return format!("{} {unit}", if si.is_finite() { "0".into() } else { si.to_string() });
    }
    // The rounded size decides: 999.96 mV is 1.00 V.
    let rounded = round_to(si.abs(), digits);
    let (scale, prefix) = PREFIXES
        .iter()
        .copied()
        .find(|(scale, _)| rounded >= *scale * (1.0 - 1e-12))
        .unwrap_or(PREFIXES[PREFIXES.len() - 1]);
    format!("{} {prefix}{unit}", number(si / scale, digits))
}

/// A number with `digits` significant digits; zeros that say nothing are left off, so 5 V stays `5 V`,
/// but a computed 4.9987 with three digits is `5.00`.
pub fn number(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    if value.abs() < 1e-300 {
        return "0".into();
    }
    let magnitude = round_to(value.abs(), digits).log10().floor() as i32;
    let decimals = usize::try_from(digits as i32 - 1 - magnitude).unwrap_or(0);
    let text = format!("{value:.decimals$}");
    let text = if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.replace('-', "")
    } else {
        text
    };
    let exact = text.parse::<f64>().is_ok_and(|shown| (shown - value).abs() <= value.abs() * 1e-9);
    let text = if exact && text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    text.replace('-', "−")
}

fn round_to(value: f64, digits: usize) -> f64 {
    let magnitude = value.log10().floor();
    let unit = 10f64.powf(magnitude - (digits as f64 - 1.0));
    (value / unit).round() * unit
}

#[cfg(test)]
mod tests {
    use crate::units::*;

    #[test]
    fn figures_read_as_people_write_them() {
        assert_eq!(Voltage::volts(5.0).to_string(), "5 V");
        assert_eq!(Voltage::volts(4.9987).to_string(), "5.00 V");
        assert_eq!(Voltage::volts(0.99996).to_string(), "1.00 V");
        assert_eq!(Voltage::volts(-12.345).to_string(), "−12.3 V");
        assert_eq!(Current::amps(0.0286123).to_string(), "28.6 mA");
        assert_eq!(Resistance::ohms(0.01244).to_string(), "12.4 mΩ");
        assert_eq!(Capacitance::farads(4700e-6).to_string(), "4.7 mF");
        assert_eq!(Area::square_millimetres(0.75).to_string(), "0.75 mm²");
        assert_eq!(Area::square_metres(60e-4).to_string(), "60 cm²");
        assert_eq!(Ratio::percent(78.0).to_string(), "78 %");
        assert_eq!(Temperature::celsius(114.06).to_string(), "114 °C");
        assert_eq!(Time::seconds(1800.0).to_string(), "30 min");
        assert_eq!(Time::seconds(7200.0).to_string(), "2 h");
        assert_eq!(Current::amps(1500.0).to_string(), "1.5 kA");
        assert_eq!(Voltage::ZERO.to_string(), "0 V");
        assert_eq!(format!("{:.4}", Voltage::volts(16.6231)), "16.62 V");
        assert_eq!(format!("{:.2}", Voltage::volts(357.8)), "358 V");
    }
}
