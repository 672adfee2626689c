//! The first-power plan as a sheet: stage by stage what to set up, the cautions that belong to it, where the probes go, the
//! window, and a place to write; the faces of the plugs; the tables of what must connect and what must not.

use super::words;
use crate::caution;
use crate::report::heading;
use crate::text::grid::grid;
use crate::text::wrap::{Indent, Span, paragraph, wrap};
use crate::text::{Page, Style};
use voltwright_job::{Job, Terminal, nets};
use voltwright_proof::continuity;
use voltwright_proof::harness::Thing;
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::{Function, Reading};

/// On paper, where the window stands beside the place to write.
pub const WRITE_FIRST: &str = "Write down what the meter shows before looking at the window.";

/// How to read, whatever the stage.
pub const HOW: &str = "A reading outside its window: switch off, pull \
     the plug, and do not go on. Ohms: touch the probes together first and take what the meter shows off each reading; wait \
     until a reading stands still.";

/// Who says what explains a wrong reading, where the sheet was printed by a command.
const JUDGED: &str = "`voltwright judge` says what explains a wrong one.";

/// From where the faces are seen.
pub const SEEN: &str = "Way 1 is at the left of the socket as you look into it; if on yours it is at the right, read each row from its \
     other end. A dash is a way without a wire.";

/// The whole sheet.
pub fn whole(proof: &Proof<'_>, page: &Page) -> String {
    let job = proof.setup.job();
    let head = crate::report::head(job, page);
    if job.wires.is_empty() {
        return head + "\n" + &paragraph(words::NOTHING_WIRED, Indent(0, 0), page);
    }
    let mut parts = vec![head];
    parts.extend(caution::of(job, true, page));
    parts.push(how(proof, page));
    let mut number = 0;
    parts.extend((0..proof.setup.stages.len()).map(|s| stage(proof, s, &mut number, page)));
    parts.push(faces(proof, page));
    parts.push(tables(proof, page));
    parts.retain(|p| !p.is_empty());
    parts.join("\n")
}

fn how(proof: &Proof<'_>, page: &Page) -> String {
    let (readings, stages) =
        (words::count(proof.asked.len(), "reading"), words::count(proof.setup.stages.len(), "stage"));
    let escapes = proof.escapes().len();
    let mut out = String::new();
    if escapes > 0 {
        let escape = if escapes == 1 { "escapes" } else { "escape" };
        let says = format!(
            "{} {escape} this plan: see `voltwright prove` before any power.",
            words::count(escapes, "mistake")
        );
        out = wrap(&[Span("STOP", Style::Stop), Span(&says, Style::Plain)], Indent(0, 5), page) + "\n";
    }
    out + &paragraph(
        &format!("{readings} at {stages}, in this order. {WRITE_FIRST} {HOW} {JUDGED}"),
        Indent(0, 0),
        page,
    )
}

fn stage(proof: &Proof<'_>, s: usize, number: &mut usize, page: &Page) -> String {
    let (job, stages) = (proof.setup.job(), &proof.setup.stages);
    let title = format!("{}. {}", s + 1, stages[s].name);
    let mut out = wrap(&[Span(&title, Style::Strong)], Indent(0, 3), page);
    let rows = rows(proof, s, number);
    if rows.is_empty() && stages[s].open.is_some() {
        return out + &paragraph("The plan needs no reading here: go on.", Indent(3, 3), page);
    }
    for caution in words::cautions(job, stages, s) {
        out.push_str(&wrap(
            &[Span("Caution.", Style::Caution), Span(caution, Style::Plain)],
            Indent(3, 3),
            page,
        ));
    }
    out.push_str(&paragraph(&words::set_up(job, stages, s), Indent(3, 3), page));
    out.push_str(&match (rows.is_empty(), stages[s].live) {
        (false, _) => grid(&["no.", "meter", "red on", "black on", "must be", "read"], &rows, 3, page),
        (true, true) => {
            paragraph("The plan needs no reading here: look, listen, smell, then go on.", Indent(3, 3), page)
        }
        (true, false) => paragraph("The plan needs no reading here.", Indent(3, 3), page),
    });
    out
}

/// A row a reading of a stage, numbered through the sheet.
fn rows(proof: &Proof<'_>, s: usize, number: &mut usize) -> Vec<Vec<String>> {
    let of_stage = proof.asked_at(s).map(|r| &proof.setup.readings[r]);
    let row = |reading| {
        *number += 1;
        let [red, black] = words::probe_cells(proof.setup.job(), reading);
        let meter = words::function(reading.function).to_owned();
        vec![number.to_string(), meter, red, black, words::window(reading), "________".to_owned()]
    };
    of_stage.map(row).collect()
}

/// Both faces of every plug that a reading of the plan probes; nothing if there is none.
fn faces(proof: &Proof<'_>, page: &Page) -> String {
    let job = proof.setup.job();
    let readings: Vec<&Reading> = proof.asked.iter().map(|r| &proof.setup.readings[*r]).collect();
    let is_probed = |p: usize| {
        let on_plug = |t: Terminal| matches!(t, Terminal::Plug(plug, _) if plug == p);
        readings.iter().any(|r| on_plug(r.red) || on_plug(r.black))
    };
    let plugs: Vec<usize> = (0..job.plugs.len()).filter(|p| is_probed(*p)).collect();
    if plugs.is_empty() {
        return String::new();
    }
    let mut out = heading("The plugs as you see them", page) + &paragraph(SEEN, Indent(2, 2), page);
    for p in plugs {
        out.push_str(&face(job, p, proof.setup.harness.row(Thing::Plug(p)), page));
    }
    out
}

fn face(job: &Job, p: usize, row: usize, page: &Page) -> String {
    let plug = &job.plugs[p];
    let into = plug.mates.map_or(String::new(), |(l, _)| format!("into {}", job.loads[l].name));
    let ways: Vec<usize> = (0..plug.ways).collect();
    let mut rows = Vec::new();
    // Looking at the wires one looks the way the socket is looked into; the mating face is its mirror image.
    for (side, mirrored) in [("wire side", false), ("mating face", true)] {
        for ways in ways.chunks(row.max(1)) {
            let mut shown: Vec<String> = ways.iter().map(|w| way(job, p, *w)).collect();
            if mirrored {
                shown.reverse();
            }
            rows.push(vec![side.to_owned(), shown.join(" ")]);
        }
    }
    grid(&[plug.key.text.as_str(), &into], &rows, 2, page)
}

/// A way with the colours of its wires: `3:RD`, `6:–`; a wire whose colour is not entered shows its number alone.
fn way(job: &Job, p: usize, w: usize) -> String {
    let here = Terminal::Plug(p, w);
    let wires: Vec<_> = job.wires.iter().filter(|wire| wire.from == here || wire.to == here).collect();
    let colours: Vec<&str> =
        wires.iter().filter_map(|wire| Some(wire.colour.as_ref()?.text.as_str())).collect();
    match (wires.is_empty(), colours.is_empty()) {
        (true, _) => format!("{}:–", w + 1),
        (false, true) => (w + 1).to_string(),
        (false, false) => format!("{}:{}", w + 1, colours.join("+")),
    }
}

/// What must connect and what must not, before anything is plugged in.
fn tables(proof: &Proof<'_>, page: &Page) -> String {
    let Some(tables) = continuity::of(&proof.setup) else { return String::new() };
    let job = proof.setup.job();
    let ohms = |value| words::value(Function::Ohms, value);
    let names = |net: &[Terminal]| net.iter().map(|t| nets::name(job, *t)).collect::<Vec<_>>().join(", ");
    let is_between = |i: usize| tables.between.iter().any(|(a, b, _)| *a == i || *b == i);
    let (named, alone): (Vec<usize>, Vec<usize>) =
        (0..tables.connect.len()).partition(|i| tables.connect[*i].0.len() > 1 || is_between(*i));
    let letter = |net: usize| named.iter().position(|i| *i == net).map_or(String::new(), letter);
    let conductor = |i: &usize| {
        let (net, most) = &tables.connect[*i];
        let most = if net.len() > 1 { format!("at most {}", ohms(*most)) } else { "–".into() };
        vec![letter(*i), names(net), most]
    };
    let connect: Vec<Vec<String>> = named.iter().map(conductor).collect();
    let mut out = heading("The whole harness: what must connect", page);
    let says = "Mains plug out, nothing plugged in, fuses in, switches on. Each row is one conductor.";
    out.push_str(&paragraph(says, Indent(2, 2), page));
    out.push_str(&grid(&["", "terminals", "between any two"], &connect, 2, page));
    out.push('\n');
    out.push_str(&heading("The whole harness: what must not connect", page));
    let between = |(a, b, least): &(usize, usize, f64)| {
        vec![format!("{} and {}", letter(*a), letter(*b)), format!("at least {}", ohms(*least))]
    };
    let between: Vec<Vec<String>> = tables.between.iter().map(between).collect();
    if !between.is_empty() {
        out.push_str(&grid(&["conductors", "must be"], &between, 2, page));
    }
    let others = if between.is_empty() {
        "Any two of these conductors: open."
    } else {
        "Any other two of these conductors: open."
    };
    out.push_str(&paragraph(others, Indent(2, 2), page));
    if !alone.is_empty() {
        let alone: Vec<Terminal> = alone.iter().flat_map(|i| tables.connect[*i].0.clone()).collect();
        out.push_str(&paragraph(&format!("Open to everything: {}.", names(&alone)), Indent(2, 4), page));
    }
    out
}

/// A, B, … Z, AA, AB, …
fn letter(i: usize) -> String {
    let last = char::from(b'A' + (i % 26) as u8);
    if i < 26 { last.to_string() } else { format!("{}{last}", letter(i / 26 - 1)) }
}
