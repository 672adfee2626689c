//! Entries of the log: as a page sends them, as the store keeps them, and what they mean for the walk.

use super::super::problem::Problem;
use voltwright_job::nets;
use voltwright_proof::first_power::{Answer, Event, Walk};
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::{Function, Reading};
use voltwright_workshop::{Entry, Moment, NewEntry};

/// The longest note, characters; more is a mistake of whoever sent it.
const LONGEST: usize = 2000;

/// An entry as a page means it.
#[derive(Debug, Clone, Default)]
pub struct Posted {
    /// A name of its own, so that it is written once however often it is sent.
    pub key: String,
    /// When, by the clock of the device, milliseconds since the Unix epoch.
    pub taken: u64,
    /// What it is: one of [`KINDS`].
    pub kind: String,
    /// The stage by name.
    pub stage: String,
    /// Where the red probe was.
    pub red: String,
    /// Where the black probe was.
    pub black: String,
    /// What was measured.
    pub function: String,
    /// What was read, in ohms, volts or amperes.
    pub value: Option<f64>,
    /// What the meter showed, as a word of [`ANSWERS`]; for a value `value`.
    pub answer: String,
    /// Why, or what was done.
    pub note: String,
    /// What was measured with.
    pub instrument: String,
}

/// What can happen, as the log calls it.
pub const KINDS: [&str; 8] =
    ["ready", "reading", "off", "discharged", "overruled", "mended", "again", "note"];

/// What a meter can show, as the log calls it.
pub const ANSWERS: [&str; 9] =
    ["value", "inside", "low", "high", "open", "connected", "not connected", "jumps", "not measured"];

impl Posted {
    /// As it is kept.
    ///
    /// # Errors
    /// What is wrong with it, for a person.
    pub fn kept(self, revision: u32, device: &str) -> Result<NewEntry, Problem> {
        let unclear = |what: String| Err(Problem::unclear(what));
        if !KINDS.contains(&self.kind.as_str()) {
            return unclear(format!("There is no kind of entry `{}`.", self.kind));
        }
        let is_reading = self.kind == "reading";
        if is_reading && !ANSWERS.contains(&self.answer.as_str()) {
            return unclear(format!(
                "A meter does not show `{}`: it shows one of {}.",
                self.answer,
                ANSWERS.join(", ")
            ));
        }
        if is_reading && (self.answer == "value") != self.value.is_some() {
            return unclear(
                "A number is missing: type what the meter shows, or press what it does instead.".into(),
            );
        }
        if self.value.is_some_and(|v| !v.is_finite()) {
            return unclear("What was typed is no number.".into());
        }
        let needs_note = matches!(self.kind.as_str(), "overruled" | "mended" | "note");
        if needs_note && self.note.trim().is_empty() {
            return unclear("Say why, in a few words: the record keeps it.".into());
        }
        let texts = [&self.stage, &self.red, &self.black, &self.function, &self.note, &self.instrument];
        if texts.iter().any(|t| t.chars().count() > LONGEST) {
            return unclear(format!("A text is longer than {LONGEST} characters."));
        }
        let value = if self.answer == "open" { Some(f64::INFINITY) } else { self.value };
        Ok(NewEntry {
            revision,
            key: self.key,
            taken: Moment(self.taken),
            stage: self.stage,
            kind: self.kind,
            red: self.red,
            black: self.black,
            function: self.function,
            value,
            answer: is_reading.then_some(self.answer),
            note: self.note,
            instrument: self.instrument,
            device: device.to_owned(),
        })
    }
}

/// What an entry means for the walk; nothing if it names what this job does not have.
pub fn event(proof: &Proof<'_>, entry: &Entry) -> Option<Event> {
    match entry.what.kind.as_str() {
        "ready" => stage(proof, &entry.what.stage).map(Event::Ready),
        "reading" => Some(Event::Taken(reading(proof, entry)?, answer(entry)?)),
        "off" => Some(Event::Off),
        "discharged" => Some(Event::Discharged),
        "overruled" => Some(Event::Overruled),
        "mended" => Some(Event::Mended),
        "again" => Some(Event::Again),
        _ => None,
    }
}

/// Where a log leads to.
pub fn walk<'p, 'j>(proof: &'p Proof<'j>, log: &[Entry]) -> Walk<'p, 'j> {
    let mut walk = Walk::new(proof);
    log.iter().filter_map(|entry| event(proof, entry)).for_each(|event| {
        walk.take(event);
    });
    walk
}

fn stage(proof: &Proof<'_>, name: &str) -> Option<usize> {
    proof.setup.stages.iter().position(|s| s.name == name)
}

/// The reading that an entry names.
pub fn reading(proof: &Proof<'_>, entry: &Entry) -> Option<usize> {
    let s = stage(proof, &entry.what.stage)?;
    let is = |r: &Reading| {
        let [red, black] = [r.red, r.black].map(|t| nets::name(proof.setup.job(), t));
        word(r.function) == entry.what.function && red == entry.what.red && black == entry.what.black
    };
    proof.setup.readings_of(s).iter().position(is).map(|k| proof.setup.first_reading(s) + k)
}

/// What an entry says that the meter shows.
fn answer(entry: &Entry) -> Option<Answer> {
    Some(match entry.what.answer.as_deref()? {
        "value" | "open" => Answer::Value(entry.what.value?),
        "inside" => Answer::Inside,
        "low" => Answer::Low,
        "high" => Answer::High,
        "connected" => Answer::Connected(true),
        "not connected" => Answer::Connected(false),
        "jumps" => Answer::Jumps,
        "not measured" => Answer::NotMeasured,
        _ => return None,
    })
}

/// What is measured, as the log calls it.
pub fn word(function: Function) -> &'static str {
    match function {
        Function::Ohms => "ohms",
        Function::Volts => "volts",
        Function::Amps => "amps",
    }
}
