//! Lines to and from a meter, each by a moment that is set for the whole of it.

use super::connect::{Stream, connect};
use super::deadline::Deadline;
use super::{Address, MeterError};
use std::collections::VecDeque;
use std::io::{self, ErrorKind};
use std::time::Duration;

/// The longest line taken for an answer, in bytes.
const LONGEST_LINE: usize = 4096;
/// The most that is thrown away before a question, in bytes.
const MOST_LEFTOVERS: usize = 65_536;

/// An open way to a meter, with what was received and not yet taken.
pub struct Port {
    stream: Box<dyn Stream>,
    received: VecDeque<u8>,
}

/// Why no line came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// The time is over.
    Silent,
    /// The way has ended.
    Lost,
    /// More came than an answer has.
    TooLong,
}

impl Port {
    /// Opens the way to the meter.
    pub fn open(address: &Address, deadline: Deadline) -> Result<Port, MeterError> {
        Ok(Port { stream: connect(address, deadline)?, received: VecDeque::new() })
    }

    /// Throws away all that came unasked; whether that was more than line ends.
    pub fn drain(&mut self, deadline: Deadline) -> Result<bool, Fault> {
        self.stream.wait_at_most(Duration::ZERO).map_err(|_| Fault::Lost)?;
        let (mut thrown, mut telling) = (0, false);
        loop {
            thrown += self.received.len();
            telling |= self.received.drain(..).any(|byte| !is_end(byte));
            deadline.left().ok_or(Fault::Silent)?;
            if thrown > MOST_LEFTOVERS {
                return Err(Fault::TooLong);
            }
            if !self.receive()? {
                return Ok(telling);
            }
        }
    }

    /// Sends a question and takes lines until one is `wanted`.
    pub fn ask<T>(
        &mut self,
        question: &str,
        deadline: Deadline,
        wanted: impl Fn(&str) -> Option<T>,
    ) -> Result<T, Fault> {
        self.send(question, deadline)?;
        loop {
            if let Some(answer) = wanted(&self.line(deadline)?) {
                return Ok(answer);
            }
        }
    }

    fn send(&mut self, question: &str, deadline: Deadline) -> Result<(), Fault> {
        self.stream.wait_at_most(deadline.left().ok_or(Fault::Silent)?).map_err(|_| Fault::Lost)?;
        let sent = self.stream.write_all(format!("{question}\n").as_bytes());
        sent.map_err(|error| if is_wait(&error) { Fault::Silent } else { Fault::Lost })
    }

    /// The next line that is not empty, ended by a line feed, a carriage return or both. What is not ASCII, which no
    /// answer is, becomes the replacement character.
    fn line(&mut self, deadline: Deadline) -> Result<String, Fault> {
        let mut line = Vec::new();
        loop {
            match self.byte(deadline)? {
                byte if is_end(byte) && line.is_empty() => {}
                byte if is_end(byte) => return Ok(line.into_iter().map(character).collect()),
                _ if line.len() == LONGEST_LINE => return Err(Fault::TooLong),
                byte => line.push(byte),
            }
        }
    }

    fn byte(&mut self, deadline: Deadline) -> Result<u8, Fault> {
        loop {
            if let Some(byte) = self.received.pop_front() {
                return Ok(byte);
            }
            self.stream.wait_at_most(deadline.left().ok_or(Fault::Silent)?).map_err(|_| Fault::Lost)?;
            self.receive()?;
        }
    }

    /// Takes what is there, waiting as long as the stream was told to; whether anything came.
    fn receive(&mut self) -> Result<bool, Fault> {
        let mut buffer = [0; 1024];
        match self.stream.read(&mut buffer) {
            Ok(0) => Err(Fault::Lost),
            Ok(count) => {
                self.received.extend(buffer.iter().take(count));
                Ok(true)
            }
            Err(error) if is_wait(&error) => Ok(false),
            Err(_) => Err(Fault::Lost),
        }
    }
}

fn is_wait(error: &io::Error) -> bool {
    matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut | ErrorKind::Interrupted)
}

fn character(byte: u8) -> char {
    if byte.is_ascii() { char::from(byte) } else { char::REPLACEMENT_CHARACTER }
}

fn is_end(byte: u8) -> bool {
    matches!(byte, b'\n' | b'\r')
}

#[cfg(test)]
mod tests;
