//! The proof's terms for people: stages, readings, windows, harms.

use voltwright_job::{Job, Terminal, nets};
use voltwright_proof::harm::{Harm, Threat};
use voltwright_proof::network::cold::OPEN;
use voltwright_proof::reading::{Function, Interval, Reading};
use voltwright_proof::stage::Stage;
use voltwright_quantity::print::number;
use voltwright_quantity::{Current, Quantity, Resistance, Voltage};

/// What to have plugged in and switched on at a stage, as an order.
pub fn set_up(job: &Job, stage: &Stage) -> String {
    let new = stage.adds.map(|l| {
        let plugs = job.plugs.iter().filter(|p| p.mates.is_some_and(|(load, _)| load == l));
        let names: Vec<&str> = plugs.map(|p| p.key.text.as_str()).collect();
        match names.as_slice() {
            [] => format!("wire {} up", job.loads[l].name),
            [one] => format!("push {one} into {}", job.loads[l].name),
            some => format!("push {} into {}", some.join(" and "), job.loads[l].name),
        }
    });
    let open = stage.open.map(|p| match &job.parts[p].kind {
        voltwright_job::PartKind::Fuse(_) => format!("take {} out", job.parts[p].key),
        _ => format!("switch {} off", job.parts[p].key),
    });
    match (stage.live, open, new) {
        (false, Some(open), _) => format!("Mains plug out, nothing plugged in, {open}; put it back afterwards."),
        (false, None, None) => "Mains plug out, no load plugged in, fuses in, switches on.".into(),
        (false, None, Some(new)) => format!("Mains plug out, reservoirs discharged; {new}. Switches on."),
        (true, _, None) => "Nobody touches anything; no load plugged in. Mains plug in, switch on.".into(),
        (true, _, Some(_)) => "Everything as in the step before, nobody touches anything. Mains plug in, switch on.".into(),
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

/// What the meter is set to.
pub fn function(function: Function) -> &'static str {
    match function {
        Function::Ohms => "ohms",
        Function::Volts => "DC volts",
        Function::Amps => "DC amperes",
    }
}

/// A value as read off the meter.
pub fn value(function: Function, value: f64) -> String {
    match function {
        Function::Ohms if value >= OPEN => "open".into(),
        Function::Ohms if value < 10.0 => format!("{} Ω", number(value, if value < 1.0 { 2 } else { 3 })),
        Function::Ohms => Resistance::ohms(rounded(value)).to_string(),
        Function::Volts => Voltage::volts(rounded(value)).to_string(),
        Function::Amps => Current::amps(rounded(value)).to_string(),
    }
}

/// To the three digits that a window deserves.
fn rounded(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let scale = 10f64.powi(2 - value.abs().log10().floor() as i32);
    (value * scale).round() / scale
}

/// The range in which a reading must fall.
pub fn window(reading: &Reading) -> String {
    let Interval { low, high } = reading.window;
    let show = |v: f64| value(reading.function, v);
    match reading.function {
        Function::Ohms if low >= OPEN => "open".into(),
        Function::Ohms if high.is_infinite() => format!("at least {}", show(low)),
        Function::Ohms if low <= 0.0 => format!("at most {}", show(high)),
        _ => format!("{} to {}", show(low), show(high)),
    }
}

/// Where the probes go, and what is read: `red on p1.3 (RD), black on supply.v1.minus`.
pub fn probes(job: &Job, reading: &Reading) -> String {
    let (red, black) = (point(job, reading.red), point(job, reading.black));
    match reading.function {
        Function::Ohms => format!("{red} to {black}"),
        Function::Volts => format!("red on {red}, black on {black}"),
        Function::Amps => format!("in the lead of {red}"),
    }
}

/// What harm comes to, as a sentence.
pub fn harm(job: &Job, harm: &Harm) -> String {
    let volts = |v: f64| Voltage::volts(rounded(v)).to_string();
    let amps = |a: f64| Current::amps(rounded(a)).to_string();
    match harm.threat {
        Threat::Rail(l, r) => {
            let (low, high) = voltwright_proof::harm::limits(&job.rails[r]);
            format!(
                "{} of {} sees {}; it survives {} to {}",
                job.rails[r].name,
                job.loads[l].name,
                volts(harm.value),
                volts(low),
                volts(high)
            )
        }
        Threat::Order(l, k) => {
            let order = &job.loads[l].order[k];
            let (first, then) = (&job.rails[order.first].name, &job.rails[order.then].name);
            let why = if order.why.is_empty() { String::new() } else { format!(": {}", order.why) };
            format!("{then} of {} is there ({}) while {first} is not{why}", job.loads[l].name, volts(harm.value))
        }
        Threat::Input(p) => format!("the input of {} sees {}", job.parts[p].key, volts(harm.value)),
        Threat::Capacitor(p) => format!("{} sees {}", job.parts[p].key, volts(harm.value)),
        Threat::Wire(w) => format!("{} carries {} and burns", job.wires[w].name(), amps(harm.value)),
        Threat::Contact(p, w) => {
            format!("the contact of {}.{} carries {}, twice what it may", job.plugs[p].key, w + 1, amps(harm.value))
        }
        Threat::Touch => "the mains reach what can be touched".into(),
        Threat::NoEarth => "protective earth does not reach all of the case: the next fault puts it at the mains".into(),
        Threat::StaysLive => "the line reaches the supply past an open fuse or switch".into(),
        Threat::Hunting => "no steady state".into(),
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
