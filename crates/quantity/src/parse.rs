//! Text to values, in the forms a job file uses; every mistake is told with its place in the text.
//!
//! | form | example | function |
//! |---|---|---|
//! | one value | `"320 mm"` | [`quantity`] |
//! | with spread | `"2.3 A ± 25 %"`, `"12 V ± 0.3 V"`, `"10 mΩ within 5..30 mΩ"`, `"2..3 A"` | [`value`] |
//! | range | `"90..264 V"` | [`range`] |
//! | for a time | `"1.3 A for 400 ms"` | [`lasting`] |
//! | two values | `"5 V 4 A"` | [`pair`] |
//! | contact rating | `"4 A at 250 V AC"` | [`rating`] |
//! | conductor | `"0.75 mm²"`, `"AWG 18"` | [`conductor`] |
//! | box | `"380 x 290 x 95 mm"` | [`size`] |
//! | meter accuracy | `"0.5 % + 2 digits of 10 mV"` | [`accuracy`] |

use crate::spread::Spread;
use crate::units::{Area, Current, Length, Quantity, Ratio, Time, Voltage};
use std::ops::Range;

mod cursor;
#[cfg(test)]
mod tests;

use cursor::Cursor;

/// Why a text is not the value it should be: where, what was expected, what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{message}")]
pub struct ParseError {
    /// Bytes of the text that are wrong.
    pub at: Range<usize>,
    /// What was expected and what was found.
    pub message: String,
    /// What the writer may have meant.
    pub hint: Option<String>,
}

type Result<T> = std::result::Result<T, ParseError>;

/// A value as written: the nominal, and bounds where the text gives them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Written<Q> {
    /// The number before any spread, or the middle of a range.
    pub nominal: Q,
    /// Bounds, if the text states a spread or a range.
    pub bounds: Option<(Q, Q)>,
}

impl<Q: Quantity> Written<Q> {
    /// With the given factors as bounds where none were written.
    pub fn or_factors(&self, factors: (f64, f64)) -> Spread<Q> {
        match self.bounds {
            Some((low, high)) => Spread { nominal: self.nominal, low, high },
            None => Spread::by_factors(self.nominal, factors),
        }
    }
}

/// The kind of current a contact or fuse is rated to break.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "UPPERCASE")]
pub enum CurrentKind {
    /// Alternating.
    Ac,
    /// Direct.
    Dc,
}

/// What a contact may carry and break: so many amperes at so many volts of one kind.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Rating {
    /// Largest current.
    pub current: Current,
    /// At up to this voltage.
    pub voltage: Voltage,
    /// Alternating or direct; `None` where the marking does not say.
    pub kind: Option<CurrentKind>,
}

/// A conductor size as it is written.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub enum Conductor {
    /// Nominal cross-section.
    Metric(Area),
    /// American wire gauge number.
    Awg(u8),
}

/// A meter's accuracy: a share of the reading plus a fixed amount.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Accuracy<Q> {
    /// Share of the reading.
    pub share: Ratio,
    /// Digits times the value of one digit.
    pub fixed: Q,
}

/// What a text without a unit may mean, by an example of what stands there: `150 mm` for `150`, where `320 mm` would do.
pub fn with_unit_of(example: &str, text: &str) -> Option<String> {
    let unit = cursor::unit_word(cursor::behind_number(example)?);
    cursor::name_of_unit(unit)?;
    let is_bare = cursor::behind_number(text)?.is_empty();
    is_bare.then(|| format!("{} {unit}", text.trim()))
}

/// One value with its unit and nothing else.
pub fn quantity<Q: Quantity>(text: &str) -> Result<Q> {
    let mut c = Cursor::new(text);
    let q = c.measure::<Q>()?;
    c.end("nothing more")?;
    Ok(q)
}

/// A value with an optional spread, or a range taken as a spread.
pub fn value<Q: Quantity>(text: &str) -> Result<Written<Q>> {
    let mut c = Cursor::new(text);
    let v = c.value()?;
    c.end("a spread such as \"± 10 %\", or nothing more")?;
    Ok(v)
}

/// A range such as `90..264 V`.
pub fn range<Q: Quantity>(text: &str) -> Result<(Q, Q)> {
    let mut c = Cursor::new(text);
    c.skip_space();
    let start = c.at();
    let v = c.value::<Q>()?;
    let end = c.at();
    c.end("nothing more")?;
    v.bounds.ok_or_else(|| ParseError {
        at: start..end,
        message: format!("expected a range of {}, from one value to another", plain_name::<Q>()),
        hint: Some(format!("write it as \"{}..{} {}\"", 90, 110, Q::SYMBOLS[0].text)),
    })
}

/// A single value or a range: a single value is a range of no width.
pub fn value_or_range<Q: Quantity>(text: &str) -> Result<(Q, Q)> {
    let v = value::<Q>(text)?;
    Ok(v.bounds.unwrap_or((v.nominal, v.nominal)))
}

/// A value that may be said to last: `1.3 A for 400 ms`.
pub fn lasting<Q: Quantity>(text: &str) -> Result<(Written<Q>, Option<Time>)> {
    let mut c = Cursor::new(text);
    let v = c.value()?;
    let time = if c.word("for") { Some(c.above_zero::<Time>()?) } else { None };
    c.end("a duration such as \"for 400 ms\", or nothing more")?;
    Ok((v, time))
}

/// One value and perhaps another behind it: `5 V 4 A`.
pub fn pair<A: Quantity, B: Quantity>(text: &str) -> Result<(Written<A>, Option<Written<B>>)> {
    let mut c = Cursor::new(text);
    let first = c.value()?;
    if c.end("").is_ok() {
        return Ok((first, None));
    }
    let second = c.value()?;
    c.end("nothing more")?;
    Ok((first, Some(second)))
}

/// A contact rating: `4 A at 250 V AC`.
pub fn rating(text: &str) -> Result<Rating> {
    let mut c = Cursor::new(text);
    let current = c.above_zero::<Current>()?;
    if !c.word("at") {
        return Err(c.expected("\"at\" and a voltage, such as \"at 250 V AC\""));
    }
    let voltage = c.above_zero::<Voltage>()?;
    let kind = if c.word("AC") || c.word("~") {
        Some(CurrentKind::Ac)
    } else if c.word("DC") {
        Some(CurrentKind::Dc)
    } else {
        None
    };
    c.end("AC or DC, or nothing more")?;
    Ok(Rating { current, voltage, kind })
}

/// A conductor's size: a cross-section, or `AWG` and its number.
pub fn conductor(text: &str) -> Result<Conductor> {
    let mut c = Cursor::new(text);
    if !c.word("AWG") {
        c.skip_space();
        let start = c.at();
        let area = c.measure::<Area>().map_err(|e| ParseError {
            hint: e.hint.or_else(|| Some("a conductor is written as \"0.75 mm²\" or \"AWG 18\"".into())),
            ..e
        })?;
        if area.si() <= 0.0 {
            return Err(c.error(start..c.at(), "a conductor needs a cross-section above zero"));
        }
        c.end("nothing more")?;
        return Ok(Conductor::Metric(area));
    }
    c.skip_space();
    let start = c.at();
    let number = c.number()?;
    let at = start..c.at();
    c.end("nothing more")?;
    let whole = number.round();
    if (number - whole).abs() > 1e-9 || !(0.0..=40.0).contains(&whole) {
        return Err(c.error(at, "expected a whole wire gauge from AWG 0 to AWG 40"));
    }
    Ok(Conductor::Awg(whole as u8))
}

/// Width, depth and height: `380 x 290 x 95 mm`.
pub fn size(text: &str) -> Result<[Length; 3]> {
    let mut c = Cursor::new(text);
    let mut sides = [0.0; 3];
    let mut at = [const { 0..0 }; 3];
    for (i, side) in sides.iter_mut().enumerate() {
        if i > 0 && !(c.word("x") || c.word("×")) {
            return Err(c.expected("three lengths joined by x, such as \"380 x 290 x 95 mm\""));
        }
        c.skip_space();
        let start = c.at();
        *side = c.number()?;
        at[i] = start..c.at();
    }
    let factor = c.unit::<Length>(at[2].start)?;
    c.end("nothing more")?;
    if let Some(i) = sides.iter().position(|s| *s <= 0.0) {
        return Err(c.error(at[i].clone(), "a length must be above zero"));
    }
    Ok(sides.map(|s| Length::metres(s * factor)))
}

/// A meter's accuracy: `0.5 % + 2 digits of 10 mV`.
pub fn accuracy<Q: Quantity>(text: &str) -> Result<Accuracy<Q>> {
    let mut c = Cursor::new(text);
    c.skip_space();
    let start = c.at();
    let share = c.measure::<Ratio>()?;
    if share.si() < 0.0 {
        return Err(c.error(start..c.at(), "an accuracy is written without a sign"));
    }
    let mut fixed = 0.0;
    if c.word("+") {
        c.skip_space();
        let start = c.at();
        let digits = c.number()?;
        if digits < 0.0 {
            return Err(c.error(start..c.at(), "a number of digits is written without a sign"));
        }
        if !(c.word("digits") || c.word("digit")) || !c.word("of") {
            return Err(c.expected("\"digits of\" and the value of one digit, such as \"2 digits of 10 mV\""));
        }
        fixed = digits * c.above_zero::<Q>()?.si();
    }
    c.end("\"+ 2 digits of\" and the value of one digit, or nothing more")?;
    Ok(Accuracy { share, fixed: Q::from_si(fixed) })
}

fn plain_name<Q: Quantity>() -> &'static str {
    Q::NAME.trim_start_matches("an ").trim_start_matches("a ")
}
