//! The bench's page: the state of the power, the question, what happened so far; and every other question of the plan kept
//! ready, so that a phone goes on while its connection is away.

use super::form::Form;
use super::step::banner;
use super::{entry, log, path, reading, step};
use crate::caution;
use crate::web::desk::Bench;
use crate::web::frame;
use maud::{Markup, html};
use serde::Serialize;
use voltwright_proof::first_power::{Answer, Ask, Event, Power, Walk};
use voltwright_workshop::{Entry, Listed, Run};

/// What is asked now, and what happened so far.
#[derive(Serialize)]
pub struct Now {
    /// Which question it is: the same text, the same question.
    stamp: String,
    /// The step that follows when all is well.
    then: usize,
    /// Entries in the log: what has fewer was asked earlier, and is not shown over what has more.
    entries: usize,
    /// The question.
    step: String,
    /// The state of the power.
    power: String,
    /// The log.
    log: String,
}

impl Now {
    /// Where a log leads to.
    pub fn of(bench: &mut Bench<'_, '_>, entries: &[Entry], form: &Form, now: u64) -> Self {
        let walk = entry::walk(bench.proof, entries);
        Self {
            stamp: stamp(&walk),
            then: then(&walk),
            entries: entries.len(),
            step: step::screen(bench, &walk, form).into_string(),
            power: banner(bench.job, walk.power(), since(entries), now).into_string(),
            log: log::table(bench.proof, entries).into_string(),
        }
    }
}

/// Names a question.
fn stamp(walk: &Walk<'_, '_>) -> String {
    match walk.ask() {
        Ask::Stopped(stop) => format!("{stop:?} {} {:?}", walk.taken().len(), walk.power()),
        ask => format!("{ask:?} {}", walk.is_at_the_edge()),
    }
}

/// The step that follows when the question is answered well.
fn then(walk: &Walk<'_, '_>) -> usize {
    let mut next = walk.clone();
    match walk.ask() {
        Ask::SetUp(s) => next.take(Event::Ready(s)),
        Ask::Read(r) => next.take(Event::Taken(r, Answer::Inside)),
        Ask::Off(_) => next.take(Event::Off),
        Ask::Discharge => next.take(Event::Discharged),
        Ask::Stopped(_) | Ask::Done => false,
    };
    next.at()
}

/// When the power was last taken away, by our clock.
fn since(entries: &[Entry]) -> Option<u64> {
    entries.iter().rev().find(|e| e.what.kind == "off").map(|e| e.received.0)
}

/// The whole page.
pub fn whole(
    bench: &mut Bench<'_, '_>,
    job: &Listed,
    run: &Run,
    entries: &[Entry],
    form: &Form,
    has_meter: bool,
    now: u64,
) -> Markup {
    let walk = entry::walk(bench.proof, entries);
    let at = path(&job.name, run.number);
    let body = html! {
        div #bench data-log=(format!("{at}/log")) data-now=(format!("{at}/now")) data-meter=[has_meter.then(|| format!("{at}/meter"))]
            data-live=(format!("/live?about={}", job.name)) data-token=(form.token) data-discharge=(caution::DISCHARGE_SECONDS) {
            p.crumbs.one-line { a href=(format!("/job/{}", job.name)) { (job.title) } }
            @if run.revision != job.newest {
                p.caution { strong { "Caution." } " This first power is of revision " (run.revision) "; the job is now revision " (job.newest) "." }
            }
            div #power-place { (banner(bench.job, walk.power(), since(entries), now)) }
            p #unknown role="status" hidden {}
            p #waiting role="status" hidden {}
            p #said role="status" aria-live="polite" {}
            section #step aria-label="What to do now" data-stamp=(stamp(&walk)) data-then=(then(&walk)) {
                (step::screen(bench, &walk, form))
            }
            section #log aria-label="What happened so far" { (log::table(bench.proof, entries)) }
            (ahead(bench, form))
            (banners(bench, now))
        }
    };
    frame::with_script(&format!("First power: {}", job.title), "/static/bench.js", &body)
}

/// Every question of the plan, and a stop, for a phone without connection.
fn ahead(bench: &mut Bench<'_, '_>, form: &Form) -> Markup {
    let mut walk = Walk::new(bench.proof);
    let steps = walk.steps().to_vec();
    html! {
        @for (i, ask) in steps.iter().enumerate() {
            // What was passed over is known to the workshop alone, so the end is only told by it.
            template data-at=(i) data-stamp=(if *ask == Ask::Done { "end".to_owned() } else { stamp(&walk) }) {
                @match ask {
                    Ask::SetUp(s) => (step::set_up(bench, *s, form)),
                    Ask::Read(r) => (reading::screen(bench, &walk, *r, form)),
                    Ask::Off(s) => (step::off(bench, *s, form)),
                    Ask::Discharge => (step::discharge(bench, form)),
                    Ask::Stopped(_) | Ask::Done => {
                        h1 { "The last question is answered" }
                        p { "What was checked and what stays unseen is told as soon as the workshop has all answers." }
                    }
                }
            }
            ({ walk.take(well(*ask)); "" })
        }
        template #stopped {
            p.place {}
            h1.stop { "STOP" }
            p.wrong role="alert" {}
            p.act { strong { (step::switch_off(bench.job)) ", and do not go on." } }
            (step::cautions(&[caution::POWER_OFF, caution::RESERVOIRS]))
            div.when-live { (step::off_form(bench.job, "", form, true)) }
            p { "What explains it comes with the connection. The reading is kept in this phone until then." }
        }
    }
}

/// What happens when all is well.
fn well(ask: Ask) -> Event {
    match ask {
        Ask::SetUp(s) => Event::Ready(s),
        Ask::Read(r) => Event::Taken(r, Answer::Inside),
        Ask::Discharge => Event::Discharged,
        Ask::Off(_) | Ask::Stopped(_) | Ask::Done => Event::Off,
    }
}

/// The three states of the power, for a phone without connection.
fn banners(bench: &Bench<'_, '_>, now: u64) -> Markup {
    html! {
        @for (name, power) in [("off", Power::Off), ("live", Power::Live), ("waiting", Power::Discharging)] {
            template data-power=(name) { (banner(bench.job, power, Some(now), now)) }
        }
    }
}
