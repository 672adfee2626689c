//! What all readers share: the text, and what was found wrong with it so far.

use crate::diagnostic::{Diagnostic, Lines, Severity};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;
use voltwright_quantity::parse::ParseError;

/// Kinds of names that others refer to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Name {
    /// A rail.
    Rail,
    /// What owns terminals: a part, an output of it, a plug, a load, a socket of it; points between them.
    Owner,
    /// A load, for the list of its ways.
    Ways,
}

pub(crate) struct Sheet<'t> {
    pub text: &'t str,
    pub lines: Lines<'t>,
    /// Whether the grammar is broken somewhere, so that what is not there may have been written all the same.
    pub torn: bool,
    found: RefCell<Vec<Diagnostic>>,
    unread: RefCell<BTreeSet<(Name, String)>>,
}

impl<'t> Sheet<'t> {
    pub fn new(text: &'t str, torn: bool) -> Self {
        Self { text, lines: Lines::new(text), torn, found: RefCell::default(), unread: RefCell::default() }
    }

    pub fn report(&self, diagnostic: Diagnostic) {
        self.found.borrow_mut().push(diagnostic);
    }

    /// Reports that something is not there or not known; a torn text leaves that open.
    pub fn report_missing(&self, diagnostic: Diagnostic) {
        if !self.torn {
            self.report(diagnostic);
        }
    }

    pub fn into_diagnostics(self) -> Vec<Diagnostic> {
        self.found.into_inner()
    }

    /// How many errors there are so far: unchanged over a step if all it read was whole.
    pub fn errors(&self) -> usize {
        self.found.borrow().iter().filter(|d| d.severity == Severity::Error).count()
    }

    /// Notes that a name stands in the file but could not be read: whoever refers to it is not to blame.
    pub fn note_unread(&self, what: Name, name: impl Into<String>) {
        self.unread.borrow_mut().insert((what, name.into()));
    }

    /// Whether a name, or what it is a part of, stands in the file but could not be read.
    pub fn is_unread(&self, what: Name, name: &str) -> bool {
        let unread = self.unread.borrow();
        let ends = name.match_indices('.').map(|(i, _)| i).chain([name.len()]);
        !unread.is_empty() && ends.into_iter().any(|end| unread.contains(&(what, name[..end].to_owned())))
    }

    /// A mistake inside a quoted text, at the very characters.
    pub fn report_in_text(&self, span: &Range<usize>, value: &str, error: ParseError) {
        // Where the text has no escapes, its characters stand in the file just behind the quote.
        let at = span.start + 1 + error.at.start..span.start + 1 + error.at.end;
        let verbatim = self.text.get(span.start + 1..span.start + 1 + value.len()) == Some(value);
        let place = match (verbatim, at.is_empty()) {
            (true, false) => at,
            // What is missing at the end is missed at the closing quote.
            (true, true) => at.start..at.start + 1,
            (false, _) => span.clone(),
        };
        let place = if self.text.get(place.clone()).is_some() { place } else { span.clone() };
        self.report(Diagnostic::error(place, error.message).maybe_hint(error.hint));
    }
}
