//! What a meter says it is set to: the answer to `SENSe:FUNCtion?`.
//!
//! A name is keywords with colons between them, each whole or in its short form (its capitals here), in any case. The
//! names are those of SCPI-1999's sensor functions, from memory; of others the meter's own word is shown.

use super::Function;
use super::scpi::shown;

/// What a meter is set to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Setting {
    /// What it can be asked to read here.
    Function(Function),
    /// Anything else, in words.
    Other(String),
}

const VOLTS: Option<Function> = Some(Function::Volts);
const AMPS: Option<Function> = Some(Function::Amps);

/// Where neither DC nor AC is said, DC is meant.
const NAMES: [(&str, Option<Function>, &str); 11] = [
    ("VOLTage", VOLTS, "voltage, DC"),
    ("VOLTage:DC", VOLTS, "voltage, DC"),
    ("VOLTage:AC", None, "voltage, AC"),
    ("CURRent", AMPS, "current, DC"),
    ("CURRent:DC", AMPS, "current, DC"),
    ("CURRent:AC", None, "current, AC"),
    ("RESistance", Some(Function::Ohms), "ohms"),
    ("FRESistance", None, "ohms with four leads"),
    ("FREQuency", None, "frequency"),
    ("PERiod", None, "period"),
    ("TEMPerature", None, "temperature"),
];

impl Setting {
    /// Reads the answer, with or without quotes; nothing if it is no name.
    pub fn parse(line: &str) -> Option<Setting> {
        let name = unquoted(line.trim());
        let known = NAMES.iter().find(|(pattern, ..)| is_name(name, pattern));
        match known {
            Some((_, Some(function), _)) => Some(Setting::Function(*function)),
            Some((_, None, words)) => Some(Setting::Other((*words).to_owned())),
            None => name.split(':').all(is_keyword).then(|| Setting::Other(format!("`{}`", shown(name, 40)))),
        }
    }

    /// What it is, to tell a person.
    pub fn words(&self) -> String {
        match self {
            Setting::Other(words) => words.clone(),
            Setting::Function(function) => {
                let named = NAMES.iter().find(|(_, of, _)| *of == Some(*function));
                named.map_or_else(|| function.to_string(), |(.., words)| (*words).to_owned())
            }
        }
    }
}

fn unquoted(text: &str) -> &str {
    let within = |quote: char| text.strip_prefix(quote)?.strip_suffix(quote);
    within('"').or_else(|| within('\'')).unwrap_or(text).trim()
}

fn is_keyword(text: &str) -> bool {
    let rest = |byte: u8| byte.is_ascii_alphanumeric() || byte == b'_';
    text.starts_with(|letter: char| letter.is_ascii_alphabetic()) && text.bytes().all(rest)
}

fn is_name(name: &str, pattern: &str) -> bool {
    let (mut said, mut known) = (name.split(':'), pattern.split(':'));
    loop {
        match (said.next(), known.next()) {
            (None, None) => return true,
            (Some(said), Some(known)) if is_form(said, known) => {}
            _ => return false,
        }
    }
}

fn is_form(said: &str, keyword: &str) -> bool {
    let short = keyword.trim_end_matches(|letter: char| letter.is_ascii_lowercase());
    said.eq_ignore_ascii_case(keyword) || said.eq_ignore_ascii_case(short)
}

#[cfg(test)]
mod tests;
