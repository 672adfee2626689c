//! A table as it is printed: by the command `voltwright tables` and on the pages.

use std::fmt::Display;
use voltwright_quantity::Source;

/// A published table in words, one row a line; the last two columns are its source and how sure we are.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Table {
    /// As it is asked for: `voltwright tables NAME`.
    pub name: &'static str,
    /// What it holds, with the unit where one serves a whole column.
    pub title: &'static str,
    /// Headings; the last two are "source" and "sure".
    pub columns: &'static [&'static str],
    /// Cells, as many a row as there are columns.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    pub(crate) fn new(name: &'static str, title: &'static str, columns: &'static [&'static str]) -> Self {
        Self { name, title, columns, rows: Vec::new() }
    }

    /// Adds a row: its cells, then its source.
    pub(crate) fn row(&mut self, cells: &[&dyn Display], source: Source) {
        let end = [source.title.to_owned(), source.sure.words().to_owned()];
        self.rows.push(cells.iter().map(ToString::to_string).chain(end).collect());
    }
}

/// A cell of a value that may be missing.
pub(crate) fn or_dash<T: Display>(value: Option<T>) -> String {
    value.map_or_else(|| "–".to_owned(), |v| v.to_string())
}
