use super::*;
use proptest::prelude::*;

fn value(line: &str) -> Option<f64> {
    match answer(line) {
        Some(Answer::Value(value)) => Some(value),
        _ => None,
    }
}

#[test]
fn the_three_forms_of_numbers_are_read() {
    let known = [
        ("12", 12.0),
        ("+12", 12.0),
        ("-3.5", -3.5),
        ("+1.2345E+03", 1234.5),
        ("-1.5e-3", -0.0015),
        ("2E2", 200.0),
        ("  4.7 ", 4.7),
        (".5", 0.5),
        ("5.", 5.0),
        ("+4.99E+00,+5.01E+00", 4.99),
        ("1, 2,3", 1.0),
    ];
    for (line, expected) in known {
        let read = value(line);
        assert!(read.is_some_and(|read| (read - expected).abs() < 1e-12), "{line}: {read:?}");
    }
}

#[test]
fn what_is_no_number_is_not_read() {
    let texts = [
        "",
        " ",
        ".",
        "+",
        "-",
        "E3",
        "1E",
        "1E+",
        "1e2.5",
        "1 2",
        "1.2 V",
        "1.2OHM",
        "--1",
        "+-1",
        "1.2.3",
        "0x10",
        "#H1F",
        "nan",
        "NaN",
        "inf",
        "-inf",
        "infinity",
        "INF",
        "1,",
        ",1",
        "1;2",
        "1,V",
        "0,\"No error\"",
        "OL",
        "1E999",
        "\u{fffd}1",
        "1_000",
        "1,5E",
        "٣",
    ];
    for text in texts {
        assert_eq!(answer(text), None, "{text}");
    }
}

#[test]
fn signs_for_infinity_are_an_overload_and_that_for_no_number_is_no_value() {
    for line in ["9.9E37", "+9.9E+37", "+9.90000000E+37", "-9.9E37", "9.8999995E+37", "+9.9E37,1"] {
        assert_eq!(answer(line), Some(Answer::Overload), "{line}");
    }
    for line in ["9.91E37", "+9.910000E+37", "+9.9100003E+37"] {
        assert_eq!(answer(line), Some(Answer::NotANumber), "{line}");
    }
    for line in ["9.905E37", "-9.91E37", "9.92E37", "1E38", "-1E300"] {
        assert_eq!(answer(line), None, "{line}");
    }
    for line in ["9.8E37", "9.8999E37", "9.9E36"] {
        assert!(value(line).is_some(), "{line}");
    }
}

/// The nearest values of single precision, printed in full.
#[test]
fn a_meter_that_reckons_in_single_precision_is_understood() {
    assert_eq!(answer(&format!("{:E}", f64::from(9.9e37_f32))), Some(Answer::Overload));
    assert_eq!(answer(&format!("{:E}", f64::from(9.91e37_f32))), Some(Answer::NotANumber));
}

#[test]
fn the_list_of_errors_is_read() {
    let one = |code, text: &str| Some(vec![(code, text.to_owned())]);
    assert_eq!(errors("0,\"No error\""), one(0, "No error"));
    assert_eq!(errors("-113,\"Undefined header\""), one(-113, "Undefined header"));
    assert_eq!(errors("+0 , \"No error\""), one(0, "No error"));
    assert_eq!(errors("-113,\"Undefined header;MEAS:X?\""), one(-113, "Undefined header;MEAS:X?"));
    assert_eq!(errors("-1,\"say \"\"a;b\"\"\""), one(-1, "say \"a;b\""));
    let two = errors("-113,\"a;b\";0,\"No error\"").unwrap();
    assert_eq!(two, [(-113, "a;b".to_owned()), (0, "No error".to_owned())]);
    for line in ["", "0", "1.5,2", "x,\"y\"", "0,No error", "0,\"", "0,\"a", "0,\"a\";", "+1.0,\"a\""] {
        assert_eq!(errors(line), None, "{line}");
    }
}

#[test]
fn questions_join_with_semicolons_from_the_root() {
    assert_eq!(errors_question(1), "SYST:ERR?");
    assert_eq!(errors_question(3), "SYST:ERR?;:SYST:ERR?;:SYST:ERR?");
}

#[test]
fn what_is_shown_has_no_control_characters_and_is_cut_short() {
    assert_eq!(shown(" a\u{7}b\u{1b}[31mc \t", 100), "ab[31mc");
    assert_eq!(shown("abcdef", 6), "abcdef");
    assert_eq!(shown("abcdefg", 6), "abcde…");
}

proptest! {
    #[test]
    fn a_printed_number_is_read_back(number in -1e30..1e30_f64, digits in 0..12_usize) {
        for text in [format!("{number}"), format!("{number:+.digits$E}"), format!("{number:e}")] {
            let expected: f64 = text.parse().unwrap();
            prop_assert_eq!(value(&text).map(f64::to_bits), Some(expected.to_bits()));
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in ".{0,60}") {
        if let Some(read) = value(&text) {
            prop_assert!(read.is_finite());
        }
        errors(&text);
    }
}
