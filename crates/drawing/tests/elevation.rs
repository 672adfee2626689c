//! The elevation says what is so: potentials as solved, every wire at its height, volts where they change, stops where they belong.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{JOBS, job, number, of_class, parsed, text, texts};
use voltwright_drawing::Width;
use voltwright_drawing::elevation::elevation;
use voltwright_job::Job;
use voltwright_model::{Loading, Solved};
use voltwright_rules::{About, Finding, Severity};

#[test]
fn the_elevation_tells_every_wire_and_what_arrives() {
    for file in JOBS {
        let job = job(file);
        let solved = Solved::new(&job);
        let said = elevation(&solved, &[], &[], Width::Phone, "e").text;
        for wire in &job.wires {
            let ends = [&wire.from_text.text, &wire.to_text.text];
            assert!(ends.iter().all(|end| said.contains(end.as_str())), "{file}: {ends:?}");
        }
        for load in &job.loads {
            for draw in load.draws.iter().filter(|_| !job.wires.is_empty()) {
                let says = format!("at {}", job.rails[draw.rail].name);
                assert!(said.contains(&load.name) && said.contains(&says), "{file}: {says} in {said}");
            }
        }
    }
}

/// Heights of the discs at which rails arrive, and the volts there, against the network solved on its own.
#[test]
fn higher_volts_are_drawn_higher() {
    let job = job(JOBS[0]);
    let solved = Solved::new(&job);
    let drawing = elevation(&solved, &[], &[], Width::Desk, "e");
    let document = parsed(&drawing.svg);
    let arriving: Vec<f64> = of_class(&document, "d-dot")
        .into_iter()
        .filter(|n| n.attribute("r") == Some("3.4"))
        .map(|n| number(n, "cy"))
        .collect();
    let (low, point) = (solved.low_voltage(Loading::Run), solved.point(Loading::Run).unwrap());
    let mut volts: Vec<f64> =
        low.loads.iter().flat_map(|l| l.rails.iter().flatten().map(|n| point.solution.volts[*n])).collect();
    assert_eq!(arriving.len(), volts.len());
    // Some conductor ends where each rail arrives: wire and rail are drawn to one scale.
    let ends: Vec<f64> = of_class(&document, "d-dot")
        .into_iter()
        .filter(|n| n.attribute("r") == Some("2.8"))
        .map(|n| number(n, "cy"))
        .collect();
    assert!(arriving.iter().all(|y| ends.iter().any(|end| (end - y).abs() < 2.0)), "{arriving:?} {ends:?}");
    // The red wires carry 5 V.
    let level = texts(&document).into_iter().find(|(t, ..)| t == "5\u{a0}V").map(|(.., y)| y - 4.0).unwrap();
    let red = of_class(&document, "d-wire").into_iter().filter(|n| n.attribute("stroke") == Some("#cf2a22"));
    let last = |d: &str| d.rsplit(' ').next().and_then(|y| y.parse::<f64>().ok()).unwrap();
    let red: Vec<f64> = red.map(|n| last(n.attribute("d").unwrap())).collect();
    assert!(red.len() == 2 && red.iter().all(|y| (y - level).abs() < 14.0), "{red:?} {level}");
    let mut heights = arriving.clone();
    volts.sort_by(f64::total_cmp);
    heights.sort_by(|a, b| b.total_cmp(a));
    // −12, −5, twice 5 and twice 12 V: four levels well apart, equal within a level to less than a band.
    let far = |i: usize| heights[i] - heights[i + 1];
    for i in 0..volts.len() - 1 {
        let is_level = (volts[i + 1] - volts[i]).abs() < 0.5;
        assert!(if is_level { far(i).abs() < 14.0 } else { far(i) > 30.0 }, "{volts:?} {heights:?}");
    }
}

fn with_change(from: &str, to: &str) -> Job {
    let text = text(JOBS[0]);
    assert!(text.contains(from), "{from}");
    voltwright_job::read(&text.replace(from, to)).job
}

#[test]
fn a_misplaced_wire_climbs_to_the_wrong_height() {
    let job = with_change(
        "{ from = \"supply.v2.plus\",       to = \"hold-off.in\",     colour",
        "{ from = \"supply.v2.plus\", to = \"p1.4\", colour = \"YE\", size = \"0.75 mm²\", length = \"200 mm\" },\n  \
         { from = \"supply.v2.plus\",       to = \"hold-off.in\",     colour",
    );
    let solved = Solved::new(&job);
    let drawing = elevation(&solved, &[], &[], Width::Desk, "e");
    let says = "Logic board sees 11.9 V at p5, OUTSIDE its tolerance of 4.75 V to 5.25 V";
    assert!(drawing.text.contains(says), "{}", drawing.text);
    assert!(drawing.text.contains("STOP: supply switches itself off"), "{}", drawing.text);
    let document = parsed(&drawing.svg);
    let y = |label: &str| texts(&document).into_iter().find(|(t, ..)| t == label).map(|(.., y)| y).unwrap();
    let wrong: Vec<f64> = of_class(&document, "d-black").into_iter().map(|n| number(n, "cy")).collect();
    assert_eq!(wrong.len(), 2, "5 V of the board and of the drive");
    assert!(wrong.iter().all(|at| (at - y("12\u{a0}V")).abs() < 16.0 && (at - y("5\u{a0}V")).abs() > 30.0));
}

#[test]
fn a_wire_from_the_mains_to_a_board_lies_on_the_mains() {
    let job = with_change(
        "{ from = \"switch.1b\",            to = \"supply.line\", ",
        "{ from = \"switch.1b\", to = \"p2.3\", colour = \"BN\", size = \"0.75 mm²\", length = \"200 mm\" },\n  \
         { from = \"switch.1b\",            to = \"supply.line\", ",
    );
    let said = elevation(&Solved::new(&job), &[], &[], Width::Phone, "e").text;
    assert!(said.contains("BN (brown) from switch.1b (line) to p2.3 (line)"), "{said}");
}

#[test]
fn every_bundle_has_its_letters() {
    for file in JOBS {
        let job = job(file);
        let drawing = elevation(&Solved::new(&job), &[], &[], Width::Desk, "e");
        let document = parsed(&drawing.svg);
        let is_code = |t: &str| t.len() >= 2 && t.chars().all(|c| c.is_ascii_uppercase());
        let codes = texts(&document).into_iter().filter(|(t, ..)| t.split([' ', ',']).any(is_code)).count();
        assert_eq!(codes, of_class(&document, "d-wire-under").len(), "{file}");
    }
}

/// Wires between the same two things at the same potential are one bundle, whatever their colours.
#[test]
fn parallel_wires_are_one_bundle() {
    let job = job(JOBS[8]);
    let document_of = |width| elevation(&Solved::new(&job), &[], &[], width, "e").svg;
    for svg in [Width::Desk, Width::Phone].map(document_of) {
        let document = parsed(&svg);
        let all: Vec<String> = texts(&document).into_iter().map(|(t, ..)| t.replace('\u{a0}', " ")).collect();
        for wanted in ["3 × YE", "RDWH, RD, GNYE", "1 uncoloured, 3 × BK, BKWH", "2 × VT"] {
            assert_eq!(all.iter().filter(|t| *t == wanted).count(), 1, "{wanted} in {all:?}");
        }
    }
}

/// A rail's volts are written where they first arrive, and where they are others in the digits that are shown.
#[test]
fn volts_are_not_repeated() {
    let rack = job(JOBS[5]);
    let drawing = elevation(&Solved::new(&rack), &[], &[], Width::Desk, "e");
    let document = parsed(&drawing.svg);
    let is_value = |t: &str, x: f64| t.ends_with('V') && x > 100.0;
    let mut values: Vec<(f64, String)> = texts(&document)
        .into_iter()
        .filter(|(t, x, _)| is_value(t, *x))
        .map(|(t, x, _)| (x, t.replace('\u{a0}', " ")))
        .collect();
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    for level in ["15 V", "14.9 V", "4.97 V", "4.96 V", "4.95 V", "−15 V"] {
        let times = values.iter().filter(|(_, t)| t == level).count();
        let seen = drawing.text.matches(&format!(" sees {level} at ")).count();
        // 15 V at the back panel, 14.9 V at the cards, and 15 V again at the mixer.
        let wanted = if level == "15 V" { 2 } else { 1 };
        assert!(times == wanted && seen >= wanted, "{level}: {times} of {seen} in {values:?}");
    }
}

/// A stop that is about a load, a rail, a wire or a part hangs there as a flag; the text names each.
#[test]
fn stops_hang_as_flags_where_they_belong() {
    for file in JOBS {
        let job = job(file);
        let findings = voltwright_rules::findings(&job).findings;
        let stops: Vec<&Finding> = findings.iter().filter(|f| f.severity == Severity::Stop).collect();
        for width in [Width::Desk, Width::Phone] {
            let drawing = elevation(&Solved::new(&job), &[], &findings, width, "e");
            let document = parsed(&drawing.svg);
            let flags = texts(&document).into_iter().filter(|(t, ..)| t == "STOP").count();
            assert_eq!(flags, of_class(&document, "d-flag").len(), "{file}: a word in each outline");
            // A finding on an output names it.
            let mut places: Vec<(About, &str)> =
                stops.iter().filter_map(|f| Some((f.about?, f.subject.as_str()))).collect();
            places.sort();
            places.dedup();
            assert!(flags <= places.len(), "{file}: {flags} flags for {places:?}");
            assert_eq!(flags == 0, places.is_empty(), "{file}: {stops:?}");
            for stop in &stops {
                assert!(stop.about.is_none() || drawing.text.contains(stop.code), "{file}: {}", stop.subject);
            }
            let legend =
                texts(&document).into_iter().filter(|(t, ..)| t.contains("see the findings")).count();
            assert_eq!(legend > 0, !stops.is_empty(), "{file}");
        }
    }
}

/// A stop on one output of a supply hangs at the height of that output.
#[test]
fn a_flag_on_an_output_hangs_at_its_volts() {
    let draft = job(JOBS[1]);
    let findings = voltwright_rules::findings(&draft).findings;
    let stops: Vec<Finding> =
        findings.into_iter().filter(|f| f.severity == Severity::Stop && f.subject == "supply.v2").collect();
    assert!(!stops.is_empty());
    let drawing = elevation(&Solved::new(&draft), &[], &stops, Width::Desk, "e");
    let document = parsed(&drawing.svg);
    let y = |label: &str| texts(&document).into_iter().find(|(t, ..)| t == label).map(|(.., y)| y).unwrap();
    assert!((y("STOP") - y("12\u{a0}V")).abs() < 24.0 && (y("STOP") - y("230\u{a0}V")).abs() > 40.0);
    assert!(drawing.text.contains("STOP in the worst case: supply.v2.plus"), "{}", drawing.text);
}

/// A flag stands beside the place that it is about, and there is one for a node and a rail.
#[test]
fn a_flag_hangs_at_its_rail() {
    let draft = job(JOBS[1]);
    let about = |load: usize, rail: &str| About::Rail { load, rail: draft.rail(rail).unwrap() };
    let stop =
        |about| Finding { severity: Severity::Stop, code: "rail-low", ..Finding::new("", "").about(about) };
    let place = |finding: &Finding| {
        let both = [finding.clone(), finding.clone()];
        let drawing = elevation(&Solved::new(&draft), &[], &both, Width::Desk, "e");
        let document = parsed(&drawing.svg);
        let flags: Vec<(f64, f64)> =
            texts(&document).into_iter().filter(|(t, ..)| t == "STOP").map(|(_, x, y)| (x, y)).collect();
        let label = |wanted: &str| texts(&document).into_iter().find(|(t, ..)| t == wanted).unwrap();
        assert_eq!(flags.len(), 1, "{}", drawing.text);
        let (_, board, _) = label("Logic board");
        (flags[0].0 - board, flags[0].1 - label("5\u{a0}V").2, flags[0].1 - label("12\u{a0}V").2)
    };
    let board = draft.loads.iter().position(|l| l.name == "Logic board").unwrap();
    let (x, five, _) = place(&stop(about(board, "p5")));
    assert!(x.abs() < 60.0 && five.abs() < 24.0, "{x} {five}");
    let (x, _, twelve) = place(&stop(about(board, "p12")));
    assert!(x.abs() < 60.0 && twelve.abs() < 24.0, "{x} {twelve}");
    let (x, ..) = place(&stop(about(1 - board, "p5")));
    assert!(x < -60.0, "the drive stands left of the board: {x}");
    let caution = Finding { severity: Severity::Caution, ..stop(about(board, "p5")) };
    let drawing = elevation(&Solved::new(&draft), &[], &[caution], Width::Desk, "e");
    assert!(!drawing.svg.contains("STOP"), "a caution hangs no flag");
}

#[test]
fn what_is_open_is_a_gap_and_nothing_lives_behind_it() {
    let job = job(JOBS[0]);
    let solved = Solved::new(&job);
    let open = [job.part("fuse").unwrap()];
    let drawing = elevation(&solved, &open, &[], Width::Phone, "e");
    assert!(drawing.text.contains("fuse is open"), "{}", drawing.text);
    let wire = |from: &str| drawing.text.split(". ").find(|s| s.contains(&format!("from {from} "))).unwrap();
    assert!(wire("fuse.2").contains("no power") && wire("reg.out").contains("no power"));
    assert!(!wire("inlet.line").contains("no power") && !wire("supply.v1.minus").contains("no power"));
}

#[test]
fn the_gate_stands_before_what_is_not_plugged_in() {
    let job = job(JOBS[0]);
    let mut solved = Solved::new(&job);
    solved.stage = voltwright_model::stage::stages(&job).swap_remove(1);
    let drawing = elevation(&solved, &[], &[], Width::Desk, "e");
    let gate = number(of_class(&parsed(&drawing.svg), "d-gate")[0], "x1");
    let document = parsed(&drawing.svg);
    let x = |name: &str| texts(&document).into_iter().find(|(t, ..)| t == name).map(|(_, x, _)| x).unwrap();
    assert!(x("Disk drive A") < gate && gate < x("Logic board"));
    assert!(drawing.text.contains("beyond the gate, not plugged in at this stage: Logic board"));
}

/// The typed place of a finding against the words that name it, over all jobs: they come about apart from each other.
#[test]
fn a_finding_is_about_what_it_names() {
    let mut seen = 0;
    for file in JOBS {
        let job = job(file);
        for finding in voltwright_rules::findings(&job).findings {
            let Some(about) = finding.about else { continue };
            let name = match about {
                About::Part(p) => &job.parts[p].key.text,
                About::Plug(p) => &format!("plug {}", job.plugs[p].key.text),
                About::Wire(w) => &job.wires[w].name(),
                About::Load(l) | About::Rail { load: l, .. } => &job.loads[l].name,
            };
            assert!(finding.subject.starts_with(name.as_str()), "{file}: {about:?}, {}", finding.subject);
            if let About::Rail { rail, .. } = about {
                let both = format!("{} {}", finding.subject, finding.says);
                assert!(both.contains(&job.rails[rail].name.text), "{file}: {about:?}, {both}");
            }
            seen += 1;
        }
    }
    assert!(seen > 30, "{seen} findings with a place");
}
