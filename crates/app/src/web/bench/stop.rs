//! Stopped: what to do at once, what explains the readings, and the ways on from here.

use super::form::{Form, hidden};
use super::reading::{answer_form, drawn};
use super::step::{cautions, off_form, place, switch_off};
use crate::caution;
use crate::proof::suspects::{self, Told};
use crate::proof::words;
use crate::web::desk::Bench;
use maud::{Markup, html};
use voltwright_drawing::dial;
use voltwright_job::nets;
use voltwright_proof::diagnosis::{CONNECTED, Diagnosis, Next};
use voltwright_proof::first_power::{Power, Stop, Walk, Why};
use voltwright_proof::reading::Function;

/// Suspects that are told one by one.
const TOLD: usize = 5;
/// Reasons that are offered ready to press; another can be written.
const REASONS: [&str; 3] = [
    "The machine differs from the job file here, and the job file will be corrected",
    "Measured with a second meter, which shows a value inside",
    "This point cannot be reached on this machine",
];

/// The screen.
pub fn screen(bench: &mut Bench<'_, '_>, walk: &Walk<'_, '_>, stop: Stop, form: &Form) -> Markup {
    let job = bench.job;
    let stage = bench.proof.setup.readings[stop.reading].stage;
    let name = &bench.proof.setup.stages[stage].name;
    if walk.power() == Power::Live {
        return html! {
            (place(bench, stage, Some(stop.reading)))
            (head(bench, walk, stop))
            p.act { strong { (switch_off(job)) "." } }
            (cautions(&[caution::POWER_OFF, caution::RESERVOIRS]))
            (off_form(job, name, form, true))
            p { "What explains it comes when the power is off." }
        };
    }
    let is_read = matches!(stop.why, Why::Low | Why::High);
    let diagnosis = is_read.then(|| bench.diagnose(walk.taken()));
    html! {
        (place(bench, stage, Some(stop.reading)))
        (head(bench, walk, stop))
        p.act { strong { @if job.inlet().is_some() { "Leave the mains plug out" } @else { "Leave the power off" } ", and do not go on." } }
        @if let Some(diagnosis) = &diagnosis {
            (explained(bench, diagnosis, name, form))
            @if let Some(next) = diagnosis.next { (suggested(bench, next, form)) }
        }
        (again(bench, stop.reading, form))
        @if diagnosis.is_none() { (mended(&[], name, form)) }
        (overrule(bench, walk, stop.reading, form))
    }
}

/// What is wrong, as the first thing on the screen.
fn head(bench: &Bench<'_, '_>, walk: &Walk<'_, '_>, stop: Stop) -> Markup {
    let reading = &bench.proof.setup.readings[stop.reading];
    let taken = walk.taken().iter().find(|t| t.reading == stop.reading);
    let is_read = matches!(stop.why, Why::Low | Why::High);
    let value = taken.filter(|t| is_read && words::is_value(t)).map(|t| t.shown.low);
    let shown = value.map_or_else(String::new, |v| format!("{}: ", words::value(reading.function, v)));
    let is = match stop.why {
        Why::Low => "low",
        Why::High => "high",
        Why::Jumps => "jumps",
        Why::NotMeasured => "was not measured",
    };
    let is = if is_read {
        html! { "it is " strong { (is) } }
    } else {
        html! { "It " strong { (is) } }
    };
    html! {
        h1.stop { "STOP" }
        p.wrong role="alert" {
            (words::probes(bench.job, reading)) ". " (shown) (is)
            @if is_read { ", and must be " (words::window(reading)) }
            "."
        }
        @match stop.why {
            Why::Jumps => p { "A reading that does not stand still is a loose joint, a bad probe contact, or a supply that switches off and tries again." },
            Why::NotMeasured => p { "A reading of the plan that is left out is a gap: what it alone would show stays unseen." },
            Why::Low | Why::High => @if value.is_some() { (drawn(&[dial::dial(reading, value, "stop-dial")])) },
        }
    }
}

/// What explains the readings, each with where to look and a button for when it was found.
fn explained(bench: &Bench<'_, '_>, diagnosis: &Diagnosis, stage: &str, form: &Form) -> Markup {
    let told: Vec<Told> =
        diagnosis.suspects.iter().take(TOLD).map(|s| suspects::told(bench.proof, s)).collect();
    let more = diagnosis.suspects.len() - told.len();
    html! {
        h2 { "What explains all readings" }
        @if told.is_empty() {
            p { (suspects::NOTHING_EXPLAINS) }
        } @else {
            ol.suspects {
                @for suspect in &told {
                    li {
                        p { strong { (suspect.says) } (suspect.same) " (" (suspect.share) ")." }
                        p { "Look at: " (suspect.look) "." }
                    }
                }
            }
            @if more > 0 { p { "And " (words::count(more, "other")) ", less likely." } }
            p.faint {
                "Shares are among the mistakes that the model knows. A slipped probe, a blown fuse or a part that failed in another way is not weighed."
            }
            @if is_astray(bench, diagnosis) { p.caution { strong { "Caution." } " " (caution::MAINS_ASTRAY) } }
        }
        (mended(&told, stage, form))
    }
}

/// Whether something that is likely enough to be told joins the mains to low voltage.
fn is_astray(bench: &Bench<'_, '_>, diagnosis: &Diagnosis) -> bool {
    let told = diagnosis.suspects.iter().take(TOLD).flat_map(|s| &s.classes);
    told.map(|c| &bench.proof.classes[*c]).any(|class| class.prepared.mains.crossing)
}

/// What was found and mended; everything is measured again after it.
fn mended(told: &[Told], stage: &str, form: &Form) -> Markup {
    html! {
        form.mended method="post" action=(form.action) {
            (hidden(form, "mended", stage))
            h2 { "Found and mended" }
            p { "Whatever was mended, all readings are taken again from the first: a wire that was moved may now be wrong in another way." }
            @for (i, suspect) in told.iter().enumerate() {
                button.choice type="submit" name="note" value=(format!("Found and mended: {}", suspect.says)) {
                    "It was " (i + 1) ": " (suspect.says)
                }
            }
            details {
                summary { "It was something else" }
                label for="mended-note" { "What was mended" }
                input id="mended-note" name="other" maxlength="500";
                button.choice type="submit" name="note" value="" { "Mended" }
            }
        }
    }
}

/// The reading or the trace that tells the suspects apart best. With the power on it is only named.
fn suggested(bench: &Bench<'_, '_>, next: Next, form: &Form) -> Markup {
    let setup = &bench.proof.setup;
    let (job, stages) = (bench.job, &setup.stages);
    let (stage, body) = match next {
        Next::Reading(r) => {
            let reading = &setup.readings[r];
            let what = html! {
                p { "Meter to " strong { (words::function(reading.function)) } ", " (words::probes(job, reading)) "." }
                @if !stages[reading.stage].live { (answer_form(bench, r, form, false)) }
            };
            (reading.stage, what)
        }
        Next::Trace { stage, at } => (stage, trace(bench, stage, nets::name(job, at), form)),
    };
    html! {
        details.suggested open[matches!(next, Next::Reading(_))] {
            summary { "To tell them apart: " @if matches!(next, Next::Trace { .. }) { "go round with one probe" } @else { "one more reading" } }
            p { "Look first at the places above. If nothing is found there:" }
            (cautions(&words::cautions(job, stages, stage)))
            p { (words::set_up(job, stages, stage)) }
            (body)
        }
    }
}

/// One probe stays, the other goes round; what is connected is ticked.
fn trace(bench: &Bench<'_, '_>, stage: usize, at: String, form: &Form) -> Markup {
    let setup = &bench.proof.setup;
    let name = |t| nets::name(bench.job, t);
    let others = setup.readings_of(stage).iter().filter_map(|r| match (name(r.red), name(r.black)) {
        (red, black) if red == at => Some((red, black.clone(), black)),
        (red, black) if black == at => Some((red.clone(), black, red)),
        _ => None,
    });
    html! {
        form.trace method="post" action=(form.action) {
            (hidden(form, "reading", &setup.stages[stage].name))
            input type="hidden" name="function" value="ohms";
            p {
                "Meter to ohms. One probe stays on " strong { (at) } ", the other goes to each of these in turn; tick those where it shows less than "
                (words::value(Function::Ohms, CONNECTED)) "."
            }
            @for (red, black, other) in others {
                label.tick { input type="checkbox" name="connected" value=(format!("{red} {black}")); (other) }
                input type="hidden" name="pair" value=(format!("{red} {black}"));
            }
            button.choice type="submit" { "These are connected, the others are not" }
        }
    }
}

/// To take the same reading again.
fn again(bench: &Bench<'_, '_>, r: usize, form: &Form) -> Markup {
    let stage = &bench.proof.setup.stages[bench.proof.setup.readings[r].stage];
    html! {
        h2 { "Measure it again" }
        @if stage.live {
            form method="post" action=(form.action) {
                (hidden(form, "again", &stage.name))
                p { "Only if the probe may have slipped: the stage is set up and switched on once more." }
                button.choice type="submit" { "Set the stage up again" }
            }
        } @else {
            form method="post" action=(form.action) {
                (hidden(form, "again", &stage.name))
                p { "If a probe may have slipped, or the leads were not zeroed. What was read stays in the record." }
                button.choice type="submit" { "Measure it again" }
            }
        }
    }
}

/// To go on all the same; says what stays unseen, and wants a reason.
fn overrule(bench: &Bench<'_, '_>, walk: &Walk<'_, '_>, r: usize, form: &Form) -> Markup {
    let proof = bench.proof;
    let stage = &proof.setup.stages[proof.setup.readings[r].stage].name;
    let unseen = walk.unseen_without(r);
    let first = unseen.first().map(|c| proof.mistakes[proof.classes[*c].mistakes[0]].says.as_str());
    html! {
        details.overrule {
            summary { "Go on without it" }
            form method="post" action=(form.action) {
                (hidden(form, "overruled", stage))
                @if let Some(first) = first {
                    p.caution {
                        strong { "Caution." } " " (words::count(unseen.len(), "mistake")) " that " @if unseen.len() == 1 { "does" } @else { "do" }
                        " harm would no longer be seen in time, such as: " (first) "."
                    }
                }
                p { "The record keeps the reading, that you went on, and why." }
                @for reason in REASONS { button.choice type="submit" name="note" value=(reason) { (reason) } }
                label for="overrule-note" { "Another reason" }
                input id="overrule-note" name="other" maxlength="500";
                button.choice type="submit" name="note" value="" { "Go on for this reason" }
            }
        }
    }
}
