//! The commands' JSON against the schemas in the repository.

mod support;

use serde_json::Value;
use support::schema::faults;
use support::{check, example, nameplate, root, run};

fn schema(name: &str) -> Value {
    let text = std::fs::read_to_string(root().join("schemas").join(name)).expect("the schema is committed");
    serde_json::from_str(&text).expect("it is JSON")
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).expect("the output is JSON")
}

#[test]
fn check_is_as_its_schema_says() {
    let schema = schema("check.json");
    for out in [
        run(&["check", &example(), "--json"]),
        check(&nameplate("IE"), &["--json"]),
        check(&nameplate("JP"), &["--json"]),
    ] {
        let data = parsed(&out.out);
        assert_eq!(faults(&schema, &data), Vec::<String>::new());
        assert_eq!(data["verdict"] == "stop", out.status == 1);
        assert!(!data["findings"].as_array().unwrap().is_empty());
    }
}

#[test]
fn a_finding_knows_its_line() {
    let text = std::fs::read_to_string(example()).unwrap();
    let data = parsed(&run(&["check", &example(), "--json"]).out);
    let placed: Vec<&Value> =
        data["findings"].as_array().unwrap().iter().filter(|f| !f["place"].is_null()).collect();
    assert!(!placed.is_empty());
    for finding in placed {
        let start = finding["place"]["start"].as_u64().unwrap() as usize;
        let line = finding["line"].as_u64().unwrap() as usize;
        assert_eq!(text[..start].matches('\n').count() + 1, line);
    }
}

#[test]
fn network_is_as_its_schema_says_and_whole() {
    let out = run(&["network", &example(), "--json"]);
    assert_eq!(out.status, 0, "{}", out.err);
    let data = parsed(&out.out);
    assert_eq!(faults(&schema("network.json"), &data), Vec::<String>::new());
    let networks = data["networks"].as_array().unwrap();
    let seen: Vec<[&str; 3]> =
        networks.iter().map(|n| ["stage", "side", "loading"].map(|k| n[k].as_str().unwrap())).collect();
    let wanted = [
        ["source", "low-voltage", "run"],
        ["source", "mains", "run"],
        ["drive-a", "low-voltage", "run"],
        ["drive-a", "mains", "run"],
        ["board", "low-voltage", "light"],
        ["board", "low-voltage", "run"],
        ["board", "low-voltage", "start"],
        ["board", "mains", "run"],
    ];
    assert_eq!(seen, wanted);
    for network in networks {
        let Some(volts) = network["solution"]["volts"].as_array() else {
            panic!("{} has no solution: {}", network["stage"], network["unsolved"]);
        };
        assert_eq!(volts.len(), network["nodes"].as_array().unwrap().len());
        let names: std::collections::BTreeSet<&str> =
            network["nodes"].as_array().unwrap().iter().map(|n| n.as_str().unwrap()).collect();
        assert!(!names.contains(""), "a node without a name");
    }
}

/// What the circuit gives out must come back: full precision, no rounding in print.
#[test]
fn printed_solutions_satisfy_kirchhoff() {
    let data = parsed(&run(&["network", &example(), "--stage", "board"]).out);
    for network in data["networks"].as_array().unwrap() {
        let volts: Vec<f64> =
            network["solution"]["volts"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
        let flows = network["solution"]["elements"].as_array().unwrap();
        for (element, flow) in network["elements"].as_array().unwrap().iter().zip(flows) {
            if element["law"] == "resistor" {
                let at = |k: &str| volts[element[k].as_u64().unwrap() as usize];
                let (across, ohms) = (at("a") - at("b"), element["ohms"].as_f64().unwrap());
                let current = flow["current"].as_f64().unwrap();
                // Twelve volts have 1e-15 of rounding; a milliohm makes 1e-12 A of it.
                assert!((across / ohms - current).abs() < 1e-10 * current.abs() + 1e-9, "{element}");
            }
        }
    }
}

#[test]
fn a_job_without_wiring_has_no_networks() {
    let out = support::run_in(support::command(&["network", "-"]), nameplate("IE").as_bytes());
    assert_eq!((out.status, parsed(&out.out)["networks"].as_array().unwrap().len()), (0, 0));
}

#[test]
fn one_stage_may_be_asked_for_and_a_slip_is_answered() {
    let one = parsed(&run(&["network", &example(), "--stage", "drive-a"]).out);
    assert_eq!(one["networks"].as_array().unwrap().len(), 2);
    let slip = run(&["network", &example(), "--stage", "drive-b"]);
    assert!(slip.status == 2 && slip.complains("did you mean `drive-a`?"), "{}", slip.err);
    let nonsense = run(&["network", &example(), "--stage", "xyzzy"]);
    assert!(nonsense.complains("the stages are: source, drive-a, board"), "{}", nonsense.err);
}

#[test]
fn tables_are_as_their_schema_says() {
    let schema = schema("tables.json");
    let all = parsed(&run(&["tables", "--json"]).out);
    assert_eq!(faults(&schema, &all), Vec::<String>::new());
    let one = parsed(&run(&["tables", "mains", "--json"]).out);
    assert_eq!(faults(&schema, &one), Vec::<String>::new());
    assert_eq!(one["tables"][0], all["tables"][0]);
    for table in all["tables"].as_array().unwrap() {
        let width = table["columns"].as_array().unwrap().len();
        assert!(table["rows"].as_array().unwrap().iter().all(|r| r.as_array().unwrap().len() == width));
    }
}

#[test]
fn the_schema_of_job_files_knows_every_key_of_the_example() {
    let data = parsed(&run(&["schema"]).out);
    for key in
        ["format", "job", "machine", "rail", "load", "part", "plug", "wiring", "found", "old-supply", "meter"]
    {
        assert!(data["properties"].get(key).is_some(), "{key}");
    }
}

/// The validator itself must see each kind of fault, or the tests above say nothing.
#[test]
fn the_validator_refuses_what_is_wrong() {
    let schema = schema("check.json");
    let good = parsed(&check(&nameplate("IE"), &["--json"]).out);
    let spoil = |pointer: &str, value: Value| {
        let mut bad = good.clone();
        *bad.pointer_mut(pointer).expect("the place exists") = value;
        faults(&schema, &bad)
    };
    assert!(!spoil("/format", 2.into()).is_empty());
    assert!(!spoil("/verdict", "safe".into()).is_empty());
    assert!(!spoil("/findings/0/severity", "grave".into()).is_empty());
    assert!(!spoil("/findings/0/line", 0.into()).is_empty());
    assert!(!spoil("/findings/0/working/origin", Value::Null).is_empty());
    assert!(!spoil("/judged/0/judgements", "3".into()).is_empty());
    let mut more = good.clone();
    more["colour"] = "red".into();
    assert!(!faults(&schema, &more).is_empty());
    let mut less = good.clone();
    less.as_object_mut().unwrap().remove("unjudged");
    assert!(!faults(&schema, &less).is_empty());
}
