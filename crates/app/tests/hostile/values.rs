//! The log of a first power: JSON, numbers, keys and runs that are not what they must be.

use crate::case::{Case, judged};
use crate::common::http::escaped;
use crate::world::{JOB, World};
use serde_json::json;

/// Those that are refused.
pub fn cases(world: &World) -> Vec<Case> {
    [malformed(world), fields(world), amounts(world), elsewhere(world)].into_iter().flatten().collect()
}

fn log(world: &World, name: &str, body: &[u8], right: &'static [u16]) -> Case {
    let path = format!("/job/{JOB}/first-power/1/log");
    Case::new(format!("log: {name}"), world.visit.scripted(&path, body), right)
}

fn malformed(world: &World) -> Vec<Case> {
    let one = |name: &str, body: &[u8]| log(world, name, body, &[400]);
    let taken = |taken: &str| {
        let fields = r#"[["key","t"],["kind","off"],["stage","source"]]"#;
        one(
            &format!("taken at {taken}"),
            format!(r#"{{"sent":[{{"taken":{taken},"fields":{fields}}}]}}"#).as_bytes(),
        )
    };
    vec![
        one("nothing", b""),
        one("cut off", br#"{"sent":[{"taken":1,"fields":[["key""#),
        one("more after the end", br#"{"sent":[]} {"sent":[]}"#),
        one("a list", b"[]"),
        one("null", b"null"),
        one("a number for a list", br#"{"sent":1}"#),
        one("sent twice", br#"{"sent":[],"sent":[]}"#),
        one("no list at all", br#"{"waiting":[]}"#),
        one("100,000 brackets", "[".repeat(100_000).as_bytes()),
        one("100,000 braces", r#"{"sent":"#.repeat(100_000).as_bytes()),
        // What is unknown is passed over, without a stack; nothing is sent.
        log(
            world,
            "deep inside what is unknown",
            format!(r#"{{"x":{}1{},"sent":[]}}"#, "[".repeat(50_000), "]".repeat(50_000)).as_bytes(),
            &[200],
        ),
        one("malformed UTF-8", b"{\"sent\":[{\"taken\":1,\"fields\":[[\"key\",\"\xff\xfe\"]]}]}"),
        one("UTF-16", b"\xff\xfe{\0\"\0s\0"),
        one("a lone surrogate", br#"{"sent":[{"taken":1,"fields":[["key","\ud800"]]}]}"#),
        one("fields by name", br#"{"sent":[{"taken":1,"fields":{"key":"x"}}]}"#),
        one("a field of three", br#"{"sent":[{"taken":1,"fields":[["key","x","y"]]}]}"#),
        one("a field that is a number", br#"{"sent":[{"taken":1,"fields":[["key",1]]}]}"#),
        taken("-1"),
        taken("1.5"),
        taken("1e400"),
        taken("NaN"),
        taken("9223372036854775808"),
        taken("18446744073709551615"),
        taken("18446744073709551616"),
        taken("\"1\""),
        taken("null"),
    ]
}

fn fields(world: &World) -> Vec<Case> {
    let one = |name: &str, fields: &[(&str, &str)]| {
        let body = json!({"sent": [{"taken": 1, "fields": fields}]}).to_string();
        log(world, name, body.as_bytes(), &[400])
    };
    let off =
        |key: &str| vec![("key", key.to_owned()), ("kind", "off".to_owned()), ("stage", "source".to_owned())];
    let refs = |all: &[(&'static str, String)], name: &str| {
        one(name, &all.iter().map(|(n, v)| (*n, v.as_str())).collect::<Vec<_>>())
    };
    vec![
        one("no kind", &[("key", "k")]),
        one("an unknown kind", &[("key", "k"), ("kind", "'; DROP TABLE entry; --")]),
        one("a kind of another case", &[("key", "k"), ("kind", "OFF")]),
        one("a reading without an answer", &[("key", "k"), ("kind", "reading")]),
        one("an unknown answer", &[("key", "k"), ("kind", "reading"), ("answer", "fine")]),
        one("a stop overruled without a reason", &[("key", "k"), ("kind", "overruled")]),
        one("mended with a reason of spaces", &[("key", "k"), ("kind", "mended"), ("note", "   ")]),
        refs(&off(""), "an empty key"),
        refs(&off(&"k".repeat(65)), "a key of 65 letters"),
        refs(&[off("k"), vec![("note", "n".repeat(2001))]].concat(), "a note of 2,001 letters"),
        refs(&[off("k"), vec![("red", "r".repeat(500_000))]].concat(), "a probe of 500,000 letters"),
        log(
            world,
            "two answers, the second bad",
            json!({"sent": [{"taken": 1, "fields": off("good")}, {"taken": 1, "fields": [["key", "bad"]]}]})
                .to_string()
                .as_bytes(),
            &[400],
        ),
    ]
}

fn amounts(world: &World) -> Vec<Case> {
    let huge = "9".repeat(400);
    let long = format!("0.{}x", "0".repeat(100_000));
    let amounts = [
        "NaN",
        "inf",
        "-inf",
        "Infinity",
        "1e999",
        "1e5",
        "0x10",
        "5,02",
        "",
        "--5",
        "5 V",
        "٥",
        "' OR 1=1",
        "1_000",
        huge.as_str(),
        long.as_str(),
    ];
    let mut cases = Vec::new();
    for amount in amounts {
        let fields = [
            ("key", "a"),
            ("kind", "reading"),
            ("stage", "source"),
            ("function", "volts"),
            ("answer", "value"),
            ("amount", amount),
            ("unit", "V"),
        ];
        let body = json!({"sent": [{"taken": 1, "fields": fields}]}).to_string();
        let shown: String = amount.chars().take(20).collect();
        cases.push(log(world, &format!("an amount of `{shown}`"), body.as_bytes(), &[400]));
        let answered = world.visit.posted(&format!("/job/{JOB}/first-power/1/answer"), &fields);
        cases.push(Case::new(format!("form: an amount of `{shown}`"), answered, &[400]));
    }
    for (function, unit) in [("volts", "kΩ"), ("volts", ""), ("pressure", "V"), ("", ""), ("ohms", "<b>")] {
        let fields = [
            ("key", "a"),
            ("kind", "reading"),
            ("function", function),
            ("answer", "value"),
            ("amount", "5"),
            ("unit", unit),
        ];
        let body = json!({"sent": [{"taken": 1, "fields": fields}]}).to_string();
        cases.push(log(world, &format!("{function} in `{unit}`"), body.as_bytes(), &[400]));
    }
    cases
}

/// Entries for first powers that are not there, by every way of naming one.
fn elsewhere(world: &World) -> Vec<Case> {
    let body =
        json!({"sent": [{"taken": 1, "fields": [["key", "e"], ["kind", "off"], ["stage", "source"]]}]})
            .to_string();
    let to = |path: &str| {
        let path = path.replace("JOB", JOB);
        Case::new(format!("entries to {path}"), world.visit.scripted(&path, body.as_bytes()), &[400, 404])
    };
    let text = escaped("' OR 1=1 --");
    vec![
        to("/job/JOB/first-power/2/log"),
        to("/job/JOB/first-power/0/log"),
        to("/job/JOB/first-power/-1/log"),
        to("/job/JOB/first-power/4294967297/log"),
        to("/job/JOB/first-power/NaN/log"),
        to("/job/another/first-power/1/log"),
        to("/job/../first-power/1/log"),
        to(&format!("/job/{text}/first-power/1/log")),
        to(&format!("/job/JOB/first-power/{text}/log")),
    ]
}

/// Odd, but nothing is wrong with them: taken, each once, and kept to the letter. Each line is judged by what the file has.
pub fn taken_as_they_are(world: &mut World) -> Vec<String> {
    let made = world.visit.post("/new/example", &[("example", "plotter")]).unwrap();
    let at = made.header("location").unwrap().to_owned();
    let begun = world.visit.post(&format!("{at}/first-power"), &[("revision", "1")]).unwrap();
    assert_eq!(begun.header("location"), Some(format!("{at}/first-power/1").as_str()));
    let off = |key: &str, note: &str| json!({"taken": 1, "fields": [["key", key], ["kind", "off"], ["stage", "cold"], ["note", note]]});
    let pairs: Vec<[&str; 2]> = [["key", "p"], ["kind", "reading"], ["function", "ohms"], ["stage", "cold"]]
        .into_iter()
        .chain(std::iter::repeat_n(["pair", "x y"], 60_000))
        .collect();
    let bodies = [
        ("the same key twice in one batch", json!({"sent": [off("twice", "first"), off("twice", "second")]})),
        ("the same key again with other words", json!({"sent": [off("twice", "third")]})),
        ("the key of an entry of another job", json!({"sent": [off("honest-0", "not the honest one")]})),
        ("a key of 64 letters beyond ASCII", json!({"sent": [off(&"Ω".repeat(64), "long")]})),
        ("a key in SQL", json!({"sent": [off("'; DELETE FROM entry; --", "sql")]})),
        (
            "fields that nobody knows",
            json!({"evil": 1, "sent": [{"taken": 1, "evil": {}, "fields": [["key", "unknown"], ["kind", "off"], ["device", "forged"], ["revision", "9"], ["run", "9"]]}]}),
        ),
        (
            "a time in the year 292 million",
            json!({"sent": [{"taken": i64::MAX, "fields": [["key", "late"], ["kind", "off"], ["stage", "cold"]]}]}),
        ),
        ("nothing at all", json!({"sent": []})),
        ("60,000 pairs of a trace", json!({"sent": [{"taken": 1, "fields": pairs}]})),
    ];
    let mut told = Vec::new();
    for (name, body) in bodies {
        let answer =
            world.visit.script(&format!("{at}/first-power/1/log"), body.to_string().as_bytes()).unwrap();
        told.push(judged(name, Some(&answer), if name.contains("60,000") { &[400] } else { &[200] }, ""));
    }
    let now = world.visit.get(&format!("{at}/first-power/1")).unwrap().text();
    let shows = |text: &str| now.contains(text);
    assert!(shows("first") && !shows("second") && !shows("third"), "an entry was written over");
    assert!(shows("not the honest one") && shows("workshop PC") && !shows("forged"), "a device was forged");
    told
}
