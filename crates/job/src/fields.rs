//! The reader of one table: typed getters that report every mistake with its place.

use crate::diagnostic::Diagnostic;
use crate::document::Entered;
use crate::keys::{Form, Section};
use crate::near::nearest;
use crate::sheet::Sheet;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use voltwright_quantity::parse::{self, ParseError};
use voltwright_quantity::{Basis, Place};

mod values;

/// One table of the file, read against its section.
pub(crate) struct Fields<'s, 't> {
    pub sheet: &'s Sheet<'t>,
    pub path: String,
    /// The table, or its name where it has one.
    pub span: Range<usize>,
    section: &'static Section,
    kind: Option<String>,
    table: Option<&'s DeTable<'t>>,
}

type Value<'s, 't> = &'s Spanned<DeValue<'t>>;

impl<'s, 't> Fields<'s, 't> {
    /// Opens a table: unknown keys and missing ones are reported here, once.
    pub fn open(
        sheet: &'s Sheet<'t>,
        path: &str,
        section: &'static Section,
        value: Value<'s, 't>,
        span: Range<usize>,
    ) -> Self {
        let table = value.get_ref().as_table();
        let mut fields = Self { sheet, path: path.into(), span, section, kind: None, table };
        let Some(table) = table else {
            let message = format!("expected {} as a table; found {}", section.what, kind_of(value.get_ref()));
            sheet.report(Diagnostic::error(value.span(), message));
            return fields;
        };
        if !section.kinds.is_empty() {
            fields.kind = fields.choice("kind").map(|(k, _)| k.to_owned());
        }
        fields.check_names(table);
        fields
    }

    /// A table that is not there: every getter gives nothing.
    pub fn absent(sheet: &'s Sheet<'t>, path: &str, section: &'static Section) -> Self {
        Self { sheet, path: path.into(), span: 0..0, section, kind: None, table: None }
    }

    fn check_names(&self, table: &DeTable<'t>) {
        let undecided = !self.section.kinds.is_empty() && self.kind.is_none();
        for (name, _) in table.iter() {
            if undecided || self.section.key(name.get_ref(), self.kind.as_deref()).is_some() {
                continue;
            }
            let names = || self.section.all(self.kind.as_deref()).map(|k| k.name);
            let misplaced =
                (name.get_ref() == "wires").then(|| "the list of wires stands under [wiring]".to_owned());
            let hint = misplaced.unwrap_or_else(|| {
                nearest(name.get_ref(), names())
                    .map(|near| format!("did you mean `{near}`?"))
                    .unwrap_or_else(|| format!("it may hold: {}", names().collect::<Vec<_>>().join(", ")))
            });
            let of_kind = self.kind.as_ref().map_or(String::new(), |k| format!(" of kind \"{k}\""));
            let message = format!("`{}` is not a key of {}{of_kind}", name.get_ref(), self.section.what);
            self.sheet.report_missing(Diagnostic::error(name.span(), message).hint(hint));
        }
        for key in self.section.all(self.kind.as_deref()).filter(|k| k.required) {
            if !table.contains_key(key.name) {
                let message = format!("{} needs `{}`", self.section.what, key.name);
                let hint = match key.form {
                    Form::Value(example) => format!("add {} = \"{example}\"", key.name),
                    _ => key.about.to_owned(),
                };
                self.sheet.report_missing(Diagnostic::error(self.span.clone(), message).hint(hint));
            }
        }
    }

    pub fn is_present(&self) -> bool {
        self.table.is_some()
    }

    pub fn kind(&self) -> Option<&str> {
        self.kind.as_deref()
    }

    /// Whether `key` is there, whatever stands behind it.
    pub fn holds(&self, key: &str) -> bool {
        self.table.is_some_and(|t| t.contains_key(key))
    }

    fn get(&self, key: &str) -> Option<Value<'s, 't>> {
        debug_assert!(
            self.section.kinds.is_empty() && self.section.key(key, None).is_some()
                || !self.section.kinds.is_empty()
                    && (self.kind.is_none() || self.section.key(key, self.kind.as_deref()).is_some()),
            "{key} is read but not declared for {}",
            self.section.what
        );
        let value = self.table?.get(key)?;
        #[cfg(test)]
        crate::every_key::note(self.section, self.kind.as_deref(), key, value.span());
        Some(value)
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.into() } else { format!("{}.{key}", self.path) }
    }

    fn wrong_kind(&self, value: Value<'s, 't>, expected: &str, hint: Option<String>) {
        let message = format!("expected {expected}; found {}", kind_of(value.get_ref()));
        self.sheet.report(Diagnostic::error(value.span(), message).maybe_hint(hint));
    }

    pub fn text(&self, key: &str) -> Option<Entered> {
        let value = self.get(key)?;
        self.as_text(key, value)
    }

    fn as_text(&self, key: &str, value: Value<'s, 't>) -> Option<Entered> {
        if let Some(text) = value.get_ref().as_str() {
            return Some(Entered { text: text.into(), span: value.span() });
        }
        let raw = self.sheet.text.get(value.span()).unwrap_or("");
        let example = self.example(key);
        let number = value.get_ref().is_integer() || value.get_ref().is_float();
        let hint = match (number, example.split_once(' ')) {
            (true, Some((_, unit))) if raw.parse::<f64>().is_ok_and(f64::is_finite) => {
                let unit = unit.split(' ').next().unwrap_or(unit);
                Some(format!("a value is a text with its unit: did you mean \"{raw} {unit}\"?"))
            }
            (true, _) if !example.is_empty() => {
                Some(format!("a value is a text with its unit, such as \"{example}\""))
            }
            _ => None,
        };
        self.wrong_kind(value, "a text in quotes", hint);
        None
    }

    /// What may stand behind a key.
    fn example(&self, key: &str) -> &'static str {
        match self.section.key(key, self.kind.as_deref()).map(|k| k.form) {
            Some(Form::Value(example) | Form::Values(example) | Form::NamedValues(example)) => example,
            _ => "",
        }
    }

    pub fn flag(&self, key: &str) -> Option<bool> {
        let value = self.get(key)?;
        if value.get_ref().as_bool().is_none() {
            self.wrong_kind(value, "true or false", None);
        }
        value.get_ref().as_bool()
    }

    pub fn whole(&self, key: &str, range: std::ops::RangeInclusive<i64>) -> Option<(i64, Range<usize>)> {
        let value = self.get(key)?;
        let Some(integer) = value.get_ref().as_integer() else {
            self.wrong_kind(value, "a whole number", None);
            return None;
        };
        let number = i64::from_str_radix(&integer.as_str().replace('_', ""), integer.radix()).ok();
        match number.filter(|n| range.contains(n)) {
            Some(number) => Some((number, value.span())),
            None => {
                let message = format!("expected a whole number from {} to {}", range.start(), range.end());
                self.sheet.report(Diagnostic::error(value.span(), message));
                None
            }
        }
    }

    /// One of the texts that the key's form lists.
    pub fn choice(&self, key: &str) -> Option<(&'static str, Range<usize>)> {
        let value = self.get(key)?;
        let entered = self.as_text(key, value)?;
        let Some(Form::OneOf(words)) = self.section.key(key, self.kind.as_deref()).map(|k| k.form) else {
            return None;
        };
        if let Some(word) = words.iter().find(|w| **w == entered.text) {
            return Some((word, entered.span));
        }
        let hint =
            nearest(&entered.text, words.iter().copied()).map(|near| format!("did you mean \"{near}\"?"));
        let message = format!("expected one of: {}; found \"{}\"", words.join(", "), entered.text);
        self.sheet.report(Diagnostic::error(entered.span, message).maybe_hint(hint));
        None
    }

    /// The table's basis, or what stands for it.
    pub fn basis(&self, otherwise: Basis) -> Basis {
        let word = self.choice("basis").map(|(word, _)| word);
        Basis::NAMES.iter().find(|(name, _)| Some(*name) == word).map_or(otherwise, |(_, basis)| *basis)
    }

    /// A value read by `parser` from the text behind `key`.
    pub fn parsed<T>(
        &self,
        key: &str,
        parser: impl Fn(&str) -> Result<T, ParseError>,
    ) -> Option<(T, Place, Range<usize>)> {
        let value = self.get(key)?;
        self.parse_value(key, value, &parser)
    }

    fn parse_value<T>(
        &self,
        key: &str,
        value: Value<'s, 't>,
        parser: &impl Fn(&str) -> Result<T, ParseError>,
    ) -> Option<(T, Place, Range<usize>)> {
        let entered = self.as_text(key, value)?;
        match parser(&entered.text) {
            Ok(read) => {
                let place = Place {
                    path: self.path_of(key),
                    line: self.sheet.lines.line(entered.span.start),
                    text: entered.text,
                };
                Some((read, place, entered.span))
            }
            Err(mut error) => {
                let meant = || parse::with_unit_of(self.example(key), &entered.text);
                error.hint = error.hint.or_else(|| Some(format!("did you mean {}?", meant()?)));
                self.sheet.report_in_text(&entered.span, &entered.text, error);
                None
            }
        }
    }

    pub fn texts(&self, key: &str) -> Option<Vec<Entered>> {
        let value = self.get(key)?;
        self.text_list(key, value)
    }

    fn text_list(&self, key: &str, value: Value<'s, 't>) -> Option<Vec<Entered>> {
        Some(self.places(key, value)?.into_iter().flatten().collect())
    }

    /// A list of texts in which one that is no text keeps its place.
    fn places(&self, key: &str, value: Value<'s, 't>) -> Option<Vec<Option<Entered>>> {
        let Some(list) = value.get_ref().as_array() else {
            self.wrong_kind(value, "a list of texts, such as [\"a\", \"b\"]", None);
            return None;
        };
        Some(list.iter().map(|v| self.as_text(key, v)).collect())
    }

    /// The table behind `key`, or an absent one.
    pub fn table(&self, key: &str) -> Fields<'s, 't> {
        let Some(Form::Table(section)) = self.section.key(key, self.kind.as_deref()).map(|k| k.form) else {
            return Fields::absent(self.sheet, &self.path_of(key), self.section);
        };
        match self.get(key) {
            Some(value) => Fields::open(self.sheet, &self.path_of(key), section, value, self.key_span(key)),
            None => Fields::absent(self.sheet, &self.path_of(key), section),
        }
    }

    /// The list of tables behind `key`.
    pub fn tables(&self, key: &str) -> Vec<Fields<'s, 't>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let Some(Form::Tables(section)) = self.section.key(key, self.kind.as_deref()).map(|k| k.form) else {
            return Vec::new();
        };
        let Some(list) = value.get_ref().as_array() else {
            self.wrong_kind(value, "a list of tables", None);
            return Vec::new();
        };
        let open = |(i, v): (usize, Value<'s, 't>)| {
            Fields::open(self.sheet, &format!("{}[{i}]", self.path_of(key)), section, v, v.span())
        };
        list.iter().enumerate().map(open).collect()
    }

    /// The named tables behind `key`, in file order.
    pub fn named(&self, key: &str) -> Vec<(Entered, Fields<'s, 't>)> {
        let Some(Form::Named(section)) = self.section.key(key, self.kind.as_deref()).map(|k| k.form) else {
            return Vec::new();
        };
        let open = |(name, value): (Entered, Value<'s, 't>)| {
            let path = format!("{}.{}", self.path_of(key), name.text);
            let fields = Fields::open(self.sheet, &path, section, value, name.span.clone());
            (name, fields)
        };
        self.entries(key).into_iter().map(open).collect()
    }

    /// The named lists of texts behind `key`, in file order; none for what is no list.
    pub fn named_texts(&self, key: &str) -> Vec<(Entered, Option<Vec<Option<Entered>>>)> {
        self.entries(key).into_iter().map(|(name, value)| (name, self.places(key, value))).collect()
    }

    /// The named texts behind `key`, in file order.
    pub fn named_values(&self, key: &str) -> Vec<(Entered, Entered)> {
        let one = |(name, value)| Some((name, self.as_text(key, value)?));
        self.entries(key).into_iter().filter_map(one).collect()
    }

    fn entries(&self, key: &str) -> Vec<(Entered, Value<'s, 't>)> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let Some(table) = value.get_ref().as_table() else {
            self.wrong_kind(value, "a table with a name for each entry", None);
            return Vec::new();
        };
        let mut entries: Vec<_> = table
            .iter()
            .map(|(name, value)| (Entered { text: name.get_ref().to_string(), span: name.span() }, value))
            .collect();
        entries.sort_by_key(|(name, _)| name.span.start);
        entries
    }

    /// Bytes of the name of `key`, or of the table.
    pub fn key_span(&self, key: &str) -> Range<usize> {
        self.table.and_then(|t| t.get_key_value(key)).map_or(self.span.clone(), |(name, _)| name.span())
    }
}

fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a bare number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
