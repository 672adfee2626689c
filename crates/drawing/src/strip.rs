//! What a probe goes to when it is not a plug: the terminals of a part, the ways of a load's socket, the case; one below the
//! other with their names, wires and probes.

use crate::canvas::{Anchor, Canvas, Spot};
use crate::colours::{self, Coat};
use crate::face::Probes;
use crate::lettering::cut;
use crate::probes::probe;
use crate::{Drawing, PHONE};
use voltwright_job::{Job, Terminal, WayUse, nets};

/// From one terminal to the next, and where terminals are chosen: a finger's width.
const PITCH: (f64, f64) = (27.0, 47.0);
/// Where the strip begins and ends, and where its wires end.
const LEFT: f64 = 76.0;
const RIGHT: f64 = 232.0;
const WIRES: f64 = 268.0;
const TOP: f64 = 10.0;

/// A part's terminals, with the probes that are on it.
pub fn terminals(job: &Job, part: usize, probes: Probes, id_prefix: &str) -> Drawing {
    of_part(job, part, probes, false).draw(id_prefix)
}

/// The same to choose terminals on: each has a target that a finger hits.
pub fn choosing_terminals(job: &Job, part: usize, id_prefix: &str) -> Drawing {
    of_part(job, part, Probes::default(), true).draw(id_prefix)
}

fn of_part(job: &Job, part: usize, probes: Probes, is_chosen_on: bool) -> Strip<'_> {
    let names = job.parts[part].terminals.iter().enumerate();
    let rows = names.map(|(t, name)| Row::new(job, Terminal::Part(part, t), name.clone())).collect();
    let name = &job.parts[part].key.text;
    let note = "in the order of the job, not as they sit on the part";
    Strip { name, what: "terminals", note, rows, probes, is_chosen_on }
}

/// The ways of a load's socket, way 1 on top, with the probes that are on it.
pub fn socket(job: &Job, load: usize, socket: usize, probes: Probes, id_prefix: &str) -> Drawing {
    of_socket(job, load, socket, probes, false, id_prefix)
}

/// The same to choose ways on: each has a target that a finger hits.
pub fn choosing_socket(job: &Job, load: usize, socket: usize, id_prefix: &str) -> Drawing {
    of_socket(job, load, socket, Probes::default(), true, id_prefix)
}

fn of_socket(
    job: &Job,
    load: usize,
    socket: usize,
    probes: Probes,
    is_chosen_on: bool,
    id_prefix: &str,
) -> Drawing {
    let load_of = &job.loads[load];
    let row = |(w, (way, _)): (usize, &(WayUse, _))| {
        let on = match way {
            WayUse::Rail(r) => job.rails[*r].name.text.as_str(),
            WayUse::Com => "com",
            WayUse::Chassis => "chassis",
            WayUse::Nothing => "no connection",
        };
        Row::new(job, Terminal::Socket(load, socket, w), format!("{}  {on}", w + 1))
    };
    let rows = load_of.sockets[socket].ways.iter().enumerate().map(row).collect();
    let name = format!("{}, {}", load_of.name, load_of.sockets[socket].name.text);
    let note = "way 1 first, as seen from its mating face";
    Strip { name: &name, what: "socket", note, rows, probes, is_chosen_on }.draw(id_prefix)
}

/// The case, with the probe that is on it.
pub fn chassis(job: &Job, probes: Probes, id_prefix: &str) -> Drawing {
    let rows = vec![Row::new(job, Terminal::Chassis, "bare metal".into())];
    let note = "where it is bare: paint and oxide do not conduct";
    Strip { name: "chassis", what: "the case", note, rows, probes, is_chosen_on: false }.draw(id_prefix)
}

/// A terminal with its name and wires.
struct Row {
    name: String,
    whole: String,
    wires: Vec<Coat>,
}

impl Row {
    fn new(job: &Job, terminal: Terminal, name: String) -> Self {
        Self { name, whole: nets::name(job, terminal), wires: colours::at(job, terminal) }
    }

    /// `RD ×3 + BK`.
    fn letters(&self) -> String {
        let one = |(coat, n): &(Coat, usize)| {
            let code = coat.code.as_deref().unwrap_or("·");
            if *n > 1 { format!("{code} ×{n}") } else { code.to_owned() }
        };
        let groups = colours::grouped(&self.wires);
        groups.iter().map(one).collect::<Vec<_>>().join(" + ")
    }
}

struct Strip<'a> {
    name: &'a str,
    what: &'static str,
    note: &'static str,
    rows: Vec<Row>,
    probes: Probes,
    /// Whether terminals are chosen on it.
    is_chosen_on: bool,
}

impl Strip<'_> {
    fn pitch(&self) -> f64 {
        if self.is_chosen_on { PITCH.1 } else { PITCH.0 }
    }

    fn draw(&self, id_prefix: &str) -> Drawing {
        let title = format!("{}, {}", self.name, self.what);
        let mut canvas = Canvas::new();
        let height = self.pitch() * self.rows.len() as f64;
        canvas.rect("d-body", (LEFT, TOP), (RIGHT - LEFT, height), 4.0);
        for (i, row) in self.rows.iter().enumerate() {
            self.row(&mut canvas, i, row);
        }
        let y = TOP + height + 20.0;
        let head = format!("{} · {}", self.name, self.what);
        canvas.text("d-strong", (PHONE / 2.0, y), Anchor::Middle, &cut(&head, 13.0, PHONE - 24.0));
        canvas.text("d-small", (PHONE / 2.0, y + 16.0), Anchor::Middle, self.note);
        let text = self.text(&title);
        Drawing { svg: canvas.finish((PHONE, y + 24.0), id_prefix, &title, &text), text }
    }

    fn row(&self, canvas: &mut Canvas, i: usize, row: &Row) {
        let pitch = self.pitch();
        let y = TOP + pitch * (i as f64 + 0.5);
        if i > 0 {
            canvas.line("d-thin d-quiet", (LEFT, y - pitch / 2.0), (RIGHT, y - pitch / 2.0));
        }
        self.wires(canvas, y, row);
        screw(canvas, (LEFT + 18.0, y));
        let name = cut(&row.name, 12.0, RIGHT - LEFT - 40.0);
        canvas.text("d-label", (LEFT + 36.0, y + 4.5), Anchor::Start, &name);
        if self.is_chosen_on {
            let label = format!("{} of {}, {}", row.name, self.name, colours::letters(&row.wires));
            canvas.target(
                (&row.whole, &label),
                (LEFT + 1.0, y - pitch / 2.0 + 1.0),
                (RIGHT - LEFT - 2.0, pitch - 2.0),
            );
        }
        if let Some(mark) = self.probes.on(i) {
            probe(canvas, mark, (22.0, y), (LEFT + 9.0, y));
        }
    }

    /// The wires of a terminal at its right: one line a colour, its letters beside them.
    fn wires(&self, canvas: &mut Canvas, y: f64, row: &Row) {
        if row.wires.is_empty() {
            canvas.text("d-small", (RIGHT + 10.0, y + 4.0), Anchor::Start, "–");
            return;
        }
        let groups = colours::grouped(&row.wires);
        let shown = groups.len().min(3);
        for (i, (coat, _)) in groups.iter().take(shown).enumerate() {
            let y = y + 7.0 * (i as f64 - (shown as f64 - 1.0) / 2.0);
            colours::run(canvas, &[(RIGHT, y), (WIRES, y)], &coat.paints);
        }
        let letters = cut(&row.letters(), 11.0, PHONE - WIRES - 10.0);
        canvas.text("d-code", (WIRES + 6.0, y + 4.0), Anchor::Start, &letters);
    }

    fn text(&self, title: &str) -> String {
        let one = |row: &Row| format!("{}: {}", row.name, colours::words(&row.wires));
        let rows: Vec<String> = self.rows.iter().map(one).collect();
        let mut text = format!("{title}, {}. {}.", self.note, rows.join("; "));
        for (i, row) in self.rows.iter().enumerate() {
            if let Some(mark) = self.probes.on(i) {
                text.push_str(&format!(" {} on {}.", mark.words(), row.name));
            }
        }
        text
    }
}

/// The head of a screw.
fn screw(canvas: &mut Canvas, (x, y): Spot) {
    canvas.circle("d-hole", (x, y), 7.0);
    canvas.line("d-line", (x - 4.0, y + 2.0), (x + 4.0, y - 2.0));
}
