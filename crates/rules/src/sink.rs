//! Where rules put their judgements.

use crate::finding::{Code, Finding, Severity, Unjudged};

/// A judgement as a number: what was judged, how much room is left.
#[derive(Debug, Clone, Copy)]
pub struct Judged {
    /// The kind.
    pub code: &'static Code,
    /// Which one of its kind.
    pub key: usize,
    /// How grave it is when the limit is passed.
    pub severity: Severity,
    /// Room to the limit as a share of it; below zero the limit is passed.
    pub margin: f64,
}

/// Rounding may put a figure that lies on its limit this far beyond it.
pub const ON_THE_LIMIT: f64 = -1e-9;

impl Judged {
    /// Whether the limit is passed.
    pub fn fails(&self) -> bool {
        self.margin.is_nan() || self.margin < ON_THE_LIMIT
    }
}

/// What a run over the rules is for.
#[derive(Debug, Clone, Copy)]
enum Want {
    /// Findings with their texts.
    Texts,
    /// Margins only.
    Margins,
    /// The margin of one judgement.
    One(&'static str, usize),
}

/// Collects the judgements of the rules.
#[derive(Debug)]
pub struct Sink {
    want: Want,
    /// Every judgement, in the order of the rules.
    pub judged: Vec<Judged>,
    /// Findings, where texts are wanted.
    pub findings: Vec<Finding>,
    /// What could not be judged, where texts are wanted.
    pub unjudged: Vec<Unjudged>,
}

impl Sink {
    fn new(want: Want) -> Self {
        Self { want, judged: Vec::new(), findings: Vec::new(), unjudged: Vec::new() }
    }
    /// Collects findings with their texts.
    pub fn of_texts() -> Self {
        Self::new(Want::Texts)
    }
    /// Collects the margins of what can stop.
    pub fn of_margins() -> Self {
        Self::new(Want::Margins)
    }
    /// Collects the margin of one judgement.
    pub fn of_one(code: &'static str, key: usize) -> Self {
        Self::new(Want::One(code, key))
    }

    /// Whether a judgement is wanted: lets a rule leave out costly figures.
    pub fn wants(&self, code: &'static Code, key: usize) -> bool {
        match self.want {
            Want::One(name, wanted) => name == code.name && wanted == key,
            _ => true,
        }
    }

    /// Whether every judgement is wanted, not a single one.
    pub fn wants_all(&self) -> bool {
        !matches!(self.want, Want::One(..))
    }

    /// Whether any judgement of these codes is wanted.
    pub fn wants_any(&self, codes: &[&'static Code]) -> bool {
        match self.want {
            Want::One(name, _) => codes.iter().any(|c| c.name == name),
            _ => true,
        }
    }

    /// Whether cautions are wanted too, and not only what can stop.
    pub fn wants_cautions(&self) -> bool {
        !matches!(self.want, Want::Margins)
    }

    /// Whether findings are written out.
    pub fn is_written(&self) -> bool {
        matches!(self.want, Want::Texts)
    }

    /// Judges: `margin` is the room to the limit as a share of it, below zero where the limit is passed; `write`
    /// is called for the finding only then.
    pub fn judge(
        &mut self,
        code: &'static Code,
        key: usize,
        severity: Severity,
        margin: f64,
        write: impl FnOnce() -> Finding,
    ) {
        if !self.wants(code, key) {
            return;
        }
        let judged = Judged { code, key, severity, margin };
        self.judged.push(judged);
        if judged.fails() && self.is_written() {
            self.put(code, severity, write());
        }
    }

    /// Something that holds or not, without a margin: never turned by a value.
    pub fn tell(&mut self, code: &'static Code, severity: Severity, write: impl FnOnce() -> Finding) {
        if self.is_written() {
            self.put(code, severity, write());
        }
    }

    fn put(&mut self, code: &'static Code, severity: Severity, finding: Finding) {
        self.findings.push(Finding { code: code.name, severity, stretch: code.stretch, ..finding });
    }

    /// Something that cannot be judged as long as `enter` is missing.
    pub fn missing(
        &mut self,
        code: &'static Code,
        subject: impl Into<String>,
        enter: impl Into<String>,
        tells: &str,
    ) {
        if self.is_written() {
            let (subject, enter, tells) = (subject.into(), enter.into(), tells.to_owned());
            self.unjudged.push(Unjudged { code: code.name, subject, enter, tells });
        }
    }
}

/// Room below an upper limit, as a share of it.
pub fn below(value: f64, limit: f64) -> f64 {
    (limit - value) / limit.abs().max(1e-12)
}

/// Room above a lower limit, as a share of it.
pub fn above(value: f64, limit: f64) -> f64 {
    (value - limit) / limit.abs().max(1e-12)
}
