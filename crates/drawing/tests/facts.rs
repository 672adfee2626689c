//! What the drawings say is what is so: ways in their order, probes where they belong, potentials as solved.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{JOBS, drawings, job, number, of_class, parsed, texts};
use voltwright_drawing::Drawing;
use voltwright_drawing::face::{Probes, Side, choosing, choosing_socket, choosing_terminals, face};
use voltwright_drawing::probes::probes;
use voltwright_drawing::tank::tanks;
use voltwright_drawing::timeline::timeline;
use voltwright_job::{Job, Terminal};
use voltwright_model::Solved;
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

/// A finger is 44 px wide, WCAG 2.2 "Target Size (Enhanced)". Each way has a target around its number, and no two share ground.
#[test]
fn a_finger_hits_every_way_and_no_other() {
    for file in JOBS {
        let job = job(file);
        for (p, plug) in job.plugs.iter().enumerate() {
            for side in [Side::Mating, Side::Wires] {
                let drawing = choosing(&job, p, side, "c");
                let document = parsed(&drawing.svg);
                let targets = of_class(&document, "d-target");
                assert_eq!(targets.len(), plug.ways, "{file}: {}", plug.key);
                let rect = |n: &roxmltree::Node<'_, '_>| ["x", "y", "width", "height"].map(|a| number(*n, a));
                for (i, target) in targets.iter().enumerate() {
                    let [x, y, w, h] = rect(target);
                    assert!(w >= 44.0 && h >= 44.0, "{file}: {w} x {h}");
                    let way = target.attribute("data-terminal").unwrap().rsplit('.').next().unwrap();
                    let label = target.attribute("data-label").unwrap();
                    assert!(label.starts_with(&format!("way {way} of {}, ", plug.key)), "{label}");
                    let is_in =
                        |at: &(String, f64, f64)| x < at.1 && at.1 < x + w && y < at.2 && at.2 < y + h;
                    let numbers: Vec<String> = texts(&document)
                        .into_iter()
                        .filter(is_in)
                        .map(|(t, ..)| t)
                        .filter(|t| t == way)
                        .collect();
                    assert_eq!(numbers.len(), 1, "{file}: {label}");
                    for other in &targets[i + 1..] {
                        let [left, top, wide, high] = rect(other);
                        let apart = x + w <= left || left + wide <= x || y + h <= top || top + high <= y;
                        assert!(apart, "{file}: {label}");
                    }
                }
            }
        }
    }
}

/// Where ways are chosen nothing is wider than a phone, and sockets of loads are there like plugs.
#[test]
fn whatever_is_chosen_on_fits_a_phone() {
    for file in JOBS {
        let job = job(file);
        let of_plugs = (0..job.plugs.len()).map(|p| choosing(&job, p, Side::Mating, "c"));
        let sockets = (0..job.loads.len()).flat_map(|l| (0..job.loads[l].sockets.len()).map(move |s| (l, s)));
        let of_sockets = sockets.map(|(l, s)| {
            let drawing = choosing_socket(&job, l, s, "c");
            let count = of_class(&parsed(&drawing.svg), "d-target").len();
            assert_eq!(count, job.loads[l].sockets[s].ways.len(), "{file}");
            drawing
        });
        for drawing in of_plugs.chain(of_sockets) {
            let document = parsed(&drawing.svg);
            let wide = number(document.root_element(), "width");
            assert!(wide <= 358.0, "{file}: {wide}");
            for target in of_class(&document, "d-target") {
                let (left, right) = (number(target, "x"), number(target, "x") + number(target, "width"));
                assert!(left >= 0.0 && right <= wide && right - left >= 44.0, "{file}: {left} to {right}");
            }
        }
    }
    let rack = job(JOBS[5]);
    let bus = rack.loads.iter().position(|l| !l.sockets.is_empty() && l.key.text == "bus").unwrap();
    assert!(choosing_socket(&rack, bus, 1, "c").svg.contains(r#"data-terminal="bus.s1.1""#));
}

#[test]
fn nothing_is_chosen_where_one_only_looks() {
    let desk = job(JOBS[0]);
    assert!(!face(&desk, 0, Side::Mating, Probes::default(), "f").svg.contains("data-terminal"));
    let rack = job(JOBS[5]);
    let lead = rack.plug("lead").unwrap();
    let said = choosing(&rack, lead, Side::Wires, "c").svg;
    assert!(said.contains(r#"data-terminal="lead.7" data-label="way 7 of lead, OG""#), "{said}");
    let supply = choosing_terminals(&rack, rack.part("supply").unwrap(), "s").svg;
    assert!(
        supply.contains(r#"data-terminal="supply.v3.minus" data-label="v3.minus of supply, 2 × BK""#),
        "{supply}"
    );
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
