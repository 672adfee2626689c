//! What is wrong with a job's text: where, what was expected, what to do.

use std::ops::Range;

/// Whether the job can be used in spite of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The value cannot be used.
    Error,
    /// Used, but look at it.
    Warning,
}

/// One thing wrong with the text of a job; the terminal and the page render the same value.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Diagnostic {
    /// Whether the job can be used in spite of it.
    pub severity: Severity,
    /// Bytes of the file that are wrong.
    pub span: Range<usize>,
    /// What was expected and what was found.
    pub message: String,
    /// What to do, or what was probably meant.
    pub hint: Option<String>,
}

impl Diagnostic {
    /// An error at a place.
    pub fn error(span: Range<usize>, message: impl Into<String>) -> Self {
        Self { severity: Severity::Error, span, message: message.into(), hint: None }
    }

    /// The same with a hint.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// The same with a hint, if there is one.
    #[must_use]
    pub fn maybe_hint(mut self, hint: Option<String>) -> Self {
        self.hint = hint;
        self
    }
}

/// Finds the line and column of a byte, both from 1; columns count characters.
#[derive(Debug, Clone)]
pub struct Lines<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Lines<'a> {
    /// Of a text.
    pub fn new(text: &'a str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(i, _)| i + 1)).collect();
        Self { text, starts }
    }

    /// The line that holds a byte, from 1.
    pub fn line(&self, byte: usize) -> usize {
        self.starts.partition_point(|start| *start <= byte).max(1)
    }

    /// The column of a byte in its line, in characters from 1.
    pub fn column(&self, byte: usize) -> usize {
        let start = self.starts[self.line(byte) - 1];
        let end = byte.min(self.text.len());
        self.text.get(start..end).map_or(1, |before| before.chars().count() + 1)
    }

    /// The text of a line, from 1, without its end.
    pub fn text_of(&self, line: usize) -> &'a str {
        let start = self.starts.get(line.saturating_sub(1)).copied().unwrap_or(self.text.len());
        let line = self.text[start..].split('\n').next().unwrap_or("");
        line.strip_suffix('\r').unwrap_or(line)
    }

    /// The byte at which a line begins.
    pub fn start_of(&self, line: usize) -> usize {
        self.starts.get(line.saturating_sub(1)).copied().unwrap_or(self.text.len())
    }
}
