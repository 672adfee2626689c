//! The proof's terms for people: stages, readings, windows, harms.

use crate::caution;
pub use voltwright_drawing::numbers::{function, range, value, window};
use voltwright_job::{Job, PartKind, Terminal, nets};
use voltwright_proof::diagnosis::{CONNECTED, Taken};
use voltwright_proof::harm::{Harm, Threat};
use voltwright_proof::reading::{Function, Reading};
use voltwright_proof::stage::Stage;

/// What there is to say of a job in which nothing is wired.
pub const NOTHING_WIRED: &str = "Nothing is wired in this job yet: there is no mistake to try and no reading to take. \
     Enter the wires under [wiring]; `voltwright check` says what else is missing.";

/// What is said before a proof of a job that has stops already; nothing where it has none.
pub fn with_stops(stops: usize) -> Option<String> {
    let has = format!("The job as entered has {}", count(stops, "stop"));
    (stops > 0).then(|| format!("{has}; the proof only tries mistakes against it."))
}

/// What becomes of the mistakes that do harm: `9 readings catch 140 in time; 131 escape.`
pub fn fate(readings: usize, harmful: usize, escapes: usize) -> String {
    let catch = if readings == 1 { "catches" } else { "catch" };
    let escape = if escapes == 1 { "escapes" } else { "escape" };
    match (harmful, escapes) {
        (0, _) => "No reading is needed.".into(),
        (_, 0) => format!("{} {catch} all {harmful} in time; none escapes.", count(readings, "reading")),
        _ if harmful == escapes => format!("No reading catches one in time; {escapes} {escape}."),
        _ => {
            let caught = harmful.saturating_sub(escapes);
            format!("{} {catch} {caught} in time; {escapes} {escape}.", count(readings, "reading"))
        }
    }
}

/// The first sentence of some.
pub fn first_sentence(says: &str) -> &str {
    says.find(". ").map_or(says, |end| &says[..=end])
}

/// A number of things: `1 reading`, `2 readings`.
pub fn count(number: usize, thing: &str) -> String {
    if number == 1 { format!("1 {thing}") } else { format!("{number} {thing}s") }
}

/// The load that is plugged in at this very stage, not at one before it.
fn plugged_here(stages: &[Stage], s: usize) -> Option<usize> {
    let new = |l: &usize| s == 0 || !stages[s - 1].mated[*l];
    stages[s].adds.filter(new)
}

/// The cautions that stand before a stage; a load that is plugged in where power comes on at once needs both kinds.
pub fn cautions(job: &Job, stages: &[Stage], s: usize) -> Vec<&'static str> {
    let mut all = caution::of_stage(job, &stages[s]);
    if stages[s].live && plugged_here(stages, s).is_some() {
        all.insert(0, caution::RESERVOIRS);
    }
    all
}

/// What to have plugged in and switched on at a stage, as an order.
pub fn set_up(job: &Job, stages: &[Stage], s: usize) -> String {
    let stage = &stages[s];
    let (off, on) = match job.inlet() {
        Some(_) => ("Mains plug out", "mains plug in, switch on"),
        None => ("Power off", "power on"),
    };
    if let Some(p) = stage.open {
        let part = &job.parts[p].key;
        return match job.parts[p].kind {
            PartKind::Fuse(_) => {
                format!("{off}, nothing plugged in. Take {part} out; put it back after these readings.")
            }
            _ => {
                format!("{off}, nothing plugged in. Turn {part} off; turn it on again after these readings.")
            }
        };
    }
    match (stage.live, plugged_here(stages, s).map(|l| plug_in(job, l))) {
        (false, None) => format!("{off}, no load plugged in, fuses in, switches on."),
        (false, Some(new)) => format!("{off}, reservoirs discharged: {new}. Switches on."),
        (true, Some(new)) => format!("{off}, reservoirs discharged: {new}. Then hands away, {on}."),
        (true, None) if stage.adds.is_none() => format!("No load plugged in. Hands away, {on}."),
        (true, None) => format!("Everything as in the step before. Hands away, {on}."),
    }
}

/// Plugs a load in, as an order.
fn plug_in(job: &Job, load: usize) -> String {
    let plugs = job.plugs.iter().filter(|p| p.mates.is_some_and(|(l, _)| load == l));
    let names: Vec<&str> = plugs.map(|p| p.key.text.as_str()).collect();
    match names.as_slice() {
        [] => format!("wire {} up", job.loads[load].name),
        some => format!("push {} into {}", listed(some), job.loads[load].name),
    }
}

/// `a`, `a and b`, `a, b and c`.
fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// A terminal as it is written in wires, with the wire's colour on it where one is known.
pub fn point(job: &Job, terminal: Terminal) -> String {
    let wire = job.wires.iter().find(|w| w.from == terminal || w.to == terminal);
    let colour = wire.and_then(|w| w.colour.as_ref());
    match (terminal, colour) {
        (Terminal::Plug(..), Some(colour)) => format!("{} ({})", nets::name(job, terminal), colour.text),
        _ => nets::name(job, terminal),
    }
}

/// Whether a value was read; a trace only tells whether there is a connection.
pub fn is_value(taken: &Taken) -> bool {
    taken.shown.low >= taken.shown.high
}

/// What was read, as it was.
pub fn shown(function: Function, taken: &Taken) -> String {
    match taken {
        _ if is_value(taken) => value(function, taken.shown.low),
        _ if taken.shown.high <= CONNECTED => "connected".into(),
        _ => "not connected".into(),
    }
}

/// Where the red probe goes and where the black one: two cells of a row.
pub fn probe_cells(job: &Job, reading: &Reading) -> [String; 2] {
    match reading.function {
        Function::Amps => [format!("in the lead of {}", point(job, reading.red)), "–".into()],
        _ => [point(job, reading.red), point(job, reading.black)],
    }
}

/// Where the probes go, and what is read: `red on p1.3 (RD), black on supply.v1.minus`.
pub fn probes(job: &Job, reading: &Reading) -> String {
    let [red, black] = probe_cells(job, reading);
    match reading.function {
        Function::Amps => red,
        _ => format!("red on {red}, black on {black}"),
    }
}

/// What harm comes to, as a sentence.
pub fn harm(job: &Job, harm: &Harm) -> String {
    let volts = |v: f64| value(Function::Volts, v);
    let amps = |a: f64| value(Function::Amps, a);
    match harm.threat {
        Threat::Rail(l, r) => {
            let (rail, load) = (&job.rails[r], &job.loads[l].name);
            let (low, high) = voltwright_proof::harm::limits(rail);
            format!(
                "{} of {load} sees {}; it survives {}",
                rail.name,
                volts(harm.value),
                range(Function::Volts, low, high)
            )
        }
        Threat::Order(l, k) => {
            let order = &job.loads[l].order[k];
            let (first, then) = (&job.rails[order.first].name, &job.rails[order.then].name);
            let why = if order.why.is_empty() { String::new() } else { format!(": {}", order.why) };
            format!(
                "{then} of {} is there ({}) while {first} is not{why}",
                job.loads[l].name,
                volts(harm.value)
            )
        }
        Threat::Input(p) => format!("the input of {} sees {}", job.parts[p].key, volts(harm.value)),
        Threat::Capacitor(p) => format!("{} sees {}", job.parts[p].key, volts(harm.value)),
        Threat::Wire(w) => format!("{} carries {} and burns", job.wires[w].name(), amps(harm.value)),
        Threat::Contact(p, w) => {
            format!(
                "the contact of {}.{} carries {}, twice what it may",
                job.plugs[p].key,
                w + 1,
                amps(harm.value)
            )
        }
        Threat::Touch => "the mains reach what can be touched".into(),
        Threat::NoEarth => {
            "protective earth does not reach all of the case: the next fault puts it at the mains".into()
        }
        Threat::StaysLive => "the line reaches the supply past an open fuse or switch".into(),
        Threat::Fuse(p) => format!("{} opens", job.parts[p].key),
    }
}

/// Seconds as minutes for people.
pub fn minutes(seconds: u64) -> String {
    match seconds {
        0..=90 => format!("{seconds} s"),
        _ => format!("{} min", seconds.div_ceil(60)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_caught_and_what_escapes_are_both_told() {
        assert_eq!(fate(9, 271, 131), "9 readings catch 140 in time; 131 escape.");
        assert_eq!(fate(1, 3, 1), "1 reading catches 2 in time; 1 escapes.");
        assert_eq!(fate(24, 271, 0), "24 readings catch all 271 in time; none escapes.");
        assert_eq!(fate(0, 2, 2), "No reading catches one in time; 2 escape.");
        assert_eq!(fate(0, 0, 0), "No reading is needed.");
    }

    #[test]
    fn stops_are_told_before_a_proof() {
        assert_eq!(with_stops(0), None);
        assert_eq!(
            with_stops(20).as_deref(),
            Some("The job as entered has 20 stops; the proof only tries mistakes against it.")
        );
    }
}
