//! In what form a field's text is written into the job file, and what a field shows of what is there.

use crate::command::new::quoted;
use toml::Value;
use voltwright_job::keys::Form;

/// In what form a field's text is written; the letter before the path in its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// A text: `"5 V"`.
    Text,
    /// A whole number.
    Whole,
    /// `true` or `false`.
    Flag,
    /// A text, or a list where a line has ended.
    Lines,
    /// A list, a line an entry.
    List,
    /// A list, a word an entry.
    Words,
}

impl Written {
    const ALL: [Written; 6] =
        [Written::Text, Written::Whole, Written::Flag, Written::Lines, Written::List, Written::Words];

    /// What a key's value is written as, where one field holds it.
    pub fn of_form(form: Form) -> Self {
        match form {
            Form::Whole => Written::Whole,
            Form::Flag => Written::Flag,
            Form::Values(_) => Written::Lines,
            Form::Texts => Written::List,
            Form::NamedTexts => Written::Words,
            _ => Written::Text,
        }
    }

    fn letter(self) -> &'static str {
        match self {
            Written::Text => "t",
            Written::Whole => "n",
            Written::Flag => "f",
            Written::Lines => "v",
            Written::List => "l",
            Written::Words => "w",
        }
    }

    /// The form and the path in a field's name.
    pub fn of(name: &str) -> Option<(Written, &str)> {
        let (letter, path) = name.split_once(':')?;
        Written::ALL.into_iter().find(|w| w.letter() == letter).map(|w| (w, path))
    }

    /// A field's name.
    pub fn field(self, path: &str) -> String {
        format!("{}:{path}", self.letter())
    }

    /// What a field shows of a value in the file. A list of one keeps the end of its line, so that it stays a list.
    pub fn shown(self, value: Option<&Value>) -> String {
        match value {
            Some(Value::Array(list)) if self.holds_lists() => {
                let texts: Vec<String> =
                    list.iter().map(|v| self.shown_entry(Written::Text.shown(Some(v)))).collect();
                let end = if self == Written::Lines && texts.len() == 1 { "\n" } else { "" };
                texts.join(if self == Written::Words { " " } else { "\n" }) + end
            }
            Some(Value::String(text)) => text.clone(),
            Some(Value::Boolean(is)) => if *is { "true" } else { "false" }.into(),
            Some(Value::Integer(number)) => number.to_string(),
            // No field of this form holds these; what the file has is left alone.
            None | Some(Value::Float(_) | Value::Datetime(_) | Value::Table(_) | Value::Array(_)) => {
                String::new()
            }
        }
    }

    /// An entry of a list as its field shows it: in quotes where it would not be seen, or would be taken for several.
    fn shown_entry(self, text: String) -> String {
        let is_apart = self == Written::Words && text.contains(char::is_whitespace);
        if text.trim().is_empty() || is_apart { format!("\"{text}\"") } else { text }
    }

    fn holds_lists(self) -> bool {
        matches!(self, Written::Lines | Written::List | Written::Words)
    }

    /// A value as a job file writes it; nothing where the field is empty.
    ///
    /// # Errors
    /// What is wrong with it, for a person.
    pub fn literal(self, value: &str) -> Result<Option<String>, String> {
        let value = value.replace("\r\n", "\n");
        let whole = value.trim();
        if whole.is_empty() {
            return Ok(None);
        }
        let list = |parts: Vec<&str>| {
            let parts = parts.into_iter().map(|part| quoted(meant(part)));
            format!("[{}]", parts.collect::<Vec<_>>().join(", "))
        };
        let lines = || whole.lines().map(str::trim).filter(|l| !l.is_empty()).collect::<Vec<_>>();
        Ok(Some(match self {
            // A browser shows and sends such a field without ends of lines.
            Written::Text => quoted(&whole.replace('\n', "")),
            Written::Lines if !value.contains('\n') => quoted(whole),
            Written::Lines | Written::List => list(lines()),
            Written::Words => list(words(whole)),
            Written::Flag if matches!(whole, "true" | "false") => whole.to_owned(),
            Written::Whole if whole.parse::<i64>().is_ok() => whole.to_owned(),
            Written::Flag => return Err(format!("“{whole}” is neither yes nor no.")),
            Written::Whole => {
                return Err(format!("“{whole}” is no whole number: digits alone, without a unit."));
            }
        }))
    }

    /// Whether a field that shows a value was sent back with the same.
    pub fn is_same(self, shown: &str, value: &str) -> bool {
        shown == value || self.literal(shown) == self.literal(value)
    }
}

/// The words of a field; what stands in quotes is one.
fn words(mut text: &str) -> Vec<&str> {
    let mut words = Vec::new();
    loop {
        text = text.trim_start();
        let quoted = text.strip_prefix('"').and_then(|rest| rest.find('"')).map(|end| end + 2);
        let end = quoted.or_else(|| text.find(char::is_whitespace)).unwrap_or(text.len());
        if text.is_empty() {
            return words;
        }
        let (word, rest) = text.split_at(end);
        words.push(word);
        text = rest;
    }
}

/// What an entry means: quotes around it are those of [`Written::shown`].
fn meant(part: &str) -> &str {
    part.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap_or(part)
}

#[cfg(test)]
mod tests {
    use super::*;
    use toml::Table;

    #[test]
    fn an_entry_that_would_not_be_seen_is_shown_and_kept() {
        let ways: Table = "j = [\"com\", \"\", \"p 5\", \"p12\"]\n".parse().unwrap();
        let shown = Written::Words.shown(ways.get("j"));
        assert_eq!(shown, "com \"\" \"p 5\" p12");
        assert_eq!(Written::Words.literal(&shown), Ok(Some("[\"com\", \"\", \"p 5\", \"p12\"]".to_owned())));
        assert_eq!(Written::Words.literal("\"\" com com"), Ok(Some("[\"\", \"com\", \"com\"]".to_owned())));
        let shown = Written::List.shown(ways.get("j"));
        assert_eq!(shown, "com\n\"\"\np 5\np12");
        assert_eq!(Written::List.literal(&shown), Ok(Some("[\"com\", \"\", \"p 5\", \"p12\"]".to_owned())));
    }
}
