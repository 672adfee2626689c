//! What the drawings say is what is so: ways in their order, probes where they belong, potentials as solved.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{JOBS, drawings, job, number, of_class, parsed, text, texts};
use voltwright_drawing::elevation::elevation;
use voltwright_drawing::face::{Probes, Side, face};
use voltwright_drawing::probes::probes;
use voltwright_drawing::tank::tanks;
use voltwright_drawing::timeline::timeline;
use voltwright_drawing::{Drawing, Width};
use voltwright_job::{Job, Terminal};
use voltwright_model::{Loading, Solved};
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::{Function, Reading};
use voltwright_proof::setup::Setup;

/// Ways from left to right, row by row from the top.
fn ways(drawing: &Drawing) -> Vec<Vec<usize>> {
    let document = parsed(&drawing.svg);
    let mut numbers: Vec<(f64, f64, usize)> =
        texts(&document).into_iter().filter_map(|(t, x, y)| Some((y, x, t.parse().ok()?))).collect();
    numbers.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut rows: Vec<(f64, Vec<usize>)> = Vec::new();
    for (y, _, way) in numbers {
        match rows.last_mut() {
            Some((known, row)) if (*known - y).abs() < 1.0 => row.push(way),
            _ => rows.push((y, vec![way])),
        }
    }
    rows.into_iter().map(|(_, row)| row).collect()
}

#[test]
fn the_mating_face_is_the_mirror_image_of_the_wire_side() {
    let seen =
        |job: &Job, plug: &str, side| ways(&face(job, job.plug(plug).unwrap(), side, Probes::default(), "f"));
    let desk = job(JOBS[0]);
    assert_eq!(seen(&desk, "p1", Side::Wires), [[1, 2, 3, 4, 5, 6]]);
    assert_eq!(seen(&desk, "p1", Side::Mating), [[6, 5, 4, 3, 2, 1]]);
    let crowded = job(JOBS[8]);
    let two_rows = |side| seen(&crowded, "p2", side);
    assert_eq!(two_rows(Side::Wires), [(1..=12).collect::<Vec<_>>(), (13..=24).collect()]);
    assert_eq!(two_rows(Side::Mating), [(1..=12).rev().collect::<Vec<_>>(), (13..=24).rev().collect()]);
    // A long row goes on below, in the order in which it is seen.
    assert_eq!(seen(&crowded, "p1", Side::Wires).concat(), (1..=30).collect::<Vec<_>>());
    assert_eq!(seen(&crowded, "p1", Side::Mating).concat(), (1..=30).rev().collect::<Vec<_>>());
}

#[test]
fn letters_stand_under_their_way_and_probes_point_at_theirs() {
    let desk = job(JOBS[0]);
    let probes = Probes { red: Some(4), black: Some(0), lead: None };
    let drawing = face(&desk, desk.plug("p1").unwrap(), Side::Mating, probes, "f");
    let document = parsed(&drawing.svg);
    let all = texts(&document);
    let x = |wanted: &str| all.iter().find(|(t, ..)| t == wanted).map(|(_, x, _)| *x).unwrap();
    for (way, code) in [("5", "YE"), ("6", "VT")] {
        assert!((x(way) - x(code)).abs() < 0.01, "{way} {code}");
    }
    assert!((x("R") - x("5")).abs() < 0.01 && (x("B") - x("1")).abs() < 0.01);
    assert!(drawing.text.contains("Red probe on way 5") && drawing.text.contains("Black probe on way 1"));
    assert!(drawing.text.contains("way 5 wire YE (yellow)"), "{}", drawing.text);
    // Filled and outlined, not by colour alone.
    assert_eq!((of_class(&document, "d-red").len(), of_class(&document, "d-black").len()), (1, 1));
}

#[test]
fn names_of_users_stay_text() {
    let job = job(JOBS[8]);
    let mut seen = 0;
    for (name, drawing) in drawings(&job) {
        assert!(!drawing.svg.contains("<b ") && !drawing.svg.contains("<script"), "{name}");
        seen += usize::from(drawing.text.contains("<b onclick='x'>&amp;"));
    }
    assert!(seen > 4, "the name is in the words of {seen} drawings");
}

fn reading(function: Function, red: Terminal, black: Terminal) -> Reading {
    let desk = job(JOBS[0]);
    let setup = Setup::new(&desk).unwrap();
    Reading { function, red, black, ..setup.readings[0].clone() }
}

#[test]
fn a_reading_is_one_drawing_or_two() {
    let desk = job(JOBS[0]);
    let (p1, supply) = (desk.plug("p1").unwrap(), desk.part("supply").unwrap());
    let (way, plus) = (Terminal::Plug(p1, 2), desk.terminal(supply, "v1.plus").unwrap());
    let drawn = |function, red, black| probes(&desk, &reading(function, red, black), Side::Wires, "p");
    let same = drawn(Function::Volts, way, Terminal::Plug(p1, 0));
    assert_eq!(same.len(), 1);
    let two = drawn(Function::Volts, way, plus);
    assert_eq!(two.len(), 2);
    assert!(two[0].text.contains("Red probe on way 3") && !two[0].text.contains("Black probe"));
    assert!(two[1].text.contains("Black probe on v1.plus"), "{}", two[1].text);
    let amps = drawn(Function::Amps, plus, way);
    assert!(amps.len() == 1 && amps[0].text.contains("Ammeter in the lead on v1.plus"));
    assert!(drawn(Function::Ohms, Terminal::Chassis, way)[0].text.contains("the case"));
}

#[test]
fn the_elevation_tells_every_wire_and_what_arrives() {
    for file in JOBS {
        let job = job(file);
        let solved = Solved::new(&job);
        let said = elevation(&solved, &[], Width::Phone, "e").text;
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
    let drawing = elevation(&solved, &[], Width::Desk, "e");
    let document = parsed(&drawing.svg);
    let arriving: Vec<f64> = of_class(&document, "d-mark")
        .into_iter()
        .filter(|n| n.attribute("r") == Some("3"))
        .map(|n| number(n, "cy"))
        .collect();
    let (low, point) = (solved.low_voltage(Loading::Run), solved.point(Loading::Run).unwrap());
    let mut volts: Vec<f64> =
        low.loads.iter().flat_map(|l| l.rails.iter().flatten().map(|n| point.solution.volts[*n])).collect();
    assert_eq!(arriving.len(), volts.len());
    // Some conductor ends where each rail arrives: wire and rail are drawn to one scale.
    let ends: Vec<f64> = of_class(&document, "d-mark")
        .into_iter()
        .filter(|n| n.attribute("r") == Some("2.2"))
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
    let drawing = elevation(&solved, &[], Width::Desk, "e");
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
    let said = elevation(&Solved::new(&job), &[], Width::Phone, "e").text;
    assert!(said.contains("BN (brown) from switch.1b (line) to p2.3 (line)"), "{said}");
}

#[test]
fn every_conductor_has_its_letters_beside_it() {
    for file in JOBS {
        let job = job(file);
        let drawing = elevation(&Solved::new(&job), &[], Width::Desk, "e");
        let document = parsed(&drawing.svg);
        let is_code = |t: &str| t.chars().take(2).filter(char::is_ascii_uppercase).count() == 2;
        let codes = texts(&document).into_iter().filter(|(t, ..)| is_code(t)).count();
        let stripes = of_class(&document, "d-stripe").len();
        assert_eq!(codes, of_class(&document, "d-wire").len() - stripes, "{file}");
    }
}

#[test]
fn what_is_open_is_a_gap_and_nothing_lives_behind_it() {
    let job = job(JOBS[0]);
    let solved = Solved::new(&job);
    let open = [job.part("fuse").unwrap()];
    let drawing = elevation(&solved, &open, Width::Phone, "e");
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
    let drawing = elevation(&solved, &[], Width::Desk, "e");
    let gate = number(of_class(&parsed(&drawing.svg), "d-gate")[0], "x1");
    let document = parsed(&drawing.svg);
    let x = |name: &str| texts(&document).into_iter().find(|(t, ..)| t == name).map(|(_, x, _)| x).unwrap();
    assert!(x("Disk drive A") < gate && gate < x("Logic board"));
    assert!(drawing.text.contains("beyond the gate, not plugged in at this stage: Logic board"));
}

#[test]
fn tanks_hold_what_is_entered() {
    let draft = job(JOBS[1]);
    let all = tanks(&Solved::new(&draft), "t");
    let of = |name: &str| all.iter().find(|d| d.text.starts_with(name)).unwrap();
    // Board 2.3 A ± 25 % and drive 0.6 A ± 10 %: 2.875 + 0.66 = 3.535 A.
    let v1 = &of("supply.v1").text;
    assert!(v1.contains("rated 4 A") && v1.contains("2.3 A, 1.73 A to 2.88 A") && v1.contains("3.5"), "{v1}");
    // The drive starts with 1.3 A ± 10 %, the board runs with 0.3125 A: 1.7425 A of 1.2 A.
    let v2 = &of("supply.v2").text;
    assert!(
        v2.contains("All starts together: 1.74 A for 400 ms") && v2.contains("STOP: starts run over"),
        "{v2}"
    );
}

#[test]
fn layers_stand_on_each_other_to_one_scale() {
    let draft = job(JOBS[1]);
    let all = tanks(&Solved::new(&draft), "t");
    let v1 = all.iter().find(|d| d.text.starts_with("supply.v1")).unwrap();
    let document = parsed(&v1.svg);
    let solid: Vec<(f64, f64)> =
        of_class(&document, "d-level").into_iter().map(|n| (number(n, "y"), number(n, "height"))).collect();
    let [(board, at_least), (drive, _)] = solid[..] else { panic!("{solid:?}") };
    // Board 1.725 A to 2.875 A, drive from 0.54 A on top of that.
    let per_amp = at_least / 1.725;
    assert!((board + at_least - drive - (2.875 + 0.54) * per_amp).abs() < 0.1, "{solid:?}");
    // The vessel's bottom, where the layers begin, is 4 A below its rim.
    let vessel = of_class(&document, "d-heavy")[0].attribute("d").unwrap().to_owned();
    let ys: Vec<f64> = vessel.split(['M', 'L']).filter_map(|p| p.split(' ').nth(1)?.parse().ok()).collect();
    assert!((ys[1] - ys[0] - 4.0 * per_amp).abs() < 0.1 && (ys[1] - board - at_least).abs() < 0.1, "{ys:?}");
}

#[test]
fn a_probe_stands_beside_its_terminal() {
    let desk = job(JOBS[0]);
    let supply = desk.part("supply").unwrap();
    let at = |name: &str| desk.parts[supply].terminals.iter().position(|t| t == name);
    let probes = Probes { red: at("v2.plus"), black: at("v1.minus"), lead: None };
    let drawing = voltwright_drawing::strip::terminals(&desk, supply, probes, "s");
    let all = texts(&parsed(&drawing.svg));
    let y = |wanted: &str| all.iter().find(|(t, ..)| t == wanted).map(|(.., y)| *y).unwrap();
    assert!((y("R") - y("v2.plus")).abs() < 1.0 && (y("B") - y("v1.minus")).abs() < 1.0);
}

#[test]
fn an_order_is_told_as_the_rule_judges_it() {
    let said = |file: &str| timeline(&Solved::new(&job(file)), "t").text;
    assert!(said(JOBS[0]).contains("m5 before p12: assured"), "{}", said(JOBS[0]));
    assert!(said(JOBS[0]).contains("p12 of Logic board waits for hold-off"));
    assert!(said(JOBS[1]).contains("m5 before p12: STOP, not assured"));
    // 20..60 ms of the supply and 1..10 ms of the regulator.
    assert!(said(JOBS[1]).contains("m5 (−5 V) at Logic board: up not before 21 ms and surely by 70 ms"));
    assert!(said(JOBS[8]).contains("m12 (−12 V) at") && said(JOBS[8]).contains("no time entered"));
}

#[test]
fn the_sieve_counts_every_harmful_mistake_once() {
    for file in [JOBS[0], JOBS[1]] {
        let job = job(file);
        let proof = Proof::of(Setup::new(&job).unwrap(), 2);
        let said = voltwright_drawing::sieve::sieve(&proof, "s").text;
        let sum = |word: &str| -> usize {
            let number = |part: &str| part.rsplit(' ').next().and_then(|n| n.parse::<usize>().ok());
            let parts: Vec<&str> = said.split(word).collect();
            parts[..parts.len() - 1].iter().filter_map(|p| number(p)).sum()
        };
        let harmful = (0..proof.mistakes.len()).filter(|m| proof.class(*m).is_harmful()).count();
        assert_eq!(sum(" caught") + sum(" do harm"), harmful, "{said}");
        assert_eq!(sum(" do harm"), proof.escapes().len(), "{said}");
        assert_eq!(said.contains("STOP"), !proof.escapes().is_empty());
        // What arrives at a stage is what the one before let through.
        let mut left = harmful;
        for stage in said.split(" At ").skip(1) {
            let numbers: Vec<usize> = stage
                .split(": ")
                .nth(1)
                .unwrap()
                .split(", ")
                .filter_map(|part| part.split(' ').next()?.parse().ok())
                .collect();
            let [arrive, _, caught, harm] = numbers[..] else { panic!("{stage}") };
            assert_eq!(arrive, left, "{stage}");
            left -= caught + harm;
        }
    }
}
