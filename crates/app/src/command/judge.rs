//! `voltwright judge JOB READINGS`: readings against windows; mistakes that explain them; the next reading.

use crate::arguments::Judge;
use crate::failure::{Failure, Verdict};
use crate::proof::{data, judged, readings, words};
use crate::text::excerpt;
use crate::text::wrap::{Indent, paragraph};
use crate::{source, terminal};
use voltwright_job::{Diagnostic, Lines};
use voltwright_proof::diagnosis::{Dictionary, diagnose};

/// Judges readings and prints what explains them.
pub fn run(arguments: &Judge) -> Result<Verdict, Failure> {
    if arguments.job == "-" && arguments.readings == "-" {
        let hint = "give one of them as a file".to_owned();
        return Err(Failure::command_line(
            "job and readings cannot both come from standard input",
            Some(hint),
        ));
    }
    let source = source::open(&arguments.job)?;
    let (file, text) = source::text(&arguments.readings)?;
    let proof = super::proof_of(&source.job)?;
    let taken = readings::read(&proof, &text).map_err(|wrong| unreadable(&wrong, &file, &text))?;
    let last = taken.iter().map(|t| proof.setup.readings[t.reading].stage).max().unwrap_or(0);
    let diagnosis = diagnose(&Dictionary::new(&proof, last, super::threads()), &taken);
    let text = if arguments.json {
        super::json(&data::judged(&proof, &taken, &diagnosis), true)?
    } else {
        judged::whole(&proof, &taken, &diagnosis, &terminal::output())
    };
    terminal::print(&text)?;
    Ok(if diagnosis.fails() { Verdict::Stop } else { Verdict::NoStop })
}

/// Every line that is no reading, shown at its place.
fn unreadable(wrong: &[Diagnostic], file: &str, text: &str) -> Failure {
    let (page, lines) = (terminal::errors(), Lines::new(text));
    let told: String = wrong.iter().map(|d| excerpt::render(d, file, &lines, &page) + "\n").collect();
    let last = format!("{} in {file}; nothing was judged.", words::count(wrong.len(), "error"));
    Failure::Job(told + &paragraph(&last, Indent(0, 4), &page))
}
