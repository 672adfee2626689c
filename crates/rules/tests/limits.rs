//! Both sides of each limit: one value of a finished example is moved, and the finding appears or does not.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::path::Path;
use voltwright_rules::{Severity, check};

fn example(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name)).unwrap()
}

fn severity_of(text: &str, code: &str) -> Option<Severity> {
    let reading = voltwright_job::read(text);
    assert!(reading.diagnostics.is_empty(), "{code}: {:?}", reading.diagnostics);
    check(&reading.job).findings.iter().filter(|f| f.code == code).map(|f| f.severity).min()
}

const STOP: Option<Severity> = Some(Severity::Stop);
const CAUTION: Option<Severity> = Some(Severity::Caution);

/// Code, path, value, severity expected; all on the desk computer.
///
/// Hand arithmetic: v1 gives 2.3·1.25 + 0.6·1.1 = 3.535 A at most, 2.3·0.75 + 0.6·0.9 = 2.265 A at least, v2 gives
/// 0.3125 + 0.55 A running; the regulator has 12·0.95 − 5·1.04 = 6.2 V less the drop of a wire; a 30 A half sine of
/// 3 ms is 1.35 A²s; 29.5 W of outputs take 29.5 / (0.78·0.9) / 0.55 / 207 V = 0.369 A at the lowest mains, of which a
/// fuse may carry 0.9.
#[rustfmt::skip]
const LIMITS: &[(&str, &str, &str, Option<Severity>)] = &[
    ("supply-input-range", "part.supply.input.voltage", "207..253 V", None),
    ("supply-input-range", "part.supply.input.voltage", "100..240 V", CAUTION),
    ("supply-input-range", "part.supply.input.voltage", "90..220 V", STOP),
    ("supply-input-frequency", "part.supply.input.frequency", "50..60 Hz", None),
    ("supply-input-frequency", "part.supply.input.frequency", "57..63 Hz", STOP),
    ("output-over-rating", "part.supply.output.v1.limit", "3.54 A", None),
    ("output-over-rating", "part.supply.output.v1.limit", "3.53 A", STOP),
    ("output-over-share", "part.supply.output.v1.limit", "3.63 A", None),
    ("output-over-share", "part.supply.output.v1.limit", "3.62 A", CAUTION),
    ("under-least-load", "part.supply.output.v1.least", "2.26 A", None),
    ("under-least-load", "part.supply.output.v1.least", "2.27 A", CAUTION),
    ("power-over-rating", "part.supply.power", "30 W", None),
    ("power-over-rating", "part.supply.power", "29 W", STOP),
    ("peak-over-limit", "part.supply.output.v2.peak", "1.75 A for 10 s", None),
    ("peak-over-limit", "part.supply.output.v2.peak", "1.7 A for 10 s", STOP),
    ("peak-too-long", "part.supply.output.v2.limit", "1 A", None),
    ("regulator-headroom", "part.reg.headroom", "6.1 V", None),
    ("regulator-headroom", "part.reg.headroom", "6.2 V", STOP),
    ("regulator-junction", "part.reg.heat", "200 K/W ± 0 %", None),
    ("regulator-junction", "part.reg.heat", "300 K/W ± 0 %", STOP),
    ("regulator-hot", "part.reg.heat", "200 K/W ± 0 %", CAUTION),
    ("regulator-current", "part.reg.limit", "46 mA", None),
    ("regulator-current", "part.reg.limit", "44 mA", STOP),
    ("order-not-assured", "part.hold-off.closes-at", "4.4 V", None),
    ("order-not-assured", "part.hold-off.closes-at", "4.6 V", STOP),
    ("order-not-assured", "part.hold-off.closes-at", "3.7 V", STOP),
    ("guard-too-high", "part.supply.output.v1.cuts-off-at", "5.7..7 V", None),
    ("guard-too-high", "part.supply.output.v1.cuts-off-at", "5.7..7.1 V", STOP),
    ("fuse-running", "part.fuse.rating", "415 mA", None),
    ("fuse-running", "part.fuse.rating", "405 mA", STOP),
    ("fuse-inrush", "part.fuse.melting", "6.9 A²s ± 0 %", None),
    ("fuse-inrush", "part.fuse.melting", "5 A²s ± 0 %", CAUTION),
    ("fuse-inrush", "part.fuse.melting", "1.3 A²s ± 0 %", STOP),
    ("fuse-breaking", "part.fuse.breaks", "1500 A at 250 V AC", None),
    ("fuse-breaking", "part.fuse.breaks", "35 A at 250 V AC", CAUTION),
    ("fuse-breaking", "part.fuse.breaks", "1500 A at 125 V AC", STOP),
    ("switch-voltage", "part.switch.rated", "4 A at 230 V AC", None),
    ("switch-voltage", "part.switch.rated", "4 A at 125 V AC", STOP),
    ("switch-current", "part.switch.rated", "0.4 A at 250 V AC", None),
    ("switch-current", "part.switch.rated", "0.2 A at 250 V AC", STOP),
    ("switch-inrush", "part.switch.inrush", "30 A", None),
    ("switch-inrush", "part.switch.inrush", "29 A", CAUTION),
    ("contact-current", "plug.pa.contact", "0.67 A", None),
    ("contact-current", "plug.pa.contact", "0.65 A", STOP),
    ("wire-hot", "wiring.wires[0].size", "0.5 mm²", None),
    ("ground-lift", "assume.ground-lift", "49 mV", None),
    ("ground-lift", "assume.ground-lift", "20 mV", STOP),
    ("rail-high", "part.supply.output.v1.volts", "5.1 V ± 2 %", None),
    ("rail-high", "part.supply.output.v1.volts", "5.2 V ± 2 %", STOP),
    ("rail-harm", "part.supply.output.v1.volts", "7.2 V ± 2 %", STOP),
    ("case-hot", "part.supply.full-to", "50 °C", None),
    ("case-hot", "part.supply.full-to", "20 °C", STOP),
    ("air-warmer-than-assumed", "assume.inside-rise", "22 K", None),
    ("air-warmer-than-assumed", "assume.inside-rise", "15 K", CAUTION),
];

#[test]
fn both_sides_of_each_limit() {
    let text = example("desk-computer/finished.toml");
    for (code, path, value, expected) in LIMITS {
        let moved = voltwright_job::edit::set(&text, path, value).unwrap();
        assert_eq!(severity_of(&moved, code), *expected, "{code} with {path} = {value}");
    }
}

/// Code, lines put after the head of the desk computer, severity expected.
#[rustfmt::skip]
const ADDED: &[(&str, &str, Option<Severity>)] = &[
    ("battery-charged", "[battery.b]\nchemistry = \"lithium primary\"\nstate = \"sound\"\nrail = \"p5\"\nvolts = \"3 V\"\nthrough = \"1 kΩ\"", STOP),
    ("battery-charged", "[battery.b]\nchemistry = \"lithium primary\"\nstate = \"sound\"\nrail = \"p5\"\nvolts = \"3 V\"\nthrough = \"1 kΩ\"\nblocked = true", None),
    ("battery-charged", "[battery.b]\nchemistry = \"nickel-cadmium\"\nstate = \"sound\"\nrail = \"p5\"\nvolts = \"3.6 V\"\nthrough = \"1 kΩ\"", None),
    ("battery-leak", "[battery.b]\nchemistry = \"nickel-cadmium\"\nstate = \"leaking\"", STOP),
    ("battery-leak", "[battery.b]\nchemistry = \"nickel-cadmium\"\nstate = \"sound\"", None),
    ("battery-keeps", "[battery.b]\nchemistry = \"nickel-cadmium\"\nstate = \"sound\"\nkeeps = \"the tuning table\"", CAUTION),
    ("battery-charged", "[battery.b]\nchemistry = \"lithium primary\"\nmade-for = \"nickel-cadmium\"\nstate = \"sound\"", STOP),
    ("guard-too-low", "[part.clamp]\nkind = \"clamp\"\nbreakdown = \"5.1 V ± 5 %\"", None),
];

#[test]
fn what_is_added_is_judged() {
    let text = example("desk-computer/finished.toml");
    for (code, lines, expected) in ADDED {
        assert_eq!(severity_of(&format!("{text}\n{lines}\n"), code), *expected, "{code} with {lines}");
    }
}

/// Wires of the desk computer put on the wrong way, and what the check calls it.
#[test]
fn a_wire_on_the_wrong_way_is_named() {
    let text = example("desk-computer/finished.toml");
    assert_eq!(severity_of(&text, "wrong-output"), None);
    let exchanged = |a: &str, b: &str| text.replace(a, "?").replace(b, a).replace('?', b);
    // −12 V on the way of +12 V, and the reverse.
    assert_eq!(severity_of(&exchanged("\"p1.5\"", "\"p1.6\""), "wrong-output"), STOP);
    // com and +5 V exchanged at one plug: the output is shorted through the board's planes.
    assert_eq!(severity_of(&exchanged("\"p1.2\"", "\"p1.3\""), "output-shorted"), STOP);
}

/// A return through which a negative rail lowers the 0 V of its load is judged like one that lifts it.
#[test]
fn ground_lift_counts_either_way() {
    let job = |sign: &str| {
        let volts = if sign.is_empty() { "harm = \"-0.5..7 V\"" } else { "harm = \"-7..0.5 V\"" };
        format!(
            "format = 1\n[job]\ntitle = \"x\"\ncountry = \"DE\"\n[rail]\nr = {{ nominal = \"{sign}5 V\", tolerance = \"10 %\", {volts} }}\n\
             [load.a]\ndraws.r = {{ run = \"2 A ± 0 %\" }}\nsockets.j = [\"r\", \"com\"]\n\
             [part.s]\nkind = \"mains supply\"\noutput.v1 = {{ volts = \"{sign}5 V\", limit = \"3 A\" }}\n\
             [wiring]\nwires = [\n{{ from = \"s.v1.plus\", to = \"a.j.1\", size = \"2.5 mm²\", length = \"100 mm\" }},\n\
             {{ from = \"s.v1.minus\", to = \"a.j.2\", size = \"0.5 mm²\", length = \"800 mm\" }},\n]\n"
        )
    };
    // 2 A · (39 mΩ/m · 0.8 m · 1.08 + 2 joints) = 70 mV at least.
    assert_eq!(severity_of(&job(""), "ground-lift"), STOP);
    assert_eq!(severity_of(&job("-"), "ground-lift"), STOP);
}

/// A fuse protects what lies behind it, and nothing else, whatever the order of the file.
#[test]
fn a_fuse_of_another_branch_protects_nothing() {
    let job = |first: &str, second: &str| {
        format!(
            "format = 1\n[job]\ntitle = \"x\"\ncountry = \"DE\"\n[rail]\nr = {{ nominal = \"5 V\", tolerance = \"20 %\" }}\n\
             [load.a]\ndraws.r = {{ run = \"0.1 A\" }}\nsockets.j = [\"r\", \"com\"]\n[load.b]\ndraws.r = {{ run = \"0.1 A\" }}\nsockets.j = [\"r\", \"com\"]\n\
             [part.s]\nkind = \"mains supply\"\noutput.v1 = {{ volts = \"5 V\", limit = \"40 A\" }}\n{first}{second}\
             [wiring]\nwires = [\n{{ from = \"s.v1.plus\", to = \"f.1\", size = \"6 mm²\", length = \"100 mm\" }},\n\
             {{ from = \"f.2\", to = \"a.j.1\", size = \"0.5 mm²\", length = \"100 mm\" }},\n\
             {{ from = \"s.v1.minus\", to = \"a.j.2\", size = \"6 mm²\", length = \"100 mm\" }},\n\
             {{ from = \"s.v1.plus\", to = \"g.1\", size = \"6 mm²\", length = \"100 mm\" }},\n\
             {{ from = \"g.2\", to = \"b.j.1\", size = \"0.14 mm²\", length = \"100 mm\" }},\n\
             {{ from = \"s.v1.minus\", to = \"b.j.2\", size = \"6 mm²\", length = \"100 mm\" }},\n]\n"
        )
    };
    let fuse = |name: &str, amps: &str| format!("[part.{name}]\nkind = \"fuse\"\nrating = \"{amps}\"\n");
    // 0.14 mm² behind 10 A is destroyed at 21 A; behind 1 A it is not.
    for (g, expected) in [("10 A", STOP), ("1 A", None)] {
        let (f, g) = (fuse("f", "1 A"), fuse("g", g));
        assert_eq!(severity_of(&job(&f, &g), "wire-unprotected"), expected);
        assert_eq!(severity_of(&job(&g, &f), "wire-unprotected"), expected);
    }
}

/// The limit of a regulator protects what it feeds; where it is not entered, that is the very key to enter.
#[test]
fn a_regulator_protects_by_its_limit() {
    let text = example("desk-computer/finished.toml");
    let waiting = |text: &str| -> Vec<String> {
        let all = check(&voltwright_job::read(text).job).unjudged.into_iter();
        all.filter(|u| u.code == "wire-unprotected").map(|u| u.enter).collect()
    };
    let at = |amps: &str| text.replacen("limit  = \"100 mA\"", amps, 1);
    assert_eq!((severity_of(&text, "wire-unprotected"), waiting(&text)), (None, vec![]));
    // Its wires of 0.34 mm² have 53 mΩ/m: at 60 A that is over 190 W a metre.
    assert_eq!(severity_of(&at("limit = \"60 A\""), "wire-unprotected"), STOP);
    // Once for each wire on its net.
    assert_eq!(waiting(&at("")), ["part.reg.limit", "part.reg.limit"]);
}

/// Where nothing but times could assure an order, the times that are not entered are asked for.
#[test]
fn times_that_are_not_entered_are_asked_for() {
    let text = example("desk-computer/first-draft.toml");
    let asked = |text: &str| -> Vec<String> {
        let all = check(&voltwright_job::read(text).job).unjudged.into_iter();
        all.filter(|u| u.code == "order-not-assured").map(|u| u.enter).collect()
    };
    let regulator = text.replacen("ready    = \"1..10 ms\"", "", 1);
    let neither = regulator.replace(", ready = \"20..60 ms\"", "");
    assert_eq!(asked(&text), Vec::<String>::new());
    assert_eq!(asked(&regulator), ["part.reg.ready"]);
    assert_eq!(asked(&neither), ["part.reg.ready, part.supply.output.v2.ready"]);
}

/// Ratings of parts: wires put before the last one of the desk computer, parts at its end. 5.1 V on 10 Ω is 2.6 W.
#[test]
fn ratings_of_parts_between() {
    let text = example("desk-computer/finished.toml");
    let with = |part: &str, ends: [&str; 2]| {
        let wires =
            ends.map(|e| format!("  {{ from = {e}, size = \"1.0 mm²\", length = \"100 mm\" }},\n")).concat();
        let (before, after) = text.split_once("wires = [\n").unwrap();
        format!("{before}wires = [\n{wires}{after}\n{part}\n")
    };
    let preload = |watts: &str| {
        with(
            &format!("[part.r]\nkind = \"resistor\"\nvalue = \"10 Ω\"\npower = \"{watts}\""),
            ["\"supply.v1.plus\", to = \"r.1\"", "\"supply.v1.minus\", to = \"r.2\""],
        )
    };
    assert_eq!(severity_of(&preload("5.3 W"), "resistor-power"), None);
    assert_eq!(severity_of(&preload("5 W"), "resistor-power"), CAUTION);
    assert_eq!(severity_of(&preload("2.5 W"), "resistor-power"), STOP);
    let reservoir = |volts: &str, ends: [&str; 2]| {
        with(&format!("[part.c]\nkind = \"capacitor\"\nvalue = \"100 µF\"\nrated = \"{volts}\""), ends)
    };
    let right = ["\"supply.v1.plus\", to = \"c.plus\"", "\"supply.v1.minus\", to = \"c.minus\""];
    let wrong = ["\"supply.v1.plus\", to = \"c.minus\"", "\"supply.v1.minus\", to = \"c.plus\""];
    assert_eq!(severity_of(&reservoir("6.3 V", right), "capacitor-voltage"), None);
    assert_eq!(severity_of(&reservoir("5.5 V", right), "capacitor-voltage"), CAUTION);
    assert_eq!(severity_of(&reservoir("5 V", right), "capacitor-voltage"), STOP);
    assert_eq!(severity_of(&reservoir("6.3 V", right), "capacitor-reversed"), None);
    assert_eq!(severity_of(&reservoir("6.3 V", wrong), "capacitor-reversed"), STOP);
}

/// A rail that no output provides is told with the ways to make it, without any wiring.
#[test]
fn a_missing_rail_is_told_with_ways_to_make_it() {
    let text = "format = 1\n[job]\ntitle = \"x\"\ncountry = \"DE\"\n[rail]\nm5 = { nominal = \"-5 V\" }\np5 = { nominal = \"5 V\" }\n\
                [load.a]\ndraws.m5 = { run = \"30 mA\" }\ndraws.p5 = { run = \"1 A\" }\n\
                [part.s]\nkind = \"mains supply\"\noutput.v1 = { volts = \"5 V\", limit = \"3 A\" }\noutput.v2 = { volts = \"-12 V\", limit = \"0.5 A\" }\n";
    let report = check(&voltwright_job::read(text).job);
    let missing: Vec<_> = report.findings.iter().filter(|f| f.code == "rail-missing").collect();
    assert_eq!(missing.len(), 1);
    let cure = missing[0].cure.as_deref().unwrap();
    // (12 − 5) V · 33 mA = 231 mW in the regulator.
    assert!(cure.contains("linear regulator from −12 V") && cure.contains("231 mW"), "{cure}");
}
