use super::*;
use voltwright_job::Terminal;

fn reading(function: Function, range: (f64, f64), window: (f64, f64)) -> Reading {
    let interval = |(low, high)| Interval { low, high };
    Reading {
        stage: 0,
        function,
        red: Terminal::Chassis,
        black: Terminal::Chassis,
        nodes: (0, 0),
        cost: 1,
        range: interval(range),
        window: interval(window),
    }
}

#[test]
fn every_verdict_is_a_word() {
    let volts = reading(Function::Volts, (4.9, 5.1), (4.85, 5.15));
    for (shown, says) in
        [(5.0, "inside"), (4.87, "measure again"), (4.0, "below"), (5.2, "above"), (230.0, "above")]
    {
        let drawing = dial(&volts, Some(shown), "a");
        assert!(drawing.text.contains(says) && drawing.svg.contains(says), "{shown}: {}", drawing.text);
    }
    assert!(dial(&volts, Some(230.0), "a").text.contains("beyond the scale"));
    assert!(dial(&volts, None, "a").text.contains("No value yet"));
}

#[test]
fn the_window_and_its_guards_are_told() {
    let drawing = dial(&reading(Function::Volts, (4.9, 5.1), (4.85, 5.15)), None, "a");
    assert!(drawing.text.contains("4.85 V to 5.15 V"), "{}", drawing.text);
    assert!(
        drawing.text.contains("From 4.85 V to 4.9 V only")
            && drawing.text.contains("From 5.1 V to 5.15 V only")
    );
    assert!(drawing.svg.contains("4.85\u{a0}V"), "a unit stays with its number");
    let open = dial(&reading(Function::Ohms, (1e9, 1e9), (2e7, f64::INFINITY)), Some(f64::INFINITY), "a");
    assert!(open.text.contains("must be open") && open.text.contains("inside"), "{}", open.text);
}

#[test]
fn whatever_is_read_the_drawing_is_well_formed() {
    let windows = [
        (Function::Ohms, (0.1, 0.4), (0.0, 0.9)),
        (Function::Ohms, (120.0, 140.0), (118.0, 143.0)),
        (Function::Ohms, (2e6, 1e9), (1.9e6, f64::INFINITY)),
        (Function::Volts, (-12.6, -11.4), (-12.7, -11.3)),
        (Function::Volts, (0.0, 0.0), (0.0, 0.0)),
        (Function::Amps, (0.2, 0.4), (0.17, 0.43)),
        (Function::Volts, (f64::INFINITY, f64::NEG_INFINITY), (f64::INFINITY, f64::NEG_INFINITY)),
    ];
    let shown = [None, Some(0.0), Some(-1e300), Some(1e300), Some(f64::INFINITY), Some(f64::NAN), Some(5e6)];
    for (function, range, window) in windows {
        for shown in shown {
            let drawing = dial(&reading(function, range, window), shown, "x");
            let document = roxmltree::Document::parse(&drawing.svg).unwrap();
            for attribute in document.descendants().flat_map(|n| n.attributes()) {
                let is_bad = attribute.value().contains("NaN") || attribute.value().contains("inf");
                assert!(!is_bad, "{function:?} {window:?} {shown:?}: {attribute:?}");
            }
        }
    }
}

/// Wherever it points, there is nothing of the needle where a number stands.
#[test]
fn the_needle_strikes_no_number() {
    let readings = [
        reading(Function::Ohms, (9.0, 11.0), (8.0, 12.0)),
        reading(Function::Ohms, (120.0, 140.0), (118.0, 143.0)),
        reading(Function::Volts, (4.9, 5.1), (4.85, 5.15)),
    ];
    let mut broken = 0;
    for (reading, i) in readings.iter().flat_map(|r| (0..200).map(move |i| (r, i))) {
        let shown =
            reading.window.low + (reading.window.high - reading.window.low) * (f64::from(i) / 25.0 - 3.0);
        let drawing = dial(reading, Some(shown), "n");
        let document = roxmltree::Document::parse(&drawing.svg).unwrap();
        let of =
            |class: &'static str| document.descendants().filter(move |n| n.attribute("class") == Some(class));
        let needle = of("d-heavy").next().unwrap().attribute("d").unwrap();
        let spot =
            |p: &str| p.split_once(' ').map(|(x, y)| (x.parse::<f64>().unwrap(), y.parse::<f64>().unwrap()));
        let lines: Vec<Vec<(f64, f64)>> =
            needle.split('M').skip(1).map(|line| line.split('L').filter_map(spot).collect()).collect();
        broken += usize::from(lines.len() > 1);
        for label in of("d-small d-halo") {
            let get = |name: &str| label.attribute(name).unwrap().parse::<f64>().unwrap();
            let wide = width(label.text().unwrap(), 11.0);
            let left = get("x")
                - match label.attribute("text-anchor") {
                    Some("middle") => wide / 2.0,
                    Some("end") => wide,
                    _ => 0.0,
                };
            for line in lines.iter().filter(|line| line.len() == 2) {
                for k in 0..=100 {
                    let at = |a: f64, b: f64| a + (b - a) * f64::from(k) / 100.0;
                    let (x, y) = (at(line[0].0, line[1].0), at(line[0].1, line[1].1));
                    let is_on = left < x && x < left + wide && get("y") - 8.0 < y && y < get("y");
                    assert!(!is_on, "{shown}: {:?}", label.text());
                }
            }
        }
    }
    assert!(broken > 10, "{broken} needles that would");
}
