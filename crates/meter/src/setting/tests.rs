use super::*;

#[test]
fn long_and_short_forms_in_any_case_with_or_without_quotes_are_known() {
    let known = [
        ("\"VOLT\"", Function::Volts),
        ("\"VOLT:DC\"", Function::Volts),
        ("volt:dc", Function::Volts),
        ("'Voltage'", Function::Volts),
        (" \"VOLTAGE:DC\" ", Function::Volts),
        ("\"RES\"", Function::Ohms),
        ("resistance", Function::Ohms),
        ("\"CURR:DC\"", Function::Amps),
        ("CURRENT", Function::Amps),
    ];
    for (line, function) in known {
        assert_eq!(Setting::parse(line), Some(Setting::Function(function)), "{line}");
    }
}

#[test]
fn other_functions_are_told_in_words() {
    let others = [
        ("\"VOLT:AC\"", "voltage, AC"),
        ("current:ac", "current, AC"),
        ("\"FRES\"", "ohms with four leads"),
        ("\"freq\"", "frequency"),
        ("\"DIOD\"", "`DIOD`"),
        ("\"VOLTA\"", "`VOLTA`"),
        ("\"RES:DC\"", "`RES:DC`"),
        ("\"VOLT:DC:RAT\"", "`VOLT:DC:RAT`"),
    ];
    for (line, words) in others {
        assert_eq!(Setting::parse(line), Some(Setting::Other(words.to_owned())), "{line}");
    }
}

#[test]
fn what_is_no_name_is_refused() {
    for line in [
        "",
        "\"\"",
        "\"",
        "+1.2E3",
        "\"VOLT\",\"CURR\"",
        "\"VOLT\"x",
        "VOLT:",
        ":VOLT",
        "0,\"No error\"",
        "a b",
    ] {
        assert_eq!(Setting::parse(line), None, "{line}");
    }
}

#[test]
fn each_function_has_words() {
    let words = |function| Setting::Function(function).words();
    assert_eq!(words(Function::Volts), "voltage, DC");
    assert_eq!(words(Function::Amps), "current, DC");
    assert_eq!(words(Function::Ohms), "ohms");
}
