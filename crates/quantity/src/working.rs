//! A figure down to its inputs and sources, printed as a person would write it by hand.

use crate::spread::Basis;
use crate::units::Quantity;
use std::fmt::Write;

/// How sure we are of a published value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sure {
    /// Read in the publication, or in a public copy or quotation of it.
    Seen,
    /// Follows from physics or arithmetic.
    Computed,
    /// Common practice of the trade, without a publication.
    CommonPractice,
    /// Remembered, not looked up: confirm before relying on it.
    Memory,
}

impl Sure {
    /// As shown to people.
    pub fn words(self) -> &'static str {
        match self {
            Sure::Seen => "published",
            Sure::Computed => "computed",
            Sure::CommonPractice => "common practice",
            Sure::Memory => "from memory",
        }
    }
}

/// A publication with its clause, and how sure we are of what we took from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Source {
    /// Title and clause.
    pub title: &'static str,
    /// How sure we are.
    pub sure: Sure,
}

impl Source {
    /// Read in the publication or in a copy of it.
    pub const fn seen(title: &'static str) -> Self {
        Self { title, sure: Sure::Seen }
    }
    /// Physics or arithmetic.
    pub const fn computed(title: &'static str) -> Self {
        Self { title, sure: Sure::Computed }
    }
    /// A fact of the trade.
    pub const fn practice(title: &'static str) -> Self {
        Self { title, sure: Sure::CommonPractice }
    }
    /// Remembered.
    pub const fn memory(title: &'static str) -> Self {
        Self { title, sure: Sure::Memory }
    }
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.sure {
            Sure::Seen => f.write_str(self.title),
            sure => write!(f, "{} ({})", self.title, sure.words()),
        }
    }
}

/// Where in the job a value was entered.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Place {
    /// Path of keys, such as `load.board.draws.p5.run`.
    pub path: String,
    /// Line in the job file, from 1; 0 if the value is a default that the file does not contain.
    pub line: usize,
    /// The value as written.
    pub text: String,
}

/// What a figure rests on.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[serde(rename_all = "kebab-case", tag = "by")]
pub enum Origin {
    /// Entered in the job.
    Entered {
        /// Where.
        place: Place,
        /// How sure.
        basis: Basis,
    },
    /// Taken from a published table, or a default of ours.
    Looked {
        /// Where it stands.
        source: Source,
    },
    /// Computed from other figures.
    Formula {
        /// In symbols: `I · R`.
        formula: String,
        /// The figures put in.
        inputs: Vec<Working>,
        /// Where the formula stands, if it is not plain arithmetic.
        source: Option<Source>,
    },
    /// Read off the solved circuit.
    Solved {
        /// Which operating point.
        at: String,
        /// The assumption or state that matters.
        inputs: Vec<Working>,
    },
}

/// A figure with its derivation.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Working {
    /// Symbol used for it in formulas.
    pub symbol: String,
    /// What it is, in words.
    pub what: String,
    /// Value in SI units.
    pub si: f64,
    /// Value as shown.
    pub shown: String,
    /// What it rests on.
    pub origin: Origin,
}

impl Working {
    /// A figure entered in the job.
    pub fn entered<Q: Quantity>(symbol: &str, what: &str, value: Q, place: Place, basis: Basis) -> Self {
        Self::new(symbol, what, value, Origin::Entered { place, basis })
    }

    /// A figure from a table, a standard or common practice.
    pub fn looked<Q: Quantity>(symbol: &str, what: &str, value: Q, source: Source) -> Self {
        Self::new(symbol, what, value, Origin::Looked { source })
    }

    /// A figure computed from others by a formula in their symbols.
    pub fn formula<Q: Quantity>(
        symbol: &str,
        what: &str,
        value: Q,
        formula: &str,
        inputs: Vec<Working>,
    ) -> Self {
        Self::new(symbol, what, value, Origin::Formula { formula: formula.into(), inputs, source: None })
    }

    /// A figure read off the solved circuit.
    pub fn solved<Q: Quantity>(symbol: &str, what: &str, value: Q, at: &str, inputs: Vec<Working>) -> Self {
        Self::new(symbol, what, value, Origin::Solved { at: at.into(), inputs })
    }

    /// The same with the source of its formula.
    #[must_use]
    pub fn from_source(mut self, from: Source) -> Self {
        if let Origin::Formula { source, .. } = &mut self.origin {
            *source = Some(from);
        }
        self
    }

    fn new<Q: Quantity>(symbol: &str, what: &str, value: Q, origin: Origin) -> Self {
        Self { symbol: symbol.into(), what: what.into(), si: value.si(), shown: value.to_string(), origin }
    }

    /// The whole tree, one figure a line, inputs indented below what uses them.
    pub fn by_hand(&self) -> String {
        let mut out = String::new();
        self.write(&mut out, 0);
        out
    }

    fn write(&self, out: &mut String, depth: usize) {
        let pad = "  ".repeat(depth);
        let Self { symbol, what, shown, .. } = self;
        // Writing to a String cannot fail.
        let _ = match &self.origin {
            Origin::Entered { place, basis } if place.line > 0 => writeln!(
                out,
                "{pad}{symbol} = {shown}   {what}: {} = \"{}\", line {} ({})",
                place.path,
                place.text,
                place.line,
                basis.words()
            ),
            Origin::Entered { place, basis } => {
                writeln!(
                    out,
                    "{pad}{symbol} = {shown}   {what}: {} is not set ({})",
                    place.path,
                    basis.words()
                )
            }
            Origin::Looked { source } => writeln!(out, "{pad}{symbol} = {shown}   {what}: {source}"),
            Origin::Formula { formula, inputs, source } => {
                let put_in = substitute(formula, inputs);
                let middle = if put_in == *formula { String::new() } else { format!(" = {put_in}") };
                let from = source.map_or(String::new(), |s| format!("; {s}"));
                writeln!(out, "{pad}{symbol} = {formula}{middle} = {shown}   {what}{from}")
            }
            Origin::Solved { at, .. } => {
                writeln!(out, "{pad}{symbol} = {shown}   {what}, circuit solved {at}")
            }
        };
        if let Origin::Formula { inputs, .. } | Origin::Solved { inputs, .. } = &self.origin {
            for input in inputs {
                input.write(out, depth + 1);
            }
        }
    }
}

/// A formula with each symbol replaced by its value as shown.
fn substitute(formula: &str, inputs: &[Working]) -> String {
    let mut out = String::new();
    let mut name = String::new();
    // A power is no part of a name: "I² · R" puts in I and R.
    let is_name =
        |c: char| c.is_alphabetic() || c.is_ascii_digit() || matches!(c, '_' | '\'' | '₀'..='₉' | '∂');
    for c in formula.chars().chain(std::iter::once('\0')) {
        if is_name(c) {
            name.push(c);
            continue;
        }
        if !name.is_empty() {
            match inputs.iter().find(|w| w.symbol == name) {
                Some(w) if w.shown.starts_with('−') || matches!(c, '²' | '³') => {
                    let _ = write!(out, "({})", w.shown);
                }
                Some(w) => out.push_str(&w.shown),
                None => out.push_str(&name),
            }
            name.clear();
        }
        if c != '\0' {
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Current, Resistance};

    #[test]
    fn powers_are_not_part_of_a_name() {
        let i = Working::looked("Î", "peak", Current::amps(30.0), Source::practice("x"));
        assert_eq!(substitute("½ · Î² · t", &[i]), "½ · (30 A)² · t");
    }

    #[test]
    fn a_working_reads_like_handwriting() {
        let place = Place { path: "load.board.draws.p5.run".into(), line: 28, text: "2.3 A ± 25 %".into() };
        let i = Working::entered("I", "current", Current::amps(2.3), place, Basis::Typical);
        let r = Working::looked("R", "wire", Resistance::ohms(0.01), Source::practice("measured once"));
        let v =
            Working::formula("V", "drop", Current::amps(2.3) * Resistance::ohms(0.01), "I · R", vec![i, r]);
        assert_eq!(
            v.by_hand(),
            "V = I · R = 2.3 A · 10 mΩ = 23 mV   drop\n  \
             I = 2.3 A   current: load.board.draws.p5.run = \"2.3 A ± 25 %\", line 28 (typical)\n  \
             R = 10 mΩ   wire: measured once (common practice)\n"
        );
    }
}
