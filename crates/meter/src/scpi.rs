//! The questions put to a meter, and how its answers are read.
//!
//! From memory of SCPI-1999, volume 1: 7.2.1 gives 9.9E37 for infinity, -9.9E37 for negative infinity and 9.91E37 for
//! what is not a number; 4.2.1 requires `SYSTem:ERRor?` of every instrument, 21.8 its answer. From memory of IEEE
//! 488.2-1992: 8.7.2 to 8.7.4 give the three forms of numbers, 6.4.3 and 8.4.1 the semicolons between questions and
//! between their answers, 10.14 `*IDN?`.

use super::Function;

/// Asks who the meter is.
pub const IDENTITY: &str = "*IDN?";
/// Asks what the meter is set to.
pub const SETTING: &str = "SENS:FUNC?";
/// Asks for a reading with the meter as it is set.
pub const READ: &str = "READ?";

const INFINITY: f64 = 9.9e37;
const NOT_A_NUMBER: f64 = 9.91e37;
/// How far, relatively, an answer may be from the two above: the standard gives exact values; a meter that reckons in
/// single precision and prints seven digits is off by at most 6e-8 and 5e-7.
const ROUNDING: f64 = 1e-6;

/// What a meter answers for a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Answer {
    /// A value, in the SI unit.
    Value(f64),
    /// More than the range takes.
    Overload,
    /// The meter has no value.
    NotANumber,
}

/// Asks the meter to set itself to a function and give a reading.
pub fn measure(function: Function) -> &'static str {
    match function {
        Function::Ohms => "MEAS:RES?",
        Function::Volts => "MEAS:VOLT:DC?",
        Function::Amps => "MEAS:CURR:DC?",
    }
}

/// Asks for so many entries of the meter's own list of errors, in one line.
pub fn errors_question(count: usize) -> String {
    vec!["SYST:ERR?"; count.max(1)].join(";:")
}

/// Reads the answer to [`errors_question`]: entries such as `-113,"Undefined header"`. No other answer has this form.
pub fn errors(line: &str) -> Option<Vec<(i32, String)>> {
    let mut quoted = false;
    let outside = |letter: char| {
        quoted ^= letter == '"';
        letter == ';' && !quoted
    };
    line.split(outside).map(error).collect()
}

fn error(entry: &str) -> Option<(i32, String)> {
    let (code, text) = entry.split_once(',')?;
    let text = text.trim().strip_prefix('"')?.strip_suffix('"')?;
    Some((code.trim().parse().ok()?, shown(&text.replace("\"\"", "\""), 100)))
}

/// Reads a reading: numbers with commas between them, of which the first counts. With anything else among them there is
/// no saying what the first is, so there is no answer then.
pub fn answer(line: &str) -> Option<Answer> {
    let numbers: Vec<f64> = line.split(',').map(number).collect::<Option<_>>()?;
    let first = *numbers.first()?;
    let is = |value: f64| (first - value).abs() <= ROUNDING * value.abs();
    if is(INFINITY) || is(-INFINITY) {
        Some(Answer::Overload)
    } else if is(NOT_A_NUMBER) {
        Some(Answer::NotANumber)
    } else {
        Some(Answer::Value(first)).filter(|_| first.abs() < INFINITY)
    }
}

/// Reads `-12`, `+1.5`, `-1.5E+3`, and the same without a digit before or after the point; infinite if too large to hold.
fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let (mantissa, exponent) = text.split_once(['e', 'E']).map_or((text, None), |(m, e)| (m, Some(e)));
    let (whole, part) = unsigned(mantissa).split_once('.').unwrap_or((unsigned(mantissa), ""));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let is_mantissa = digits(whole) && digits(part) && whole.len() + part.len() > 0;
    let is_exponent = exponent.map(unsigned).is_none_or(|exponent| digits(exponent) && !exponent.is_empty());
    text.parse().ok().filter(|_| is_mantissa && is_exponent)
}

fn unsigned(text: &str) -> &str {
    text.strip_prefix(['+', '-']).unwrap_or(text)
}

/// A meter's text as it can be shown to a person: no control characters, no more than `most` characters.
pub fn shown(text: &str, most: usize) -> String {
    let clean: String = text.chars().filter(|letter| !letter.is_control()).collect();
    let clean = clean.trim();
    if clean.chars().count() <= most {
        return clean.to_owned();
    }
    clean.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}

#[cfg(test)]
mod tests;
