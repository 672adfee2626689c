//! The machine as it is handed on: its label, what was found, parts and wires.

use super::super::key_path::{in_words, noun};
use super::super::{Of, Page, parts, wiring};
use crate::proof::words;
use crate::web::workshop::countries;
use maud::{Markup, html};
use toml::{Table, Value};
use voltwright_job::{Found, Job};

/// What a job says where a danger is over.
const OVER: &str = "none now";

/// What is dangerous in it, as the survey found it.
pub fn dangers(job: &Job) -> Markup {
    let there = |f: &&Found| f.danger.as_ref().is_some_and(|d| d.text != OVER);
    html! {
        @for (what, danger) in job.found.iter().filter(there).filter_map(|f| Some((&f.what, f.danger.as_ref()?))) {
            p.caution { strong { "Danger." } " " (what.text) ": " (danger.text) }
        }
    }
}

/// The machine, where it lives, its own supply, its batteries: every value that was entered of them, each thing on a line.
pub fn machine(file: &Table) -> Markup {
    let all = ["machine", "job", "old-supply", "battery"].into_iter();
    let things: Vec<(String, String)> = all
        .filter_map(|key| file.get(key).map(|value| (key, value)))
        .flat_map(|(key, value)| lines(key, value, file))
        .collect();
    html! {
        @if !things.is_empty() {
            h2 { "The machine" }
            dl.facts-list { @for (thing, values) in &things { dt { (thing) } dd { (values) } } }
        }
    }
}

/// A table as a line of its values, then a line for each table in it.
fn lines(path: &str, value: &Value, file: &Table) -> Vec<(String, String)> {
    let table: Vec<(&String, &Value)> = value.as_table().into_iter().flatten().collect();
    let is_shown = |key: &str| (path, key) != ("job", "title");
    let plain = table.iter().filter(|(key, value)| !value.is_table() && is_shown(key));
    let values: Vec<String> =
        plain.map(|(key, value)| format!("{} {}", noun(key), shown(key, value))).collect();
    let named = match path {
        "job" => "Where it lives".to_owned(),
        path if path.starts_with("machine.") => capital(&noun(&path["machine.".len()..])),
        path => capital(&in_words(path, file)),
    };
    let own = (!values.is_empty()).then(|| (named, values.join("; ")));
    let inner = table.iter().filter(|(_, value)| value.is_table());
    own.into_iter()
        .chain(inner.flat_map(|(key, value)| lines(&format!("{path}.{key}"), value, file)))
        .collect()
}

/// A value as people write it.
fn shown(key: &str, value: &Value) -> String {
    match value {
        Value::String(code) if key == "country" => {
            countries().iter().find(|m| m.code == code).map_or_else(|| code.clone(), |m| m.country.to_owned())
        }
        Value::String(text) => text.clone(),
        Value::Boolean(is) => if *is { "yes" } else { "no" }.into(),
        Value::Array(all) => all.iter().map(|one| shown("", one)).collect::<Vec<_>>().join(", "),
        Value::Integer(number) => number.to_string(),
        Value::Float(number) => number.to_string(),
        Value::Datetime(_) | Value::Table(_) => "–".into(),
    }
}

/// In words, without the article and with a capital: as the head of a line.
fn capital(words: &str) -> String {
    let mut letters = words.strip_prefix("the ").unwrap_or(words).chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What the survey found, and how many pictures there are of it.
pub fn found(job: &Job, pictures: usize, of: &Of) -> Markup {
    html! {
        h2 { "What was found on arrival" }
        @if job.found.is_empty() { p { "Nothing was noted." } }
        ul { @for found in &job.found {
            li {
                (found.what.text) @if let Some(place) = &found.place { " – " (place.text) }
                @if let Some(danger) = &found.danger { ". Danger: " (danger.text) }
            }
        } }
        @if pictures > 0 { p { a href=(of.at(Page::Survey)) { (words::count(pictures, "picture")) } @if pictures == 1 { " is" } @else { " are" } " kept with the job." } }
    }
}

/// Parts with their ratings, from the wall inwards.
pub fn parts(job: &Job) -> Markup {
    html! {
        @if !job.parts.is_empty() {
            h2 { "Parts, from the wall inwards" }
            div.scroll tabindex="0" role="region" aria-label="Parts" { table {
                thead { tr { th scope="col" { "Part" } th scope="col" { "Is" } th scope="col" { "Rating" } } }
                tbody { @for part in parts::from_the_wall(job).into_iter().map(|p| &job.parts[p]) {
                    tr { td { (part.key) } td { (part.kind.name()) } td { (parts::rating(part)) } }
                } }
            } }
        }
    }
}

/// What is entered of a wire, in small letters as its keys.
const WIRE: [&str; 5] = ["From", "To", "Colour", "Size", "Length"];
/// What is reckoned of it.
const KNOWN: [&str; 3] = ["Current", "Drop", "Warm"];

/// Every wire, with what it carries.
pub fn wires(job: &Job, file: &Table) -> Markup {
    let wires = wiring::wires(file);
    let known = wiring::known(job, wires);
    let told = |wire: &Value, key: &str| wire.get(key).and_then(Value::as_str).unwrap_or("–").to_owned();
    html! {
        @if !wires.is_empty() {
            h2 { "Wires" }
            p { (wiring::TAKEN_AT) }
            div.scroll tabindex="0" role="region" aria-label="Wires" { table.wires.cards.dense {
                thead { tr { @for key in WIRE.into_iter().chain(KNOWN) { th scope="col" { (key) } } } }
                tbody { @for (wire, known) in wires.iter().zip(known) {
                    tr {
                        @for key in WIRE { td data-label=(key) { (told(wire, &key.to_lowercase())) } }
                        @match known {
                            Some(k) if k.is_used() => { td data-label=(KNOWN[0]) { (k.amps) } td data-label=(KNOWN[1]) { (k.drop) } td data-label=(KNOWN[2]) { (k.warm) } },
                            Some(_) => { td data-label=(KNOWN[0]) { "none with these draws" } td { "–" } td { "–" } },
                            None => { td { "–" } td { "–" } td { "–" } },
                        }
                    }
                } }
            } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_of_the_machine_is_there_in_words() {
        let file: Table = "[job]\ntitle = \"T\"\ncountry = \"IE\"\n[machine]\nmade = 1983\n[machine.nameplate]\nvoltage = [\"100 V\", \"115 V\"]\n\
            [old-supply]\nkind = \"linear\"\nphase-proven = true\n[old-supply.part.c1]\nrated = \"35 V\"\n[battery.cell]\nstate = \"leaking\"\n".parse().unwrap();
        let shown = machine(&file).into_string();
        for line in [
            "<dt>Machine</dt><dd>year 1983</dd>",
            "<dt>Nameplate</dt><dd>voltage 100 V, 115 V</dd>",
            "<dt>Where it lives</dt><dd>country Ireland</dd>",
            "<dt>Old supply</dt><dd>kind linear; phase proven yes</dd>",
            "<dt>Part c1 of the old supply</dt><dd>rating 35 V</dd>",
            "<dt>Battery cell</dt><dd>state leaking</dd>",
        ] {
            assert!(shown.contains(line), "{line}: {shown}");
        }
        assert!(!shown.contains("title"));
    }
}
