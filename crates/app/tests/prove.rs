//! The proof on the command line: `prove`, `steps` and `judge`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use serde_json::Value;
use support::schema::faults;
use support::{Run, command, nameplate, root, run, run_in};

const FINISHED: [&str; 3] = [
    "examples/desk-computer/finished.toml",
    "examples/plotter/finished.toml",
    "examples/synthesizer-rack/finished.toml",
];
const DRAFTS: [&str; 3] = [
    "examples/desk-computer/first-draft.toml",
    "examples/plotter/first-draft.toml",
    "examples/synthesizer-rack/first-draft.toml",
];
const MAIN: &str = FINISHED[0];
const NAMEPLATE_ONLY: &str = "examples/nameplate-only/job.toml";

fn wide(arguments: &[&str], columns: &str) -> Run {
    let mut command = command(arguments);
    command.env("COLUMNS", columns);
    run_in(command, b"")
}

/// Judges readings from standard input against the main example.
fn judge(readings: &str, more: &[&str]) -> Run {
    let mut command = command(&[&["judge", MAIN, "-"], more].concat());
    command.env("COLUMNS", "100");
    run_in(command, readings.as_bytes())
}

fn schema(name: &str) -> Value {
    serde_json::from_str(&std::fs::read_to_string(root().join("schemas").join(name)).unwrap()).unwrap()
}

fn data(run: &Run) -> Value {
    serde_json::from_str(&run.out).unwrap_or_else(|e| panic!("{e}: {}", run.err))
}

fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value[key].as_array().unwrap()
}

fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap()
}

/// Words of a text, however its lines are broken.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A value in the middle of a reading's window, as a person would write it.
fn inside(reading: &Value) -> String {
    match (reading["low"].as_f64(), reading["high"].as_f64(), text(reading, "function")) {
        (Some(low), Some(high), "volts") => format!("{:.4} V", f64::midpoint(low, high)),
        (Some(low), Some(high), "amps") => format!("{:.4} A", f64::midpoint(low, high)),
        (Some(low), Some(high), _) => format!("{:.4} Ω", f64::midpoint(low, high)),
        (_, None, _) => "open".to_owned(),
        (None, Some(_), _) => "0.1 Ω".to_owned(),
    }
}

fn line(reading: &Value, value: &str) -> String {
    format!("{}; {}; {}; {value}\n", text(reading, "stage"), text(reading, "red"), text(reading, "black"))
}

/// All readings of the main example's plan.
fn plan() -> Vec<Value> {
    list(&data(&run(&["prove", MAIN, "--json"]))["plan"], "readings").to_vec()
}

/// All readings that its first power asks: those of the plan, and the outputs where the plan has none.
fn asked() -> Vec<Value> {
    let steps = data(&run(&["steps", MAIN, "--json"]));
    list(&steps, "stages").iter().flat_map(|stage| list(stage, "readings").to_vec()).collect()
}

#[test]
fn a_finished_job_has_no_escape_and_a_first_draft_has() {
    for (jobs, status) in [(FINISHED, 0), (DRAFTS, 1)] {
        for job in jobs {
            for name in ["prove", "steps"] {
                let run = run(&[name, job]);
                assert_eq!((run.status, run.err.as_str()), (status, ""), "{name} {job}");
                assert_eq!(run.out.contains("STOP"), status == 1, "{name} {job}");
            }
        }
    }
}

#[test]
fn a_wrong_file_has_status_two() {
    for arguments in
        [&["prove", "examples/nowhere.toml"][..], &["steps", "README.md"], &["judge", MAIN, "nowhere.txt"]]
    {
        let run = run(arguments);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(!run.err.is_empty());
    }
    let both = run(&["judge", "-", "-"]);
    assert!(both.status == 2 && both.complains("cannot both come from standard input"), "{}", both.err);
}

#[test]
fn data_are_as_the_schemas_say() {
    for job in FINISHED.iter().chain(&DRAFTS).chain(&[NAMEPLATE_ONLY]) {
        for name in ["prove", "steps"] {
            let run = run(&[name, job, "--json"]);
            assert_eq!(
                faults(&schema(&format!("{name}.json")), &data(&run)),
                Vec::<String>::new(),
                "{name} {job}"
            );
        }
    }
    let readings = plan();
    let all: String = readings.iter().map(|r| line(r, &inside(r))).collect();
    let off = &readings[1];
    for readings in [
        "",
        &all,
        &line(off, "open"),
        &format!("{}{}", line(off, "open"), "cold; p1.3; connects; p1.4, p2.4\n"),
    ] {
        let run = judge(readings, &["--json"]);
        assert_eq!(faults(&schema("judge.json"), &data(&run)), Vec::<String>::new(), "{readings}");
    }
}

#[test]
fn pairs_are_as_the_schema_says_and_add_up() {
    let run = run(&["prove", DRAFTS[0], "--pairs", "--json"]);
    let data = data(&run);
    assert_eq!(faults(&schema("prove.json"), &data), Vec::<String>::new());
    let pairs = &data["pairs"];
    let count = |key: &str| pairs[key].as_u64().unwrap();
    let caught: u64 = list(pairs, "caught").iter().map(|s| s["caught"].as_u64().unwrap()).sum();
    assert!(count("count") > 1000);
    assert_eq!(caught + count("escapes") + count("unnoticed"), count("count"));
}

/// The schemas themselves must refuse what is wrong, or the tests above say nothing.
#[test]
fn the_schemas_refuse_what_is_wrong() {
    let spoilt = |name: &str, good: &Value, pointer: &str, value: Value| {
        let mut bad = good.clone();
        *bad.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer} is not there")) = value;
        assert!(!faults(&schema(name), &bad).is_empty(), "{name} {pointer}");
    };
    let draft = data(&run(&["prove", DRAFTS[0], "--json"]));
    let places = [
        "/stages/0/live",
        "/mistakes/0/class",
        "/escapes/0/harm/value",
        "/plan/proven",
        "/plan/readings/0/function",
        "/cures/0/edits/0",
        "/permutations/0/mistake",
    ];
    for pointer in places {
        spoilt("prove.json", &draft, pointer, "nonsense".into());
        spoilt("prove.json", &draft, pointer, Value::Array(Vec::new()));
    }
    let steps = data(&run(&["steps", MAIN, "--json"]));
    for pointer in
        ["/stages/0/cautions", "/connect/0/most", "/between/0/least", "/stages/0/readings/0/must_be"]
    {
        spoilt("steps.json", &steps, pointer, true.into());
    }
    let judged = data(&judge(&line(&plan()[1], "open"), &["--json"]));
    for pointer in ["/readings/0/verdict", "/readings/0/value", "/stop", "/suspects/0/share"] {
        spoilt("judge.json", &judged, pointer, "perhaps".into());
    }
}

#[test]
fn every_property_of_the_schemas_is_described() {
    fn undescribed(schema: &Value, path: &str, out: &mut Vec<String>) {
        for (key, value) in schema["properties"].as_object().into_iter().flatten() {
            let path = format!("{path}/{key}");
            if value.get("description").is_none() && value.get("$ref").is_none() {
                out.push(path.clone());
            }
            undescribed(value, &path, out);
        }
        for inner in schema["anyOf"].as_array().into_iter().flatten().chain(schema.get("items")) {
            undescribed(inner, path, out);
        }
        for (key, value) in schema["$defs"].as_object().into_iter().flatten() {
            undescribed(value, &format!("{path}/{key}"), out);
        }
    }
    for name in ["prove.json", "steps.json", "judge.json"] {
        let mut out = Vec::new();
        undescribed(&schema(name), "", &mut out);
        assert_eq!(out, Vec::<String>::new(), "{name}");
    }
}

#[test]
fn the_text_has_the_numbers_of_the_data() {
    for job in FINISHED.iter().chain(&DRAFTS) {
        let data = data(&run(&["prove", job, "--json"]));
        let out = flat(&run(&["prove", job]).out);
        let mistakes = list(&data, "mistakes");
        let harmful = mistakes.iter().filter(|m| !m["harm"].is_null()).count();
        let escapes = list(&data, "escapes").len();
        assert!(
            out.contains(&format!(
                "{} mistakes tried at {} stages",
                mistakes.len(),
                list(&data, "stages").len()
            )),
            "{out}"
        );
        assert!(out.contains(&format!("{harmful} would do harm")), "{out}");
        match escapes {
            0 => assert!(out.contains("a reading shows every one of them before it can."), "{out}"),
            1 => assert!(out.contains("1 escapes."), "{out}"),
            n => assert!(out.contains(&format!("{n} escape.")), "{out}"),
        }
        let caught = mistakes.iter().filter(|m| !m["caught_at"].is_null()).count();
        assert_eq!(caught + escapes, harmful, "{job}");
        let count = list(&data["plan"], "readings").len();
        assert!(out.contains(&format!("{count} reading")), "{out}");
    }
}

/// From its title to the next: the text of a stage on a sheet.
fn of_stage(sheet: &str, number: usize, name: &str) -> String {
    let title = format!("{number}. {name}");
    let after = sheet.lines().skip_while(|l| *l != title).skip(1);
    let lines: Vec<&str> = after.take_while(|l| l.is_empty() || l.starts_with(' ')).collect();
    assert!(!lines.is_empty(), "no {title} in {sheet}");
    lines.join("\n")
}

#[test]
fn the_sheet_has_every_stage_with_its_cautions_and_every_reading() {
    for job in FINISHED.iter().chain(&DRAFTS) {
        let data = data(&run(&["steps", job, "--json"]));
        let sheet = wide(&["steps", job], "200").out;
        let mut number = 0;
        for (s, stage) in list(&data, "stages").iter().enumerate() {
            let name = text(stage, "name");
            let told = of_stage(&sheet, s + 1, name);
            let readings = list(stage, "readings");
            let plugs_in = text(stage, "set_up").contains("push ");
            if stage["live"] == true || plugs_in || !readings.is_empty() {
                let cautions = list(stage, "cautions");
                assert!(!cautions.is_empty(), "{job} {name}");
                assert_eq!(told.matches("Caution.").count(), cautions.len(), "{job} {name}");
                for caution in cautions {
                    assert!(flat(&told).contains(caution.as_str().unwrap()), "{job} {name}");
                }
                assert!(flat(&told).contains(text(stage, "set_up")), "{job} {name}");
            }
            for reading in readings {
                number += 1;
                let has = |line: &str| {
                    let fits = |key: &str| flat(line).contains(text(reading, key));
                    flat(line).starts_with(&format!("{number} "))
                        && fits("red")
                        && fits("black")
                        && fits("must_be")
                        && line.ends_with("________")
                };
                assert!(told.lines().any(has), "{job} {name}: no line for {reading} in {told}");
            }
        }
        assert!(number > 0);
    }
}

/// Where a draft plugs something in and powers it in one stage, the sheet says that the plug is out and the reservoirs are empty first.
#[test]
fn nothing_is_plugged_in_with_the_power_on() {
    for job in FINISHED.iter().chain(&DRAFTS) {
        let data = data(&run(&["steps", job, "--json"]));
        for stage in list(&data, "stages").iter().filter(|s| text(s, "set_up").contains("push ")) {
            let set_up = text(stage, "set_up");
            assert!(set_up.starts_with("Mains plug out, reservoirs discharged: push "), "{set_up}");
            assert!(
                list(stage, "cautions").iter().any(|c| c.as_str().unwrap().contains("Reservoir capacitors")),
                "{stage}"
            );
        }
    }
}

#[test]
fn a_plug_is_shown_from_both_sides() {
    let sheet = run(&["steps", MAIN]).out;
    assert!(
        sheet.contains("wire side    1:YE 2:BK 3:BK 4:RD\n  mating face  4:RD 3:BK 2:BK 1:YE\n"),
        "{sheet}"
    );
    assert!(sheet.contains("5:RD 6:–\n"), "{sheet}");
}

#[test]
fn nothing_is_wider_than_the_page_and_no_colour_in_a_pipe() {
    let readings = line(&plan()[1], "open");
    for columns in [40, 80, 200] {
        let page = columns.to_string();
        let mut judging = command(&["judge", MAIN, "-"]);
        judging.env("COLUMNS", &page);
        let mut runs = vec![run_in(judging, readings.as_bytes())];
        for job in [MAIN, FINISHED[2], DRAFTS[0]] {
            runs.extend(["prove", "steps"].map(|name| wide(&[name, job], &page)));
        }
        for run in runs {
            assert!(!run.out.contains('\u{1b}'));
            for line in run.out.lines() {
                assert!(line.chars().count() <= columns, "{columns}: {line}");
            }
            assert!(!run.out.to_lowercase().split(|c: char| !c.is_alphabetic()).any(|word| word == "safe"));
        }
    }
}

#[test]
fn threads_change_nothing() {
    let readings = line(&plan()[1], "open");
    let with = |arguments: &[&str], threads: &str| {
        let mut command = command(arguments);
        command.env("VOLTWRIGHT_THREADS", threads);
        run_in(command, readings.as_bytes()).out
    };
    let draft = DRAFTS[2];
    let each: [&[&str]; 9] = [
        &["prove", MAIN],
        &["prove", MAIN, "--json"],
        &["prove", draft],
        &["prove", draft, "--json"],
        &["prove", DRAFTS[1], "--pairs", "--json"],
        &["steps", MAIN],
        &["steps", MAIN, "--json"],
        &["judge", MAIN, "-"],
        &["judge", MAIN, "-", "--json"],
    ];
    for arguments in each {
        let one = with(arguments, "1");
        assert!(!one.is_empty());
        assert!(one == with(arguments, "2"), "{arguments:?}");
    }
}

#[test]
fn where_nothing_is_wired_there_is_nothing_to_try() {
    let bare = "format = 1\n[job]\ntitle = \"T\"\n".to_owned();
    let unwired =
        nameplate("IE") + "[rail]\np5 = { nominal = \"5 V\" }\n[load.a]\nsockets.j = [\"p5\", \"com\"]\n";
    for job in [bare, nameplate("IE"), unwired] {
        for arguments in [["prove", "-"], ["steps", "-"]] {
            let run = run_in(command(&arguments), job.as_bytes());
            assert_eq!(run.status, 0, "{}", run.err);
            assert!(flat(&run.out).contains("Nothing is wired in this job yet"), "{}", run.out);
            assert!(!run.out.contains("plug in"), "{}", run.out);
        }
    }
    let judged = run_in(command(&["judge", NAMEPLATE_ONLY, "-"]), b"");
    assert!(judged.status == 0 && judged.out.contains("Nothing is wired"), "{}", judged.out);
    let lost = run_in(command(&["judge", NAMEPLATE_ONLY, "-"]), b"cold; p1.1; p1.2; open\n");
    assert!(lost.status == 2 && lost.complains("there is no terminal `p1.1`"), "{}", lost.err);
}

#[test]
fn readings_inside_their_windows_lead_on_to_the_next() {
    let readings = asked();
    assert!(readings.len() > plan().len());
    for taken in 0..=readings.len() {
        if taken > 3 && taken < readings.len() - 1 {
            continue;
        }
        let file: String = readings[..taken].iter().map(|r| line(r, &inside(r))).collect();
        let run = judge(&file, &[]);
        let out = flat(&run.out);
        assert_eq!((run.status, run.err.as_str()), (0, ""), "{file}");
        assert!(!out.contains("STOP") && !out.contains("HIGH") && !out.contains("LOW"), "{out}");
        match readings.get(taken) {
            Some(next) => {
                assert!(
                    out.contains(&format!("Next, the first of {} reading", readings.len() - taken)),
                    "{out}"
                );
                assert!(out.contains(&format!("Stage {}: ", text(next, "stage"))), "{out}");
                assert!(out.contains(&format!("red on {}", text(next, "red"))), "{out}");
                assert!(out.contains(&format!("it must be {}.", text(next, "must_be"))), "{out}");
                assert!(out.contains("Caution."), "{out}");
            }
            None => assert!(out.contains("All readings of the plan are taken."), "{out}"),
        }
        assert_eq!(out.contains("No reading yet."), taken == 0, "{out}");
    }
}

#[test]
fn a_reading_outside_says_stop_with_suspects_and_what_to_measure() {
    let file = "cold; p1.3; p2.4; open\n";
    let run = judge(file, &[]);
    let out = flat(&run.out);
    assert_eq!((run.status, run.err.as_str()), (1, ""));
    assert!(
        out.contains("HIGH")
            && out.contains("STOP A reading is outside its window. Leave the mains plug out"),
        "{out}"
    );
    assert!(out.contains("supply.v1.plus to p1.3 (RD) is not connected"), "{out}");
    assert!(out.contains("tells them apart best Look first at the places above."), "{out}");
    let judged = data(&judge(file, &["--json"]));
    assert_eq!((&judged["stop"], &judged["explained"]), (&Value::Bool(true), &Value::Bool(true)));
    assert_eq!(judged["readings"][0]["value"], "open");
    assert!(list(&judged, "suspects").len() > 1);
    assert!(judged["next"].is_null() != judged["trace"].is_null(), "{}", judged["next"]);
    let live = judge("source; p1.4; supply.v1.minus; 4 V\n", &[]);
    assert!(flat(&live.out).contains("Switch off, pull the mains plug, and do not go on."), "{}", live.out);
}

#[test]
fn what_nothing_explains_is_said() {
    let run = judge("source; p1.4; supply.v1.minus; 300 V\n", &[]);
    assert_eq!(run.status, 1);
    assert!(flat(&run.out).contains("Nothing in the model explains these readings"), "{}", run.out);
    let judged = data(&judge("source; p1.4; supply.v1.minus; 300 V\n", &["--json"]));
    assert!(judged["explained"] == false && list(&judged, "suspects").is_empty());
}

/// A trace narrows the suspects down, and never hides a value that was read.
#[test]
fn a_trace_is_read() {
    let file = "cold; p1.3; p2.4; open\n";
    let before = list(&data(&judge(file, &["--json"])), "suspects").len();
    let traced = format!("{file}cold; p1.3; connects; p1.4, supply.v1.plus, p2.5, pa.4\n");
    let after = data(&judge(&traced, &["--json"]));
    let suspects = list(&after, "suspects");
    assert!(!suspects.is_empty() && suspects.len() < before);
    assert!(suspects[0]["says"][0] == "supply.v1.plus to p2.4 (RD) is not connected", "{}", suspects[0]);
    let hidden = data(&judge(
        "cold; p1.3; p2.4; 3 Ω\ncold; p1.3; connects; p2.4, p1.4, supply.v1.plus, p2.5, pa.4\n",
        &["--json"],
    ));
    assert_eq!(hidden["stop"], true);
    let nothing = judge("cold; p1.3; connects; nothing\n", &[]);
    assert!(nothing.status == 1 && nothing.out.contains("not connected  HIGH"), "{}", nothing.out);
}

/// A line that is no reading, what is said of it, and the hint.
const WRONG: &[(&str, &str, &str)] = &[
    (
        "sorce; p1.4; supply.v1.minus; 5.02 V",
        ":1: error – there is no stage `sorce`",
        "did you mean `source`?",
    ),
    (
        "xyzzy; p1.4; supply.v1.minus; 5.02 V",
        ":1: error – there is no stage `xyzzy`",
        "the stages are: cold, ",
    ),
    (
        "source; q1.4; supply.v1.minus; 5.02 V",
        ":9: error – there is no terminal `q1.4`",
        "did you mean `p1.4`?",
    ),
    (
        "source; p1.4; suply.v1.minus; 5.02 V",
        ":15: error – there is no terminal `suply.v1.minus`",
        "did you mean `supply.v1.minus`?",
    ),
    (
        "source; p1.4; supply.v1.minus; 5.02",
        ":32: error – `5.02` is no voltage",
        "with its unit, such as 5.02 V",
    ),
    ("cold; p1.3; p2.4; 0.3", ":19: error – `0.3` is no resistance", "with their unit, such as 0.3 Ω"),
    ("cold; p1.3; p2.4; 5.02 V", ":19: error – `5.02 V` is no resistance", "is read with the power off"),
    ("cold; p1.3; p2.4; -1 Ω", ":19: error – `-1 Ω` is no resistance", "power off"),
    ("source; p1.4; supply.v1.minus; open", ":32: error – `open` is no voltage", "is read with the power on"),
    (
        "source; p1.4; 5.02 V",
        ":1: error – 3 fields where 4 are expected",
        "a line is `stage; red probe; black probe; value`",
    ),
    ("source", ":1: error – 1 field where 4 are expected", "a line is"),
    (
        "source; p1.4; p1.5; 5.02 V",
        ":1: error – DC volts cannot be read between these two",
        "put the black probe there",
    ),
    ("cold; p1.3; p1.3; 0.1 Ω", ":1: error – ohms cannot be read between these two", "they are one point"),
    ("source; p1.4; connects; p1.3", "nothing can be traced there", ""),
    ("cold; p1.4; connects; p1.33", ":23: error – there is no terminal `p1.33`", "did you mean"),
];

#[test]
fn errors_in_readings_are_told_at_their_place() {
    for (line, says, hint) in WRONG {
        let run = judge(&format!("# bench, Sunday\n\n{line}\n"), &[]);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{line}");
        assert!(
            run.complains("standard input:3:") && run.complains(says) && run.complains(hint),
            "{line}: {}",
            run.err
        );
        assert!(run.complains("1 error in standard input; nothing was judged."), "{}", run.err);
    }
    let all: String = WRONG.iter().map(|(line, ..)| format!("{line}\n")).collect();
    let run = judge(&all, &[]);
    for (n, (line, says, _)) in WRONG.iter().enumerate() {
        assert!(
            run.complains(&format!("standard input:{}:", n + 1)) && run.complains(says),
            "{line}: {}",
            run.err
        );
    }
    assert!(run.complains(&format!("{} errors in standard input", WRONG.len())), "{}", run.err);
}

#[test]
fn readings_are_read_however_they_were_written() {
    let value = |file: &str| {
        let run = judge(file, &["--json"]);
        let data = data(&run);
        assert_eq!(list(&data, "readings").len(), 1, "{file}");
        data["readings"][0]["value"].clone()
    };
    let volts = Value::from(5.02);
    assert_eq!(value("source; p1.4; supply.v1.minus; 5.02 V"), volts);
    assert_eq!(
        value(
            "\u{feff}stage; red; black; value\r\n\r\n  source;p1.4 (RD);supply.v1.minus;5.02 V\r\n# note\r\n"
        ),
        volts
    );
    // Exchanged probes change the sign of a voltage, and nothing of a resistance.
    assert_eq!(value("source; supply.v1.minus; p1.4; −5.02 V"), volts);
    assert_eq!(value("source; supply.v1.minus; p1.4; -5.02 V"), volts);
    assert_eq!(value("cold; p2.4; p1.3; 0.2 Ω"), value("cold; p1.3; p2.4; 0.2 Ω"));
    // The last of those that were repeated counts.
    assert_eq!(value("source; p1.4; supply.v1.minus; 4 V\nsource; p1.4; supply.v1.minus; 5.02 V\n"), volts);
    for open in ["open", "OPEN", "OL", "O.L"] {
        assert_eq!(value(&format!("cold; p1.3; p2.4; {open}")), "open");
    }
    for empty in ["", "\n", "\r\n\r\n", "# only a note\n", "stage; red; black; value\n"] {
        let run = judge(empty, &[]);
        assert!(run.status == 0 && run.out.contains("No reading yet."), "{empty:?}: {}{}", run.out, run.err);
    }
}
