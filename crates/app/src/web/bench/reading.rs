//! A reading: first where the probes go, then what the meter shows.

use super::entry;
use super::form::{Form, hidden};
use super::step::{off_form, place};
use crate::caution;
use crate::proof::words;
use crate::web::desk::Bench;
use maud::{Markup, PreEscaped, html};
use voltwright_drawing::face::Side;
use voltwright_drawing::{Drawing, dial, probes};
use voltwright_job::{Terminal, nets};
use voltwright_proof::diagnosis::plain;
use voltwright_proof::first_power::Walk;
use voltwright_proof::reading::{Function, Reading};

/// Units that a meter may show, with what they are in ohms, volts or amperes.
pub fn units(function: Function) -> &'static [(&'static str, f64)] {
    match function {
        Function::Ohms => &[("Ω", 1.0), ("kΩ", 1e3), ("MΩ", 1e6)],
        Function::Volts => &[("V", 1.0), ("mV", 1e-3)],
        Function::Amps => &[("A", 1.0), ("mA", 1e-3)],
    }
}

/// The unit that the meter probably shows a reading in.
fn usual(reading: &Reading) -> &'static str {
    let Reading { function, window, .. } = reading;
    let middle = if window.high.is_finite() { f64::midpoint(window.low, window.high) } else { window.low };
    let all = units(*function);
    match function {
        Function::Ohms => {
            all.iter().rev().find(|(_, unit)| middle >= *unit).map_or(all[0].0, |(name, _)| name)
        }
        Function::Volts | Function::Amps => all[0].0,
    }
}

/// What is pressed where the meter shows no number, or none is typed.
fn answers(function: Function) -> Vec<(&'static str, &'static str)> {
    let mut all = vec![("inside", "Inside"), ("low", "Low"), ("high", "High")];
    if function == Function::Ohms {
        all.push(("open", "Open"));
    }
    all.extend([("jumps", "Jumps"), ("not measured", "Could not measure")]);
    all
}

/// The screen of a reading.
pub fn screen(bench: &Bench<'_, '_>, walk: &Walk<'_, '_>, r: usize, form: &Form) -> Markup {
    let (job, reading) = (bench.job, &bench.proof.setup.readings[r]);
    let stage = &bench.proof.setup.stages[reading.stage];
    html! {
        (place(bench, reading.stage, Some(r)))
        p.again role="status" hidden[!walk.is_at_the_edge()] {
            "At the edge of its window. "
            @if reading.function == Function::Ohms {
                "Touch the probes together, look at what the meter shows then, and measure again."
            } @else {
                "Leave the probes where they are, wait until it stands still, and read again."
            }
        }
        h1 { "Meter to " strong { (words::function(reading.function)) } ", " (words::probes(job, reading)) }
        div.probes-face {
            @if stage.live {
                p.caution { strong { "Caution." } " " @if job.inlet().is_some() { (caution::LIVE_READING) } @else { (caution::LOW_POWER_ON) } }
            }
            (drawn(&probes::probes(job, reading, side(bench, reading), &format!("probe-{r}"))))
            (drawn(&[dial::dial(reading, None, &format!("dial-{r}"))]))
            button.big.turn type="button" data-turn="meter" hidden { "Probes are there: enter the reading" }
            button.turn type="button" data-turn="meter-reads" hidden { "Take it from the meter" }
        }
        div.meter-face {
            (answer_form(bench, r, form, true))
            button.turn type="button" data-turn="probes" hidden { "Show where the probes go" }
        }
        @if stage.live { (off_form(job, &stage.name, form, false)) }
    }
}

/// Drawings side by side, each with the same facts as words.
pub fn drawn(drawings: &[Drawing]) -> Markup {
    html! {
        div.drawings {
            @for drawing in drawings { figure { (PreEscaped(&drawing.svg)) } }
        }
    }
}

/// A plug that is in is probed from its wire side, a loose one at its mating face.
fn side(bench: &Bench<'_, '_>, reading: &Reading) -> Side {
    let mated = &bench.proof.setup.stages[reading.stage].mated;
    let is_in = |t: Terminal| match t {
        Terminal::Plug(p, _) => bench.job.plugs[p].mates.is_some_and(|(load, _)| mated[load]),
        _ => false,
    };
    if is_in(reading.red) || is_in(reading.black) { Side::Wires } else { Side::Mating }
}

/// Where a reading is answered: the number on big keys, or what the meter does instead.
pub fn answer_form(bench: &Bench<'_, '_>, r: usize, form: &Form, keys: bool) -> Markup {
    let (job, reading) = (bench.job, &bench.proof.setup.readings[r]);
    let stage = &bench.proof.setup.stages[reading.stage].name;
    let [red, black] = [reading.red, reading.black].map(|t| nets::name(job, t));
    let (window, plainly) = (reading.window, plain(reading));
    let minus = reading.function == Function::Volts && window.high <= 0.0;
    let field = format!("amount-{r}");
    html! {
        form.reading method="post" action=(form.action) autocomplete="off"
            data-low=(number(window.low)) data-high=(number(window.high))
            data-plain-low=(number(plainly.low)) data-plain-high=(number(plainly.high)) {
            (hidden(form, "reading", stage))
            input type="hidden" name="red" value=(red);
            input type="hidden" name="black" value=(black);
            input type="hidden" name="function" value=(entry::word(reading.function));
            input type="hidden" name="instrument" value="";
            p.window { "It must be " strong { (words::window(reading)) } "." }
            div.amount {
                label for=(field) { "The meter shows" }
                input id=(field) name="amount" inputmode="decimal" value=[minus.then_some("−")] data-sign=[minus.then_some("−")];
                select name="unit" aria-label="Unit" {
                    @for (name, _) in units(reading.function) {
                        option value=(name) selected[*name == usual(reading)] { (name) }
                    }
                }
            }
            @if keys { (keypad(reading.function)) }
            button.big type="submit" name="answer" value="value" { "Enter" }
            div.answers role="group" aria-label="Instead of a number" {
                @for (answer, says) in answers(reading.function) {
                    button type="submit" name="answer" value=(answer) { (says) }
                }
            }
        }
    }
}

/// Keys for a gloved thumb; a script shows them and makes them work.
fn keypad(function: Function) -> Markup {
    html! {
        div.keypad role="group" aria-label="Keys" hidden {
            @for key in ["7", "8", "9", "4", "5", "6", "1", "2", "3"] { button type="button" data-key=(key) { (key) } }
            @if function == Function::Ohms {
                button type="button" data-key="clear" { "Clear" }
            } @else {
                button type="button" data-key="sign" aria-label="plus or minus" { "±" }
            }
            button type="button" data-key="0" { "0" }
            button type="button" data-key="." aria-label="decimal point" { "." }
        }
    }
}

/// A number as a script reads it.
fn number(value: f64) -> String {
    match value {
        v if v == f64::INFINITY => "Infinity".into(),
        v if v == f64::NEG_INFINITY => "-Infinity".into(),
        v => v.to_string(),
    }
}
