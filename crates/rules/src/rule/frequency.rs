//! Does what turns, transforms or resonates suit the local frequency?
//!
//! - Flux of a transformer against the flux it was made for: `Φ = (U / f) / (U0 / f0)`, with the highest local voltage
//!   `U` (V), the lowest local frequency `f` (Hz), and nameplate values `U0`, `f0` (its lowest frequency).
//!   Limit 1.12: the tenth of over-voltage that iron is designed for, and a margin for reading (common practice).
//! - Speed of a synchronous or induction motor: `n ∝ f`; the pulley that corrects it has the ratio `f0 / f`.
//! - A resonant (constant-voltage) transformer follows the frequency by about 1.6 % per 1 % (common practice).
//!
//! ```
//! // A 120 V 60 Hz transformer on 120 V 50 Hz: 1.2 times its flux.
//! assert!(((120.0 / 50.0) / (120.0 / 60.0) - 1.2_f64).abs() < 1e-12);
//! ```

use super::mains_and_nameplate::{own_supply_is_fed, set_voltage};
use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::{Sink, above, below};
use voltwright_job::{Bounds, Job, Motor, OldKind, PartKind};
use voltwright_model::{LocalMains, Solved};
use voltwright_quantity::{Frequency, Quantity, Ratio, Source, Voltage, Working};

static FLUX: Code =
    Code::new("iron-flux", Stretch::Wall, "A transformer's flux exceeds what it was made for.");
static SPEED: Code = Code::new("motor-speed", Stretch::Wall, "A motor would turn at another speed.");
static RESONANT: Code =
    Code::new("resonant-transformer", Stretch::Wall, "A resonant transformer follows the frequency.");
static INPUT: Code =
    Code::new("supply-input-frequency", Stretch::Supply, "The local frequency is outside a supply's range.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&FLUX, &SPEED, &RESONANT, &INPUT];

const FLUX_LIMIT: f64 = 1.12;

/// Judges iron, motors and supply inputs.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let (job, Some(mains)) = (solved.job, &solved.mains) else { return };
    for (p, part) in job.parts.iter().enumerate() {
        match &part.kind {
            PartKind::MainsSupply(s) => input(sink, p, &part.key.text, s.input_frequency.as_ref(), mains),
            PartKind::RawSupply(s) => flux(
                sink,
                p + 1,
                Severity::Stop,
                &part.key.text,
                mains,
                s.primary.nominal(),
                s.frequency.as_ref(),
            ),
            _ => {}
        }
    }
    if !own_supply_is_fed(job) {
        return;
    }
    let plate = job.machine.nameplate.as_ref();
    let frequency = plate.and_then(|p| p.frequency.as_ref());
    let has_raw = job.parts.iter().any(|p| matches!(p.kind, PartKind::RawSupply(_)));
    if let Some(set) = plate.and_then(set_voltage)
        && !has_raw
        && iron_is_possible(job)
    {
        // Nothing says yet whether it has a transformer on the mains.
        let known = job.old_supply.is_some();
        let (severity, name) = if known {
            (Severity::Stop, "the machine's transformer")
        } else {
            (Severity::Caution, "a transformer (if the machine has one)")
        };
        if !known {
            sink.missing(
                &FLUX,
                "the machine",
                "old-supply.kind",
                "whether it has a transformer that minds the frequency",
            );
        }
        flux(sink, 0, severity, name, mains, set.nominal(), frequency);
    }
    motor(sink, job, mains, frequency);
}

/// An off-line supply has no iron on the mains; anything else may have.
fn iron_is_possible(job: &Job) -> bool {
    job.old_supply.as_ref().is_none_or(|old| old.kind == OldKind::Linear)
}

fn flux(
    sink: &mut Sink,
    key: usize,
    severity: Severity,
    name: &str,
    mains: &LocalMains,
    made_for: Voltage,
    frequency: Option<&Bounds<Frequency>>,
) {
    let Some(frequency) = frequency else {
        let enter = if key == 0 {
            "machine.nameplate.frequency".to_owned()
        } else {
            format!("part.{name}.frequency")
        };
        sink.missing(&FLUX, name, enter, "whether its iron stands the local frequency");
        return;
    };
    let hertz = Frequency::hertz(mains.lowest_hertz());
    // Too high a voltage is told by itself: here counts what is left once that is cured.
    let volts = mains.high.min(made_for * 1.1);
    let flux = (volts / made_for) * (frequency.low / hertz);
    sink.judge(&FLUX, key, severity, below(flux, FLUX_LIMIT), || {
        let inputs = vec![
            mains.working("U", "highest local mains, or the most it was made for", volts),
            Working::looked("f", "lowest local frequency", hertz, mains.source),
            Working::looked("U0", "voltage it was made for", made_for, Source::computed("entered in the job")),
            Working::looked("f0", "lowest frequency it was made for", frequency.low, Source::computed("entered in the job")),
        ];
        let w = Working::formula("Φ", "flux against what it was made for", Ratio::new(flux), "(U / f) / (U0 / f0)", inputs)
            .from_source(Source::computed("Faraday's law"));
        let says = format!("The iron of {name} would see {flux:.2} times the flux it was made for: near saturation, hot, humming.");
        let fits = made_for * (hertz / frequency.low);
        Finding::new("the machine's iron", says).working(w).cure(format!("feed it {fits} at {hertz} from a step-down transformer, or from a frequency source"))
    });
}

fn input(sink: &mut Sink, p: usize, name: &str, range: Option<&Bounds<Frequency>>, mains: &LocalMains) {
    let Some(range) = range else { return };
    let worst = |f: f64| below(f, range.high.si()).min(above(f, range.low.si()));
    let margin = mains.hertz.iter().copied().map(worst).fold(f64::INFINITY, f64::min);
    sink.judge(&INPUT, p, Severity::Stop, margin, || {
        let says = format!(
            "{name} takes {} to {}; the mains of {} have other frequencies.",
            range.low, range.high, mains.country
        );
        Finding::new(name, says)
            .about(About::Part(p))
            .cure("a supply for the local frequency")
            .at(&range.span)
    });
}

fn motor(sink: &mut Sink, job: &Job, mains: &LocalMains, frequency: Option<&Bounds<Frequency>>) {
    let turns = matches!(job.machine.motor, Some(Motor::Synchronous | Motor::Induction));
    let Some(made_for) = frequency else {
        if turns {
            sink.missing(
                &SPEED,
                "the motor",
                "machine.nameplate.frequency",
                "whether it will turn at its speed",
            );
        }
        return;
    };
    if job.machine.motor.is_none() {
        sink.missing(
            &SPEED,
            "the machine",
            "machine.motor",
            "whether anything in it turns at a speed set by the mains",
        );
    }
    // Where a country has two frequencies, the one that is farther off counts.
    let off = |f: f64| (f / f.clamp(made_for.low.si(), made_for.high.si())).ln().abs();
    let farthest = mains.hertz.iter().copied().max_by(|a, b| off(*a).total_cmp(&off(*b))).unwrap_or(50.0);
    let hertz = Frequency::hertz(farthest);
    let outside = hertz < made_for.low || hertz > made_for.high;
    let nearest = if hertz < made_for.low { made_for.low } else { made_for.high };
    let ratio = hertz / nearest;
    if turns && outside {
        sink.tell(&SPEED, Severity::Stop, || {
            let says = format!("Its motor is made for {nearest} and would turn at {:.3} of its speed on {hertz}.", ratio);
            Finding::new("the motor", says).at(&made_for.span).cure(format!(
                "a pulley with {:.3} times the diameter on the motor, another motor, or a frequency source; a transformer does not change it",
                1.0 / ratio
            ))
        });
    }
    if job.machine.resonant && outside {
        sink.tell(&RESONANT, Severity::Stop, || {
            let off = Ratio::new(1.6 * (ratio - 1.0));
            Finding::new(
                "the resonant transformer",
                format!("Its outputs follow the frequency: about {off} off on {hertz}."),
            )
            .cure("a frequency source, or another supply")
            .at(&made_for.span)
        });
    }
}
