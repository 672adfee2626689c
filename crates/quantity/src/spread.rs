//! A nominal value with its bounds, and the basis it rests on.

use crate::units::Quantity;

/// Where a value comes from. Where no spread is written, the basis implies one.
///
/// The implied spreads are our own defaults (design page 3) and are shown as such.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// Read with a meter; the spread is the meter's, 0 if none is written.
    Measured,
    /// A maker's sheet: ±10 % where no bounds are written.
    #[serde(rename = "data sheet")]
    DataSheet,
    /// The machine's label: an upper bound, 60 % to 100 % of it.
    Nameplate,
    /// What such things usually take: ±40 %.
    Typical,
    /// A guess: −50 % to +100 %.
    Guess,
    /// Chosen by whoever designs the job (a nominal voltage, a limit): exact unless a spread is written.
    Chosen,
    /// A default of ours that the job does not set.
    Ours,
}

impl Basis {
    /// The names a job file may use.
    pub const NAMES: [(&'static str, Basis); 5] = [
        ("measured", Basis::Measured),
        ("data sheet", Basis::DataSheet),
        ("nameplate", Basis::Nameplate),
        ("typical", Basis::Typical),
        ("guess", Basis::Guess),
    ];

    /// As a person says it.
    pub fn words(self) -> &'static str {
        match self {
            Basis::Measured => "measured",
            Basis::DataSheet => "data sheet",
            Basis::Nameplate => "nameplate",
            Basis::Typical => "typical",
            Basis::Guess => "guess",
            Basis::Chosen => "as entered",
            Basis::Ours => "our default",
        }
    }

    /// The factors on the nominal value that bound it when no spread is written.
    pub fn implied_factors(self) -> (f64, f64) {
        match self {
            Basis::Measured | Basis::Chosen | Basis::Ours => (1.0, 1.0),
            Basis::DataSheet => (0.9, 1.1),
            Basis::Nameplate => (0.6, 1.0),
            Basis::Typical => (0.6, 1.4),
            Basis::Guess => (0.5, 2.0),
        }
    }

    /// Whether a verdict that hangs on such a value should say so.
    pub fn is_assumption(self) -> bool {
        matches!(self, Basis::Nameplate | Basis::Typical | Basis::Guess | Basis::Ours)
    }
}

/// A nominal value and the bounds within which the true one lies; `low` is the algebraically smaller.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Spread<Q> {
    /// The value to reckon with when nothing else is said.
    pub nominal: Q,
    /// Algebraically lowest.
    pub low: Q,
    /// Algebraically highest.
    pub high: Q,
}

impl<Q: Quantity> Spread<Q> {
    /// A value known exactly.
    pub fn exact(nominal: Q) -> Self {
        Self { nominal, low: nominal, high: nominal }
    }

    /// Bounds as factors of the nominal value, whatever its sign.
    pub fn by_factors(nominal: Q, (low, high): (f64, f64)) -> Self {
        let (a, b) = (nominal.si() * low, nominal.si() * high);
        Self { nominal, low: Q::from_si(a.min(b)), high: Q::from_si(a.max(b)) }
    }

    /// Bounds given outright.
    pub fn between(low: Q, high: Q) -> Self {
        Self { nominal: Q::from_si((low.si() + high.si()) / 2.0), low, high }
    }

    /// The bound of larger magnitude.
    pub fn most(&self) -> Q {
        if self.low.si().abs() > self.high.si().abs() { self.low } else { self.high }
    }

    /// The bound of smaller magnitude.
    pub fn least(&self) -> Q {
        if self.low.si().abs() > self.high.si().abs() { self.high } else { self.low }
    }

    /// Whether it has any width.
    pub fn is_exact(&self) -> bool {
        self.high.si() - self.low.si() <= 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Voltage;

    #[test]
    fn bounds_of_a_negative_value_stay_in_order() {
        let s = Spread::by_factors(Voltage::volts(-12.0), (0.9, 1.1));
        assert!((s.low.si() + 13.2).abs() < 1e-12 && (s.high.si() + 10.8).abs() < 1e-12);
        assert!((s.most().si() + 13.2).abs() < 1e-12);
    }
}
