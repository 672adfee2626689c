use super::*;
use crate::units::*;
use proptest::prelude::*;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * b.abs().max(1e-30)
}

#[test]
fn forms_of_the_job_file() {
    let v = value::<Current>("2.3 A ± 25 %").unwrap();
    assert!(near(v.nominal.si(), 2.3) && near(v.bounds.unwrap().0.si(), 1.725));
    let v = value::<Voltage>("12 V ± 0.3 V").unwrap();
    assert!(near(v.bounds.unwrap().1.si(), 12.3));
    let v = value::<Voltage>("-12 V ± 5 %").unwrap();
    assert!(near(v.bounds.unwrap().0.si(), -12.6));
    let v = value::<Resistance>("10 mΩ within 5..30 mΩ").unwrap();
    assert!(near(v.nominal.si(), 0.01) && near(v.bounds.unwrap().1.si(), 0.03));
    assert!(value::<Resistance>("40 mΩ within 5..30 mΩ").is_err());
    assert!(near(value::<Current>("250mA").unwrap().nominal.si(), 0.25));
    assert!(near(range::<Voltage>("90..264 V").unwrap().1.si(), 264.0));
    assert!(near(range::<Voltage>("-0.5..7 V").unwrap().0.si(), -0.5));
    let (v, t) = lasting::<Current>("1.3 A for 400 ms").unwrap();
    assert!(near(v.nominal.si(), 1.3) && near(t.unwrap().si(), 0.4));
    let r = rating("4 A at 250 V AC").unwrap();
    assert!(near(r.voltage.si(), 250.0) && r.kind == Some(CurrentKind::Ac));
    assert_eq!(rating("10 A at 250 V").unwrap().kind, None);
    assert_eq!(conductor("AWG 18").unwrap(), Conductor::Awg(18));
    assert!(
        matches!(conductor("0.75 mm2").unwrap(), Conductor::Metric(a) if near(a.as_square_millimetres(), 0.75))
    );
    assert!(near(size("380 x 290 x 95 mm").unwrap()[2].si(), 0.095));
    let a = accuracy::<Voltage>("0.5 % + 2 digits of 10 mV").unwrap();
    assert!(near(a.share.si(), 0.005) && near(a.fixed.si(), 0.02));
    assert!(near(quantity::<Resistance>("4.7 kohm").unwrap().si(), 4700.0));
    assert!(near(quantity::<Resistance>("33 kΩ").unwrap().si(), 33e3));
    assert!(near(quantity::<Capacitance>("4700 µF").unwrap().si(), 4.7e-3));
    assert!(near(quantity::<Capacitance>("0.1 uF").unwrap().si(), 1e-7));
    assert!(near(quantity::<Time>("10 min").unwrap().si(), 600.0));
    assert!(near(quantity::<Voltage>("\u{2212}5 V").unwrap().si(), -5.0));
}

#[test]
fn mistakes_are_pointed_at() {
    let wrong = value::<Voltage>("5 A").unwrap_err();
    assert_eq!((wrong.at.clone(), wrong.message.contains("which is a current")), (2..3, true));
    let missing = value::<Voltage>("5").unwrap_err();
    assert_eq!(missing.at, 0..1);
    assert_eq!(missing.hint, None, "which unit is meant is told by who knows what the value is of");
    let comma = value::<Voltage>("2,3 A").unwrap_err();
    assert_eq!(comma.at, 0..3);
    assert!(comma.hint.unwrap().contains("2.3"));
    let kilo = value::<Resistance>("5 Kohm").unwrap_err();
    assert_eq!(kilo.hint.unwrap(), "did you mean kohm?");
    assert!(value::<Voltage>("NaN V").is_err() && value::<Voltage>("inf V").is_err());
    assert!(value::<Voltage>("1e400 V").unwrap_err().message.contains("too large"));
    assert_eq!(range::<Voltage>("264..90 V").unwrap_err().at, 0..9);
    assert_eq!(lasting::<Current>("1.3 A for 400").unwrap_err().at, 10..13);
    assert_eq!(value::<Current>("2.3 A often").unwrap_err().at, 6..11);
    assert!(conductor("AWG 99").is_err() && conductor("0 mm²").is_err());
    assert!(size("380 x 290 mm").is_err());
}

#[test]
fn a_missing_unit_is_that_of_the_example() {
    for (example, text, meant) in [
        ("320 mm", "150", Some("150 mm")),
        ("320 mm", " 150 ", Some("150 mm")),
        ("90..264 V", "90..264", Some("90..264 V")),
        ("2.3 A ± 25 %", "1.5", Some("1.5 A")),
        ("0.75 mm²", "1.5", Some("1.5 mm²")),
        // A unit is there, and a wrong one; no number; an example that has no unit of its own.
        ("320 mm", "150 V", None),
        ("320 mm", "150 ± 5 %", None),
        ("320 mm", "long", None),
        ("380 x 290 x 95 mm", "380", None),
        ("com com p5 p5", "5", None),
        ("", "5", None),
    ] {
        assert_eq!(with_unit_of(example, text).as_deref(), meant, "{text:?} for {example:?}");
    }
}

/// A box with a minus of three bytes was once pointed at in the middle of that character.
#[test]
fn the_place_of_a_mistake_is_whole_characters_and_no_space() {
    let at = |e: ParseError, text: &str| text[e.at].to_owned();
    let text = "1 x \u{2212}2 x 3 mm";
    assert_eq!(at(size(text).unwrap_err(), text), "\u{2212}2");
    assert_eq!(at(conductor("AWG 99").unwrap_err(), "AWG 99"), "99");
    assert_eq!(at(range::<Voltage>("  5 V").unwrap_err(), "  5 V"), "5 V");
}

#[test]
fn what_cannot_be_below_zero_is_refused() {
    for text in ["-4 A at 250 V AC", "0 A at 250 V", "4 A at -250 V DC"] {
        assert!(rating(text).unwrap_err().message.contains("above zero"), "{text}");
    }
    assert_eq!(lasting::<Current>("1 A for -2 s").unwrap_err().at, 8..12);
    assert_eq!(accuracy::<Voltage>("-1 % + 2 digits of 1 mV").unwrap_err().at, 0..4);
    assert_eq!(accuracy::<Voltage>("1 % + -2 digits of 1 mV").unwrap_err().at, 6..8);
    assert_eq!(accuracy::<Voltage>("1 % + 2 digits of -1 mV").unwrap_err().at, 18..23);
}

/// The printer knows a femto; the parser did not.
#[test]
fn the_smallest_prefix_that_is_printed_is_read() {
    let printed = Current::amps(3e-15).to_string();
    assert_eq!(printed, "3 fA");
    assert!(near(quantity::<Current>(&printed).unwrap().si(), 3e-15));
}

proptest! {
    #[test]
    fn no_text_panics_and_errors_lie_within_it(text in "\\PC{0,24}") {
        for error in [value::<Voltage>(&text).err(), lasting::<Current>(&text).err(), rating(&text).err(),
            conductor(&text).err(), size(&text).err(), accuracy::<Voltage>(&text).err()].into_iter().flatten() {
            prop_assert!(error.at.start <= error.at.end && error.at.end <= text.len());
            prop_assert!(text.is_char_boundary(error.at.start) && text.is_char_boundary(error.at.end));
        }
    }

    #[test]
    fn what_is_printed_reads_back(si in prop::num::f64::NORMAL.prop_filter("of a job's size", |x| (1e-12..1e12).contains(&x.abs()))) {
        let shown = format!("{:.12}", Current::amps(si));
        let read = quantity::<Current>(&shown).unwrap().si();
        prop_assert!((read - si).abs() <= si.abs() * 1e-10, "{shown}");
    }
}
