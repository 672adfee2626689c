//! What stands around the chart: levels with their bands, the gate, the names of the things, notes.

use super::chart::{Chart, LEFT, Landing, RIGHT, TOP};
use super::potential::Potential;
use crate::canvas::{Anchor, Canvas};
use crate::labels::Labels;
use crate::lettering::{cut, width as wide};
use crate::numbers;
use voltwright_proof::reading::Function;
use voltwright_quantity::Quantity;

/// Rails outside their tolerance that are told one by one.
const TOLD: usize = 5;

impl Chart<'_> {
    /// 0 V as a line, the rails' tolerances as bands, their names at the left.
    pub fn levels(&self, canvas: &mut Canvas) {
        let right = self.width.px() - RIGHT + 6.0;
        let mut named = Labels::new((LEFT - 2.0, self.heights.bottom + 20.0));
        let mut name = |canvas: &mut Canvas, y: f64, class: &str, text: &str| {
            let spots = [4.0, 17.0, -9.0, 29.0].map(|dy| ((LEFT - 6.0, y + dy), Anchor::End));
            let size = if class == "d-small" { 11.0 } else { 12.0 };
            named.write(canvas, (class, size), spots, &cut(text, size, LEFT - 8.0));
        };
        let zero = self.heights.at(0.0);
        canvas.line("d-thin d-quiet", (LEFT, zero), (right, zero));
        name(canvas, zero, "d-label", "0 V");
        let start = self.first_low();
        let mut levels: Vec<(String, f64, Vec<&str>)> = Vec::new();
        for rail in &self.job.rails {
            let volts = rail.nominal.nominal().si();
            if let Some(t) = &rail.tolerance {
                let (top, bottom) = (self.heights.at(t.high.si()), self.heights.at(t.low.si()));
                canvas.rect("d-band", (start, top), (right - start, bottom - top), 0.0);
            }
            let label = numbers::value(Function::Volts, volts);
            match levels.iter_mut().find(|(known, ..)| *known == label) {
                Some((_, _, names)) => names.push(&rail.name.text),
                None => levels.push((label, self.heights.at(volts), vec![&rail.name.text])),
            }
        }
        for (label, y, names) in levels {
            name(canvas, y, "d-label", &label);
            // There is room for two below a level; the text has them all.
            names.iter().take(2).for_each(|n| name(canvas, y, "d-small", n));
        }
        if self.job.inlet().is_some() {
            let y = self.y(Potential::Line);
            let text = self.potentials.mains().map_or("mains".into(), |v| numbers::value(Function::Volts, v));
            name(canvas, y, "d-label", &text);
            name(canvas, y, "d-small", "mains");
        }
    }

    /// Where the low-voltage side begins: at the first supply.
    fn first_low(&self) -> f64 {
        self.slots.get(self.mains).map_or(LEFT, |s| self.x(*s))
    }

    /// The boundary of the stage: what lies beyond it is not plugged in.
    pub fn gate(&self, canvas: &mut Canvas, labels: &mut Labels) {
        let Some(first) = self.slots.iter().find(|s| self.is_out(**s)) else { return };
        let x = self.x(*first) - self.pitch(self.place(*first).saturating_sub(1)) / 2.0;
        canvas.line("d-gate", (x, TOP - 6.0), (x, self.heights.bottom));
        let text = cut(&format!("not plugged in at {}", self.solved.stage.name), 11.0, self.width.px() - 8.0);
        let places = [((x + 5.0, TOP - 4.0), Anchor::Start), ((x - 5.0, TOP - 4.0), Anchor::End)];
        let fits = labels.write(canvas, ("d-small", 11.0), places, &text);
        if !fits {
            let place = [((self.width.px() - 4.0, TOP - 4.0), Anchor::End)];
            labels.write(canvas, ("d-small", 11.0), place, &text);
        }
    }

    /// The names of the things: under them where they fit, else numbers with a key below.
    pub fn names(&self, canvas: &mut Canvas, y: f64) -> f64 {
        let names: Vec<String> = self.slots.iter().map(|s| s.name(self.job).to_owned()).collect();
        let fits = |(i, name): (usize, &String)| wide(name, 12.0) <= self.pitch(i) - 4.0;
        if names.iter().enumerate().all(fits) {
            for (slot, name) in self.slots.iter().zip(&names) {
                canvas.text("d-label", (self.x(*slot), y), Anchor::Middle, name);
            }
            return y + 10.0;
        }
        let columns = if self.width.px() > 600.0 { 4 } else { 2 };
        let column = (self.width.px() - 16.0) / columns as f64;
        let rows = names.len().div_ceil(columns);
        for (i, (slot, name)) in self.slots.iter().zip(&names).enumerate() {
            canvas.text("d-strong", (self.x(*slot), y), Anchor::Middle, &(i + 1).to_string());
            let (x, y) = (10.0 + column * (i / rows) as f64, y + 22.0 + 17.0 * (i % rows) as f64);
            canvas.text("d-strong", (x + 12.0, y), Anchor::End, &(i + 1).to_string());
            canvas.text("d-label", (x + 18.0, y), Anchor::Start, &cut(name, 12.0, column - 24.0));
        }
        y + 22.0 + 17.0 * rows as f64
    }

    /// Lines below all: where the operating point is not as it should be, and every rail outside its tolerance.
    pub fn notes(&self, canvas: &mut Canvas, wrong: &[&Landing], mut y: f64) -> f64 {
        let mut line = |class: &str, text: &str| {
            y += 16.0;
            canvas.text(class, (10.0, y), Anchor::Start, &cut(text, 13.0, self.width.px() - 20.0));
        };
        if let Some((wrong, drawn)) = self.potentials.note() {
            line("d-strong d-stop-text", &format!("STOP: {wrong}"));
            line("d-label", drawn);
        }
        for l in wrong.iter().take(TOLD) {
            let (load, rail) = (&self.job.loads[l.load].name, &self.job.rails[l.rail].name);
            let volts = numbers::value(Function::Volts, l.seen);
            line("d-label d-stop-text", &format!("outside: {rail} {volts}, {load}"));
        }
        if wrong.len() > TOLD {
            line("d-label d-stop-text", &format!("and {} more outside", wrong.len() - TOLD));
        }
        y + 8.0
    }
}
