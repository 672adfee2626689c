//! `voltwright new [FILE]`: a job file to fill in.

use crate::arguments::New;
use crate::failure::{Failure, Verdict};
use crate::source::why;
use crate::terminal;
use std::fs::File;
use std::io::{ErrorKind, Write};
use voltwright_tables::mains;

/// Writes the file, or prints it where none is named.
pub fn run(arguments: &New) -> Result<Verdict, Failure> {
    let country = arguments.country.as_deref().map(country).transpose()?;
    let text = draft(arguments.title.as_deref().unwrap_or("A machine to bring back to life"), country);
    match arguments.file.as_deref() {
        Some(file) if file != "-" => write(file, &text)?,
        _ => terminal::print(&text)?,
    }
    Ok(Verdict::NoStop)
}

/// The code of a country that we know.
fn country(given: &str) -> Result<&'static str, Failure> {
    mains::of(given).map(|m| m.code).ok_or_else(|| {
        let hint = mains::near(given).and_then(mains::of).map_or_else(
            || "`voltwright tables mains` lists the countries by code".to_owned(),
            |m| format!("did you mean {} ({})?", m.code, m.country),
        );
        Failure::command_line(format!("there is no country `{given}`"), Some(hint))
    })
}

fn write(file: &str, text: &str) -> Result<(), Failure> {
    let failure = |e: std::io::Error| {
        let hint = match e.kind() {
            ErrorKind::AlreadyExists => Some("nothing is written over; choose another name".to_owned()),
            ErrorKind::NotFound => Some("its directory must exist".to_owned()),
            _ => None,
        };
        Failure::File { what: "write", file: file.to_owned(), why: why(&e), hint }
    };
    let mut open = File::create_new(file).map_err(failure)?;
    open.write_all(text.as_bytes()).and_then(|()| open.sync_all()).map_err(failure)?;
    terminal::print(&format!("{file} is written. Fill it in, then: voltwright check {file}\n"))
}

/// A text in quotes, as TOML wants it.
pub fn quoted(text: &str) -> String {
    let mut out = String::from('"');
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out + "\""
}

/// The text of a new job.
pub fn draft(title: &str, country: Option<&str>) -> String {
    let title = quoted(title);
    let country = country.map_or("# country = \"IE\"".to_owned(), |c| format!("country = \"{c}\""));
    format!(
        r#"format = 1

[job]
title   = {title}
{country}                         # where it will be plugged in, ISO 3166 code: `voltwright tables mains`
# mains = "226..241 V"                 # better: as measured at the outlet over a day
# ambient = "15..30 °C"

[machine]
# maker = ""
# model = ""
# made  = 1983
# What its label asks for; all that is known so far is enough for the first findings:
# nameplate = {{ voltage = "100 V", frequency = "50..60 Hz", power = "95 W" }}

# What was found in the survey, dangers first; one table for each thing:
# [[found]]
# what   = "Accumulator has leaked"
# where  = "main board, corner by the keyboard socket"
# danger = "corrosive; wear gloves and glasses"

# What the machine's own supply is made of; what sees the mains matters first:
# [old-supply]
# kind = "off-line switching"          # or "linear"
# part.reservoir = {{ kind = "electrolytic", value = "220 µF", rated = "200 V", state = "unknown" }}

# The potentials that the machine needs, measured at the load; `com` (0 V) and `chassis` always exist:
# [rail]
# p5 = {{ nominal = "5 V", tolerance = "5 %", harm = "-0.5..7 V" }}

# What draws from them. A value says where it comes from: measured, data sheet, nameplate, typical, guess.
# [load.board]
# worth = "irreplaceable"              # irreplaceable | hard to find | easy to find
# draws.p5 = {{ run = "2.3 A", basis = "typical" }}
# sockets.j1 = ["com", "com", "p5", "p5"]      # way 1 first, seen from the mating face; "-" is no connection

# The power path, from the wall inwards, then plugs and wires: see docs/keys.md for every key.
# [part.supply]
# kind   = "mains supply"
# input  = {{ voltage = "90..264 V", frequency = "47..63 Hz" }}
# output.v1 = {{ volts = "5 V ± 2 %", limit = "6 A" }}
#
# [wiring]
# wires = [
#   {{ from = "supply.v1.plus", to = "board.j1.3", colour = "RD", size = "1.0 mm²", length = "320 mm" }},
# ]
"#
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn errors(text: &str) -> Vec<voltwright_job::Diagnostic> {
        voltwright_job::read(text).diagnostics
    }

    #[test]
    fn a_new_job_reads_without_complaint_whatever_its_title() {
        for title in ["A desk computer", "\"quoted\" \\ back", "line\nend\u{7f}\u{1b}", "電源", ""] {
            let text = draft(title, Some("IE"));
            assert_eq!(errors(&text), [], "{text}");
            assert_eq!(voltwright_job::read(&text).job.title.text, title);
        }
        assert_eq!(errors(&draft("T", None)), []);
    }

    /// What is offered as a comment must work when it is taken up.
    #[test]
    fn every_line_that_is_offered_is_one_that_works() {
        let offered = |line: &str| {
            let bare = line.strip_prefix("# ").or(line.strip_prefix('#'))?;
            let is_toml = bare.contains(" = ") || bare.starts_with('[') || bare.starts_with(']');
            is_toml.then(|| bare.to_owned())
        };
        let text: String = draft("T", Some("IE"))
            .lines()
            .map(|l| if l.starts_with('#') { offered(l).unwrap_or_default() } else { l.to_owned() } + "\n")
            .collect();
        let wrong: Vec<_> =
            errors(&text).into_iter().filter(|d| d.severity == voltwright_job::Severity::Error).collect();
        assert_eq!(wrong, [], "{text}");
    }

    #[test]
    fn an_unknown_country_is_asked_for() {
        let told = |given| match country(given).unwrap_err() {
            Failure::CommandLine { hint, .. } => hint.unwrap(),
            other => other.to_string(),
        };
        assert_eq!(told("Irland"), "did you mean IE (Ireland)?");
        assert!(told("XQ").contains("voltwright tables mains"));
    }
}
