//! The serialized form that other solvers read.

mod common;

use common::{load, source};
use serde_json::json;
use voltwright_circuit::*;

#[test]
fn network_and_solution() -> Result<(), Box<dyn std::error::Error>> {
    let mut net = Network::new();
    let (com, top, out) = (net.node("com"), net.node("top"), net.node("out"));
    net.groups.push(Group { name: "supply".into(), power_limit: Some(60.0), trips: true });
    source(&mut net, top, com, 12.0, None, Overload::Trip);
    let law = Converter {
        in_plus: top,
        in_minus: com,
        low: 9.0,
        high: 18.0,
        efficiency: 0.8,
        idle: 0.1,
        group: Some(0),
        enable: Some(Enable { plus: top, minus: com, threshold: 1.4, on_when: OnWhen::Above }),
        outputs: vec![Output {
            plus: out,
            minus: com,
            volts: 5.0,
            ohms: 1e-4,
            limit: Some(2.0),
            overload: Overload::Hold,
        }],
    };
    net.add("converter", Law::Converter(law));
    load(&mut net, out, com, Draws::Power, 5.0, 2.5);
    let regulator = Regulator {
        input: top,
        reference: com,
        output: out,
        volts: 3.0,
        ohms: 1e-4,
        headroom: 2.0,
        limit: 1.0,
    };
    net.add("regulator", Law::Regulator(regulator));
    assert_eq!(
        serde_json::to_value(&net)?,
        json!({
            "nodes": ["com", "top", "out"], "datum": 0, "leak": 1e-9,
            "groups": [{"name": "supply", "power_limit": 60.0, "trips": true}],
            "elements": [
                {"name": "source0", "law": "source", "plus": 1, "minus": 0, "volts": 12.0, "ohms": 1e-4, "limit": null,
                 "overload": "trip", "group": null},
                {"name": "converter", "law": "converter", "in_plus": 1, "in_minus": 0, "low": 9.0, "high": 18.0,
                 "efficiency": 0.8, "idle": 0.1, "group": 0,
                 "enable": {"plus": 1, "minus": 0, "threshold": 1.4, "on_when": "above"},
                 "outputs": [{"plus": 2, "minus": 0, "volts": 5.0, "ohms": 1e-4, "limit": 2.0, "overload": "hold"}]},
                {"name": "load2", "law": "load", "plus": 2, "minus": 0, "draws": "power", "amount": 5.0, "knee": 2.5},
                {"name": "regulator", "law": "regulator", "input": 1, "reference": 0, "output": 2, "volts": 3.0,
                 "ohms": 1e-4, "headroom": 2.0, "limit": 1.0},
            ],
        })
    );
    let solution = serde_json::to_value(net.solve()?)?;
    let states: Vec<&str> = (0..4).filter_map(|e| solution["elements"][e]["state"].as_str()).collect();
    assert_eq!(states, ["holding", "on", "normal", "off"]);
    assert_eq!(solution["elements"][1]["outputs"][0]["state"], "holding");
    assert!(solution["elements"][0].get("outputs").is_none());
    assert!(solution["power"]["in"].as_f64() > solution["power"]["out"].as_f64());
    assert!(solution["power"]["heat"].is_number() && solution["residual"].is_number());
    Ok(())
}

/// A state's word is the same in both forms.
#[test]
fn words_of_states() -> Result<(), serde_json::Error> {
    use State::*;
    let all = [
        Conducting, Holding, Limiting, Tripped, Idle, Off, On, Clamping, Forward, Normal, Starved,
        Regulating, DropOut, BelowRange, AboveRange, Disabled,
    ];
    for state in all {
        assert_eq!(serde_json::to_value(state)?, json!(state.to_string()));
    }
    assert_eq!([DropOut, BelowRange].map(State::word), ["drop-out", "below range"]);
    Ok(())
}
