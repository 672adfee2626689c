//! Every key a job file may hold: the reader, the JSON Schema and the reference page all come from here.

mod parts;
mod sections;

pub use sections::JOB;

/// A table of the job file.
#[derive(Debug)]
pub struct Section {
    /// What it is called in messages: "a rail".
    pub what: &'static str,
    /// Keys that it may hold.
    pub keys: &'static [Key],
    /// Further keys by the value of `kind`.
    pub kinds: &'static [(&'static str, &'static [Key])],
}

/// A key of a table.
#[derive(Debug)]
pub struct Key {
    /// As written.
    pub name: &'static str,
    /// What may stand behind it.
    pub form: Form,
    /// Whether its table is of no use without it.
    pub required: bool,
    /// What it means, in a sentence.
    pub about: &'static str,
}

/// What may stand behind a key.
#[derive(Debug, Clone, Copy)]
pub enum Form {
    /// Any text.
    Text,
    /// A text of fixed form, with an example: `"2.3 A ± 25 %"`.
    Value(&'static str),
    /// A list of texts of fixed form, or one of them.
    Values(&'static str),
    /// A list of texts.
    Texts,
    /// true or false.
    Flag,
    /// A whole number.
    Whole,
    /// One of these texts.
    OneOf(&'static [&'static str]),
    /// A table.
    Table(&'static Section),
    /// A list of tables.
    Tables(&'static Section),
    /// A table of tables, each with a name of its own choosing.
    Named(&'static Section),
    /// A table of lists of texts, each with a name of its own choosing.
    NamedTexts,
    /// A table of texts of fixed form, each under a rail's name.
    NamedValues(&'static str),
}

impl Section {
    /// The key of a name, for the given kind.
    pub fn key(&self, name: &str, kind: Option<&str>) -> Option<&'static Key> {
        self.all(kind).find(|k| k.name == name)
    }

    /// All keys that may stand in it, for the given kind.
    pub fn all(&self, kind: Option<&str>) -> impl Iterator<Item = &'static Key> + use<> {
        let of_kind = self.kinds.iter().find(|(k, _)| Some(*k) == kind).map_or(&[][..], |(_, keys)| keys);
        self.keys.iter().chain(of_kind)
    }
}

const fn key(name: &'static str, form: Form, about: &'static str) -> Key {
    Key { name, form, required: false, about }
}

const fn needed(name: &'static str, form: Form, about: &'static str) -> Key {
    Key { name, form, required: true, about }
}
