//! What the verdict hangs on: assumed values, and where each would turn it.

use super::{heading, percent};
use crate::text::Page;
use crate::text::grid::grid;
use crate::text::wrap::{Indent, paragraph};
use voltwright_rules::assumptions::{Assumption, Assumptions, BreakPoint, FARTHEST};

/// Stands where there is no value.
const NONE: &str = "–";

/// A table of the assumed values that can turn the verdict, in the order given, and a word on the others.
pub fn of(assumptions: &Assumptions, page: &Page) -> String {
    if assumptions.followed.is_empty() {
        return String::new();
    }
    let (turning, idle): (Vec<_>, Vec<_>) = assumptions.followed.iter().partition(|a| a.room().is_finite());
    let mut out = heading("What the verdict hangs on", page) + "\n";
    if !turning.is_empty() {
        let above =
            "Values that nobody has measured, and where each alone would bring a stop or take one away:";
        out.push_str(&(paragraph(above, Indent(2, 2), page) + "\n"));
        let rows: Vec<Vec<String>> = turning.iter().map(|a| row(a)).collect();
        let headings = ["value", "is", "basis", "turns below", "turns above", "room"];
        out.push_str(&grid(&headings, &rows, 2, &Page { columns: page.text(), ..*page }));
    }
    let rest = [unturned(&idle), uncounted(assumptions.others)].concat();
    if !rest.is_empty() {
        if !turning.is_empty() {
            out.push('\n');
        }
        out.push_str(&paragraph(&rest, Indent(2, 2), page));
    }
    out
}

fn row(a: &Assumption) -> Vec<String> {
    let turns = |b: &Option<BreakPoint>| b.as_ref().map_or(NONE.to_owned(), |b| b.shown.clone());
    vec![
        a.path.clone(),
        a.shown.clone(),
        a.basis.words().to_owned(),
        turns(&a.below),
        turns(&a.above),
        percent(a.room()),
    ]
}

fn unturned(idle: &[&Assumption]) -> String {
    if idle.is_empty() {
        return String::new();
    }
    let paths: Vec<&str> = idle.iter().map(|a| a.path.as_str()).collect();
    format!(
        "None of these turns the verdict by itself between a tenth and {FARTHEST:.0} times its value: {}. ",
        paths.join(", ")
    )
}

fn uncounted(others: usize) -> String {
    match others {
        0 => String::new(),
        1 => "One more assumed value moves the circuit less and was not followed.".into(),
        n => format!("{n} more assumed values move the circuit less and were not followed."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use voltwright_quantity::Basis;

    fn assumption(path: &str, below: Option<f64>) -> Assumption {
        let below = below.map(|factor| BreakPoint { factor, shown: "2 A".into(), code: "low" });
        Assumption {
            path: path.into(),
            line: 1,
            basis: Basis::Typical,
            nominal: 2.3,
            shown: "2.3 A".into(),
            below,
            above: None,
        }
    }

    #[test]
    fn values_that_turn_the_verdict_stand_in_a_table() {
        let list = [assumption("load.board.draws.p5.run", Some(0.87)), assumption("assume.contact", None)];
        let all = Assumptions { followed: list.into(), others: 2 };
        let set = of(&all, &Page { columns: 80, colour: false });
        assert!(
            set.contains("load.board.draws.p5.run  2.3 A  typical  2 A          –            13 %"),
            "{set}"
        );
        let flat = set.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains("10 times its value: assume.contact."), "{set}");
        assert!(set.contains("2 more assumed values"), "{set}");
    }
}
