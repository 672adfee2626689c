//! What a form says, as entries of the log: the same fields whether a browser sends the form or a script sends it later.

use super::entry::Posted;
use super::reading::units;
use crate::web::problem::Problem;
use voltwright_proof::reading::Function;

/// The most pairs of a trace; no machine has a terminal with so many others. Each is looked for among all that are ticked.
const MOST: usize = 2000;

/// The fields of a form, in order.
pub type Fields = Vec<(String, String)>;

/// The entries that a form means.
///
/// # Errors
/// A number that is none.
pub fn entries(taken: u64, fields: &Fields) -> Result<Vec<Posted>, Problem> {
    let field =
        |name: &str| fields.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.as_str()).to_owned();
    let one = Posted {
        key: field("key"),
        taken,
        kind: field("kind"),
        stage: field("stage"),
        red: field("red"),
        black: field("black"),
        function: field("function"),
        value: None,
        answer: field("answer"),
        note: Some(field("note")).filter(|note| !note.trim().is_empty()).unwrap_or_else(|| field("other")),
        instrument: field("instrument"),
    };
    let pairs = fields.iter().filter(|(name, _)| name == "pair").count();
    if pairs > MOST {
        return Err(Problem::unclear(format!(
            "A trace of {pairs} pairs: at most {MOST} can be sent at once."
        )));
    }
    if pairs > 0 {
        return Ok(trace(&one, fields));
    }
    let value = if one.answer == "value" {
        Some(value(&one.function, &field("amount"), &field("unit"))?)
    } else {
        None
    };
    Ok(vec![Posted { value, ..one }])
}

/// A trace: each pair of terminals is connected or not.
fn trace(one: &Posted, fields: &Fields) -> Vec<Posted> {
    let is_ticked = |pair: &str| fields.iter().any(|(name, value)| name == "connected" && value == pair);
    let pairs = fields.iter().filter(|(name, _)| name == "pair").enumerate();
    let entry = |(i, (_, pair)): (usize, &(String, String))| {
        let (red, black) = pair.split_once(' ').unwrap_or((pair, ""));
        Posted {
            key: format!("{}-{i}", one.key),
            red: red.to_owned(),
            black: black.to_owned(),
            answer: if is_ticked(pair) { "connected" } else { "not connected" }.to_owned(),
            ..one.clone()
        }
    };
    pairs.map(entry).collect()
}

/// A number in a unit, in ohms, volts or amperes.
fn value(function: &str, amount: &str, unit: &str) -> Result<f64, Problem> {
    let function = match function {
        "ohms" => Function::Ohms,
        "volts" => Function::Volts,
        "amps" => Function::Amps,
        _ => return Err(Problem::unclear("The form does not say what was measured.")),
    };
    let text = amount.trim().replace('−', "-");
    if text.contains(',') {
        return Err(Problem::unclear(format!("`{amount}`: write the decimal point as a point, as in 5.02.")));
    }
    let factor = units(function).iter().find(|(name, _)| *name == unit).map(|(_, factor)| factor);
    let plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+'));
    match (text.parse::<f64>(), factor) {
        (Ok(number), Some(factor)) if plain && (number >= 0.0 || function != Function::Ohms) => {
            Ok(number * factor)
        }
        (Ok(number), Some(_)) if plain => Err(Problem::unclear(format!(
            "{number} {unit}: a resistance is not below zero; touch the probes together and zero the meter."
        ))),
        (Ok(_), None) => Err(Problem::unclear(format!("There is no unit `{unit}` for this reading."))),
        _ => Err(Problem::unclear(format!(
            "`{amount}` is no number: type what the meter shows, such as 5.02."
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(pairs: &[(&str, &str)]) -> Fields {
        pairs.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect()
    }

    fn read(function: &str, amount: &str, unit: &str) -> Result<f64, Problem> {
        let all = [
            ("kind", "reading"),
            ("answer", "value"),
            ("function", function),
            ("amount", amount),
            ("unit", unit),
        ];
        entries(7, &fields(&all)).map(|e| e[0].value.unwrap())
    }

    #[test]
    fn numbers_are_read_in_their_unit() {
        for (function, amount, unit, si) in [
            ("ohms", "4.7", "kΩ", 4700.0),
            ("volts", "−12.1", "V", -12.1),
            ("volts", "-5", "mV", -0.005),
            ("amps", " 350 ", "mA", 0.35),
        ] {
            assert!((read(function, amount, unit).unwrap() - si).abs() < 1e-12, "{amount} {unit}");
        }
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for (function, amount, unit) in [
            ("volts", "5,02", "V"),
            ("volts", "", "V"),
            ("volts", "inf", "V"),
            ("volts", "NaN", "V"),
            ("volts", "1e9", "V"),
            ("ohms", "-1", "Ω"),
            ("ohms", "1", "V"),
            ("pressure", "1", "V"),
        ] {
            assert!(read(function, amount, unit).is_err(), "{amount} {unit}");
        }
    }

    #[test]
    fn a_trace_is_an_entry_a_pair() {
        let sent =
            [("key", "k"), ("kind", "reading"), ("pair", "a b"), ("connected", "a c"), ("pair", "a c")];
        let told: Vec<(String, String, String)> =
            entries(7, &fields(&sent)).unwrap().into_iter().map(|p| (p.key, p.black, p.answer)).collect();
        let expected = [("k-0", "b", "not connected"), ("k-1", "c", "connected")];
        assert_eq!(told, expected.map(|(a, b, c)| (a.to_owned(), b.to_owned(), c.to_owned())));
    }

    #[test]
    fn a_note_is_pressed_or_written() {
        let note = |pairs: &[(&str, &str)]| entries(7, &fields(pairs)).unwrap().remove(0).note;
        assert_eq!(note(&[("note", "pressed"), ("other", "written")]), "pressed");
        assert_eq!(note(&[("other", "written"), ("note", "")]), "written");
    }
}
