//! The text of a job as a tree of places: every header, key and value with the bytes it stands on.
//!
//! It is made of texts that the TOML parser has accepted, so it only looks for where things begin and end.

use super::EditError;
use super::bytes::{line_end, start};
use std::collections::BTreeMap;
use std::ops::Range;

/// One step of a path.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Step {
    /// Into a table.
    Key(String),
    /// Into a list.
    Entry(usize),
}

/// A key as it is written once; dotted keys and headers have several.
#[derive(Debug, Clone)]
pub(crate) struct Key {
    pub name: String,
    pub span: Range<usize>,
}

/// A key, or dotted keys, with a value.
#[derive(Debug, Clone)]
pub(crate) struct Pair {
    pub keys: Vec<Key>,
    pub value: Node,
}

/// A value.
#[derive(Debug, Clone)]
pub(crate) struct Node {
    pub span: Range<usize>,
    pub holds: Holds,
}

/// What a value holds.
#[derive(Debug, Clone)]
pub(crate) enum Holds {
    Plain,
    Pairs(Vec<Pair>),
    Items(Vec<Node>),
}

/// A header with the pairs below it; the first block has no header.
#[derive(Debug, Clone)]
pub(crate) struct Block {
    pub path: Vec<Step>,
    pub keys: Vec<Key>,
    /// The header with its brackets.
    pub span: Range<usize>,
    pub pairs: Vec<Pair>,
}

/// Where a value stands.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Seat<'a> {
    /// On lines of its own below a header.
    Line(&'a Pair),
    /// In a table or list written in braces or brackets, at a position.
    Within(&'a Node, usize),
}

/// A value with the path that leads to it.
#[derive(Debug, Clone)]
pub(crate) struct Spot<'a> {
    pub path: Vec<Step>,
    pub node: &'a Node,
    pub seat: Seat<'a>,
}

/// The whole text.
#[derive(Debug)]
pub(crate) struct Tree<'t> {
    pub text: &'t str,
    pub blocks: Vec<Block>,
}

impl<'t> Tree<'t> {
    /// Of a text that reads.
    pub fn of(text: &'t str) -> Result<Self, EditError> {
        toml_edit::Document::parse(text).map_err(|e| EditError::Unreadable(e.message().into()))?;
        Ok(Self { text, blocks: Scanner { text, at: start(text) }.blocks() })
    }

    /// Every value that stands at a path, those within others included, in the order of the text.
    pub fn spots(&self) -> Vec<Spot<'_>> {
        let mut spots = Vec::new();
        for block in &self.blocks {
            for pair in &block.pairs {
                let path = below(&block.path, &pair.keys);
                descend(Spot { path, node: &pair.value, seat: Seat::Line(pair) }, &mut spots);
            }
        }
        spots
    }

    /// The value at a path; nothing if a table there is written in several pieces.
    pub fn find(&self, path: &[Step]) -> Option<Spot<'_>> {
        self.blocks.iter().filter(|b| path.starts_with(&b.path)).find_map(|block| {
            block.pairs.iter().find_map(|pair| {
                let at = below(&block.path, &pair.keys);
                let spot = Spot { path: at, node: &pair.value, seat: Seat::Line(pair) };
                path.starts_with(&spot.path).then(|| within(spot, path)).flatten()
            })
        })
    }

    /// What is written at a path, if it is a text.
    pub fn string(&self, path: &[Step]) -> Option<String> {
        unquoted(&self.text[self.find(path)?.node.span.clone()])
    }

    /// Whether something is written below a path, in whatever pieces.
    pub fn is_spread(&self, path: &[Step]) -> bool {
        self.blocks.iter().any(|b| b.path.starts_with(path))
            || self.spots().iter().any(|s| s.path.len() > path.len() && s.path.starts_with(path))
    }

    /// The number of entries of the list at a path; none if there is no list.
    pub fn entries(&self, path: &[Step]) -> usize {
        match self.find(path).map(|s| &s.node.holds) {
            Some(Holds::Items(items)) => items.len(),
            _ => self.headed_entries(path),
        }
    }

    /// The number of entries of a list that is written with a header for each.
    pub fn headed_entries(&self, path: &[Step]) -> usize {
        let of_it = |b: &&Block| b.path.len() == path.len() + 1 && b.path.starts_with(path);
        self.blocks.iter().filter(of_it).filter(|b| matches!(b.path.last(), Some(Step::Entry(_)))).count()
    }

    /// The line end that the text uses.
    pub fn line_end(&self) -> &'static str {
        line_end(self.text)
    }
}

/// The path of keys below another.
pub(crate) fn below(path: &[Step], keys: &[Key]) -> Vec<Step> {
    path.iter().cloned().chain(keys.iter().map(|k| Step::Key(k.name.clone()))).collect()
}

fn within<'a>(spot: Spot<'a>, path: &[Step]) -> Option<Spot<'a>> {
    if spot.path.len() == path.len() {
        return Some(spot);
    }
    children(&spot).into_iter().filter(|c| path.starts_with(&c.path)).find_map(|c| within(c, path))
}

fn descend<'a>(spot: Spot<'a>, into: &mut Vec<Spot<'a>>) {
    let inner = children(&spot);
    into.push(spot);
    inner.into_iter().for_each(|child| descend(child, into));
}

fn children<'a>(spot: &Spot<'a>) -> Vec<Spot<'a>> {
    let node = spot.node;
    match &node.holds {
        Holds::Plain => Vec::new(),
        Holds::Pairs(pairs) => pairs
            .iter()
            .enumerate()
            .map(|(i, pair)| Spot {
                path: below(&spot.path, &pair.keys),
                node: &pair.value,
                seat: Seat::Within(node, i),
            })
            .collect(),
        Holds::Items(items) => items
            .iter()
            .enumerate()
            .map(|(i, item)| {
                let mut path = spot.path.clone();
                path.push(Step::Entry(i));
                Spot { path, node: item, seat: Seat::Within(node, i) }
            })
            .collect(),
    }
}

/// What a quoted text says; nothing for other values.
pub(crate) fn unquoted(literal: &str) -> Option<String> {
    literal.parse::<toml_edit::Value>().ok()?.as_str().map(str::to_owned)
}

/// A single value, if the whole text is one.
pub(crate) fn value(literal: &str) -> Option<Node> {
    literal.parse::<toml_edit::Value>().ok()?;
    let mut scanner = Scanner { text: literal, at: 0 };
    let node = scanner.value();
    (node.span == (0..literal.len()) && !literal.is_empty()).then_some(node)
}

struct Scanner<'t> {
    text: &'t str,
    at: usize,
}

impl Scanner<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn rest(&self) -> &str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn skip(&mut self, these: &[u8]) {
        while self.peek().is_some_and(|b| these.contains(&b)) {
            self.at += 1;
        }
    }

    /// Over spaces, line ends and comments.
    fn skip_blank(&mut self) {
        self.skip(b" \t\r\n");
        while self.peek() == Some(b'#') {
            self.at += self.rest().find('\n').unwrap_or(self.rest().len());
            self.skip(b" \t\r\n");
        }
    }

    fn blocks(mut self) -> Vec<Block> {
        let at = self.at;
        let mut blocks = vec![Block { path: Vec::new(), keys: Vec::new(), span: at..at, pairs: Vec::new() }];
        let mut counts: BTreeMap<Vec<Step>, usize> = BTreeMap::new();
        loop {
            self.skip_blank();
            let before = self.at;
            match self.peek() {
                None => return blocks,
                Some(b'[') => blocks.push(self.header(&mut counts)),
                Some(_) => {
                    let pair = self.pair();
                    blocks.last_mut().into_iter().for_each(|block| block.pairs.push(pair.clone()));
                }
            }
            if self.at == before {
                return blocks;
            }
        }
    }

    fn header(&mut self, counts: &mut BTreeMap<Vec<Step>, usize>) -> Block {
        let start = self.at;
        let list = self.rest().starts_with("[[");
        self.skip(b"[");
        let keys = self.keys();
        self.skip(b" \t");
        self.skip(b"]");
        let mut path = Vec::new();
        for (i, key) in keys.iter().enumerate() {
            path.push(Step::Key(key.name.clone()));
            let last = i + 1 == keys.len();
            if last && list {
                let count = counts.entry(path.clone()).or_default();
                path.push(Step::Entry(*count));
                *count += 1;
            } else if let Some(count) = counts.get(&path) {
                path.push(Step::Entry(count - 1));
            }
        }
        Block { path, keys, span: start..self.at, pairs: Vec::new() }
    }

    fn pair(&mut self) -> Pair {
        let keys = self.keys();
        // The parser lets lines end here within braces.
        self.skip_blank();
        self.skip(b"=");
        self.skip_blank();
        Pair { keys, value: self.value() }
    }

    fn keys(&mut self) -> Vec<Key> {
        let mut keys = Vec::new();
        loop {
            self.skip_blank();
            let start = self.at;
            let quoted = matches!(self.peek(), Some(b'"' | b'\''));
            if quoted {
                self.string();
            } else {
                let bare = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
                self.at += self.rest().find(|c| !bare(c)).unwrap_or(self.rest().len());
            }
            let written = &self.text[start..self.at];
            let name = if quoted { unquoted(written) } else { None };
            keys.push(Key { name: name.unwrap_or_else(|| written.to_owned()), span: start..self.at });
            let end = self.at;
            self.skip_blank();
            if self.peek() != Some(b'.') {
                self.at = end;
                return keys;
            }
            self.at += 1;
        }
    }

    fn value(&mut self) -> Node {
        let start = self.at;
        let holds = match self.peek() {
            Some(b'[') => {
                let mut items = Vec::new();
                self.between(b']', |s| items.push(s.value()));
                Holds::Items(items)
            }
            Some(b'{') => {
                let mut pairs = Vec::new();
                self.between(b'}', |s| pairs.push(s.pair()));
                Holds::Pairs(pairs)
            }
            Some(b'"' | b'\'') => {
                self.string();
                Holds::Plain
            }
            _ => {
                let rest = self.rest();
                let bare = &rest[..rest.find([',', ']', '}', '#', '\n']).unwrap_or(rest.len())];
                self.at += bare.trim_end().len();
                Holds::Plain
            }
        };
        Node { span: start..self.at, holds }
    }

    /// What stands between an opening bracket and its closing one.
    fn between(&mut self, close: u8, mut each: impl FnMut(&mut Self)) {
        self.at += 1;
        loop {
            self.skip_blank();
            let before = self.at;
            match self.peek() {
                Some(b',') => self.at += 1,
                Some(b) if b == close => return self.at += 1,
                Some(_) => each(self),
                None => return,
            }
            if self.at == before {
                return;
            }
        }
    }

    fn string(&mut self) {
        let quote = &self.rest()[..1];
        let (quote, escapes) = (quote.to_owned(), quote == "\"");
        let long = quote.repeat(3);
        let end = if self.rest().starts_with(&long) { long } else { quote.clone() };
        self.at += end.len();
        while !self.rest().is_empty() && !self.rest().starts_with(&end) {
            let escaped = escapes && self.peek() == Some(b'\\');
            let skipped = self.rest().chars().take(if escaped { 2 } else { 1 });
            self.at += skipped.map(char::len_utf8).sum::<usize>();
        }
        self.at = (self.at + end.len()).min(self.text.len());
        // A long text may end in quotes of its own.
        while end.len() == 3 && self.rest().starts_with(&quote) {
            self.at += 1;
        }
    }
}
