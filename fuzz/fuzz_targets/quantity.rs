//! Every parser of values stands any text; what was read can be written and read again as the same value.
//! The first byte of an input chooses the parser (a: volts, b: amperes, ...), the rest is its text.
#![no_main]

use libfuzzer_sys::fuzz_target;
use voltwright_quantity::parse::{self, ParseError, Written};
use voltwright_quantity::*;

/// What the first byte chooses: one quantity or one of the forms that hold several.
const CHOICES: [fn(&str); 22] = [
    one::<Voltage>,
    one::<Current>,
    one::<Resistance>,
    one::<Power>,
    one::<ApparentPower>,
    one::<Energy>,
    one::<Capacitance>,
    one::<Inductance>,
    one::<Time>,
    one::<Frequency>,
    one::<Length>,
    one::<Area>,
    one::<Temperature>,
    one::<TemperatureRise>,
    one::<ThermalResistance>,
    one::<MeltingIntegral>,
    one::<AirFlow>,
    one::<Ratio>,
    |text| {
        check(text, parse::pair::<Voltage, Current>(text));
    },
    |text| {
        check(text, parse::rating(text));
    },
    |text| {
        check(text, parse::conductor(text));
    },
    size,
];

fuzz_target!(|bytes: &[u8]| {
    let Some((choice, text)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(text) else { return };
    CHOICES[usize::from(choice.wrapping_sub(b'a')) % CHOICES.len()](text);
});

fn size(text: &str) {
    if let Some(sides) = check(text, parse::size(text)) {
        assert!(sides.iter().all(|s| s.si() > 0.0 && s.si().is_finite()));
    }
}

fn one<Q: Quantity>(text: &str) {
    if let Some(q) = check(text, parse::quantity::<Q>(text)) {
        same_again(q);
    }
    if let Some(v) = check(text, parse::value::<Q>(text)) {
        whole(&v);
    }
    if let Some((low, high)) = check(text, parse::range::<Q>(text)) {
        assert!(low.si() <= high.si());
    }
    if let Some((low, high)) = check(text, parse::value_or_range::<Q>(text)) {
        assert!(low.si() <= high.si());
    }
    if let Some((v, time)) = check(text, parse::lasting::<Q>(text)) {
        whole(&v);
        assert!(time.is_none_or(|t| t.si().is_finite()));
    }
    if let Some(a) = check(text, parse::accuracy::<Q>(text)) {
        assert!(a.share.si().is_finite() && a.fixed.si().is_finite());
    }
}

/// A mistake stands in the text and says something.
fn check<T>(text: &str, read: Result<T, ParseError>) -> Option<T> {
    match read {
        Ok(value) => Some(value),
        Err(error) => {
            assert!(text.get(error.at.clone()).is_some(), "{:?} is no part of {text:?}: {error}", error.at);
            assert!(!error.message.is_empty());
            None
        }
    }
}

fn whole<Q: Quantity>(v: &Written<Q>) {
    assert!(v.nominal.si().is_finite());
    if let Some((low, high)) = v.bounds {
        let slack = 1e-9 * (low.si().abs() + high.si().abs());
        assert!(low.si() <= high.si());
        assert!(low.si() - slack <= v.nominal.si() && v.nominal.si() <= high.si() + slack);
    }
    same_again(v.nominal);
}

/// Written with fifteen digits and read again; less than 1e-15 of a unit prints as nothing.
fn same_again<Q: Quantity>(q: Q) {
    let written = format!("{q:.15}");
    let again = parse::quantity::<Q>(&written).unwrap_or_else(|e| panic!("{written:?}: {e}"));
    let off = (again.si() - q.si()).abs();
    assert!(off <= 1e-13 * q.si().abs() + 1e-15, "{:e} was written as {written:?}", q.si());
}
