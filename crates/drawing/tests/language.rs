//! The visual language holds for every drawing of every job.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use common::{JOBS, drawings, job, number, parsed, proved};
use roxmltree::{Document, Node};
use std::collections::BTreeSet;
use voltwright_drawing::{STYLE, standalone};

fn every(mut check: impl FnMut(&str, &voltwright_drawing::Drawing)) {
    for file in JOBS {
        let job = job(file);
        for (name, drawing) in drawings(&job).into_iter().chain(proved(&job)) {
            check(&format!("{file}: {name}"), &drawing);
        }
    }
}

#[test]
fn each_is_an_image_with_title_and_description_and_no_style_of_its_own() {
    every(|name, drawing| {
        let document = parsed(&drawing.svg);
        let root = document.root_element();
        assert_eq!(root.attribute("role"), Some("img"), "{name}");
        let ids: Vec<&str> = root.attribute("aria-labelledby").unwrap().split(' ').collect();
        let found = |id: &str, tag: &str| {
            document.descendants().filter(|n| n.attribute("id") == Some(id) && n.has_tag_name(tag)).count()
        };
        assert_eq!((found(ids[0], "title"), found(ids[1], "desc")), (1, 1), "{name}");
        let desc = document.descendants().find(|n| n.has_tag_name("desc")).unwrap();
        assert_eq!(desc.text().unwrap_or_default(), drawing.text, "{name}");
        for node in document.descendants().filter(Node::is_element) {
            let tag = node.tag_name().name();
            let known = ["svg", "title", "desc", "path", "line", "rect", "circle", "text"];
            assert!(known.contains(&tag), "{name}: <{tag}>");
            let is_bad = |a: &str| a == "style" || a.starts_with("on") || a == "href";
            assert!(!node.attributes().any(|a| is_bad(a.name())), "{name}: {node:?}");
        }
    });
}

#[test]
fn nobody_is_told_that_it_is_safe() {
    every(|name, drawing| assert!(!drawing.svg.to_lowercase().contains("safe"), "{name}: {}", drawing.text));
}

#[test]
fn every_class_is_in_the_style_sheet() {
    every(|name, drawing| {
        for node in parsed(&drawing.svg).descendants() {
            for class in node.attribute("class").unwrap_or_default().split(' ').filter(|c| !c.is_empty()) {
                let is_known = STYLE.contains(&format!(".{class} ")) || STYLE.contains(&format!(".{class},"));
                assert!(is_known, "{name}: {class}");
            }
        }
    });
}

/// The size that the style sheet gives a class of letters.
fn size(class: &str) -> Option<f64> {
    let rules = STYLE.split('}').filter(|rule| rule.contains(&format!(".{class} {{")));
    let mut sizes = rules.filter_map(|r| r.split("font-size: ").nth(1)?.split("px").next()?.parse().ok());
    sizes.next_back()
}

/// The largest size of a text's classes.
fn size_of(node: Node<'_, '_>) -> f64 {
    let classes = node.attribute("class").unwrap().split(' ').filter_map(size);
    classes.reduce(f64::max).unwrap_or_else(|| panic!("no size for {node:?}"))
}

#[test]
fn letters_are_large_enough_and_stay_on_the_drawing() {
    every(|name, drawing| {
        let document = parsed(&drawing.svg);
        let (width, height) =
            (number(document.root_element(), "width"), number(document.root_element(), "height"));
        // What is chosen on is shown as large as it is drawn, and fits a phone.
        let is_other = name.contains("elevation-desk") || name.contains("choosing") && width <= 358.0;
        assert!((width - 358.0).abs() < 1e-9 || is_other, "{name}: {width}");
        for text in document.descendants().filter(|n| n.has_tag_name("text")) {
            let size = size_of(text);
            assert!(size >= 11.0, "{name}: {text:?}");
            let [left, top, right, bottom] = place(text, size);
            let is_on = left >= -0.5 && top >= -0.5 && right <= width + 0.5 && bottom <= height + 0.5;
            assert!(is_on, "{name}: {:?} at {left} {top} {right} {bottom}", text.text());
        }
    });
}

/// The rectangle of a text, by a width for letters of its own: 0.56 of their size is the mean of a common sans-serif.
fn place(text: Node<'_, '_>, size: f64) -> [f64; 4] {
    let (x, y) = (number(text, "x"), number(text, "y"));
    let wide = 0.56 * size * text.text().unwrap_or_default().chars().count() as f64;
    let left = match text.attribute("text-anchor") {
        Some("middle") => x - wide / 2.0,
        Some("end") => x - wide,
        _ => x,
    };
    [left, y - 0.72 * size, left + wide, y]
}

#[test]
fn labels_do_not_lie_on_each_other() {
    every(|name, drawing| {
        let document: Document<'_> = parsed(&drawing.svg);
        let texts: Vec<Node<'_, '_>> = document.descendants().filter(|n| n.has_tag_name("text")).collect();
        let places: Vec<[f64; 4]> = texts.iter().map(|t| place(*t, size_of(*t))).collect();
        for (i, a) in places.iter().enumerate() {
            for (k, b) in places.iter().enumerate().skip(i + 1) {
                let apart =
                    a[2] <= b[0] + 1.0 || b[2] <= a[0] + 1.0 || a[3] <= b[1] + 1.0 || b[3] <= a[1] + 1.0;
                assert!(apart, "{name}: {:?} and {:?}", texts[i].text(), texts[k].text());
            }
        }
    });
}

#[test]
fn the_same_twice_is_the_same() {
    for file in [JOBS[0], JOBS[8]] {
        let job = job(file);
        assert_eq!(drawings(&job), drawings(&job), "{file}");
    }
}

#[test]
fn ids_come_from_the_prefix() {
    let job = job(JOBS[0]);
    let mut seen = BTreeSet::new();
    for (name, drawing) in drawings(&job) {
        for node in parsed(&drawing.svg).descendants().filter(|n| n.attribute("id").is_some()) {
            assert!(seen.insert(node.attribute("id").unwrap().to_owned()), "{name}");
        }
    }
}

#[test]
fn a_file_of_its_own_has_the_style_inside() {
    let job = job(JOBS[8]);
    for (name, drawing) in drawings(&job) {
        let file = standalone(&drawing);
        let document = parsed(&file);
        assert_eq!(document.descendants().filter(|n| n.has_tag_name("style")).count(), 1, "{name}");
    }
}

/// Relative luminance and contrast by WCAG 2.2, "contrast ratio"; letters need 4.5.
#[test]
fn letters_stand_out_from_the_ground_in_every_mode() {
    fn luminance(hex: &str) -> f64 {
        let hex: String =
            if hex.len() == 3 { hex.chars().flat_map(|c| [c, c]).collect() } else { hex.into() };
        let part = |i: usize| f64::from(u8::from_str_radix(&hex[i..i + 2], 16).unwrap()) / 255.0;
        let linear = |c: f64| if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) };
        0.2126 * linear(part(0)) + 0.7152 * linear(part(2)) + 0.0722 * linear(part(4))
    }
    let modes: Vec<&str> = STYLE.split("--d-ink: ").skip(1).collect();
    assert_eq!(modes.len(), 3, "light, dark, print");
    for mode in modes {
        let mode = format!("--d-ink: {}", mode.split('}').next().unwrap());
        let colour = |name: &str| {
            let after =
                mode.split(&format!("--d-{name}: #")).nth(1).unwrap_or_else(|| panic!("{name} in {mode}"));
            luminance(after.split(';').next().unwrap())
        };
        for letters in ["ink", "soft", "good", "stop", "edge"] {
            for ground in ["ground", "fill", "level"] {
                // On a level only plain letters stand.
                if ground == "level" && letters != "ink" {
                    continue;
                }
                let (a, b) = (colour(letters), colour(ground));
                let ratio = (a.max(b) + 0.05) / (a.min(b) + 0.05);
                assert!(ratio >= 4.5, "{letters} on {ground}: {ratio}");
            }
        }
    }
}

/// Pages draw at each keystroke: whatever is not there yet, nothing panics and all is well-formed.
#[test]
fn a_half_typed_job_is_drawn() {
    for file in [JOBS[0], JOBS[3], JOBS[8]] {
        let text = common::text(file);
        let ends = text.match_indices('\n').map(|(at, _)| at);
        for end in ends.step_by(3) {
            let job = voltwright_job::read(&text[..end]).job;
            drawings(&job).iter().for_each(|(_, drawing)| drop(parsed(&drawing.svg)));
        }
        // A wire list in which lines are missing: parts and plugs hang on nothing.
        for skipped in 2..6 {
            let thinned: String = text
                .lines()
                .enumerate()
                .filter(|(i, line)| !line.trim_start().starts_with("{ from") || i % skipped != 0)
                .flat_map(|(_, line)| [line, "\n"])
                .collect();
            let job = voltwright_job::read(&thinned).job;
            drawings(&job).iter().for_each(|(_, drawing)| drop(parsed(&drawing.svg)));
        }
    }
}
