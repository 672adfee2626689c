//! `readings.csv`: all entries of a job, a row each, in the order in which they were written.
//!
//! Every text is in quotes, exactly as it was entered; numbers, times (milliseconds since 1970-01-01 UTC) and what is
//! absent are not. So each row reads back to the very entry.

use super::contents::Line;
use super::csv::{self, Field};
use super::error::Wrong;
use crate::{Moment, NewEntry, number};

const HEADINGS: [&str; 15] = [
    "run",
    "revision",
    "key",
    "taken_ms",
    "received_ms",
    "stage",
    "kind",
    "red",
    "black",
    "function",
    "value",
    "answer",
    "note",
    "instrument",
    "device",
];

/// The file.
pub(crate) fn write(lines: &[Line]) -> String {
    let mut file = String::new();
    csv::write(&headings(), &mut file);
    lines.iter().for_each(|line| csv::write(&row(line), &mut file));
    file
}

/// The entries in the file; `row` of a refusal counts the header.
pub(crate) fn read(file: &str) -> Result<Vec<Line>, Wrong> {
    let mut lines = Vec::new();
    let mut rest = file;
    let mut number = 0;
    while number == 0 || !rest.is_empty() {
        number += 1;
        let at = |what: &str| Wrong::Row { row: number, what: what.to_owned() };
        let (row, after) = csv::read(rest).map_err(at)?;
        if number > 1 {
            lines.push(line(row).map_err(|what| Wrong::Row { row: number, what })?);
        } else if row != headings() {
            return Err(at("the headings are not those of readings"));
        }
        rest = after;
    }
    Ok(lines)
}

fn headings() -> Vec<Field> {
    HEADINGS.iter().map(|&heading| Field::Bare(heading.to_owned())).collect()
}

fn row(line: &Line) -> Vec<Field> {
    let Line { run, received, what } = line;
    let text = |text: &String| Field::Quoted(text.clone());
    let number = |number: u64| Field::Bare(number.to_string());
    vec![
        number((*run).into()),
        number(what.revision.into()),
        text(&what.key),
        number(what.taken.0),
        number(received.0),
        text(&what.stage),
        text(&what.kind),
        text(&what.red),
        text(&what.black),
        text(&what.function),
        Field::Bare(what.value.map(number::write).unwrap_or_default()),
        what.answer.as_ref().map_or(Field::Bare(String::new()), text),
        text(&what.note),
        text(&what.instrument),
        text(&what.device),
    ]
}

fn line(row: Vec<Field>) -> Result<Line, String> {
    let found = row.len();
    let row: [Field; HEADINGS.len()] =
        row.try_into().map_err(|_| format!("it has {found} fields, not {}", HEADINGS.len()))?;
    let [
        run,
        revision,
        key,
        taken,
        received,
        stage,
        kind,
        red,
        black,
        function,
        value,
        answer,
        note,
        instrument,
        device,
    ] = row;
    Ok(Line {
        run: small("run", &run)?,
        received: Moment(whole("received_ms", &received)?),
        what: NewEntry {
            revision: small("revision", &revision)?,
            key: text("key", key)?,
            taken: Moment(whole("taken_ms", &taken)?),
            stage: text("stage", stage)?,
            kind: text("kind", kind)?,
            red: text("red", red)?,
            black: text("black", black)?,
            function: text("function", function)?,
            value: value_of(&value)?,
            answer: if answer == Field::Bare(String::new()) { None } else { Some(text("answer", answer)?) },
            note: text("note", note)?,
            instrument: text("instrument", instrument)?,
            device: text("device", device)?,
        },
    })
}

fn text(heading: &str, field: Field) -> Result<String, String> {
    match field {
        Field::Quoted(text) => Ok(text),
        Field::Bare(_) => Err(format!("{heading} is not in quotes")),
    }
}

/// A whole number in the one way in which it is written, which a time in the store can hold.
fn whole(heading: &str, field: &Field) -> Result<u64, String> {
    let Field::Bare(text) = field else { return Err(format!("{heading} is in quotes")) };
    let number = text.parse::<u64>().ok().filter(|n| n.to_string() == *text && i64::try_from(*n).is_ok());
    number.ok_or_else(|| format!("{heading} is not a whole number within range"))
}

fn small(heading: &str, field: &Field) -> Result<u32, String> {
    u32::try_from(whole(heading, field)?).map_err(|_| format!("{heading} is too large"))
}

fn value_of(field: &Field) -> Result<Option<f64>, String> {
    match field {
        Field::Bare(text) if text.is_empty() => Ok(None),
        Field::Bare(text) => number::read(text).map(Some).ok_or("value is not a number".to_owned()),
        Field::Quoted(_) => Err("value is in quotes".to_owned()),
    }
}
