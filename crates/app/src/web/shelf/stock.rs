//! What stands on the shelf: the parts in the newest texts of all jobs, alike ones together.

use super::ratings::plain;
use std::collections::BTreeMap;
use toml::de::{DeTable, DeValue};
use toml::{Spanned, Table, Value};
use voltwright_workshop::{Store, StoreError};

/// The parts that were looked for.
#[derive(Default)]
pub struct Stock {
    /// By kind, then by name.
    pub found: Vec<Found>,
    /// How many there are in all.
    pub all: usize,
    /// Jobs whose text does not read as tables: name and title.
    pub unread: Vec<(String, String)>,
}

/// A part, or several that are alike to the letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The name of the job that was touched last.
    pub job: String,
    /// That job's title.
    pub title: String,
    /// What it is called there.
    pub name: String,
    /// Its kind, as entered.
    pub kind: String,
    /// What it is made for, in short.
    pub ratings: String,
    /// All that is entered of it.
    all: String,
    /// In how many other jobs there is the same.
    pub also: usize,
}

impl Stock {
    /// Looks through all jobs, for every word of `search`, whatever the case of its letters, and for a kind if one is named.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn of(store: &Store, search: &str, kind: &str) -> Result<Self, StoreError> {
        let words: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
        let mut stock = Self::default();
        let mut alike: BTreeMap<[String; 3], Found> = BTreeMap::new();
        for job in store.jobs("")? {
            let Ok(table) = store.newest(job.job)?.text.parse::<Table>() else {
                stock.unread.push((job.name, job.title));
                continue;
            };
            for (name, part) in table.get("part").and_then(Value::as_table).into_iter().flatten() {
                let Some(part) = Found::of(&job.name, &job.title, name, part) else { continue };
                stock.all += 1;
                if (kind.is_empty() || part.kind == kind) && part.has(&words) {
                    let key = [part.kind.clone(), part.name.clone(), part.all.clone()];
                    alike.entry(key).and_modify(|known| known.also += 1).or_insert(part);
                }
            }
        }
        stock.found = alike.into_values().collect();
        Ok(stock)
    }
}

impl Found {
    fn of(job: &str, title: &str, name: &str, part: &Value) -> Option<Self> {
        let part = part.as_table()?;
        let kind = part.get("kind").and_then(Value::as_str).unwrap_or("of no kind");
        let mut all = String::new();
        part.iter().for_each(|(key, value)| say(key, value, &mut all));
        Some(Self {
            job: job.to_owned(),
            title: title.to_owned(),
            name: name.to_owned(),
            kind: kind.to_owned(),
            ratings: super::ratings::of(kind, part),
            all,
            also: 0,
        })
    }

    fn has(&self, words: &[String]) -> bool {
        words.is_empty() || {
            let all = [&self.title, &self.name, &self.kind, &self.all].map(|text| text.to_lowercase());
            words.iter().all(|word| all.iter().any(|text| text.contains(word)))
        }
    }
}

/// Writes a value with all that is in it, so that alike ones give the same.
fn say(key: &str, value: &Value, all: &mut String) {
    all.push_str(key);
    match value {
        Value::Table(table) => {
            all.push_str(" { ");
            table.iter().for_each(|(key, value)| say(key, value, all));
            all.push_str("} ");
        }
        Value::Array(list) => list.iter().for_each(|value| say(" ", value, all)),
        Value::String(text) => all.extend([" ", text, " "]),
        other => all.push_str(&format!(" {other:?} ")),
    }
}

/// A value of a part that is no table.
pub struct Leaf {
    /// The keys that lead to it from the part.
    pub keys: Vec<String>,
    /// As written in the file.
    pub literal: String,
    at: usize,
}

impl Leaf {
    /// Its keys, joined by points.
    pub fn path(&self) -> String {
        self.keys.join(".")
    }

    /// As people read it: without quotes and brackets.
    pub fn shown(&self) -> String {
        let line = format!("value = {}", self.literal).parse::<Table>().ok();
        match line.as_ref().and_then(|line| line.get("value")) {
            Some(Value::Array(list)) => list.iter().map(plain).collect::<Vec<_>>().join(", "),
            Some(value) => plain(value),
            None => self.literal.clone(),
        }
    }
}

/// The values of a part in the order in which they are written; nothing if the text has no such part.
pub fn values(text: &str, part: &str) -> Option<Vec<Leaf>> {
    let whole = DeTable::parse(text).ok()?;
    let parts = whole.get_ref().get("part")?.get_ref().as_table()?;
    let mut all = Vec::new();
    leaves(text, &[], parts.get(part)?, &mut all);
    all.sort_by_key(|leaf| leaf.at);
    Some(all)
}

fn leaves(text: &str, keys: &[String], value: &Spanned<DeValue<'_>>, into: &mut Vec<Leaf>) {
    let below = |key: &str| keys.iter().cloned().chain([key.to_owned()]).collect::<Vec<_>>();
    match value.get_ref() {
        DeValue::Table(table) => {
            table.iter().for_each(|(key, value)| leaves(text, &below(key.get_ref()), value, into));
        }
        _ => {
            let literal = text.get(value.span()).unwrap_or_default().to_owned();
            into.push(Leaf { keys: keys.to_vec(), literal, at: value.span().start });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use voltwright_workshop::Moment;

    const RACK: &str = include_str!("../../../../../examples/synthesizer-rack/finished.toml");

    fn shelf(texts: &[&str], search: &str, kind: &str) -> Stock {
        let name = format!("voltwright-shelf-{}-{search}-{kind}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        let store = Store::open(&folder.join("workshop.db")).unwrap();
        for (i, text) in texts.iter().enumerate() {
            store.create(&format!("Job {i}"), text, "first", Moment(i as u64 + 1)).unwrap();
        }
        let stock = Stock::of(&store, search, kind).unwrap();
        drop(store);
        std::fs::remove_dir_all(folder).unwrap();
        stock
    }

    #[test]
    fn alike_parts_stand_once_with_the_job_touched_last() {
        let other = "format = 1\n[part.fuse]\nkind = \"fuse\"\nrating = \"2 A\"\n";
        let stock = shelf(&[RACK, RACK, other, "format = [", "part = 3"], "", "");
        assert_eq!(stock.all, 2 * 4 + 1);
        assert_eq!(stock.unread, [("job-3".to_owned(), "Job 3".to_owned())]);
        let told: Vec<_> = stock.found.iter().map(|f| (&*f.kind, &*f.name, &*f.job, f.also)).collect();
        assert_eq!(
            told,
            [
                ("fuse", "fuse", "job-1", 1),
                ("fuse", "fuse", "job-2", 0),
                ("inlet", "inlet", "job-1", 1),
                ("mains supply", "supply", "job-1", 1),
                ("switch", "switch", "job-1", 1),
            ]
        );
    }

    #[test]
    fn words_and_kinds_are_looked_for() {
        let count = |search: &str, kind: &str| shelf(&[RACK], search, kind).found.len();
        assert_eq!((count("HICCUP 15", ""), count("hiccup 99", "")), (1, 0));
        assert_eq!((count("", "fuse"), count("hiccup", "fuse"), count("job", "")), (1, 0, 4));
    }

    #[test]
    fn the_values_of_a_part_come_as_they_are_written() {
        let told: Vec<_> = values(RACK, "switch").unwrap().iter().map(|v| (v.path(), v.shown())).collect();
        let want = [("kind", "switch"), ("poles", "2"), ("rated", "6 A at 250 V AC"), ("inrush", "60 A")];
        assert_eq!(told, want.map(|(path, shown)| (path.to_owned(), shown.to_owned())));
        assert!(values(RACK, "supply").unwrap().iter().any(|v| v.path() == "output.v3.cuts-off-at"));
        assert!(values(RACK, "nothing").is_none() && values("= 1", "fuse").is_none());
    }
}
