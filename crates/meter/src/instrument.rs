//! A meter: who it is, and what it reads.
//!
//! An answer must be the answer to the question just asked. So:
//! - what came unasked is thrown away before each question, and *a doubt* is noted: more of it may be under way;
//! - after an answer that did not come whole the connection is closed, and a doubt noted: what belongs to that answer
//!   can still come, since a serial port, or a box between network and serial port, does not forget;
//! - after an answer that could not be read a doubt is noted as well: it may be another question's;
//! - in doubt the meter's own list of errors is asked for first. A meter answers in order, so all that comes before that
//!   answer belongs to earlier questions. That question may itself go without an answer, so it is a longer one each time
//!   (more entries), and only an answer of just as many entries clears the doubt.
//!
//! A call takes at most twice the time allowed: once for its questions, once to hear why that went wrong. After a doubt
//! keep the [`Meter`] and ask it again: one that is opened anew knows nothing of the doubt.

use super::deadline::Deadline;
use super::port::{Fault, Port};
use super::scpi::{self, Answer};
use super::setting::Setting;
use super::{Address, Function, MeterError};
use std::time::Duration;

/// The longest identity shown, in characters.
const LONGEST_IDENTITY: usize = 100;
/// The most shown of an answer that cannot be read, in characters.
const LONGEST_SAMPLE: usize = 40;
/// The most entries taken from the meter's list of errors at once.
const MOST_ERRORS: usize = 5;
/// The most entries asked for in one question; after as many doubts in a row it starts again at one.
const MOST_DOUBTS: usize = 8;

/// A meter that can be asked.
pub struct Meter {
    address: Address,
    timeout: Duration,
    port: Option<Port>,
    /// Zero: no doubt. Else more than there are unanswered questions about errors.
    doubts: usize,
}

/// How a reading is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// The meter sets itself to the function.
    Measure,
    /// A person has set the meter: it is asked what it is set to, and left as it is.
    Read,
}

/// What the meter shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown {
    /// A value in ohms, volts or amperes, as it was given: a zero error may make a resistance negative.
    Value(f64),
    /// More ohms than its range takes: an open circuit, or too low a range.
    Open,
    /// More volts or amperes than its range takes, of either sign.
    Overload,
}

impl Meter {
    /// Connects to the meter. `timeout` is the time allowed for that, and for the questions of each call.
    pub fn open(address: &Address, timeout: Duration) -> Result<Meter, MeterError> {
        let port = Port::open(address, Deadline::after(timeout))?;
        Ok(Meter { address: address.clone(), timeout, port: Some(port), doubts: 0 })
    }

    /// Who the meter says it is, to show to a person.
    pub fn identify(&mut self) -> Result<String, MeterError> {
        let name = |line: &str| Some(scpi::shown(line, LONGEST_IDENTITY)).filter(|name| !name.is_empty());
        self.ask(scpi::IDENTITY, Deadline::after(self.timeout), name)
    }

    /// Takes one reading.
    pub fn measure(&mut self, function: Function, way: Way) -> Result<Shown, MeterError> {
        let deadline = Deadline::after(self.timeout);
        let question = match way {
            Way::Measure => scpi::measure(function),
            Way::Read => self.set_to(function, deadline).map(|()| scpi::READ)?,
        };
        match self.ask(question, deadline, scpi::answer)? {
            Answer::Value(value) => Ok(Shown::Value(value)),
            Answer::Overload if function == Function::Ohms => Ok(Shown::Open),
            Answer::Overload => Ok(Shown::Overload),
            Answer::NotANumber => Err(MeterError::NoValue),
        }
    }

    /// Refuses a meter that is set to anything but `function`.
    fn set_to(&mut self, function: Function, deadline: Deadline) -> Result<(), MeterError> {
        let setting = self.ask(scpi::SETTING, deadline, Setting::parse)?;
        if setting == Setting::Function(function) {
            return Ok(());
        }
        Err(MeterError::WrongFunction { set: setting.words(), wanted: function })
    }

    /// The answer to a question, read by `read`.
    fn ask<T>(
        &mut self,
        question: &str,
        deadline: Deadline,
        read: impl Fn(&str) -> Option<T>,
    ) -> Result<T, MeterError> {
        let port = loop {
            let port = self.ready(question, deadline)?;
            if self.doubts == 0 {
                break port;
            }
            self.port = Some(port);
            self.own_errors(deadline)?;
        };
        let line = match self.exchange(port, question, deadline, |line| Some(line.to_owned())) {
            Ok(line) => line,
            Err(trouble) => return Err(self.explained(trouble)),
        };
        read(&line).ok_or_else(|| {
            self.doubt();
            let answer = scpi::shown(&line, LONGEST_SAMPLE);
            self.explained(MeterError::Unreadable { question: question.to_owned(), answer })
        })
    }

    /// Adds what the meter itself has to say of a trouble, if it has.
    fn explained(&mut self, trouble: MeterError) -> MeterError {
        use MeterError::{NoAnswer, TooLong, Unreadable};
        if !matches!(trouble, NoAnswer { .. } | TooLong { .. } | Unreadable { .. }) {
            return trouble;
        }
        let deadline = Deadline::after(self.timeout);
        let mut said = Vec::new();
        while let Ok(mut errors) = self.own_errors(deadline) {
            let ended = errors.is_empty();
            said.append(&mut errors);
            if ended || said.len() >= MOST_ERRORS {
                break;
            }
        }
        if said.is_empty() {
            return trouble;
        }
        MeterError::Own { trouble: Box::new(trouble), said: said.join("; ") }
    }

    /// The oldest entries of the meter's list of errors, none if it is empty. Clears all doubt: see the head of this file.
    fn own_errors(&mut self, deadline: Deadline) -> Result<Vec<String>, MeterError> {
        self.doubt();
        let count = 1 + self.doubts.saturating_sub(1) % MOST_DOUBTS;
        let question = scpi::errors_question(count);
        let wanted = |line: &str| scpi::errors(line).filter(|entries| entries.len() == count);
        let port = self.ready(&question, deadline)?;
        let entries = self.exchange(port, &question, deadline, wanted)?;
        self.doubts = 0;
        let errors = entries.into_iter().filter(|(code, _)| *code != 0);
        Ok(errors.map(|(code, text)| format!("{code} {text}")).collect())
    }

    /// A connection that is open and empty, the old one or a new one. What had to be thrown away for that is a doubt.
    fn ready(&mut self, question: &str, deadline: Deadline) -> Result<Port, MeterError> {
        if let Some(mut port) = self.port.take() {
            match port.drain(deadline) {
                Ok(thrown) => return Ok(self.emptied(port, thrown)),
                Err(Fault::Lost) => {}
                Err(_) => self.doubt(),
            }
        }
        let mut port = Port::open(&self.address, deadline)?;
        let thrown = port.drain(deadline).map_err(|fault| told(fault, question, deadline))?;
        Ok(self.emptied(port, thrown))
    }

    fn emptied(&mut self, port: Port, thrown: bool) -> Port {
        if thrown {
            self.doubt();
        }
        port
    }

    /// Notes a doubt, before a question about errors goes out.
    fn doubt(&mut self) {
        self.doubts = self.doubts.max(1);
    }

    /// Asks on a connection, and closes it on any trouble.
    fn exchange<T>(
        &mut self,
        mut port: Port,
        question: &str,
        deadline: Deadline,
        wanted: impl Fn(&str) -> Option<T>,
    ) -> Result<T, MeterError> {
        let answer = port.ask(question, deadline, wanted);
        match answer {
            Ok(_) => self.port = Some(port),
            Err(_) => self.doubts += 1,
        }
        answer.map_err(|fault| told(fault, question, deadline))
    }
}

fn told(fault: Fault, question: &str, deadline: Deadline) -> MeterError {
    let question = question.to_owned();
    match fault {
        Fault::Silent => MeterError::NoAnswer { question, seconds: deadline.seconds() },
        Fault::Lost => MeterError::Lost { question },
        Fault::TooLong => MeterError::TooLong { question },
    }
}
