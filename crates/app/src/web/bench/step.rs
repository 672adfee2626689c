//! The question that is asked now, as a screen: one question, with the cautions that belong before it.

use super::form::{Form, hidden};
use super::{reading, stop};
use crate::caution;
use crate::proof::words;
use crate::web::desk::Bench;
use maud::{Markup, html};
use voltwright_job::Job;
use voltwright_proof::first_power::{self, Ask, Power, Walk};

/// The screen of what is asked.
pub fn screen(bench: &mut Bench<'_, '_>, walk: &Walk<'_, '_>, form: &Form) -> Markup {
    match walk.ask() {
        Ask::SetUp(s) => set_up(bench, s, form),
        Ask::Read(r) => reading::screen(bench, walk, r, form),
        Ask::Off(s) => off(bench, s, form),
        Ask::Discharge => discharge(bench, form),
        Ask::Stopped(why) => stop::screen(bench, walk, why, form),
        Ask::Done => super::done::screen(bench, walk),
    }
}

/// A stage to set up.
pub fn set_up(bench: &Bench<'_, '_>, s: usize, form: &Form) -> Markup {
    let (job, stages) = (bench.job, &bench.proof.setup.stages);
    let live = stages[s].live;
    let done = match (live, job.inlet()) {
        (true, _) => "Power is on",
        (false, Some(_)) => "Done, the plug is out",
        (false, None) => "Done, power is off",
    };
    html! {
        (place(bench, s, None))
        h1 { "Set up: " (stages[s].name) }
        (cautions(&words::cautions(job, stages, s)))
        p.order { (words::set_up(job, stages, s)) }
        @if live { p { (caution::WATCH) } }
        form method="post" action=(form.action) data-live=[live.then_some("yes")] {
            (hidden(form, "ready", &stages[s].name))
            button.big type="submit" { (done) }
        }
    }
}

/// The power to switch off.
pub fn off(bench: &Bench<'_, '_>, s: usize, form: &Form) -> Markup {
    let stages = &bench.proof.setup.stages;
    html! {
        (place(bench, s, None))
        h1 { (switch_off(bench.job)) }
        (cautions(&[caution::POWER_OFF, caution::RESERVOIRS]))
        (off_form(bench.job, &stages[s].name, form, true))
    }
}

/// The reservoirs to discharge.
pub fn discharge(bench: &Bench<'_, '_>, form: &Form) -> Markup {
    html! {
        h1 { "Discharge the reservoirs" }
        (cautions(&[caution::RESERVOIRS]))
        p.order { (caution::DISCHARGE) " " (caution::WAITED) }
        form method="post" action=(form.action) {
            (hidden(form, "discharged", &bench.proof.setup.stages[0].name))
            button.big type="submit" { "Measured, discharged, measured again" }
        }
    }
}

/// The button that says that the power is off: as the answer to what is asked, or whenever something smells.
pub fn off_form(job: &Job, stage: &str, form: &Form, is_asked: bool) -> Markup {
    let says = match (job.inlet(), is_asked) {
        (Some(_), true) => "The plug is out",
        (None, true) => "Power is off",
        (Some(_), false) => "I pulled the plug",
        (None, false) => "I switched off",
    };
    html! {
        form method="post" action=(form.action) {
            (hidden(form, "off", stage))
            button type="submit" class=(if is_asked { "big" } else { "choice" }) { (says) }
        }
    }
}

/// How this job's power is taken away, as an order.
pub fn switch_off(job: &Job) -> &'static str {
    if job.inlet().is_some() { "Switch off, pull the plug" } else { "Switch off" }
}

/// Cautions, each one sentence after another.
pub fn cautions(all: &[&str]) -> Markup {
    html! {
        @for caution in all { p.caution { strong { "Caution." } " " (caution) } }
    }
}

/// Where in the plan one is.
pub fn place(bench: &Bench<'_, '_>, stage: usize, reading: Option<usize>) -> Markup {
    let (stages, plan) = (&bench.proof.setup.stages, &bench.proof.asked);
    let number = reading.and_then(|r| plan.iter().position(|p| *p == r));
    let set_up = first_power::set_up(bench.proof);
    let nth = set_up.iter().filter(|s| **s <= stage).count();
    html! {
        p.place {
            "Stage " (nth) " of " (set_up.len()) ", " (stages[stage].name)
            @if let Some(n) = number { " · reading " (n + 1) " of " (plan.len()) }
        }
    }
}

/// The state of the power, always in sight: what it is, since when, and how long reservoirs are waited for.
pub fn banner(job: &Job, power: Power, since: Option<u64>, now: u64) -> Markup {
    let (class, says) = match (power, job.inlet()) {
        (Power::Live, Some(_)) => ("live", "LIVE: mains on"),
        (Power::Live, None) => ("live", "LIVE: power on"),
        (Power::Off, Some(_)) => ("off", "Off: the plug is out"),
        (Power::Off, None) => ("off", "Off"),
        (Power::Discharging, _) => ("waiting", "Off, waiting for reservoirs to discharge"),
    };
    let ends = since.filter(|_| power == Power::Discharging).map(|s| s + caution::DISCHARGE_SECONDS * 1000);
    html! {
        div #power class=(format!("power {class}")) role="status" data-ends=[ends] data-now=(now) {
            strong { (says) }
            @if let Some(ends) = ends {
                span.timer { (ends.saturating_sub(now).div_ceil(1000)) " s" }
                span.then { (caution::WAITED) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::sheet::{Paper, whole};
    use super::super::standing::Standing;
    use super::*;
    use crate::web::desk::Desks;
    use crate::web::workshop::EXAMPLES;

    /// What the setting up of every stage must say before it asks anything, by what can hurt there.
    fn hazards(bench: &Bench<'_, '_>, s: usize) -> Vec<&'static str> {
        let stages = &bench.proof.setup.stages;
        let stage = &stages[s];
        let after_power = stages[..s].iter().any(|earlier| earlier.live);
        match (stage.live, bench.job.inlet().is_some()) {
            (true, true) => {
                vec!["Mains are on from here", "One hand behind your back", "pull the plug first"]
            }
            (true, false) => vec!["Power is on from here"],
            (false, _) if after_power => vec!["Pull the mains plug", "stay charged after the plug is pulled"],
            (false, _) => vec!["only with the mains plug pulled", "licensed practice"],
        }
    }

    #[test]
    fn every_hazardous_stage_begins_with_its_cautions_on_screen_and_on_paper() {
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        let desks = Desks::new(2);
        for (name, _, text) in EXAMPLES {
            let seen = desks.of(text).ask(move |bench| {
                let form = Form::new("/".into(), String::new(), String::new());
                let standing = Standing { stops: Vec::new(), escapes: 0 };
                let sheet = whole(bench, &standing, "job", 1, Paper::A4).into_string();
                let mut seen = 0;
                for s in 0..bench.proof.setup.stages.len() {
                    let screen = set_up(bench, s, &form).into_string();
                    let before = screen.split("class=\"order\"").next().unwrap_or_default().to_owned();
                    for hazard in hazards(bench, s) {
                        assert!(
                            before.contains(hazard),
                            "{name}, stage {s}: no \"{hazard}\" before its order"
                        );
                        assert!(sheet.contains(hazard), "{name}, sheet: no \"{hazard}\"");
                        seen += 1;
                    }
                    let off = off(bench, s, &form).into_string();
                    assert!(off.contains("stay charged after the plug is pulled"), "{name}, stage {s}");
                }
                (seen, bench.proof.setup.stages.len())
            });
            let (seen, stages) = runtime.block_on(seen).unwrap();
            assert!(seen >= stages && stages >= 3, "{name}: {seen} at {stages}");
        }
    }
}
