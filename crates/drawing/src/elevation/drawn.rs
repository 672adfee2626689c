//! The chart put on paper: things, conductors, what arrives, letters.

use super::chart::{BAR, Chart, Laid};
use super::landing::Landing;
use super::path::Bundle;
use super::slots::Slot;
use super::strands::Strand;
use crate::canvas::{Canvas, Path};
use crate::colours;
use voltwright_job::{Terminal, nets};

impl Laid<'_> {
    /// Draws it and gives its height.
    pub fn draw(&self, canvas: &mut Canvas) -> f64 {
        let chart = &self.chart;
        let (_, lowest) = self.reach();
        chart.levels(canvas);
        chart.gate(canvas, lowest);
        chart.slots.iter().for_each(|s| chart.bar(canvas, *s));
        chart.bundles.iter().zip(&self.strands).for_each(|(b, s)| conductor(canvas, b, s));
        self.strands.iter().for_each(|s| ends(canvas, s));
        chart.slots.iter().for_each(|s| chart.through(canvas, *s));
        let (wrong, right): (Vec<&Landing>, Vec<&Landing>) =
            chart.landings.iter().partition(|l| l.is_wrong());
        // What is wrong is drawn over the rest.
        right.iter().chain(&wrong).for_each(|l| chart.landing(canvas, l));
        self.tags.tags.iter().for_each(|t| t.draw(canvas));
        let bottom = chart.names(canvas, lowest + 16.0);
        chart.notes(canvas, &wrong, bottom)
    }
}

impl Chart<'_> {
    /// A thing: an upright from the lowest potential that it has to the highest.
    fn bar(&self, canvas: &mut Canvas, slot: Slot) {
        let Some((top, bottom)) = self.span(slot) else { return };
        let class = if self.is_out(slot) { "d-bar-out" } else { "d-bar" };
        let x = self.x(slot);
        canvas.rect(class, (x - BAR, top - 5.0), (2.0 * BAR, bottom - top + 10.0), 3.0);
    }

    /// What a part joins inside: the way through a fuse or a closed contact, or the gap of an open one.
    fn through(&self, canvas: &mut Canvas, slot: Slot) {
        let Slot::Part(p) = slot else { return };
        let is_open = self.open.contains(&p);
        let x = self.x(slot);
        for (a, b) in nets::through(&self.job.parts[p].kind) {
            let terminal = |t| Terminal::Part(p, t);
            let is_wired = |t| self.job.wires.iter().any(|w| [w.from, w.to].contains(&terminal(t)));
            if !is_wired(a) || !is_wired(b) {
                continue;
            }
            let (a, b) = (self.y(self.potentials.at(terminal(a))), self.y(self.potentials.at(terminal(b))));
            if is_open {
                canvas.circle("d-ground", (x, a), 9.0);
                canvas.line("d-line", (x - 7.0, a), (x + 4.0, b - 9.0));
                canvas.circle("d-hole", (x - 7.0, a), 2.6);
                canvas.circle("d-hole", (x + 7.0, b), 2.6);
            } else {
                canvas.line("d-line", (x - BAR, a), (x + BAR, b));
            }
        }
    }

    /// Where a rail arrives at a load: a disc, with a cross where it is outside its tolerance.
    fn landing(&self, canvas: &mut Canvas, landing: &Landing) {
        let (x, y) = self.arrival(landing);
        match landing.holds {
            _ if !landing.is_alive => canvas.circle("d-hole", (x, y), 2.6),
            Some(false) => {
                canvas.circle("d-black", (x, y), 5.0);
                let path = Path::at((x - 3.0, y - 3.0)).to((x + 3.0, y + 3.0));
                canvas.path("d-line d-stop", &path.jump((x - 3.0, y + 3.0)).to((x + 3.0, y - 3.0)));
            }
            _ => canvas.circle("d-dot", (x, y), 3.4),
        }
    }
}

/// A conductor from thing to thing; dashed where no power reaches it.
fn conductor(canvas: &mut Canvas, bundle: &Bundle, strand: &Strand) {
    match bundle.is_alive {
        true => colours::ribbon(canvas, strand, &bundle.paints()),
        false => canvas.path("d-dash", &Path::through(strand)),
    }
}

/// A dot at each end of a conductor.
fn ends(canvas: &mut Canvas, strand: &Strand) {
    canvas.circle("d-dot", strand[0], 2.8);
    canvas.circle("d-dot", strand[3], 2.8);
}
