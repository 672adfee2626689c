//! Which rails does the machine need that nothing provides, and how could they be made?
//!
//! A rail is provided by an output or a regulator whose voltage is within a tenth of its nominal. Ways to make a missing
//! one, with what each costs: a linear regulator from a rail of the same sign and at least 2 V more (heat
//! `(U_in − U)·I`); an inverting or isolated converter from another rail (`U·I / 0.8` from it, common practice).

use crate::finding::{Code, Finding, Severity, Stretch};
use crate::sink::Sink;
use voltwright_job::{Job, PartKind};
use voltwright_model::Solved;
use voltwright_quantity::{Current, Power, Quantity, Voltage};

static MISSING: Code = Code::new("rail-missing", Stretch::Supply, "A rail is needed that nothing provides.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&MISSING];

/// Volts that a linear regulator needs: common practice.
const HEADROOM: f64 = 2.0;

/// Judges every rail that is drawn from.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    let (provided, raw) = (provided(job), raw_peaks(job));
    // Without any source there is nothing to miss yet.
    if provided.is_empty() && raw.is_empty() {
        return;
    }
    for (r, rail) in job.rails.iter().enumerate() {
        let draws: Vec<_> = job
            .loads
            .iter()
            .flat_map(|l| l.draws.iter().filter(|d| d.rail == r).map(move |d| (l, d)))
            .collect();
        if draws.is_empty() {
            continue;
        }
        let nominal = rail.nominal.nominal();
        let there = provided.iter().any(|v| ((*v - nominal) / nominal).abs() < 0.1);
        sink.judge(&MISSING, r, Severity::Stop, if there { 1.0 } else { -1.0 }, || {
            let amps: Current = draws.iter().map(|(_, d)| d.run.spread.high).sum();
            let names: Vec<&str> = draws.iter().map(|(l, _)| l.name.as_str()).collect();
            let says = format!(
                "{} ({nominal}) is needed by {} at up to {amps}, and nothing provides it.",
                rail.name.text,
                names.join(", ")
            );
            Finding::new(&rail.name.text, says)
                .cure(ways(&[provided.as_slice(), &raw].concat(), nominal, amps))
                .at(&rail.name.span)
        });
    }
}

/// Voltages of all outputs and regulators.
fn provided(job: &Job) -> Vec<Voltage> {
    job.parts
        .iter()
        .flat_map(|p| match &p.kind {
            PartKind::MainsSupply(s) | PartKind::Converter(s) => {
                s.outputs.iter().map(|o| o.volts.nominal()).collect()
            }
            PartKind::Regulator(r) => vec![r.volts.nominal()],
            _ => Vec::new(),
        })
        .collect()
}

/// Peaks of all raw windings: no rail by themselves, but something to make one from.
fn raw_peaks(job: &Job) -> Vec<Voltage> {
    let outputs = job.parts.iter().filter_map(|p| match &p.kind {
        PartKind::RawSupply(s) => Some(&s.outputs),
        _ => None,
    });
    let peak = |o: &voltwright_job::RawOutput| o.winding.nominal() * std::f64::consts::SQRT_2;
    outputs.flatten().map(|o| if o.negative { -peak(o) } else { peak(o) }).collect()
}

fn ways(provided: &[Voltage], nominal: Voltage, amps: Current) -> String {
    let same_sign =
        |v: &&Voltage| v.si() * nominal.si() > 0.0 && v.abs().si() >= nominal.abs().si() + HEADROOM;
    let linear =
        provided.iter().filter(same_sign).min_by(|a, b| a.abs().si().total_cmp(&b.abs().si())).map(|v| {
            let heat: Power = (v.abs() - nominal.abs()) * amps;
            format!("a linear regulator from {v} (it burns {heat}), or ")
        });
    let power = nominal.abs() * amps / 0.8;
    format!("{}a converter that takes about {power} from another rail", linear.unwrap_or_default())
}
