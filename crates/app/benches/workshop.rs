//! How quick the workshop is with 1,000 jobs of 200 entries each, over HTTP on loopback, and how much memory it holds.
//!
//!     cargo bench -p voltwright --bench workshop
//!
//! The aims: the list within 100 ms, a step at the bench within 50 ms (99 of 100), less than 150 MB.
#![allow(clippy::disallowed_methods, reason = "a benchmark measures time")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a benchmark fails by panicking")]

#[path = "../tests/common/mod.rs"]
mod common;

use common::server::{Folder, Server};
use common::visit::{Visit, attribute};
use serde_json::{Value, json};
use std::time::Instant;
use voltwright_proof::first_power::{Answer, Ask, Event, Walk};
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::Function;
use voltwright_proof::setup::Setup;
use voltwright_workshop::{Moment, NewEntry, Store};

const JOBS: usize = 1000;
const ENTRIES: usize = 200;
/// Jobs at whose benches somebody works; their proofs are kept ready.
const BUSY: usize = 5;
/// Jobs at whose benches somebody works in turn, more than proofs are kept: each step proves anew.
const CROWD: usize = 8;
const TITLE: &str = "Larkfield 2100 desk computer: from 100 V Japan to 230 V Ireland";

fn text(number: usize) -> String {
    let example = include_str!("../../../examples/desk-computer/finished.toml");
    assert!(example.contains(TITLE));
    example.replace(TITLE, &format!("Larkfield 2100 desk computer, number {number}"))
}

fn main() {
    let folder = Folder::new();
    let start = Instant::now();
    fill(&folder);
    let size = std::fs::metadata(folder.file()).unwrap().len();
    println!(
        "{JOBS} jobs of {ENTRIES} entries: filled in {:.1} s, {:.1} MB on disk",
        start.elapsed().as_secs_f64(),
        size as f64 / 1e6
    );
    let server = Server::start(folder.path());
    println!("memory when it has started: {}", memory(server.id()));
    let mut visit = Visit::begin(server.port).unwrap();
    pages(&mut visit);
    println!("memory after the lists: {}", memory(server.id()));
    steps(&mut visit, server.id());
    println!("memory at the end: {}", memory(server.id()));
}

/// All jobs, each with a first power of which so much is in the log.
fn fill(folder: &Folder) {
    let store = Store::open(&folder.file()).unwrap();
    let entries = log(&text(0));
    for number in 0..JOBS {
        let title = format!("Larkfield 2100 desk computer, number {number}");
        let job = store.create(&title, &text(number), "begun", Moment(1000 + number as u64)).unwrap().job;
        let marks = r#"{"stops":0,"marks":["Begun","Begun","Begun","Done","Done","Begun","Nothing"]}"#;
        store.put_digest(job, 1, env!("CARGO_PKG_VERSION"), marks).unwrap();
        let run = store.begin(job, 1, Moment(2000)).unwrap();
        store.write(job, run.id, &entries, Moment(3000)).unwrap();
    }
    store.check().unwrap();
}

/// The plan from its first step on, the first reading taken over and over, so that half of the plan is still to come.
fn log(text: &str) -> Vec<NewEntry> {
    let reading = voltwright_job::read(text);
    let proof = Proof::of(Setup::new(&reading.job).unwrap(), 2);
    let mut walk = Walk::new(&proof);
    let mut entries = Vec::new();
    let ahead = walk.steps().len() / 2;
    while entries.len() < ENTRIES {
        let (entry, event) = match walk.ask() {
            Ask::SetUp(s) => (entry(&proof, "ready", s), Event::Ready(s)),
            Ask::Off(s) => (entry(&proof, "off", s), Event::Off),
            Ask::Discharge => (entry(&proof, "discharged", 0), Event::Discharged),
            Ask::Read(r) => (taken(&proof, r), Event::Taken(r, Answer::Inside)),
            Ask::Stopped(_) | Ask::Done => panic!("the plan is shorter than thought"),
        };
        let repeats = matches!(event, Event::Taken(..)) && walk.at() >= ahead;
        entries.push(NewEntry { key: format!("filled-{}", entries.len()), ..entry });
        if !repeats {
            walk.take(event);
        }
    }
    entries
}

fn entry(proof: &Proof<'_>, kind: &str, stage: usize) -> NewEntry {
    NewEntry {
        revision: 1,
        key: String::new(),
        taken: Moment(3000),
        stage: proof.setup.stages[stage].name.clone(),
        kind: kind.to_owned(),
        red: String::new(),
        black: String::new(),
        function: String::new(),
        value: None,
        answer: None,
        note: String::new(),
        instrument: "bench meter".to_owned(),
        device: "Phone".to_owned(),
    }
}

fn taken(proof: &Proof<'_>, r: usize) -> NewEntry {
    let reading = &proof.setup.readings[r];
    let name = |t| voltwright_job::nets::name(proof.setup.job(), t);
    let function = match reading.function {
        Function::Ohms => "ohms",
        Function::Volts => "volts",
        Function::Amps => "amps",
    };
    NewEntry {
        red: name(reading.red),
        black: name(reading.black),
        function: function.to_owned(),
        answer: Some("inside".to_owned()),
        ..entry(proof, "reading", reading.stage)
    }
}

/// Pages that are asked again and again.
fn pages(visit: &mut Visit) {
    let asked = [
        ("the list", "/", JOBS, 200),
        ("a search in titles", "/?search=number+517", 1, 200),
        ("a search in every text", "/?search=three-rail", JOBS, 200),
        ("a search that finds nothing", "/?search=teleprinter", 0, 200),
        // The parts of all jobs are alike: inlet, fuse, switch, supply, regulator, interlock.
        ("the shelf", "/shelf", 6, 20),
        ("a search on the shelf", "/shelf?search=hiccup+number+517", 1, 20),
    ];
    for (name, path, found, times_asked) in asked {
        let mut times = Vec::new();
        let mut bytes = 0;
        for _ in 0..times_asked {
            let (time, answer) = timed(|| visit.get(path).unwrap());
            assert_eq!(
                (answer.status, answer.text().matches("<a class=\"title\"").count()),
                (200, found),
                "{name}"
            );
            bytes = answer.body.len();
            times.push(time);
        }
        println!("{name}: {}, {} kB", spread(times), bytes / 1000);
    }
}

/// Steps at the bench: an answer is sent, what comes back has the next question.
fn steps(visit: &mut Visit, id: u32) {
    let first: Vec<f64> = (0..BUSY).map(|number| timed(|| now(visit, number)).0).collect();
    println!("the first look at a bench, its job proved: {}", spread(first));
    let mut asked: Vec<Value> = (0..BUSY).map(|number| now(visit, number)).collect();
    let times = (0..1000).map(|i| step(visit, i, i % BUSY, &mut asked[i % BUSY], "inside")).collect();
    println!("a step at one of {BUSY} benches: {}", spread(times));
    let pages = (0..100).map(|_| timed(|| assert_eq!(visit.get(&bench(0)).unwrap().status, 200)).0).collect();
    println!("the whole page of a bench: {}", spread(pages));
    println!("memory after the steps: {}", memory(id));
    for (round, name) in
        ["the first stop at a bench, explained", "a stop at that bench again"].iter().enumerate()
    {
        let stops =
            (0..BUSY).map(|n| stop(visit, 10_000 * (round + 1) + 1000 * n, n, &mut asked[n])).collect();
        println!("{name}: {}", spread(stops));
    }
    println!("memory after the stops: {}", memory(id));
    let mut asked: Vec<Value> = (0..CROWD).map(|number| now(visit, number)).collect();
    let times =
        (0..200).map(|i| step(visit, 50_000 + i, i % CROWD, &mut asked[i % CROWD], "inside")).collect();
    println!("a step at one of {CROWD} benches in turn, proved anew each time: {}", spread(times));
}

/// Goes on until a reading with the power off, answers it badly, and mends what is named. Tells how long the bad answer took.
fn stop(visit: &mut Visit, keys: usize, number: usize, asked: &mut Value) -> f64 {
    for key in keys.. {
        let is_cold = asked["step"].as_str().unwrap().contains("class=\"reading\"")
            && asked["power"].as_str().unwrap().contains("power off");
        let time = step(visit, key, number, asked, if is_cold { "high" } else { "inside" });
        if asked["step"].as_str().unwrap().contains("What explains all readings") {
            step(visit, key + 1, number, asked, "");
            return time;
        }
    }
    0.0
}

fn bench(number: usize) -> String {
    format!("/job/larkfield-2100-desk-computer-number-{number}/first-power/1")
}

fn now(visit: &mut Visit, number: usize) -> Value {
    let answer = visit.get(&format!("{}/now", bench(number))).unwrap();
    assert_eq!(answer.status, 200, "{}", answer.text());
    serde_json::from_slice(&answer.body).unwrap()
}

/// Answers what is asked, a reading as `answer` says; where the plan is done or stopped, something is mended and it begins anew.
/// Tells how long it took.
fn step(visit: &mut Visit, i: usize, number: usize, asked: &mut Value, answer: &str) -> f64 {
    let html = asked["step"].as_str().unwrap();
    let field = |name: &str| attribute(html, &format!("name=\"{name}\" value=\"")).unwrap_or_default();
    let kind = if field("kind").is_empty() { "mended".to_owned() } else { field("kind") };
    let (key, stage, red, black, function) =
        (format!("step-{i}"), field("stage"), field("red"), field("black"), field("function"));
    let fields = [
        ("key", key.as_str()),
        ("kind", &kind),
        ("stage", &stage),
        ("red", &red),
        ("black", &black),
        ("function", &function),
        ("answer", answer),
        ("note", if kind == "mended" { "a wire" } else { "" }),
    ];
    let body = json!({"sent": [{"taken": 4000 + i, "fields": fields}]}).to_string();
    let (time, answer) = timed(|| visit.script(&format!("{}/log", bench(number)), body.as_bytes()).unwrap());
    assert_eq!(answer.status, 200, "{}", answer.text());
    *asked = serde_json::from_slice(&answer.body).unwrap();
    time
}

fn timed<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let start = Instant::now();
    let result = work();
    (start.elapsed().as_secs_f64() * 1e3, result)
}

/// The middle, the 99th of 100, and the longest, milliseconds.
fn spread(mut times: Vec<f64>) -> String {
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times[((times.len() as f64 * share).ceil() as usize).clamp(1, times.len()) - 1];
    format!("p50 {:.2} ms, p99 {:.2} ms, longest {:.2} ms of {}", at(0.5), at(0.99), at(1.0), times.len())
}

/// What the system says of a process: now, and at most.
fn memory(id: u32) -> String {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let line = |name: &str| {
        status.lines().find_map(|l| l.strip_prefix(name)).unwrap_or(" unknown").trim().to_owned()
    };
    format!("{} now, {} at most", line("VmRSS:"), line("VmHWM:"))
}
