//! What a part is made for, in a line: its outputs first, then the keys of its kind in their order.

use toml::{Table, Value};
use voltwright_job::keys::{Form, JOB, Key, Section};

/// The keys of a part.
pub fn parts() -> Option<&'static Section> {
    match JOB.key("part", None)?.form {
        Form::Named(section) => Some(section),
        _ => None,
    }
}

/// The line; empty where nothing but the kind is entered.
pub fn of(kind: &str, part: &Table) -> String {
    let kinds = parts().map_or(&[][..], |section| section.kinds);
    let keys = kinds.iter().find(|(known, _)| *known == kind).map_or(&[][..], |(_, keys)| *keys);
    let is_outputs = |key: &&Key| matches!(key.form, Form::Named(_));
    let ordered = keys.iter().filter(is_outputs).chain(keys.iter().filter(|key| !is_outputs(key)));
    let said = ordered.filter_map(|key| one(key, part.get(key.name)?));
    said.collect::<Vec<_>>().join("; ")
}

/// A key with its value; its terminals are no ratings.
fn one(key: &Key, value: &Value) -> Option<String> {
    match key.form {
        Form::Texts => None,
        Form::Named(section) => {
            let each =
                value.as_table()?.iter().map(|(name, value)| format!("{name}: {}", first(section, value, 2)));
            Some(each.collect::<Vec<_>>().join("; "))
        }
        Form::Table(section) => Some(format!("{} {}", key.name, first(section, value, 1))),
        _ => Some(format!("{} {}", key.name, plain(value))),
    }
}

/// The first values of a table, in the order of its keys.
fn first(section: &Section, value: &Value, most: usize) -> String {
    let held = section.keys.iter().filter_map(|key| value.get(key.name));
    held.take(most).map(plain).collect::<Vec<_>>().join(", ")
}

/// A value as people read it.
pub fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Array(list) => list.iter().map(plain).collect::<Vec<_>>().join(" or "),
        Value::Boolean(is) => if *is { "yes" } else { "no" }.into(),
        Value::Integer(number) => number.to_string(),
        // No key of a part holds these.
        Value::Float(_) | Value::Datetime(_) | Value::Table(_) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_is_told_by_what_matters_of_its_kind() {
        let text = include_str!("../../../../../examples/synthesizer-rack/finished.toml");
        let job: Table = text.parse().unwrap();
        let told = |name: &str| {
            let part = job["part"][name].as_table().unwrap();
            of(part["kind"].as_str().unwrap(), part)
        };
        assert_eq!(told("fuse"), "rating 1.6 A; speed T; breaks 1500 A at 250 V AC");
        assert_eq!(told("switch"), "poles 2; rated 6 A at 250 V AC; inrush 60 A");
        let outputs = "v1: 15 V ± 1 %, 1 A; v2: -15 V ± 1 %, 1 A; v3: 5 V ± 1 %, 3 A";
        assert_eq!(
            told("supply"),
            format!("{outputs}; input 90..264 V; power 45 W; efficiency 80 %; overload hiccup")
        );
        assert_eq!(told("inlet"), "");
        assert_eq!(of("of no kind", job["part"]["fuse"].as_table().unwrap()), "");
    }
}
