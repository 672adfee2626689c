//! Is anything joined that must not be, or not joined that must be, on the way of the power itself?
//!
//! - line and neutral as one conductor; the plus of an output and its own minus as one conductor;
//! - a supply whose line or neutral no wire reaches, or whose line and neutral are exchanged;
//! - a converter that does not run at the solved operating point, since its input is out of range or nothing enables it.
//!
//! Which wiring mistakes are possible beyond the plan is the proof's question, not this one's.

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::Sink;
use voltwright_circuit::State;
use voltwright_job::{PartKind, Supply};
use voltwright_model::{Loading, Solved};

static MAINS: Code = Code::new("mains-shorted", Stretch::MainsSide, "Line and neutral are one conductor.");
static OUTPUT: Code = Code::new("output-shorted", Stretch::Supply, "An output is wired to its own return.");
static NOT_WIRED: Code =
    Code::new("mains-not-wired", Stretch::MainsSide, "No wire brings line or neutral to a supply.");
static EXCHANGED: Code = Code::new(
    "line-and-neutral-exchanged",
    Stretch::MainsSide,
    "A supply's line terminal lies on the neutral.",
);
static CONVERTER: Code =
    Code::new("converter-does-not-run", Stretch::Supply, "A converter does not run where it is wired.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&MAINS, &OUTPUT, &NOT_WIRED, &EXCHANGED, &CONVERTER];

/// Judges every supply and converter.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    if job.wires.is_empty() || !sink.wants_any(CODES) {
        return;
    }
    let holds = |wrong: bool| if wrong { -1.0 } else { 1.0 };
    sink.judge(&MAINS, 0, Severity::Stop, holds(solved.wiring().mains_shorted(job)), || {
        Finding::new("the mains", "Line and neutral are one conductor: a dead short across the outlet.")
            .cure("follow both from the inlet, wire by wire")
    });
    for (p, part) in job.parts.iter().enumerate() {
        match &part.kind {
            PartKind::MainsSupply(s) => {
                mains_input(solved, sink, p);
                outputs(solved, sink, p, s);
            }
            PartKind::RawSupply(_) => mains_input(solved, sink, p),
            PartKind::Converter(s) => {
                outputs(solved, sink, p, s);
                converter(solved, sink, p);
            }
            _ => {}
        }
    }
}

fn mains_input(solved: &Solved<'_>, sink: &mut Sink, p: usize) {
    let job = solved.job;
    let Some(inlet) = job.inlet() else { return };
    let name = &job.parts[p].key.text;
    let paths = &solved.wiring().paths;
    for (k, pole) in ["line", "neutral"].into_iter().enumerate() {
        let (Some(here), Some(there)) = (job.terminal(p, pole), job.terminal(inlet, pole)) else {
            continue;
        };
        let other = job.terminal(inlet, if k == 0 { "neutral" } else { "line" });
        let exchanged = other.is_some_and(|o| paths.same(here, o)) && !paths.same(here, there);
        let open = !paths.same(here, there) && !exchanged;
        sink.judge(&NOT_WIRED, 2 * p + k, Severity::Stop, if open { -1.0 } else { 1.0 }, || {
            Finding::new(name, format!("No wire brings the {pole} from the inlet to {name}."))
                .about(About::Part(p))
                .cure(format!("wire {name}.{pole}"))
                .at(&job.parts[p].key.span)
        });
        if exchanged && k == 0 {
            sink.tell(&EXCHANGED, Severity::Caution, || {
                let says = format!("The line terminal of {name} lies on the neutral: its own fuse or switch then breaks the wrong pole.");
                Finding::new(name, says).about(About::Part(p)).cure("exchange the two wires").at(&job.parts[p].key.span)
            });
        }
    }
}

fn outputs(solved: &Solved<'_>, sink: &mut Sink, p: usize, s: &Supply) {
    let job = solved.job;
    for (o, output) in s.outputs.iter().enumerate() {
        let name = format!("{}.{}", job.parts[p].key.text, output.name.text);
        let minus = job.terminal(p, &format!("{}.minus", output.name.text));
        let plus = job.terminal(p, &format!("{}.plus", output.name.text));
        let shorted = plus.zip(minus).is_some_and(|(a, b)| solved.wiring().paths.same(a, b));
        sink.judge(&OUTPUT, p * 1000 + o, Severity::Stop, if shorted { -1.0 } else { 1.0 }, || {
            Finding::new(&name, format!("{name} is wired to its own return."))
                .about(About::Part(p))
                .cure("follow its wires, one by one")
                .at(&output.volts.span)
        });
    }
}

fn converter(solved: &Solved<'_>, sink: &mut Sink, p: usize) {
    let Ok(point) = solved.point(Loading::Run) else { return };
    let Some(e) = solved.low_voltage(Loading::Run).parts[p].first() else { return };
    let why = match point.solution.elements[*e].state {
        State::AboveRange => "its input is above its range: a real one is destroyed",
        State::BelowRange => "its input is below its range",
        State::Disabled => "nothing enables it",
        _ => "",
    };
    sink.judge(&CONVERTER, p, Severity::Stop, if why.is_empty() { 1.0 } else { -1.0 }, || {
        let name = &solved.job.parts[p].key.text;
        Finding::new(name, format!("{name} does not run: {why}."))
            .about(About::Part(p))
            .cure("feed it within its range and enable it, or take another")
            .at(&solved.job.parts[p].key.span)
    });
}
