//! The reader that walks along a value's text.

use super::{ParseError, Result, Written};
use crate::units::{self, Quantity, Ratio, Symbol};
use std::ops::Range;

const PREFIXES: [(&str, f64); 14] = [
    ("f", 1e-15),
    ("p", 1e-12),
    ("n", 1e-9),
    ("µ", 1e-6),
    ("μ", 1e-6),
    ("u", 1e-6),
    ("m", 1e-3),
    ("c", 1e-2),
    ("d", 1e-1),
    ("k", 1e3),
    ("K", 1e3),
    ("M", 1e6),
    ("G", 1e9),
    ("", 1.0),
];

/// Largest magnitude accepted in a job, in SI units: beyond it a figure is a slip of the pen.
const LARGEST: f64 = 1e15;

pub(super) struct Cursor<'a> {
    text: &'a str,
    pos: usize,
}

impl<'a> Cursor<'a> {
    pub fn new(text: &'a str) -> Self {
        Self { text, pos: 0 }
    }

    pub fn at(&self) -> usize {
        self.pos
    }

    pub fn error(&self, at: Range<usize>, message: &str) -> ParseError {
        ParseError { at, message: message.into(), hint: None }
    }

    /// "expected …; found …" at the next word.
    pub fn expected(&mut self, what: &str) -> ParseError {
        self.skip_space();
        let word = self.rest().split_whitespace().next().unwrap_or("");
        let at = self.pos..self.pos + word.len();
        let found = if word.is_empty() { "the end of the text".to_owned() } else { format!("\"{word}\"") };
        self.error(at, &format!("expected {what}; found {found}"))
    }

    pub fn end(&mut self, what: &str) -> Result<()> {
        self.skip_space();
        if self.rest().is_empty() { Ok(()) } else { Err(self.expected(what)) }
    }

    fn rest(&self) -> &'a str {
        &self.text[self.pos..]
    }

    pub fn skip_space(&mut self) {
        let rest = self.rest();
        self.pos += rest.len() - rest.trim_start().len();
    }

    /// Takes `word` if it stands here as a whole word.
    pub fn word(&mut self, word: &str) -> bool {
        self.skip_space();
        let Some(after) = self.rest().strip_prefix(word) else { return false };
        let ends = |s: &str| s.ends_with(|c: char| c.is_alphabetic());
        if ends(word) && after.starts_with(|c: char| c.is_alphabetic()) {
            return false;
        }
        self.pos += word.len();
        true
    }

    /// A decimal number with a point; a comma is refused with a hint.
    pub fn number(&mut self) -> Result<f64> {
        self.skip_space();
        let rest = self.rest();
        let len = number_length(rest);
        let at = self.pos..self.pos + len;
        let raw = &rest[..len];
        if !raw.chars().any(|c| c.is_ascii_digit()) {
            let mut error = self.expected("a number");
            if rest.to_ascii_lowercase().starts_with("nan") || rest.to_ascii_lowercase().contains("inf") {
                error.hint = Some("a value must be a finite number".into());
            }
            return Err(error);
        }
        if rest[len..].starts_with(',') {
            let whole = rest[len + 1..].chars().take_while(char::is_ascii_digit).count();
            let meant = format!("{raw}.{}", &rest[len + 1..len + 1 + whole]);
            return Err(ParseError {
                at: self.pos..self.pos + len + 1 + whole,
                message: "a decimal comma is not read here, since it could also part thousands".into(),
                hint: Some(format!("use a point: did you mean {meant}?")),
            });
        }
        let value: f64 = raw
            .replace('\u{2212}', "-")
            .parse()
            .map_err(|_| self.error(at.clone(), "expected a number such as 2.3"))?;
        if !value.is_finite() || value.abs() > LARGEST {
            return Err(self.error(at, "this number is too large to be meant"));
        }
        self.pos += len;
        Ok(value)
    }

    /// A number and a unit of `Q`, in SI.
    pub fn measure<Q: Quantity>(&mut self) -> Result<Q> {
        self.skip_space();
        let start = self.pos;
        let number = self.number()?;
        let factor = self.unit::<Q>(start)?;
        self.finite::<Q>(number * factor, start)
    }

    /// The same, refused unless it is above zero.
    pub fn above_zero<Q: Quantity>(&mut self) -> Result<Q> {
        self.skip_space();
        let start = self.pos;
        let q = self.measure::<Q>()?;
        if q.si() > 0.0 { Ok(q) } else { Err(self.error(start..self.pos, "this must be above zero")) }
    }

    fn finite<Q: Quantity>(&self, si: f64, start: usize) -> Result<Q> {
        if si.is_finite() && si.abs() <= LARGEST {
            Ok(Q::from_si(si))
        } else {
            Err(self.error(start..self.pos, "this value is too large to be meant"))
        }
    }

    /// The unit that must stand here; `start` is where its number began, for the message.
    pub fn unit<Q: Quantity>(&mut self, start: usize) -> Result<f64> {
        let number = self.text[start..self.pos].trim();
        self.skip_space();
        let word = unit_word(self.rest());
        let at = self.pos..self.pos + word.len();
        if word.is_empty() {
            return Err(ParseError {
                at: start..self.pos.max(start + number.len()),
                message: format!("expected {} with its unit ({})", Q::NAME, unit_list::<Q>()),
                // Which unit is meant hangs on what the value is of: a wire's millimetres are no room's metres.
                hint: None,
            });
        }
        if let Some(factor) = factor_in(word, Q::SYMBOLS) {
            self.pos += word.len();
            return Ok(factor);
        }
        let other = name_of_unit(word).map_or(String::new(), |name| format!(", which is {name}"));
        Err(ParseError {
            at,
            message: format!("expected {} ({}); found \"{word}\"{other}", Q::NAME, unit_list::<Q>()),
            hint: near_unit::<Q>(word).map(|near| format!("did you mean {near}?")),
        })
    }

    /// `a unit`, `a unit ± b unit`, `a unit ± p %`, `a unit within b..c unit`, `a..b unit`.
    pub fn value<Q: Quantity>(&mut self) -> Result<Written<Q>> {
        self.skip_space();
        let start = self.pos;
        let first = self.number()?;
        if self.word("..") || self.word("…") {
            return self.range_from(first, start);
        }
        let factor = self.unit::<Q>(start)?;
        let nominal = self.finite::<Q>(first * factor, start)?;
        if self.word("within") {
            return self.within(nominal, start);
        }
        if !(self.word("±") || self.word("+-") || self.word("+/-")) {
            return Ok(Written { nominal, bounds: None });
        }
        self.skip_space();
        let start = self.pos;
        let width = self.number()?;
        if width < 0.0 {
            return Err(self.error(start..self.pos, "a spread is written without a sign"));
        }
        let half = if self.word("%") {
            (nominal.si() * width / 100.0).abs()
        } else {
            width
                * self.unit::<Q>(start).map_err(|e| ParseError {
                    hint: e.hint.or_else(|| Some("a spread is a percentage or has the value's unit".into())),
                    ..e
                })?
        };
        let half = self.finite::<Q>(half, start)?.si();
        let bounds = (Q::from_si(nominal.si() - half), Q::from_si(nominal.si() + half));
        Ok(Written { nominal, bounds: Some(bounds) })
    }

    /// `a unit within b..c unit`: a nominal that is not the middle of its bounds.
    fn within<Q: Quantity>(&mut self, nominal: Q, start: usize) -> Result<Written<Q>> {
        self.skip_space();
        let range_at = self.pos;
        let first = self.number()?;
        if !(self.word("..") || self.word("…")) {
            return Err(self.expected("\"..\" and the upper end of the range"));
        }
        let range = self.range_from::<Q>(first, range_at)?;
        let holds = range.bounds.is_some_and(|(low, high)| low <= nominal && nominal <= high);
        if holds {
            Ok(Written { nominal, ..range })
        } else {
            Err(self.error(start..self.pos, "the range must hold the value before it"))
        }
    }

    fn range_from<Q: Quantity>(&mut self, first: f64, start: usize) -> Result<Written<Q>> {
        self.skip_space();
        let second_at = self.pos;
        let second = self.number()?;
        let factor = self.unit::<Q>(second_at)?;
        let (low, high) =
            (self.finite::<Q>(first * factor, start)?, self.finite::<Q>(second * factor, start)?);
        if low.si() > high.si() {
            let mut error = self.error(start..self.pos, "a range goes from its lower end to its upper end");
            error.hint = Some("put the lower value first".into());
            return Err(error);
        }
        let spread = crate::spread::Spread::between(low, high);
        Ok(Written { nominal: spread.nominal, bounds: Some((low, high)) })
    }
}

/// How many bytes of `text` read as one number; stops before `..`.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut i = 0;
    for sign in ["-", "+", "\u{2212}"] {
        if text.starts_with(sign) {
            i = sign.len();
            break;
        }
    }
    let digits = |mut i: usize| {
        while bytes.get(i).is_some_and(u8::is_ascii_digit) {
            i += 1;
        }
        i
    };
    i = digits(i);
    if bytes.get(i) == Some(&b'.') && bytes.get(i + 1) != Some(&b'.') {
        i = digits(i + 1);
    }
    if matches!(bytes.get(i), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(i + 1), Some(b'+' | b'-')));
        let end = digits(i + 1 + sign);
        if end > i + 1 + sign {
            i = end;
        }
    }
    i
}

/// What stands behind the number, or the range, that a text begins with; nothing if it begins with none.
pub(super) fn behind_number(text: &str) -> Option<&str> {
    let mut c = Cursor::new(text);
    c.number().ok()?;
    if c.word("..") || c.word("…") {
        c.number().ok()?;
    }
    c.skip_space();
    Some(c.rest())
}

pub(super) fn unit_word(rest: &str) -> &str {
    let stop = rest
        .find(|c: char| c.is_whitespace() || matches!(c, '±' | '+' | ',' | ';' | '~'))
        .unwrap_or(rest.len());
    &rest[..stop]
}

fn factor_in(word: &str, symbols: &[Symbol]) -> Option<f64> {
    for symbol in symbols {
        let Some(prefix) = word.strip_suffix(symbol.text) else { continue };
        if prefix.is_empty() {
            return Some(symbol.factor);
        }
        // "K" is no SI prefix; the kilo is a small k, and "c", "d" stand for nothing electrical.
        let known = PREFIXES.iter().find(|(p, _)| *p == prefix && !matches!(*p, "K" | "c" | "d"));
        if let (true, Some((_, scale))) = (symbol.prefixed, known) {
            return Some(scale * symbol.factor);
        }
    }
    None
}

fn unit_list<Q: Quantity>() -> String {
    let unit = Q::SYMBOLS[0];
    match unit.text {
        "m²" => "mm², cm²".into(),
        "m" => "mm, cm, m".into(),
        "s" => "ms, s, min".into(),
        "F" => "pF, nF, µF".into(),
        text if unit.prefixed => format!("{text}, m{text}, k{text}"),
        text => text.into(),
    }
}

/// The physical quantity a unit belongs to, for "found A, which is a current".
pub(super) fn name_of_unit(word: &str) -> Option<&'static str> {
    macro_rules! look {
        ($($q:ident),+) => { $( if factor_in(word, units::$q::SYMBOLS).is_some() { return Some(units::$q::NAME); } )+ };
    }
    look!(
        Voltage,
        Current,
        Resistance,
        Power,
        ApparentPower,
        Energy,
        Capacitance,
        Inductance,
        Frequency,
        Length,
        Area,
        Temperature,
        TemperatureRise,
        ThermalResistance,
        MeltingIntegral,
        AirFlow,
        Time
    );
    factor_in(word, Ratio::SYMBOLS).map(|_| Ratio::NAME)
}

/// A unit of `Q` that `word` may be a slip for: other letter case, or written out.
fn near_unit<Q: Quantity>(word: &str) -> Option<String> {
    let lower = word.to_lowercase();
    let spelled = match lower.as_str() {
        "volt" | "volts" => "V",
        "amp" | "amps" | "ampere" | "amperes" => "A",
        "ohms" => "Ω",
        "watt" | "watts" => "W",
        "ampere-hours" => "Ah",
        "sec" | "second" | "seconds" => "s",
        "msec" => "ms",
        "c" | "ºc" | "°" => "°C",
        "sqmm" | "mm^2" | "qmm" => "mm²",
        "cm^2" => "cm²",
        "mfd" | "uf" | "µf" => "µF",
        _ => "",
    };
    if !spelled.is_empty() && factor_in(spelled, Q::SYMBOLS).is_some() {
        return Some(spelled.into());
    }
    Q::SYMBOLS.iter().find_map(|symbol| {
        PREFIXES
            .iter()
            .filter(|(p, _)| !matches!(*p, "K" | "c" | "d" | "μ"))
            .map(|(p, _)| format!("{p}{}", symbol.text))
            .find(|whole| whole.to_lowercase() == lower && factor_in(whole, Q::SYMBOLS).is_some())
    })
}
