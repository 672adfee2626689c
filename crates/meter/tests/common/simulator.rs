//! A running instrument on the network that answers from a table, for tests of whatever talks to a meter.

use std::collections::{BTreeMap, VecDeque};
use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::sync::{Arc, Mutex};
use std::thread;

/// The instrument; it runs until it is dropped.
pub struct Simulator {
    address: SocketAddr,
    state: Arc<Mutex<State>>,
}

#[derive(Default)]
struct State {
    table: BTreeMap<String, String>,
    errors: VecDeque<String>,
    asked: Vec<String>,
    ended: bool,
}

impl Simulator {
    /// Starts it on a free port of this machine, with questions (in capitals) and their answers.
    pub fn start(table: &[(&str, &str)]) -> Simulator {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = listener.local_addr().unwrap();
        let state = Arc::new(Mutex::new(State::default()));
        let shared = Arc::clone(&state);
        thread::spawn(move || serve(&listener, &shared));
        let simulator = Simulator { address, state };
        for (question, answer) in table {
            simulator.set(question, answer);
        }
        simulator
    }

    /// Its address, as a person would write it.
    pub fn address(&self) -> String {
        format!("tcp:{}", self.address)
    }

    /// Gives a question another answer from now on.
    pub fn set(&self, question: &str, answer: &str) {
        self.state.lock().unwrap().table.insert(question.to_owned(), answer.to_owned());
    }

    /// All it was asked, in order.
    pub fn asked(&self) -> Vec<String> {
        self.state.lock().unwrap().asked.clone()
    }
}

impl Drop for Simulator {
    fn drop(&mut self) {
        self.state.lock().unwrap().ended = true;
        TcpStream::connect(self.address).ok();
    }
}

fn serve(listener: &TcpListener, state: &Arc<Mutex<State>>) {
    for stream in listener.incoming() {
        if state.lock().unwrap().ended {
            return;
        }
        let state = Arc::clone(state);
        thread::spawn(move || converse(&stream.unwrap(), &state));
    }
}

fn converse(mut stream: &TcpStream, state: &Mutex<State>) {
    for line in BufReader::new(stream).lines() {
        let Ok(line) = line else { return };
        let answers = state.lock().unwrap().answers(&line);
        if !answers.is_empty() && stream.write_all(format!("{answers}\n").as_bytes()).is_err() {
            return;
        }
    }
}

impl State {
    /// The answers to the questions of a line. A question that is not in the table has none, and leaves an error.
    fn answers(&mut self, line: &str) -> String {
        let questions = line.trim().split(';').map(|question| question.trim().trim_start_matches(':'));
        let answers: Vec<String> =
            questions.filter_map(|question| self.answer(&question.to_uppercase())).collect();
        answers.join(";")
    }

    fn answer(&mut self, question: &str) -> Option<String> {
        self.asked.push(question.to_owned());
        if question == "SYST:ERR?" {
            return Some(self.errors.pop_front().unwrap_or_else(|| "0,\"No error\"".to_owned()));
        }
        let answer = self.table.get(question).cloned();
        if answer.is_none() {
            self.errors.push_back("-113,\"Undefined header\"".to_owned());
        }
        answer
    }
}
