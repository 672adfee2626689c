//! A plug as one sees it at the bench: its ways in their rows with numbers and wires, and where the probes go.
//!
//! A socket's ways are entered with way 1 first, seen from its mating face. Who looks at the plug's wires looks the same way, so
//! way 1 is at the left on the wire side; the plug's mating face is the mirror image.

use crate::canvas::{Anchor, Canvas, Path, Spot};
use crate::colours::{self, Coat};
use crate::lettering::cut;
use crate::probes::{Mark, probe};
pub use crate::strip::{chassis, choosing_socket, choosing_terminals, socket, terminals};
use crate::{Drawing, PHONE};
use voltwright_job::{Job, Terminal, nets};
use voltwright_proof::harness::{Harness, Thing};

/// From where a plug is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Into the contacts.
    Mating,
    /// From where the wires go in.
    Wires,
}

impl Side {
    /// Its name under the drawing.
    pub fn words(self) -> &'static str {
        match self {
            Side::Mating => "mating face",
            Side::Wires => "wire side",
        }
    }
}

/// Where the probes are: ways of a plug, terminals of a part, ways of a socket, each from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Probes {
    /// The red probe.
    pub red: Option<usize>,
    /// The black probe.
    pub black: Option<usize>,
    /// The lead that is opened to put an ammeter into it.
    pub lead: Option<usize>,
}

impl Probes {
    /// What marks a way or terminal.
    pub(crate) fn on(self, at: usize) -> Option<Mark> {
        [(self.red, Mark::Red), (self.black, Mark::Black), (self.lead, Mark::Lead)]
            .into_iter()
            .find(|(here, _)| *here == Some(at))
            .map(|(_, mark)| mark)
    }
}

/// Ways that stand side by side, and where ways are chosen: as many fingers as a phone is wide. A longer row goes on below.
const MOST: (usize, usize) = (12, 6);
/// From one way to the next, at most; at least that of so many ways across a phone.
const PITCH: (f64, f64) = (25.5, 40.0);
/// The same where ways are chosen: a finger's width.
const CHOOSING: f64 = 47.0;
/// The width of so many ways, with the triangle at both sides.
const HALF: f64 = 318.0;
/// Size of a hole, and where ways are chosen.
const RADIUS: (f64, f64) = (9.0, 12.0);
/// From the body's edge to the middle of a hole, and to the end of its cell without letters.
const HOLE: f64 = 21.0;
const NUMBER: f64 = 24.0;
const CODE: f64 = 13.0;
/// Room for a probe above or below.
const REACH: f64 = 46.0;
const EDGE: f64 = 12.0;
/// Room for the triangle beside way 1, at both sides.
const FIRST: f64 = 14.0;

/// The face of a plug, seen from a side, with the probes that are on it.
pub fn face(job: &Job, plug: usize, side: Side, probes: Probes, id_prefix: &str) -> Drawing {
    Face::of(job, plug, side, probes, false).draw(id_prefix)
}

/// The same to choose ways on: each has a target that a finger hits.
pub fn choosing(job: &Job, plug: usize, side: Side, id_prefix: &str) -> Drawing {
    Face::of(job, plug, side, Probes::default(), true).draw(id_prefix)
}

/// A plug with what is at its ways.
struct Face<'j> {
    job: &'j Job,
    plug: usize,
    side: Side,
    probes: Probes,
    /// Whether ways are chosen on it.
    is_chosen_on: bool,
    /// Ways in a row.
    row: usize,
    wires: Vec<Vec<Coat>>,
}

/// Columns that stand side by side: a piece of the rows.
struct Band {
    /// Columns from left to right, each with its ways from top to bottom.
    columns: Vec<Vec<usize>>,
    /// Whether the rows go on at the left and at the right.
    goes_on: (bool, bool),
}

impl<'j> Face<'j> {
    fn of(job: &'j Job, plug: usize, side: Side, probes: Probes, is_chosen_on: bool) -> Self {
        let row = Harness::new(job).row(Thing::Plug(plug)).max(1);
        let wires = (0..job.plugs[plug].ways).map(|w| colours::at(job, Terminal::Plug(plug, w))).collect();
        Self { job, plug, side, probes, is_chosen_on, row, wires }
    }

    fn draw(&self, id_prefix: &str) -> Drawing {
        let title = format!("Plug {}, {}", self.name(), self.side.words());
        let text = self.text(&title);
        let mut canvas = Canvas::new();
        let mut y = 8.0;
        for band in self.bands() {
            y = self.band(&mut canvas, &band, y) + 10.0;
        }
        let height = self.caption(&mut canvas, y + 10.0);
        Drawing { svg: canvas.finish((self.width(), height), id_prefix, &title, &text), text }
    }

    /// Of the drawing: that of a phone, or half a page where ways are chosen, so that both views stand side by side.
    fn width(&self) -> f64 {
        if self.is_chosen_on { HALF } else { PHONE }
    }

    /// Ways that stand side by side at most.
    fn most(&self) -> usize {
        if self.is_chosen_on { MOST.1 } else { MOST.0 }
    }

    /// From one way to the next.
    fn pitch(&self, columns: usize) -> f64 {
        match self.is_chosen_on {
            true => CHOOSING,
            false => ((PHONE - 2.0 * (EDGE + FIRST)) / columns.max(1) as f64).clamp(PITCH.0, PITCH.1),
        }
    }

    fn radius(&self) -> f64 {
        if self.is_chosen_on { RADIUS.1 } else { RADIUS.0 }
    }

    fn name(&self) -> &str {
        &self.job.plugs[self.plug].key.text
    }

    /// Columns from left to right as they are seen.
    fn columns(&self) -> Vec<Vec<usize>> {
        let ways = self.wires.len();
        let mut columns: Vec<Vec<usize>> =
            (0..self.row.min(ways)).map(|c| (c..ways).step_by(self.row).collect()).collect();
        if self.side == Side::Mating {
            columns.reverse();
        }
        columns
    }

    fn bands(&self) -> Vec<Band> {
        let columns = self.columns();
        let count = columns.len().div_ceil(self.most()).max(1);
        let each = columns.len().div_ceil(count).max(1);
        let chunks: Vec<&[Vec<usize>]> = columns.chunks(each).collect();
        let band = |(i, chunk): (usize, &&[Vec<usize>])| Band {
            columns: chunk.to_vec(),
            goes_on: (i > 0, i + 1 < chunks.len()),
        };
        chunks.iter().enumerate().map(band).collect()
    }

    /// Draws a band from `top` and gives where it ends.
    fn band(&self, canvas: &mut Canvas, band: &Band, top: f64) -> f64 {
        let rows = band.columns.iter().map(Vec::len).max().unwrap_or(1);
        let is_probed = |row: usize| {
            band.columns.iter().filter_map(|c| c.get(row)).any(|way| self.probes.on(*way).is_some())
        };
        let body = top + if is_probed(0) { REACH } else { 0.0 };
        let cell =
            HOLE + NUMBER + CODE * self.code_lines(band) as f64 + if self.is_chosen_on { 8.0 } else { 2.0 };
        let height = cell * rows as f64 + if rows == 1 { 4.0 } else { 0.0 };
        let pitch = self.pitch(band.columns.len());
        let width = pitch * band.columns.len() as f64 + 12.0;
        let left = (self.width() - width) / 2.0;
        Self::body(canvas, band, (left, body), (width, height));
        for (c, column) in band.columns.iter().enumerate() {
            let x = left + 6.0 + pitch * (c as f64 + 0.5);
            for (row, way) in column.iter().enumerate() {
                // The lower row of two is the upper one's mirror image: letters inside, holes at the edges.
                let (edge, sign) = if row == 0 { (body, 1.0) } else { (body + height, -1.0) };
                self.way(canvas, *way, (x, edge), sign);
                if self.is_chosen_on {
                    let top = if sign > 0.0 { edge } else { edge - cell };
                    // Outlines side by side do not touch.
                    self.target(canvas, *way, (x - pitch / 2.0 + 1.0, top + 1.0), (pitch - 2.0, cell - 2.0));
                }
            }
        }
        self.first(canvas, band, (left, body), (width, height));
        body + height + if rows > 1 && is_probed(1) { REACH } else { 0.0 }
    }

    /// Lines that the letters of wires take, at most three.
    fn code_lines(&self, band: &Band) -> usize {
        let ways = band.columns.iter().flatten();
        ways.map(|w| self.letters(*w).len()).max().unwrap_or(1).max(1)
    }

    /// The letters of a way's wires, in lines.
    fn letters(&self, way: usize) -> Vec<String> {
        let groups = colours::grouped(&self.wires[way]);
        let mut lines = Vec::new();
        for (i, (coat, n)) in groups.iter().enumerate() {
            let mut own = coat.lines();
            if i > 0 {
                lines.push("+".to_owned());
            }
            if *n > 1 {
                own.push(format!("×{n}"));
            }
            lines.extend(own);
        }
        if lines.is_empty() && self.wires[way].is_empty() {
            lines.push("–".into());
        }
        lines
    }

    /// The outline, open where the rows go on. Where a key sits is not entered, so none is drawn.
    fn body(canvas: &mut Canvas, band: &Band, (x, y): Spot, (w, h): Spot) {
        canvas.rect("d-band", (x, y), (w, h), 5.0);
        let outline = Path::at((x, y)).to((x + w, y)).jump((x, y + h)).to((x + w, y + h));
        canvas.path("d-line", &outline);
        for (goes_on, x) in [(band.goes_on.0, x), (band.goes_on.1, x + w)] {
            let class = if goes_on { "d-dash" } else { "d-line" };
            canvas.line(class, (x, y), (x, y + h));
        }
    }

    /// A way: its hole, its number, the letters of its wires, the probe on it. `sign` is 1 where letters go down.
    fn way(&self, canvas: &mut Canvas, way: usize, (x, edge): Spot, sign: f64) {
        let y = edge + sign * HOLE;
        self.hole(canvas, way, (x, y));
        // Base lines lie under the letters, whichever way they go.
        let base = |distance: f64| y + sign * distance + if sign > 0.0 { 0.0 } else { 8.5 };
        canvas.text("d-strong", (x, base(NUMBER)), Anchor::Middle, &(way + 1).to_string());
        let lines = self.letters(way);
        let count = lines.len();
        for (i, line) in lines.iter().enumerate() {
            let place = if sign > 0.0 { i } else { count - 1 - i };
            let at = (x, base(NUMBER + CODE * (place + 1) as f64));
            canvas.text("d-code", at, Anchor::Middle, line);
        }
        if let Some(mark) = self.probes.on(way) {
            probe(canvas, mark, (x, edge - sign * (REACH - 12.0)), (x, y - sign * (self.radius() + 1.0)));
        }
    }

    /// Where the way is chosen, with its wires in letters.
    fn target(&self, canvas: &mut Canvas, way: usize, corner: Spot, size: Spot) {
        let name = nets::name(self.job, Terminal::Plug(self.plug, way));
        let label = format!("way {} of {}, {}", way + 1, self.name(), colours::letters(&self.wires[way]));
        canvas.target((&name, &label), corner, size);
    }

    fn hole(&self, canvas: &mut Canvas, way: usize, at: Spot) {
        let wires = &self.wires[way];
        let paints: Vec<&str> = colours::grouped(wires).iter().flat_map(|(c, _)| c.paints.clone()).collect();
        match (wires.is_empty(), self.side) {
            (true, _) => {
                canvas.circle("d-hole", at, self.radius());
                canvas.line("d-line", (at.0 - 4.0, at.1), (at.0 + 4.0, at.1));
            }
            (false, Side::Wires) => colours::disc(canvas, at, self.radius(), &paints),
            (false, Side::Mating) => {
                canvas.circle("d-hole", at, self.radius());
                colours::disc(canvas, at, self.radius() - 4.0, &paints);
            }
        }
    }

    /// The triangle beside way 1.
    fn first(&self, canvas: &mut Canvas, band: &Band, (x, y): Spot, (w, _): Spot) {
        let is_first = |column: Option<&Vec<usize>>| column.is_some_and(|c| c.first() == Some(&0));
        let y = y + HOLE;
        let (tip, back) = match self.side {
            Side::Wires if is_first(band.columns.first()) => (x - 3.0, x - 11.0),
            Side::Mating if is_first(band.columns.last()) => (x + w + 3.0, x + w + 11.0),
            _ => return,
        };
        canvas.path("d-mark", &Path::through(&[(tip, y), (back, y - 5.0), (back, y + 5.0)]).close());
    }

    fn caption(&self, canvas: &mut Canvas, y: f64) -> f64 {
        let room = self.width() - 2.0 * EDGE;
        let head = format!("{} · {}", self.name(), self.side.words());
        canvas.text("d-strong", (self.width() / 2.0, y), Anchor::Middle, &cut(&head, 13.0, room));
        let into = self.into().map_or(String::new(), |load| format!("into {load} · "));
        let end = match self.side {
            Side::Wires => "way 1 at the left",
            Side::Mating => "way 1 at the right",
        };
        let line = cut(&format!("{into}{end}"), 11.0, room);
        canvas.text("d-small", (self.width() / 2.0, y + 16.0), Anchor::Middle, &line);
        let mut bottom = y + 16.0;
        for note in self.notes() {
            bottom += 15.0;
            canvas.text("d-small", (self.width() / 2.0, bottom), Anchor::Middle, note);
        }
        bottom + 8.0
    }

    fn into(&self) -> Option<&str> {
        self.job.plugs[self.plug].mates.map(|(l, _)| self.job.loads[l].name.as_str())
    }

    /// What must be known to read the drawing aright.
    fn notes(&self) -> Vec<&'static str> {
        let is_plain = |wires: &Vec<Coat>| wires.iter().any(|c| c.code.is_none());
        let notes = [
            (self.job.plugs[self.plug].keyed, "keyed, but the key is not drawn: go by way 1"),
            (self.wires.iter().any(is_plain), "a dot: a wire whose colour is not entered"),
            (self.columns().len() > self.most(), "the row goes on where its edge is dashed"),
        ];
        notes.into_iter().filter(|(holds, _)| *holds).map(|(_, note)| note).collect()
    }

    fn text(&self, title: &str) -> String {
        let into = self.into().map_or(String::new(), |load| format!(", into {load}"));
        let key = match self.job.plugs[self.plug].keyed {
            true => "Keyed; where the key sits is not entered",
            false => "Not keyed",
        };
        let columns = self.columns();
        let rows = columns.iter().map(Vec::len).max().unwrap_or(0);
        let mut text = format!("{title}{into}. {key}.");
        for row in 0..rows {
            let name = match (rows, row) {
                (1, _) => "From left to right",
                (_, 0) => "Upper row from left to right",
                _ => "Lower row from left to right",
            };
            let ways = columns.iter().filter_map(|c| c.get(row)).map(|w| self.way_words(*w));
            text.push_str(&format!(" {name}: {}.", ways.collect::<Vec<_>>().join("; ")));
        }
        for way in 0..self.wires.len() {
            if let Some(mark) = self.probes.on(way) {
                text.push_str(&format!(" {} on way {}.", mark.words(), way + 1));
            }
        }
        text
    }

    fn way_words(&self, way: usize) -> String {
        format!("way {} {}", way + 1, colours::words(&self.wires[way]))
    }
}
