//! Wires in their own colour, never without its letters.

use crate::canvas::{Canvas, Path, Spot};
use voltwright_job::{Job, Terminal, Wire};
use voltwright_tables::colours;

/// How each colour of IEC 60757 is painted; the tints are our own choice.
const PAINTS: [(&str, &str); 14] = [
    ("BK", "#1b1b1b"),
    ("BN", "#7b4a22"),
    ("RD", "#cf2a22"),
    ("OG", "#ee7d1a"),
    ("YE", "#f3cf12"),
    ("GN", "#2c8c43"),
    ("BU", "#2360b8"),
    ("VT", "#7d44a3"),
    ("GY", "#8f8f8f"),
    ("WH", "#ffffff"),
    ("PK", "#f19db8"),
    ("GD", "#c6a130"),
    ("TQ", "#25aaa5"),
    ("SR", "#c4c7ca"),
];

/// A wire's colour for the eye and in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Coat {
    /// Letters: `RD`, `GNYE`; nothing where no colour was entered.
    pub code: Option<String>,
    /// One paint, or several for stripes; nothing where the letters are unknown.
    pub paints: Vec<&'static str>,
}

impl Coat {
    /// Of a wire.
    pub fn of(wire: &Wire) -> Self {
        let code = wire.colour.as_ref().map(|c| c.text.clone());
        let paints = code.as_deref().map(paints).unwrap_or_default();
        Self { code, paints }
    }

    /// `RD (red)`, or that no colour is entered.
    pub fn words(&self) -> String {
        let Some(code) = &self.code else { return "colour not entered".into() };
        match colours::parse(code) {
            Some(all) => {
                format!("{code} ({})", all.iter().map(|c| c.name).collect::<Vec<_>>().join(" with "))
            }
            None => code.clone(),
        }
    }

    /// Letters in lines of two: `GNYE` stands on two lines, so that it is no wider than others.
    pub fn lines(&self) -> Vec<String> {
        let letters: Vec<char> = self.code.iter().flat_map(|c| c.chars()).collect();
        letters.chunks(2).map(|pair| pair.iter().collect()).collect()
    }
}

fn paints(code: &str) -> Vec<&'static str> {
    let one = |code: &str| PAINTS.iter().find(|(c, _)| *c == code).map(|(_, paint)| *paint);
    if code == "GNYE" {
        return [one("GN"), one("YE")].into_iter().flatten().collect();
    }
    colours::parse(code).unwrap_or_default().into_iter().filter_map(|c| one(c.code)).collect()
}

/// The wires at a terminal, in the job's order.
pub(crate) fn at(job: &Job, terminal: Terminal) -> Vec<Coat> {
    job.wires.iter().filter(|w| w.from == terminal || w.to == terminal).map(Coat::of).collect()
}

/// Wires with the same colour together, with their number, in the order in which they are met.
pub(crate) fn grouped(coats: &[Coat]) -> Vec<(Coat, usize)> {
    let mut groups: Vec<(Coat, usize)> = Vec::new();
    for coat in coats {
        match groups.iter_mut().find(|(known, _)| known == coat) {
            Some((_, n)) => *n += 1,
            None => groups.push((coat.clone(), 1)),
        }
    }
    groups
}

/// The wires of a terminal in words: `RD (red)`, `2 wires BK (black)`, `no wire`.
pub(crate) fn words(coats: &[Coat]) -> String {
    let groups = grouped(coats);
    let one = |(coat, n): &(Coat, usize)| match n {
        1 => format!("wire {}", coat.words()),
        n => format!("{n} wires {}", coat.words()),
    };
    match groups.is_empty() {
        true => "no wire".into(),
        false => groups.iter().map(one).collect::<Vec<_>>().join(" and "),
    }
}

/// The same in a few letters: `RD`, `2 × BK + RD`, `no wire`.
pub(crate) fn letters(coats: &[Coat]) -> String {
    let one = |(coat, n): &(Coat, usize)| {
        let code = coat.code.as_deref().unwrap_or("colour not entered");
        if *n > 1 { format!("{n} × {code}") } else { code.to_owned() }
    };
    match coats {
        [] => "no wire".into(),
        coats => grouped(coats).iter().map(one).collect::<Vec<_>>().join(" + "),
    }
}

/// The cut end of a wire: a disc in its colour, in upright stripes where it has several; a dot in a ring where it has none.
pub(crate) fn disc(canvas: &mut Canvas, (x, y): Spot, r: f64, paints: &[&str]) {
    let Some(first) = paints.first() else {
        canvas.circle("d-hole", (x, y), r);
        canvas.circle("d-mark", (x, y), r * 0.35);
        return;
    };
    canvas.filled("d-wire-edge", first, &Path::disc((x, y), r));
    let n = paints.len() as f64;
    for (i, paint) in paints.iter().enumerate().skip(1) {
        canvas.filled("", paint, &segment((x, y), r - 0.4, 2.0 * i as f64 / n - 1.0));
    }
}

/// The part of a disc right of an upright line at a share of its radius.
fn segment((x, y): Spot, r: f64, at: f64) -> Path {
    let (dx, dy) = (at * r, r * (1.0 - at * at).max(0.0).sqrt());
    Path::at((x + dx, y - dy)).arc(r, true, (x + r, y)).arc(r, true, (x + dx, y + dy)).close()
}

/// Width of a wire, and of the outline around it on both sides together.
const WIRE: f64 = 3.0;
const OUTLINE: f64 = 1.5;

/// Half the width of some wires side by side.
pub(crate) fn half(count: usize) -> f64 {
    (WIRE * count as f64 + OUTLINE) / 2.0
}

/// A wire along a way: its outline, its colour, and dashes of its second one.
pub(crate) fn run(canvas: &mut Canvas, spots: &[Spot], paints: &[&str]) {
    ribbon(canvas, spots, &[paints]);
}

/// Wires side by side along a way, in one outline.
pub(crate) fn ribbon<P: AsRef<[S]>, S: AsRef<str>>(canvas: &mut Canvas, spots: &[Spot], wires: &[P]) {
    if let [one] = wires
        && one.as_ref().is_empty()
    {
        return canvas.path("d-line", &Path::through(spots));
    }
    canvas.thick("d-wire-under", 2.0 * half(wires.len()), &Path::through(spots));
    for (i, paints) in wires.iter().enumerate() {
        let aside = WIRE * (i as f64 - (wires.len() as f64 - 1.0) / 2.0);
        let path = Path::through(&spots.iter().map(|(x, y)| (*x, y + aside)).collect::<Vec<Spot>>());
        if let Some(first) = paints.as_ref().first() {
            canvas.stroked("d-wire", first.as_ref(), &path);
        }
        if let Some(second) = paints.as_ref().get(1) {
            canvas.stroked("d-wire d-stripe", second.as_ref(), &path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_colour_has_a_paint() {
        for colour in &colours::COLOURS {
            let n = if colour.code == "GNYE" { 2 } else { 1 };
            assert_eq!(paints(colour.code).len(), n, "{}", colour.code);
        }
        assert_eq!(paints("WHBKRD").len(), 3);
        assert!(paints("nonsense").is_empty());
    }

    #[test]
    fn words_have_code_and_name() {
        let coat = |code: &str| Coat { code: Some(code.into()), paints: paints(code) };
        assert_eq!(
            words(&[coat("RD"), coat("RD"), coat("GNYE")]),
            "2 wires RD (red) and wire GNYE (green-yellow)"
        );
        assert_eq!(words(&[]), "no wire");
        assert_eq!(coat("RDBU").words(), "RDBU (red with blue)");
    }
}
