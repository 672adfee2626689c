//! Letters measured as they stand in the finished drawing, of every example and every job of the suite.

use super::chart::Laid;
use super::elevation;
use super::path::Bundle;
use super::potential::Potential;
use super::strands::Strand;
use super::tags::Kind;
use crate::lettering::width as wide;
use crate::numbers;
use crate::{STYLE, Width};
use roxmltree::{Document, Node};
use std::path::{Path, PathBuf};
use voltwright_job::{Job, Terminal};
use voltwright_model::{Solved, stage};
use voltwright_proof::reading::Function;
use voltwright_quantity::Quantity;
use voltwright_rules::Finding;

/// Left, top, right, bottom.
type Rect = [f64; 4];

/// All job files of a folder and those below it, in the order of their names.
fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|e| e == "toml") {
            found.push(path);
        }
    }
}

/// Every job that can be read, with its findings.
fn every_job(mut check: impl FnMut(&str, &Job, &[Finding])) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut all = Vec::new();
    for folder in ["examples", "suite", "crates/drawing/tests/jobs"] {
        files(&root.join(folder), &mut all);
    }
    let mut wired = 0;
    for file in &all {
        let reading = voltwright_job::read(&std::fs::read_to_string(file).unwrap());
        if reading.is_usable() {
            wired += usize::from(!reading.job.wires.is_empty());
            let findings = voltwright_rules::findings(&reading.job).findings;
            check(&file.display().to_string(), &reading.job, &findings);
        }
    }
    assert!(wired >= 10, "{wired} jobs with wires");
}

/// Every drawing of every job that can be read: both widths, before anything is plugged in, and with the fuse out.
fn every(mut check: impl FnMut(&str, &str, &Job)) {
    every_job(|name, job, findings| {
        let (solved, mut early) = (Solved::new(job), Solved::new(job));
        early.stage = stage::stages(job).swap_remove(0);
        let open: Vec<usize> = job.part("fuse").into_iter().collect();
        for width in [Width::Phone, Width::Desk] {
            let kinds =
                [("whole", &solved, &[][..]), ("early", &early, &[][..]), ("open", &solved, open.as_slice())];
            for (kind, solved, open) in kinds {
                let name = format!("{name} {width:?} {kind}");
                check(&name, &elevation(solved, open, findings, width, "e").svg, job);
            }
        }
    });
}

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).and_then(|a| a.parse().ok()).unwrap_or_else(|| panic!("{name} of {node:?}"))
}

fn classes<'a>(node: Node<'a, '_>) -> Vec<&'a str> {
    node.attribute("class").unwrap_or_default().split(' ').collect()
}

/// The size that the style sheet gives to letters.
fn size(node: Node<'_, '_>) -> f64 {
    let of = |class: &str| {
        let rules = STYLE.split('}').filter(|rule| rule.contains(&format!(".{class} {{")));
        let mut sizes = rules.filter_map(|r| r.split("font-size: ").nth(1)?.split("px").next()?.parse().ok());
        sizes.next_back()
    };
    classes(node).into_iter().filter_map(of).fold(0.0, f64::max)
}

/// All letters with their boxes, as wide as they are taken for, from the top of a capital to the foot of a comma.
fn letters<'a>(document: &'a Document<'_>) -> Vec<(Node<'a, 'a>, &'a str, Rect)> {
    let one = |node: Node<'a, 'a>| {
        let (text, size) = (node.text().unwrap_or_default(), size(node));
        let (x, y, w) = (number(node, "x"), number(node, "y"), wide(text, size));
        let left = match node.attribute("text-anchor") {
            Some("middle") => x - w / 2.0,
            Some("end") => x - w,
            _ => x,
        };
        (node, text, [left, y - 0.75 * size, left + w, y + 0.15 * size])
    };
    document.descendants().filter(|n| n.has_tag_name("text")).map(one).collect()
}

/// All conductors: their corners and half their width.
fn conductors(document: &Document<'_>) -> Vec<(Vec<(f64, f64)>, f64)> {
    let half = |node: Node<'_, '_>| match classes(node)[..] {
        ["d-wire-under"] => {
            Some(node.attribute("stroke-width").map_or(2.25, |w| w.parse::<f64>().unwrap() / 2.0))
        }
        ["d-line"] => Some(0.75),
        ["d-dash"] => Some(0.4),
        _ => None,
    };
    let spots = |d: &str| -> Vec<(f64, f64)> {
        let one = |p: &str| p.split_once(' ').map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()));
        d.split(['M', 'L']).filter_map(one).collect()
    };
    let paths = document.descendants().filter(|n| n.has_tag_name("path"));
    paths.filter_map(|n| Some((spots(n.attribute("d")?), half(n)?))).collect()
}

/// The least distance from a line to a box, looked at every half px.
fn distance(corners: &[(f64, f64)], [left, top, right, bottom]: Rect) -> f64 {
    let mut least = f64::INFINITY;
    for pair in corners.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let steps = ((b.0 - a.0).hypot(b.1 - a.1) * 2.0).ceil().max(1.0) as usize;
        for i in 0..=steps {
            let share = i as f64 / steps as f64;
            let (x, y) = (a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1));
            let (dx, dy) = ((left - x).max(x - right).max(0.0), (top - y).max(y - bottom).max(0.0));
            least = least.min(dx.hypot(dy));
        }
    }
    least
}

#[test]
fn letters_lie_on_nothing_but_their_own_conductor() {
    every(|name, svg, _| {
        let document = Document::parse(svg).unwrap();
        let (letters, conductors) = (letters(&document), conductors(&document));
        for (i, (node, text, rect)) in letters.iter().enumerate() {
            for (_, other, b) in &letters[i + 1..] {
                let apart = rect[2] <= b[0] || b[2] <= rect[0] || rect[3] <= b[1] || b[3] <= rect[1];
                assert!(apart, "{name}: {text:?} and {other:?} lie on each other: {rect:?} {b:?}");
            }
            let on: Vec<_> =
                conductors.iter().filter(|(spots, half)| distance(spots, *rect) < *half).collect();
            assert!(on.len() <= 1, "{name}: {text:?} at {rect:?} lies on {} conductors", on.len());
            let middle = ((rect[0] + rect[2]) / 2.0, (rect[1] + rect[3]) / 2.0);
            for (spots, _) in on {
                assert!(classes(*node)[0] == "d-code", "{name}: {text:?} lies on a conductor");
                let off = distance(spots, [middle.0, middle.1, middle.0, middle.1]);
                assert!(off < 2.0, "{name}: {text:?} at {rect:?} lies on a conductor that is not its own");
            }
        }
    });
}

#[test]
fn letters_lie_on_no_joint() {
    every(|name, svg, _| {
        let document = Document::parse(svg).unwrap();
        let is_dot = |n: &Node<'_, '_>| n.has_tag_name("circle") && !classes(*n).contains(&"d-ground");
        let dots: Vec<_> = document.descendants().filter(is_dot).collect();
        for (_, text, rect) in letters(&document) {
            for dot in &dots {
                let at = (number(*dot, "cx"), number(*dot, "cy"));
                let off = distance(&[at, at], rect);
                assert!(
                    off >= number(*dot, "r") - 0.5,
                    "{name}: {text:?} at {rect:?} lies on a joint at {at:?}"
                );
            }
        }
    });
}

/// Whatever is to be written has found a place: volts, letters, flags.
#[test]
fn nothing_is_left_out() {
    every_job(|name, job, findings| {
        let (solved, mut early) = (Solved::new(job), Solved::new(job));
        early.stage = stage::stages(job).swap_remove(0);
        for (solved, width) in
            [&solved, &early].into_iter().flat_map(|s| [(s, Width::Phone), (s, Width::Desk)])
        {
            let laid = Laid::of(solved, &[], findings, width);
            assert_eq!(laid.tags.missing, 0, "{name} {width:?}");
            let flags = laid.tags.tags.iter().filter(|t| t.kind == Kind::Flag).count();
            assert_eq!(flags, laid.chart.hung(&laid.strands).len(), "{name} {width:?}");
            let volts = laid.tags.tags.iter().filter(|t| matches!(t.kind, Kind::Value { .. })).count();
            assert_eq!(volts, laid.chart.shown().len(), "{name} {width:?}");
        }
    });
}

/// As many letters as there are bundles with a colour, each with all their colours, and a dot at each end.
#[test]
fn every_bundle_has_its_letters_and_its_dots() {
    every(|name, svg, job| {
        let document = Document::parse(svg).unwrap();
        let is_on_paper =
            |n: &Node<'_, '_>| n.prev_siblings().nth(1).is_some_and(|p| classes(p) == ["d-ground"]);
        let labels: Vec<&str> = letters(&document)
            .into_iter()
            .filter(|(n, ..)| is_on_paper(n))
            .map(|(_, text, _)| text)
            .collect();
        let conductors = conductors(&document);
        let plain = job.wires.iter().filter(|w| w.colour.is_none()).count();
        assert!(labels.len() <= conductors.len(), "{name}: {labels:?}");
        assert!(
            labels.len() + plain >= conductors.len(),
            "{name}: {} conductors, {labels:?}",
            conductors.len()
        );
        for colour in job.wires.iter().filter_map(|w| w.colour.as_ref()) {
            assert!(labels.iter().any(|l| l.contains(&colour.text)), "{name}: {} in {labels:?}", colour.text);
        }
        let is_dot = |n: &Node<'_, '_>| n.has_tag_name("circle") && classes(*n) == ["d-dot"];
        let dots: Vec<_> =
            document.descendants().filter(is_dot).map(|n| (number(n, "cx"), number(n, "cy"))).collect();
        for (spots, _) in conductors {
            for end in [spots.first(), spots.last()].into_iter().flatten() {
                let is_here = |(x, y): &(f64, f64)| (x - end.0).abs() < 0.1 && (y - end.1).abs() < 0.1;
                assert!(dots.iter().any(is_here), "{name}: no dot at {end:?}");
            }
        }
    });
}

/// A level stretch of a conductor: its height, and its potential to the digits that are shown.
struct Level {
    y: f64,
    volts: f64,
    wires: String,
}

/// The level stretches of a drawing at low voltage, from their strands as laid.
fn levels(laid: &Laid<'_>) -> Vec<Level> {
    let one = |(bundle, strand): (&Bundle, &Strand)| {
        let [Potential::Volts(a), Potential::Volts(b)] = bundle.ends.map(|(_, p)| p) else { return None };
        // What leads from one level to quite another, or from a thing to itself, is not level.
        let is_level =
            bundle.ends[0].0 != bundle.ends[1].0 && (a - b).abs() < (0.05 * a.abs().max(b.abs())).max(0.05);
        let wires = format!("{:?} {}", bundle.wires, bundle.letters());
        is_level.then(|| Level {
            y: f64::midpoint(strand[1].1, strand[2].1),
            volts: f64::midpoint(a, b),
            wires,
        })
    };
    laid.chart.bundles.iter().zip(&laid.strands).filter_map(one).collect()
}

/// Height is volts, without exception: between any two stretches, and against every rail's band.
fn is_in_order(name: &str, laid: &Laid<'_>, job: &Job) -> usize {
    let levels = levels(laid);
    let shown = |v: f64| numbers::value(Function::Volts, v);
    for (i, a) in levels.iter().enumerate() {
        for b in &levels[i + 1..] {
            let (high, low) = if a.volts > b.volts { (a, b) } else { (b, a) };
            let is_right = high.y <= low.y + 0.2 || shown(high.volts) == shown(low.volts);
            assert!(
                is_right,
                "{name}: {} at {} V lies under {} at {} V: {} {}",
                high.wires, high.volts, low.wires, low.volts, high.y, low.y
            );
        }
        for rail in &job.rails {
            let Some(t) = &rail.tolerance else { continue };
            let (low, high) = (t.low.si(), t.high.si());
            let (top, bottom) = (laid.chart.heights.at(high), laid.chart.heights.at(low));
            let (is_meant, is_in) = (low <= a.volts && a.volts <= high, top < a.y && a.y < bottom);
            assert!(
                is_meant == is_in || is_meant && (a.y - top).abs().min((a.y - bottom).abs()) < 0.2,
                "{name}: {} at {} V lies at {} and the band of {} from {top} to {bottom}",
                a.wires,
                a.volts,
                a.y,
                rail.name.text
            );
        }
    }
    levels.len()
}

#[test]
fn height_is_volts_without_exception() {
    let mut seen = 0;
    every_job(|name, job, findings| {
        let solved = Solved::new(job);
        for width in [Width::Phone, Width::Desk] {
            seen += is_in_order(name, &Laid::of(&solved, &[], findings, width), job);
        }
    });
    assert!(seen > 200, "{seen} level stretches");
}

/// Each example with its wires moved one at a time, from the way that they end at to the next one of the plug.
#[test]
fn a_wire_moved_to_another_rail_is_seen_at_once() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut all = Vec::new();
    files(&root.join("examples"), &mut all);
    all.retain(|file| file.ends_with("finished.toml"));
    let (mut moved, mut climbed) = (0, 0);
    for file in &all {
        let text = std::fs::read_to_string(file).unwrap();
        let job = voltwright_job::read(&text).job;
        for (w, wire) in job.wires.iter().enumerate() {
            let Terminal::Plug(p, way) = wire.to else { continue };
            let plug = &job.plugs[p];
            let to = format!("{}.{}", plug.key.text, (way + 1) % plug.ways + 1);
            let span = wire.to_text.span.clone();
            let wrong = format!("{}{to:?}{}", &text[..span.start], &text[span.end..]);
            let reading = voltwright_job::read(&wrong);
            // A rail that nobody feeds any more is an error; its job is drawn all the same.
            assert_eq!(reading.job.wires[w].to_text.text, to);
            let solved = Solved::new(&reading.job);
            let name = format!("{} with wire {} to {to}", file.display(), w + 1);
            let laid = Laid::of(&solved, &[], &[], Width::Desk);
            is_in_order(&name, &laid, &reading.job);
            moved += 1;
            // A rail that is outside its tolerance is drawn outside of its band.
            for landing in laid.chart.landings.iter().filter(|l| l.is_wrong()) {
                let rail = reading.job.rails[landing.rail].tolerance.as_ref().unwrap();
                // What a load sees counts from its own 0 V, heights from that of the supply.
                if rail.low.si() <= landing.volts && landing.volts <= rail.high.si() {
                    continue;
                }
                let y = laid.chart.arrival(landing).1;
                let (top, bottom) =
                    (laid.chart.heights.at(rail.high.si()), laid.chart.heights.at(rail.low.si()));
                assert!(y < top || bottom < y, "{name}: {y} in {top} to {bottom}");
                climbed += 1;
            }
        }
    }
    assert!(moved > 30 && climbed > 30, "{moved} moved, {climbed} climbed");
}

/// However narrow, a bundle tells how many wires it has.
#[test]
fn no_bundle_loses_its_count() {
    every_job(|name, job, findings| {
        let solved = Solved::new(job);
        for width in [Width::Phone, Width::Desk] {
            let laid = Laid::of(&solved, &[], findings, width);
            let plain = |text: String| text.replace(' ', "");
            let codes = laid.tags.tags.iter().filter(|t| t.kind == Kind::Code);
            let mut written: Vec<String> = codes.map(|t| plain(t.text.clone())).collect();
            let mut wanted: Vec<String> =
                laid.chart.bundles.iter().map(|b| plain(b.letters())).filter(|l| !l.is_empty()).collect();
            written.sort();
            wanted.sort();
            assert_eq!(written, wanted, "{name} {width:?}");
        }
    });
}
