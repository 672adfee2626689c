//! What stands around the chart: levels with their bands, the gate, the names of the things, notes.

use super::chart::{Chart, LEFT};
use super::landing::Landing;
use super::potential::Potential;
use super::room::Rect;
use crate::canvas::{Anchor, Canvas, Spot};
use crate::labels::Labels;
use crate::lettering::{cut, width as wide};
use crate::numbers;
use voltwright_proof::reading::Function;
use voltwright_quantity::Quantity;

/// Rails outside their tolerance that are told one by one.
const TOLD: usize = 5;

/// How much wider bold letters are than plain ones.
const BOLD: f64 = 1.15;

/// A level's name.
pub(super) struct LevelName {
    pub y: f64,
    pub is_small: bool,
    pub text: String,
}

impl Chart<'_> {
    /// 0 V as a line, the rails' tolerances as bands, their names at the left.
    pub fn levels(&self, canvas: &mut Canvas) {
        let (start, right) = (self.first_low(), self.width.px());
        let zero = self.heights.at(0.0);
        for tolerance in self.job.rails.iter().filter_map(|r| r.tolerance.as_ref()) {
            let (top, bottom) = (self.heights.at(tolerance.high.si()), self.heights.at(tolerance.low.si()));
            canvas.rect("d-band", (start, top), (right - start, bottom - top), 0.0);
        }
        canvas.line("d-thin d-quiet", (LEFT, zero), (right, zero));
        let mut named = Labels::new((LEFT - 2.0, f64::INFINITY));
        for name in self.names_of_levels() {
            let size = if name.is_small { ("d-small", 11.0) } else { ("d-label", 12.0) };
            let spots = [4.0, 17.0, -9.0, 29.0].map(|dy| ((LEFT - 6.0, name.y + dy), Anchor::End));
            named.write(canvas, size, spots, &cut(&name.text, size.1, LEFT - 8.0));
        }
    }

    /// What stands at the left, and at which height.
    pub fn names_of_levels(&self) -> Vec<LevelName> {
        let name = |y: f64, is_small: bool, text: &str| LevelName { y, is_small, text: text.to_owned() };
        let mut names = vec![name(self.heights.at(0.0), false, "0 V")];
        let mut levels: Vec<(String, f64, Vec<&str>)> = Vec::new();
        for rail in &self.job.rails {
            let volts = rail.nominal.nominal().si();
            let label = numbers::value(Function::Volts, volts);
            match levels.iter_mut().find(|(known, ..)| *known == label) {
                Some((_, _, rails)) => rails.push(&rail.name.text),
                None => levels.push((label, self.heights.at(volts), vec![&rail.name.text])),
            }
        }
        for (label, y, rails) in levels {
            names.push(name(y, false, &label));
            // There is room for two below a level; the text has them all.
            names.extend(rails.iter().take(2).map(|rail| name(y, true, rail)));
        }
        if self.job.inlet().is_some() {
            let y = self.y(Potential::Line);
            let volts =
                self.potentials.mains().map_or("mains".into(), |v| numbers::value(Function::Volts, v));
            names.extend([name(y, false, &volts), name(y, true, "mains")]);
        }
        names
    }

    /// Where the low-voltage side begins: at the first supply.
    fn first_low(&self) -> f64 {
        self.slots.get(self.mains).map_or(LEFT, |s| self.x(*s))
    }

    /// The boundary of the stage: what lies beyond it is not plugged in.
    pub fn gate(&self, canvas: &mut Canvas, bottom: f64) {
        let Some((x, text, rect)) = self.boundary() else { return };
        canvas.line("d-gate", (x, rect[1]), (x, bottom));
        canvas.text("d-small", (rect[0], rect[3] - 3.0), Anchor::Start, &text);
    }

    /// Where the gate stands, what is written at its head, and in which room.
    fn boundary(&self) -> Option<(f64, String, Rect)> {
        let first = self.slots.iter().find(|s| self.is_out(**s))?;
        let x = self.x(*first) - self.pitch(self.place(*first).saturating_sub(1)) / 2.0;
        let right = self.width.px() - 4.0;
        let text = cut(&format!("not plugged in at {}", self.solved.stage.name), 11.0, right - LEFT);
        let long = wide(&text, 11.0);
        let left = if x + 5.0 + long <= right { x + 5.0 } else { (x - 5.0 - long).max(LEFT) };
        let head =
            self.slots.iter().filter_map(|s| self.span(*s)).map(|(top, _)| top).fold(f64::INFINITY, f64::min);
        let head = if head.is_finite() { head } else { self.heights.top };
        Some((x, text, [left, head - 26.0, left + long, head - 12.0]))
    }

    /// What letters of the chart must keep off.
    pub fn kept(&self) -> Vec<Rect> {
        self.boundary().into_iter().map(|(.., rect)| rect).collect()
    }

    /// The names of the things: under them where they fit, else numbers with a key below.
    pub fn names(&self, canvas: &mut Canvas, y: f64) -> f64 {
        let names: Vec<&str> = self.slots.iter().map(|s| s.name(self.job)).collect();
        if let Some(places) = self.side_by_side(&names) {
            for (name, x) in names.iter().zip(places) {
                canvas.text("d-label", (x, y), Anchor::Middle, name);
            }
            return y + 10.0;
        }
        let mut key = Flow::below(y, self.width.px());
        for (i, (slot, name)) in self.slots.iter().zip(&names).enumerate() {
            let number = (i + 1).to_string();
            canvas.text("d-strong", (self.x(*slot), y), Anchor::Middle, &number);
            let before = wide(&number, 13.0) + 4.0;
            let (spot, name) = key.next(before, name, 12.0);
            canvas.text("d-strong", (spot.0 - 5.0, spot.1), Anchor::End, &number);
            canvas.text("d-label", spot, Anchor::Start, &name);
        }
        key.y + 4.0
    }

    /// The middles of names that stand under their things, if all have room.
    fn side_by_side(&self, names: &[&str]) -> Option<Vec<f64>> {
        let mut taken = 0.0;
        let mut places = Vec::new();
        for (slot, name) in self.slots.iter().zip(names) {
            let long = wide(name, 12.0);
            // The last may be moved in from the edge.
            let x = self.x(*slot).min(self.width.px() - long / 2.0 - 3.0);
            if x - long / 2.0 < taken {
                return None;
            }
            taken = x + long / 2.0 + 6.0;
            places.push(x);
        }
        Some(places)
    }

    /// Lines below all: where the operating point is not as it should be, every rail outside its tolerance, what the flags mean.
    pub fn notes(&self, canvas: &mut Canvas, wrong: &[&Landing], y: f64) -> f64 {
        let mut notes: Vec<(&str, String)> = Vec::new();
        if let Some((wrong, drawn)) = self.potentials.note() {
            notes.push(("d-strong d-stop-text", format!("STOP: {wrong}; {drawn}")));
        }
        for l in wrong.iter().take(TOLD) {
            let (load, rail) = (&self.job.loads[l.load].name, &self.job.rails[l.rail].name);
            let volts = numbers::value(Function::Volts, l.seen);
            notes.push(("d-label d-stop-text", format!("outside: {rail} {volts}, {load}")));
        }
        if wrong.len() > TOLD {
            notes.push(("d-label d-stop-text", format!("and {} more outside", wrong.len() - TOLD)));
        }
        notes.extend(self.flags.legend().into_iter().map(|text| ("d-label d-stop-text", text)));
        let mut flow = Flow::below(y - 4.0, self.width.px());
        for (class, text) in &notes {
            // Bold letters are wider.
            let size = if class.starts_with("d-strong") { 13.0 * BOLD } else { 12.0 };
            for line in flow.lines(text, size) {
                let (spot, text) = flow.next(0.0, &line, size);
                canvas.text(class, spot, Anchor::Start, &text);
            }
        }
        if notes.is_empty() { y + 8.0 } else { flow.y + 8.0 }
    }
}

/// Words that follow each other in lines, as far as there is room.
struct Flow {
    x: f64,
    y: f64,
    right: f64,
}

impl Flow {
    /// From the edge to the next line, between words.
    const EDGE: f64 = 10.0;
    const LINE: f64 = 17.0;
    const BETWEEN: f64 = 18.0;

    /// Words as lines that fit.
    fn lines(&self, words: &str, size: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in words.split(' ') {
            match lines.last_mut() {
                Some(line) if wide(&format!("{line} {word}"), size) <= self.right - Self::EDGE => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push(word.to_owned()),
            }
        }
        lines
    }

    fn below(y: f64, width: f64) -> Self {
        Self { x: f64::INFINITY, y: y + 3.0, right: width - Self::EDGE }
    }

    /// Where the next words stand, with so much room before them, and what of them there is room for.
    fn next(&mut self, before: f64, words: &str, size: f64) -> (Spot, String) {
        let words = cut(words, size, self.right - Self::EDGE - before);
        let long = before + wide(&words, size);
        if self.x + long > self.right {
            (self.x, self.y) = (Self::EDGE, self.y + Self::LINE);
        }
        let spot = (self.x + before, self.y);
        self.x += long + Self::BETWEEN;
        (spot, words)
    }
}
