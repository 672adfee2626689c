//! The wires to cut: by size and colour, how many, how long each, how long together.

use super::figures::said;
use crate::proof::words;
use maud::{Markup, html};
use toml::Value;
use voltwright_quantity::parse::{self, Conductor};
use voltwright_quantity::{Length, Quantity};
use voltwright_tables::{colours, conductors};

/// Wires of one size and colour.
#[derive(Debug, Clone, PartialEq)]
struct Group {
    /// Cross-section for the order, square metres; infinite where no size is entered.
    area: f64,
    size: String,
    colour: String,
    /// The longest first; those whose length is not entered are not among them.
    lengths: Vec<Length>,
    /// How many have no length.
    unknown: usize,
}

impl Group {
    fn count(&self) -> usize {
        self.lengths.len() + self.unknown
    }

    fn total(&self) -> Length {
        self.lengths.iter().copied().sum()
    }

    /// "3 × 320 mm, 110 mm"
    fn each(&self) -> String {
        let mut runs: Vec<(String, usize)> = Vec::new();
        for length in self.lengths.iter().map(ToString::to_string) {
            match runs.last_mut() {
                Some((last, n)) if *last == length => *n += 1,
                _ => runs.push((length, 1)),
            }
        }
        let mut all: Vec<String> =
            runs.into_iter().map(|(l, n)| if n == 1 { l } else { format!("{n} × {l}") }).collect();
        if self.unknown > 0 {
            all.push(format!("{} not entered", self.unknown));
        }
        all.join(", ")
    }
}

/// The groups of the wires as the file has them, the thinnest first: what does not read elsewhere is to be cut all the same.
fn groups(wires: &[Value]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for wire in wires {
        let told = |key: &str| said(wire.as_table(), key);
        let (area, size) = size(told("size"));
        let colour = told("colour").map_or_else(|| "–".to_owned(), named);
        let group = match groups.iter().position(|g| g.size == size && g.colour == colour) {
            Some(at) => &mut groups[at],
            None => {
                groups.push(Group { area, size, colour, lengths: Vec::new(), unknown: 0 });
                let at = groups.len() - 1;
                &mut groups[at]
            }
        };
        match told("length").and_then(|text| parse::value::<Length>(text).ok()) {
            Some(length) => group.lengths.push(length.nominal),
            None => group.unknown += 1,
        }
    }
    groups.iter_mut().for_each(|g| g.lengths.sort_by(|a, b| b.si().total_cmp(&a.si())));
    groups.sort_by(|a, b| a.area.total_cmp(&b.area).then_with(|| a.colour.cmp(&b.colour)));
    groups
}

fn size(written: Option<&str>) -> (f64, String) {
    match written.map(|text| (text, parse::conductor(text))) {
        Some((_, Ok(conductor))) => {
            let (_, area, _) = conductors::per_metre(conductor);
            let shown = match conductor {
                Conductor::Awg(n) => format!("AWG {n}"),
                Conductor::Metric(area) => area.to_string(),
            };
            (area.si(), shown)
        }
        Some((text, Err(_))) => (f64::INFINITY, format!("“{text}”")),
        None => (f64::INFINITY, "not entered".into()),
    }
}

/// A colour's code with its name: `RD red`.
fn named(code: &str) -> String {
    let names = colours::parse(code).map(|all| all.iter().map(|c| c.name).collect::<Vec<_>>().join(" and "));
    names.map_or_else(|| code.to_owned(), |names| format!("{code} {names}"))
}

/// Values that no line's end breaks apart; between two of them it may come.
fn whole(values: &str) -> String {
    values.split(", ").map(|one| one.replace(' ', "\u{a0}")).collect::<Vec<_>>().join(", ")
}

/// What the columns are.
const HEADS: [&str; 5] = ["Size", "Colour", "Wires", "Length of each", "Together"];

/// The list.
pub fn list(wires: &[Value]) -> Markup {
    let groups = groups(wires);
    let unknown: usize = groups.iter().map(|g| g.unknown).sum();
    html! {
        @if !groups.is_empty() {
            div.cut-list {
                h2 #cut-list { "Cut list" }
                div.scroll tabindex="0" role="region" aria-label="Cut list" { table.cards.dense {
                    thead { tr { @for head in HEADS { th scope="col" { (head) } } } }
                    tbody { @for group in &groups { tr {
                        td data-label=(HEADS[0]) { (whole(&group.size)) } td data-label=(HEADS[1]) { (group.colour) }
                        td data-label=(HEADS[2]) { (group.count()) } td data-label=(HEADS[3]) { (whole(&group.each())) }
                        td data-label=(HEADS[4]) { @if !group.lengths.is_empty() { (whole(&format!("{:.4}", group.total()))) } @else { "–" } @if group.unknown > 0 && !group.lengths.is_empty() { " and more" } }
                    } } }
                } }
                @if unknown > 0 { p.caution { (words::count(unknown, "wire")) @if unknown == 1 { " has" } @else { " have" } " no length: the sums are without." } }
                p.faint { "Lengths as entered: nothing is added for stripping, for slack at the ends or for a mistake." }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use toml::Table;

    fn list_of(wires: &str) -> Vec<Group> {
        let file: Table = format!("wires = [{wires}]").parse().unwrap();
        groups(file["wires"].as_array().unwrap())
    }

    /// Red 0.34 mm²: 320 + 320 + 110 = 750 mm; AWG 18 (0.823 mm²) is thicker than 0.75 mm².
    #[test]
    fn wires_are_counted_by_size_and_colour() {
        let all = list_of(
            "{ size = \"0.34 mm²\", colour = \"RD\", length = \"110 mm\" }, { size = \"AWG 18\", colour = \"BK\", length = \"1.2 m\" }, \
             { size = \"0.34 mm²\", colour = \"RD\", length = \"320 mm ± 5 %\" }, { size = \"0.34mm²\", colour = \"RD\", length = \"32 cm\" }, \
             { size = \"0.75 mm²\", colour = \"BK\", length = \"1 m\" }, { size = \"0.34 mm²\", colour = \"BK\", length = \"90 mm\" }",
        );
        let told: Vec<String> = all
            .iter()
            .map(|g| format!("{} {}: {}: {}: {:.4}", g.size, g.colour, g.count(), g.each(), g.total()))
            .collect();
        assert_eq!(
            told,
            [
                "0.34 mm² BK black: 1: 90 mm: 90 mm",
                "0.34 mm² RD red: 3: 2 × 320 mm, 110 mm: 750 mm",
                "0.75 mm² BK black: 1: 1 m: 1 m",
                "AWG 18 BK black: 1: 1.2 m: 1.2 m",
            ]
        );
    }

    #[test]
    fn what_is_not_entered_is_said_and_counts_for_nothing() {
        let all =
            list_of("{ size = \"1 mm²\", length = \"200 mm\" }, { size = \"1 mm²\" }, { length = \"5 A\" }");
        assert_eq!((all[0].each(), all[0].count()), ("200 mm, 1 not entered".into(), 2));
        assert_eq!((all[1].size.as_str(), all[1].each()), ("not entered", "1 not entered".into()));
        let shown = list(&[Value::Table("size = \"1 mm²\"".parse().unwrap())]).into_string();
        assert_eq!(whole("3 × 320 mm, 110 mm"), "3\u{a0}×\u{a0}320\u{a0}mm, 110\u{a0}mm");
        assert!(shown.contains("1 wire has no length") && shown.contains(">–</td></tr>"), "{shown}");
    }
}
