//! Do the local mains suit what the machine, or its new supply, is made for?
//!
//! - Highest local voltage `U_high` against the nameplate's voltage with its tolerance (±10 % where the label states
//!   none, common practice), if the machine's own transformer or supply is to be fed.
//! - Lowest and highest local voltage against the input range of a new supply.
//! - Peak that a rectifier sees: `Û = √2 · U_high` (V).
//! - Step-down transformer for the nameplate's watts: `S ≥ 1.5 · P / λ`, with the power factor `λ` of a rectifier
//!   input (common practice; see bench practice on ratings in watts).
//!
//! ```
//! // 34 W on the label, power factor 0.65: at least 78 VA.
//! assert!((1.5 * 34.0 / 0.65 - 78.46_f64).abs() < 0.01);
//! ```
//!
//! Above the label's tolerance with the nominal (or measured) mains it is a stop; only at the upper end of the mains'
//! tolerance a caution: 220 V machines on 230 V are ordinary. That a machine "works today" is not looked at.

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::{Sink, above, below};
use voltwright_job::{Fate, Given, Job, Nameplate, PartKind};
use voltwright_model::{LocalMains, Solved};
use voltwright_quantity::{ApparentPower, Quantity, Ratio, Source, Voltage, Working};

static OVER_PLATE: Code = Code::new(
    "mains-over-nameplate",
    Stretch::Wall,
    "The local mains are above what the machine is made for.",
);
static UNDER_PLATE: Code = Code::new(
    "mains-under-nameplate",
    Stretch::Wall,
    "The local mains are below what the machine is made for.",
);
static NOT_PLUGGED: Code = Code::new(
    "other-mains",
    Stretch::Wall,
    "The machine is labelled for other mains than those it will live on.",
);
static INPUT: Code =
    Code::new("supply-input-range", Stretch::Supply, "The local mains leave the input range of a supply.");
static PEAK: Code = Code::new("mains-peak", Stretch::Wall, "The highest peak of the local mains.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&OVER_PLATE, &UNDER_PLATE, &NOT_PLUGGED, &INPUT, &PEAK];

/// Tolerance of a nameplate voltage that states none: common practice.
const PLATE_TOLERANCE: f64 = 0.10;

/// Judges the nameplate and every supply's input.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    let Some(mains) = &solved.mains else {
        sink.missing(
            &OVER_PLATE,
            "the mains",
            "job.country",
            "whether the local mains suit the machine, and the peak that its parts will see",
        );
        return;
    };
    peak(mains, sink);
    match &job.machine.nameplate {
        Some(plate) if !plate.voltages.is_empty() => nameplate(solved, sink, mains, plate),
        _ => sink.missing(
            &OVER_PLATE,
            "the machine",
            "machine.nameplate.voltage",
            "whether the local mains suit the machine as it was built",
        ),
    }
    for (p, part) in job.parts.iter().enumerate() {
        let PartKind::MainsSupply(s) = &part.kind else { continue };
        let Some(range) = &s.input_voltage else {
            sink.missing(
                &INPUT,
                &part.key.text,
                format!("part.{}.input.voltage", part.key.text),
                "whether it may be fed from the local mains",
            );
            continue;
        };
        let (low, high) = (range.low, range.high);
        // A printed 100..240 V usually means a tenth more on either side; the sheet tells.
        let room = |widen: f64| {
            below(mains.high.si(), high.si() * (1.0 + widen))
                .min(above(mains.low.si(), low.si() * (1.0 - widen)))
        };
        let says = |what: &str| {
            format!(
                "{} {what} {low} to {high}; the mains of {} go from {} to {}.",
                part.key.text, mains.country, mains.low, mains.high
            )
        };
        sink.judge(&INPUT, p, Severity::Stop, room(PLATE_TOLERANCE), || {
            Finding::new(&part.key.text, says("takes"))
                .about(About::Part(p))
                .cure("a supply for the local mains")
                .at(&range.span)
        });
        if room(PLATE_TOLERANCE) >= 0.0 {
            sink.judge(&INPUT, p, Severity::Caution, room(0.0), || {
                Finding::new(&part.key.text, says("is printed for"))
                    .about(About::Part(p))
                    .cure("look in its sheet for the full range (90..264 V is usual) and enter that")
                    .at(&range.span)
            });
        }
    }
}

/// Whether anything of the machine as it was built will be fed from the mains.
pub(super) fn own_supply_is_fed(job: &Job) -> bool {
    let raw = job.parts.iter().any(|p| matches!(p.kind, PartKind::RawSupply(_)));
    let new = job.parts.iter().any(|p| matches!(p.kind, PartKind::MainsSupply(_)));
    match &job.old_supply {
        Some(old) => old.fate == Fate::InUse,
        // A job with a nameplate and nothing else asks whether the machine may be plugged in.
        None => raw || !new,
    }
}

fn peak(mains: &LocalMains, sink: &mut Sink) {
    sink.tell(&PEAK, Severity::Note, || {
        let top = Voltage::volts(mains.high.si() * std::f64::consts::SQRT_2);
        let measured = if mains.measured.is_some() { "measured" } else { "at its upper tolerance" };
        let u = mains.working("U", &format!("highest mains, {measured}"), mains.high);
        let w =
            Working::formula("Û", "peak", top, "√2 · U", vec![u]).from_source(Source::computed("sine wave"));
        let others = match mains.others.as_slice() {
            [] => String::new(),
            list => format!(
                " {} also has {}: measure the outlet.",
                mains.country,
                list.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
            ),
        };
        let says = match mains.measured {
            Some(_) => {
                format!("The outlet was entered as {} to {}; it peaks at {top}.", mains.low, mains.high)
            }
            None => format!(
                "The mains of {} are {} (from {} to {}) and peak at {top}.{others}",
                mains.country, mains.nominal, mains.low, mains.high
            ),
        };
        Finding::new("the outlet", says).working(w)
    });
}

/// The voltage the machine is set to: the only one, or `set-to`.
pub(super) fn set_voltage(plate: &Nameplate) -> Option<&Given<Voltage>> {
    match (&plate.set_to, plate.voltages.as_slice()) {
        (Some(set), _) => Some(set),
        (None, [only]) => Some(only),
        _ => None,
    }
}

/// Lowest and highest voltage that a label's voltage allows.
fn allowed(voltage: &Given<Voltage>) -> (Voltage, Voltage, bool) {
    let s = voltage.spread;
    if s.is_exact() {
        (s.nominal * (1.0 - PLATE_TOLERANCE), s.nominal * (1.0 + PLATE_TOLERANCE), false)
    } else {
        (s.low, s.high, true)
    }
}

fn nameplate(solved: &Solved<'_>, sink: &mut Sink, mains: &LocalMains, plate: &Nameplate) {
    if !own_supply_is_fed(solved.job) {
        let suits = plate.voltages.iter().any(|v| (allowed(v).0..=allowed(v).1).contains(&mains.nominal));
        if !suits {
            other_mains(sink, mains, plate);
        }
        return;
    }
    let suits = |v: &&Given<Voltage>| (allowed(v).0..=allowed(v).1).contains(&mains.nominal);
    let nearest = || plate.voltages.iter().min_by(|a, b| distance(a, mains).total_cmp(&distance(b, mains)));
    let Some(set) = set_voltage(plate)
        .or_else(|| if plate.voltages.iter().any(|v| suits(&v)) { None } else { nearest() })
    else {
        let list = plate.voltages.iter().map(|v| v.nominal().to_string()).collect::<Vec<_>>().join(", ");
        sink.missing(
            &OVER_PLATE,
            format!("selector for {list}"),
            "machine.nameplate.set-to",
            "whether the selector suits the local mains",
        );
        return;
    };
    let (low, high, stated) = allowed(set);
    // What is surely there: the nominal voltage, or what was measured.
    let surely = if mains.measured.is_some() { mains.high } else { mains.nominal };
    sink.judge(&OVER_PLATE, 0, Severity::Stop, below(surely.si(), high.si()), || {
        over_plate(solved, mains, plate, set, high, stated)
    });
    if surely <= high {
        sink.judge(&OVER_PLATE, 1, Severity::Caution, below(mains.high.si(), high.si()), || {
            let says = format!(
                "The machine is made for {} (at most {high}); the mains of {} are {} and may go up to {}.",
                set.nominal(), mains.country, mains.nominal, mains.high
            );
            Finding::new("the machine", says)
                .cure("measure the outlet over a day and enter it as job.mains; if it does go that high, a bucking winding of a tenth")
                .at(&set.span)
        });
    }
    sink.judge(&UNDER_PLATE, 0, Severity::Caution, above(mains.low.si(), low.si()), || {
        let says = format!(
            "The machine is set to {}; the mains of {} go down to {}.",
            set.nominal(),
            mains.country,
            mains.low
        );
        Finding::new("the machine", says)
            .cure("set its selector to the local voltage, or a step-up transformer")
            .at(&set.span)
    });
}

/// How far a label's voltage is from the local one, as a ratio.
fn distance(voltage: &Given<Voltage>, mains: &LocalMains) -> f64 {
    (voltage.nominal() / mains.nominal).ln().abs()
}

fn other_mains(sink: &mut Sink, mains: &LocalMains, plate: &Nameplate) {
    sink.tell(&NOT_PLUGGED, Severity::Caution, || {
        let labels = plate.voltages.iter().map(|v| v.nominal().to_string()).collect::<Vec<_>>().join(", ");
        let says = format!(
            "The label asks for {labels} and the mains are {}: the machine's own supply must not be plugged in here.",
            mains.nominal
        );
        Finding::new("the nameplate", says)
            .cure("cut or tag the old mains lead, and write on the label what supply the machine has now")
            .at(&plate.voltages[0].span)
    });
}

fn over_plate(
    solved: &Solved<'_>,
    mains: &LocalMains,
    plate: &Nameplate,
    set: &Given<Voltage>,
    high: Voltage,
    stated: bool,
) -> Finding {
    let u = mains.working("Uhigh", "highest local mains", mains.high);
    let name = set.working("Uplate", "nameplate");
    let tolerance = match stated {
        true => Working::looked(
            "most",
            "with the label's tolerance",
            high,
            Source::computed("entered in the job"),
        ),
        false => Working::formula("most", "with the usual tolerance", high, "Uplate · 1.1", vec![name])
            .from_source(Source::practice("±10 % where the label states none")),
    };
    let over = Working::formula(
        "over",
        "above what the label allows",
        mains.high - high,
        "Uhigh − most",
        vec![u, tolerance],
    );
    let says = format!(
        "The machine is {} {} (at most {high}); the mains of {} are {} and go up to {}.{}",
        if plate.voltages.len() > 1 { "set to" } else { "made for" },
        set.nominal(),
        mains.country,
        mains.nominal,
        mains.high,
        // Where it may seem to work, that is no evidence.
        if mains.nominal / set.nominal() < 1.5 {
            " That it may work today is no evidence: the corners decide."
        } else {
            ""
        }
    );
    let finding = Finding::new("the machine", says).working(over).at(&set.span);
    let selectable = plate.voltages.iter().find(|v| (allowed(v).0..=allowed(v).1).contains(&mains.nominal));
    match (selectable, transformer(solved, plate, set, mains)) {
        (Some(v), _) => {
            finding.cure(format!("set its selector to {}, with the fuse that belongs to it", v.nominal()))
        }
        (None, Some(cure)) => finding.cure(cure),
        (None, None) => {
            finding.cure(format!("a step-down transformer from {} to {}", mains.nominal, set.nominal()))
        }
    }
}

/// Sizes of step-down and bucking transformers offered by the trade, volt-amperes: common practice.
const SIZES: [f64; 12] = [16.0, 25.0, 50.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0, 750.0, 1000.0, 1500.0];

fn transformer(
    solved: &Solved<'_>,
    plate: &Nameplate,
    set: &Given<Voltage>,
    mains: &LocalMains,
) -> Option<String> {
    let factor: Ratio = plate.power_factor.as_ref().unwrap_or(&solved.job.assume.power_factor).nominal();
    // A current on the label is volt-amperes already; watts need the power factor.
    let (volt_amps, from) = match (&plate.power, &plate.current) {
        (_, Some(i)) => ((set.nominal() * i.nominal()).si(), format!("{} at {}", i.nominal(), set.nominal())),
        (Some(p), None) => {
            (p.nominal().si() / factor.si(), format!("{} at a power factor of {factor}", p.nominal()))
        }
        (None, None) => return None,
    };
    let needs = 1.5 * volt_amps;
    let size = |at_least: f64| SIZES.iter().copied().find(|s| *s >= at_least).map(ApparentPower::volt_amps);
    let step_down = format!(
        "a step-down transformer from {} to {} of at least {} ({from}, half as much again){}",
        mains.nominal,
        set.nominal(),
        ApparentPower::volt_amps(needs),
        size(needs).map_or(String::new(), |s| format!(": take {s}"))
    );
    let difference = mains.nominal - set.nominal();
    // A bucking winding is sensible for small differences only, and only between like earths.
    if difference.si() <= 0.0 || difference > set.nominal() * 0.4 {
        return Some(step_down);
    }
    let amps = volt_amps / set.nominal().si();
    let buck = difference.si() * amps;
    Some(format!(
        "{step_down}; or a bucking winding of {difference} for {amps:.2} A ({}{}), its polarity proven before the machine is connected: it must read {}, not {}",
        ApparentPower::volt_amps(buck),
        size(buck).map_or(String::new(), |s| format!(", take {s}")),
        set.nominal(),
        mains.nominal + difference
    ))
}
