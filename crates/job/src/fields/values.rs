//! Getters of values with units, each with what may be asked of it: above zero, of either sign, a share.

use super::Fields;
use crate::diagnostic::Diagnostic;
use crate::document::{Bounds, Given};
use std::ops::Range;
use voltwright_quantity::parse::{self, ParseError};
use voltwright_quantity::{Basis, Place, Quantity, Ratio, Spread, Time, Voltage};

impl Fields<'_, '_> {
    /// A value with a spread; where none is written the basis implies it.
    pub fn given<Q: Quantity>(&self, key: &str, basis: Basis) -> Option<Given<Q>> {
        let (written, place, span) = self.parsed(key, parse::value::<Q>)?;
        Some(Given::new(written.or_factors(basis.implied_factors()), basis, place, span))
    }

    /// The same, refused unless it is above zero.
    pub fn positive<Q: Quantity>(&self, key: &str, basis: Basis) -> Option<Given<Q>> {
        let given = self.given::<Q>(key, basis)?;
        self.above_zero(given)
    }

    /// The voltage of an output, of either sign; one of 0 V is none.
    pub fn volts(&self, key: &str) -> Option<Given<Voltage>> {
        let given = self.given::<Voltage>(key, Basis::Chosen)?;
        let Spread { low, high, .. } = given.spread;
        if low.si() > 0.0 || high.si() < 0.0 {
            return Some(given);
        }
        let message = "an output needs a voltage other than 0 V, with all of its spread";
        self.sheet.report(Diagnostic::error(given.span, message));
        None
    }

    /// A value refused if it is below zero.
    pub fn unsigned<Q: Quantity>(&self, key: &str, basis: Basis) -> Option<Given<Q>> {
        let given = self.given::<Q>(key, basis)?;
        if given.spread.low.si() >= 0.0 {
            return Some(given);
        }
        self.sheet
            .report(Diagnostic::error(given.span, "this is written without a sign and cannot be below zero"));
        None
    }

    pub fn above_zero<Q: Quantity>(&self, given: Given<Q>) -> Option<Given<Q>> {
        if given.spread.low.si() > 0.0 {
            return Some(given);
        }
        let message = "this must be above zero, with all of its spread";
        self.sheet.report(Diagnostic::error(given.span, message));
        None
    }

    /// The same for a share of a whole: at most 100 %.
    pub fn share(&self, key: &str, basis: Basis) -> Option<Given<Ratio>> {
        let (written, place, span) = self.parsed(key, parse::value::<Ratio>)?;
        if written.bounds.map_or(written.nominal, |(_, high)| high).si() > 1.0 + 1e-12 {
            self.sheet.report(Diagnostic::error(span, "a share is at most 100 %"));
            return None;
        }
        let mut spread = written.or_factors(basis.implied_factors());
        // The spread that a basis implies does not make 95 % more than the whole.
        spread.high = spread.high.min(Ratio::new(1.0));
        self.above_zero(Given::new(spread, basis, place, span))
    }

    /// A value above zero that may be said to last.
    pub fn lasting<Q: Quantity>(&self, key: &str, basis: Basis) -> Option<(Given<Q>, Option<Time>)> {
        let ((written, time), place, span) = self.parsed(key, parse::lasting::<Q>)?;
        let given = Given::new(written.or_factors(basis.implied_factors()), basis, place, span);
        Some((self.above_zero(given)?, time))
    }

    /// Values above zero: a list of them, or a single one; exact unless a spread is written.
    pub fn positives<Q: Quantity>(&self, key: &str) -> Vec<Given<Q>> {
        self.values(key, parse::value::<Q>)
            .into_iter()
            .map(|(w, place, span)| Given::new(w.or_factors((1.0, 1.0)), Basis::Chosen, place, span))
            .filter_map(|given| self.above_zero(given))
            .collect()
    }

    /// A list of values, or a single one.
    pub fn values<T>(
        &self,
        key: &str,
        parser: impl Fn(&str) -> Result<T, ParseError>,
    ) -> Vec<(T, Place, Range<usize>)> {
        let Some(value) = self.get(key) else { return Vec::new() };
        match value.get_ref().as_array() {
            Some(list) => list.iter().filter_map(|v| self.parse_value(key, v, &parser)).collect(),
            None => self.parse_value(key, value, &parser).into_iter().collect(),
        }
    }

    /// Bounds: a range, or one value taken as both ends.
    pub fn bounds<Q: Quantity>(&self, key: &str) -> Option<Bounds<Q>> {
        let ((low, high), place, span) = self.parsed(key, parse::value_or_range::<Q>)?;
        Some(Bounds { low, high, place, span })
    }

    /// Bounds that cannot be below zero: a time, a frequency, mains volts.
    pub fn bounds_from_zero<Q: Quantity>(&self, key: &str) -> Option<Bounds<Q>> {
        let bounds = self.bounds::<Q>(key)?;
        if bounds.low.si() >= 0.0 {
            return Some(bounds);
        }
        self.sheet.report(Diagnostic::error(bounds.span, "this cannot be below zero"));
        None
    }
}
