//! Where the probes of a reading go: the drawings of what they touch.

use crate::Drawing;
use crate::canvas::{Anchor, Canvas, Path, Spot};
use crate::face::{Probes, Side, face};
use crate::strip;
use voltwright_job::{Job, Terminal};
use voltwright_proof::harness::{Thing, thing};
use voltwright_proof::reading::{Function, Reading};

/// What is brought to a terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    Red,
    Black,
    /// The ammeter goes into the lead here.
    Lead,
}

impl Mark {
    pub fn words(self) -> &'static str {
        match self {
            Mark::Red => "Red probe",
            Mark::Black => "Black probe",
            Mark::Lead => "Ammeter in the lead",
        }
    }
}

/// The drawings of what a reading's probes touch: one if both touch the same thing, else the red one's first.
pub fn probes(job: &Job, reading: &Reading, side: Side, id_prefix: &str) -> Vec<Drawing> {
    let (red, black) = (reading.red, reading.black);
    if reading.function == Function::Amps {
        return vec![of(job, red, side, Probes { lead: Some(place(red)), ..Probes::default() }, id_prefix)];
    }
    let (on_red, on_black) = (Some(place(red)), Some(place(black)));
    if thing(red) == thing(black) {
        return vec![of(job, red, side, Probes { red: on_red, black: on_black, lead: None }, id_prefix)];
    }
    vec![
        of(job, red, side, Probes { red: on_red, ..Probes::default() }, &format!("{id_prefix}-red")),
        of(job, black, side, Probes { black: on_black, ..Probes::default() }, &format!("{id_prefix}-black")),
    ]
}

/// The drawing of what a terminal sits on.
fn of(job: &Job, terminal: Terminal, side: Side, probes: Probes, id_prefix: &str) -> Drawing {
    match thing(terminal) {
        Thing::Plug(p) => face(job, p, side, probes, id_prefix),
        Thing::Part(p) => strip::terminals(job, p, probes, id_prefix),
        Thing::Socket(l, s) => strip::socket(job, l, s, probes, id_prefix),
        Thing::Chassis => strip::chassis(job, probes, id_prefix),
    }
}

/// The place of a terminal on what it sits on.
fn place(terminal: Terminal) -> usize {
    match terminal {
        Terminal::Part(_, t) => t,
        Terminal::Plug(_, w) | Terminal::Socket(_, _, w) => w,
        Terminal::Chassis => 0,
    }
}

/// Size of a probe's ring.
const RING: f64 = 10.0;

/// A probe: a ring with its letter, red filled and black outlined, and an arrow from it to where it touches.
pub(crate) fn probe(canvas: &mut Canvas, mark: Mark, from: Spot, to: Spot) {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = dx.hypot(dy).max(1.0);
    let (ux, uy) = (dx / length, dy / length);
    let along = |d: f64, aside: f64| (to.0 - ux * d - uy * aside, to.1 - uy * d + ux * aside);
    let (line, ring, letter_class, letter) = match mark {
        Mark::Red => ("d-line d-stop", "d-red", "d-strong d-on-red", "R"),
        Mark::Black => ("d-line", "d-black", "d-strong", "B"),
        Mark::Lead => ("d-line", "d-black", "d-strong", "A"),
    };
    canvas.line(line, (from.0 + ux * RING, from.1 + uy * RING), along(6.0, 0.0));
    let head = if mark == Mark::Red { "d-stop-fill" } else { "d-mark" };
    canvas.path(head, &Path::through(&[to, along(8.0, 4.0), along(8.0, -4.0)]).close());
    canvas.circle(ring, from, RING);
    canvas.text(letter_class, (from.0, from.1 + 4.6), Anchor::Middle, letter);
}
