//! A page at the bench, as it goes on over restarts of the server.

use crate::common::http::Answer;
use crate::common::server::{Folder, Server};
use crate::common::visit::Visit;
use crate::kept::{Kept, Op, TEXT};
use serde_json::json;
use std::io;

/// The path of the one job.
const JOB: &str = "/job/clock-radio";
/// The name of the visit.
const NAME: &str = "0123456789abcdef0123456789abcdef";

/// An open page.
pub struct Bench(Visit);

impl Bench {
    /// A fresh server with the one job.
    pub fn begin(folder: &Folder) -> (Server, Self, Kept) {
        let server = Server::start(folder.path());
        let mut bench = Self::again(&server, &Kept::begun());
        let bytes = bench.0.uploaded("job.toml", TEXT.as_bytes());
        let made = bench.0.ask(&bytes).unwrap();
        assert_eq!((made.status, made.header("location")), (303, Some(JOB)), "{}", made.text());
        (server, bench, Kept::begun())
    }

    /// The same visit at a server that was started again; the list says how much there is.
    pub fn again(server: &Server, kept: &Kept) -> Self {
        let mut visit = Visit::named(server.port, NAME).unwrap();
        let page = visit.get("/").unwrap().text();
        let entries: usize = kept.runs.iter().map(|(_, readings)| readings.len()).sum();
        let facts = format!("revision {} · {entries} in the log", kept.texts.len());
        assert!(page.contains(&facts) || !page.contains(JOB), "{facts}: {page}");
        Self(visit)
    }

    /// Asks, and waits for the answer.
    pub fn ask(&mut self, kept: &Kept, op: &Op) -> Answer {
        self.send(kept, op);
        self.answer().unwrap()
    }

    /// Asks without waiting.
    pub fn send(&mut self, kept: &Kept, op: &Op) {
        let bytes = match op {
            Op::Save { text } => self
                .0
                .posted(&format!("{JOB}/text"), &[("upon", &kept.texts.len().to_string()), ("text", text)]),
            Op::Begin { revision } => {
                self.0.posted(&format!("{JOB}/first-power"), &[("revision", &revision.to_string())])
            }
            Op::Read { run, batch } => {
                self.0.scripted(&format!("{JOB}/first-power/{run}/log"), json(batch).as_bytes())
            }
        };
        self.0.send(&bytes).unwrap();
    }

    /// The answer.
    pub fn answer(&mut self) -> io::Result<Answer> {
        self.0.answer()
    }
}

/// Readings as a page's script sends them.
fn json(batch: &[(String, String)]) -> String {
    let answered = |(key, typed): &(String, String)| {
        let fields = [
            ("key", key.as_str()),
            ("kind", "reading"),
            ("stage", "source"),
            ("red", "p.1"),
            ("black", "p.2"),
            ("function", "volts"),
            ("answer", "value"),
            ("amount", typed),
            ("unit", "V"),
        ];
        json!({"taken": 1, "fields": fields})
    };
    json!({"sent": batch.iter().map(answered).collect::<Vec<_>>()}).to_string()
}
