//! The values of a text, however their tables are laid out, in the order of the text.

use super::tree::{Holds, Node, Step, Tree, below, unquoted, value};
use super::{quoted, quoted_key};
use std::collections::BTreeMap;

#[cfg(test)]
mod tests;

/// A value; two plain ones are equal if they are the same value, however they are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Value {
    Plain(String),
    Table(Table),
    List(Vec<Value>),
}

/// A table, with its keys in the order of the text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Table {
    pub keys: Vec<String>,
    values: BTreeMap<String, Value>,
}

impl Value {
    /// Of a whole text.
    pub fn of(tree: &Tree<'_>) -> Self {
        let mut root = Self::Table(Table::default());
        for block in &tree.blocks {
            root.place(&block.path);
            for pair in &block.pairs {
                *root.place(&below(&block.path, &pair.keys)) = Self::of_node(tree.text, &pair.value);
            }
        }
        root
    }

    /// Of a literal that is a value.
    pub fn of_literal(literal: &str) -> Option<Self> {
        Some(Self::of_node(literal, &value(literal)?))
    }

    fn of_node(text: &str, node: &Node) -> Self {
        match &node.holds {
            Holds::Plain => Self::Plain(plain(&text[node.span.clone()])),
            Holds::Items(items) => Self::List(items.iter().map(|n| Self::of_node(text, n)).collect()),
            Holds::Pairs(pairs) => {
                let mut table = Self::Table(Table::default());
                for pair in pairs {
                    *table.place(&below(&[], &pair.keys)) = Self::of_node(text, &pair.value);
                }
                table
            }
        }
    }

    /// The place at a path, made where it is not there yet. The text reads, so no step meets another kind of value.
    fn place(&mut self, path: &[Step]) -> &mut Self {
        let Some((step, rest)) = path.split_first() else { return self };
        let fresh = || match rest.first() {
            Some(Step::Entry(_)) => Self::List(Vec::new()),
            _ => Self::Table(Table::default()),
        };
        let inner = match (self, step) {
            (Self::Table(table), Step::Key(key)) => {
                if !table.values.contains_key(key) {
                    table.keys.push(key.clone());
                }
                table.values.entry(key.clone()).or_insert_with(fresh)
            }
            (Self::List(list), Step::Entry(n)) => {
                if list.len() <= *n {
                    list.push(fresh());
                }
                let last = list.len() - 1;
                &mut list[(*n).min(last)]
            }
            (other, _) => other,
        };
        inner.place(rest)
    }

    /// The keys of a table.
    pub fn keys(&self) -> &[String] {
        if let Self::Table(table) = self { &table.keys } else { &[] }
    }

    /// What stands under a key of a table.
    pub fn get(&self, key: &str) -> Option<&Self> {
        if let Self::Table(table) = self { table.values.get(key) } else { None }
    }

    /// What stands at a path.
    pub fn at(&self, path: &[Step]) -> Option<&Self> {
        path.iter().try_fold(self, |value, step| match (value, step) {
            (_, Step::Key(key)) => value.get(key),
            (Self::List(list), Step::Entry(n)) => list.get(*n),
            _ => None,
        })
    }

    /// As written in a file, on one line.
    pub fn literal(&self) -> String {
        let joined = |all: Vec<String>| all.join(", ");
        match self {
            Self::Plain(literal) => literal.clone(),
            Self::List(list) => format!("[{}]", joined(list.iter().map(Self::literal).collect())),
            Self::Table(table) if table.keys.is_empty() => "{}".to_owned(),
            Self::Table(table) => {
                let pair =
                    |(key, value): (&String, &Self)| format!("{} = {}", quoted_key(key), value.literal());
                let pairs = table.keys.iter().filter_map(|key| Some((key, table.values.get(key)?)));
                format!("{{ {} }}", joined(pairs.map(pair).collect()))
            }
        }
    }

    /// As people read it: texts without quotes, lists without brackets.
    pub fn shown(&self) -> String {
        match self {
            Self::Plain(literal) => unquoted(literal).unwrap_or_else(|| literal.clone()).replace('\n', " "),
            Self::List(list) => list.iter().map(Self::shown).collect::<Vec<_>>().join(", "),
            Self::Table(_) => self.literal(),
        }
    }
}

/// A plain value in the one way that all who mean it are written.
fn plain(written: &str) -> String {
    let Ok(value) = written.parse::<toml_edit::Value>() else { return written.to_owned() };
    match &value {
        toml_edit::Value::String(text) => quoted(text.value()),
        toml_edit::Value::Integer(n) => n.value().to_string(),
        toml_edit::Value::Float(x) => toml_edit::Value::from(*x.value()).to_string(),
        _ => written.to_owned(),
    }
}
