//! What does every part before the rectifier see on the local mains, against its rating?
//!
//! Re-strapping a transformer changes its winding and forgets its passengers: fan, X capacitor, varistor, neon lamp,
//! fuse, and the reservoir of an off-line supply. For each part, at the highest local mains `U` (V RMS):
//! - X and Y capacitors, switches, filters: `U` against the AC rating;
//! - varistor: `U` against its AC rating, and the peak `√2·U` against it;
//! - fan and lamp: power grows as `(U / U_rated)²`;
//! - neon: current `(U − 65 V) / R` and the heat `(U − 65 V)² / R` of its resistor (65 V burning voltage, common practice);
//! - fuse: the label's rating times `U_old / U_new`, since the same power is drawn;
//! - reservoir and rectifier of an off-line supply: the peak `√2·U` (half of `2·√2·U` each in a doubler).
//!
//! ```
//! // A neon with 33 kΩ on 230 V: 5 mA and 0.83 W in its resistor.
//! let (i, r) = ((230.0 - 65.0) / 33e3, 33e3_f64);
//! assert!((i - 5e-3_f64).abs() < 1e-5 && (i * i * r - 0.825).abs() < 1e-3);
//! ```
//!
//! A supply that stays disconnected gives cautions, for the day somebody plugs it in.

use super::mains_and_nameplate::set_voltage;
use crate::finding::{Code, Finding, Severity, Stretch};
use crate::sink::{Sink, below};
use voltwright_job::{Fate, OldKind, OldPart, OldPartKind, OldSupply, PartKind};
use voltwright_model::{LocalMains, Solved};
use voltwright_quantity::{Current, Power, Quantity, Ratio, Resistance, Source, Voltage, Working};
use voltwright_tables::{fuses, preferred};

static RATING: Code = Code::new(
    "before-rectifier",
    Stretch::OldSupply,
    "A part before the rectifier sees more than its rating.",
);
static FUSE: Code =
    Code::new("fuse-after-strapping", Stretch::OldSupply, "The label's fuse belongs to another voltage.");
static PHASE: Code =
    Code::new("winding-phase", Stretch::OldSupply, "Windings in series must be proven in phase.");
static WINDING: Code =
    Code::new("winding-share", Stretch::OldSupply, "A part across half of the primary loads that half.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&RATING, &FUSE, &PHASE, &WINDING];

/// Burning voltage of a neon lamp: common practice.
const NEON: f64 = 65.0;
/// Volt-amperes of a small fan over its watts: common practice.
const FAN_VA: f64 = 1.2;

/// Judges the old supply's parts and the mains parts of the job.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let Some(mains) = &solved.mains else { return };
    if let Some(old) = &solved.job.old_supply
        && old.fate != Fate::Removed
    {
        let severity = if old.fate == Fate::InUse { Severity::Stop } else { Severity::Caution };
        let seen = Seen { solved, mains, old, severity };
        for (key, part) in old.parts.iter().enumerate() {
            seen.part(sink, key, part);
        }
        seen.windings(sink);
    }
    new_parts(solved, sink, mains);
}

/// Parts of the job's own path that lie across the mains.
fn new_parts(solved: &Solved<'_>, sink: &mut Sink, mains: &LocalMains) {
    for (p, part) in solved.job.parts.iter().enumerate() {
        let rated = match &part.kind {
            PartKind::Varistor(m) | PartKind::Fan(m) | PartKind::Lamp(m) => &m.rated,
            PartKind::Capacitor(c) if c.class.is_some() => match &c.rated {
                Some(rated) => rated,
                None => {
                    sink.missing(
                        &RATING,
                        &part.key.text,
                        format!("part.{}.rated", part.key.text),
                        "whether it stands the local mains",
                    );
                    continue;
                }
            },
            _ => continue,
        };
        // A fan or lamp is made for its nominal voltage with the usual tenth above it.
        let allowance = if matches!(part.kind, PartKind::Fan(_) | PartKind::Lamp(_)) { 1.1 } else { 1.0 };
        let most = rated.nominal() * allowance;
        sink.judge(&RATING, 2 * p + 1, Severity::Stop, below(mains.high.si(), most.si()), || {
            let share = Ratio::new(mains.high / rated.nominal());
            let says = format!(
                "{} is rated {} and sees up to {} ({share:.2}).",
                part.key.text,
                rated.nominal(),
                mains.high
            );
            Finding::new(&part.key.text, says).cure("one for the local mains").at(&rated.span)
        });
    }
}

struct Seen<'a, 'j> {
    solved: &'a Solved<'j>,
    mains: &'a LocalMains,
    old: &'a OldSupply,
    severity: Severity,
}

impl Seen<'_, '_> {
    fn subject(&self, part: &OldPart) -> String {
        format!("old supply, {}", part.key.text)
    }

    /// The highest RMS voltage across a part: half of the mains for one across half of the primary.
    fn sees(&self, part: &OldPart) -> Voltage {
        if part.across_half { self.mains.high / 2.0 } else { self.mains.high }
    }

    fn part(&self, sink: &mut Sink, key: usize, part: &OldPart) {
        match part.kind {
            OldPartKind::Fuse => self.fuse(sink, key, part),
            OldPartKind::Neon => self.neon(sink, 2 * key, part),
            OldPartKind::Fan => self.fan(sink, 2 * key, part),
            _ => self.rated(sink, 2 * key, part),
        }
    }

    fn missing(&self, sink: &mut Sink, part: &OldPart, what: &str) {
        let enter = format!("old-supply.part.{}.{what}", part.key.text);
        sink.missing(&RATING, self.subject(part), enter, "whether it stands the local mains");
    }

    /// Anything that is rated in volts.
    fn rated(&self, sink: &mut Sink, key: usize, part: &OldPart) {
        let Some(rated) = &part.rated else { return self.missing(sink, part, "rated") };
        let peaks = matches!(
            part.kind,
            OldPartKind::Electrolytic | OldPartKind::DoublerElectrolytic | OldPartKind::Rectifier
        );
        if peaks && self.old.kind == OldKind::Linear {
            return; // behind the transformer: judged by the rule on linear regulators
        }
        let rms = self.sees(part);
        let sees = if peaks { rms * std::f64::consts::SQRT_2 } else { rms };
        let max = rated.nominal();
        sink.judge(&RATING, key, self.severity, below(sees.si(), max.si()), || {
            let nominal = if part.across_half { self.mains.nominal / 2.0 } else { self.mains.nominal };
            let u = self.mains.working("U", "across it at nominal mains", nominal);
            let formula = if peaks { "√2 · U / rated" } else { "U / rated" };
            let ratio = Ratio::new(nominal.si() * (sees.si() / rms.si()) / max.si());
            let w = Working::formula("share", "of its rating, at nominal mains", ratio, formula, vec![u, rated.working("rated", "its rating")])
                .from_source(Source::computed("sine wave"));
            let says = format!("The {} is rated {max} and sees {sees} at the highest mains: {ratio:.2} of its rating at nominal mains.{}", name(part.kind), effect(part.kind));
            self.closing(Finding::new(self.subject(part), says).working(w).at(&rated.span), part)
        });
    }

    fn closing(&self, finding: Finding, part: &OldPart) -> Finding {
        if self.old.fate == Fate::Disconnected {
            return finding.cure("keep the old supply disconnected, and tag it with the voltage it is for");
        }
        finding.cure(match part.kind {
            OldPartKind::XCapacitor => "an X2 capacitor of 275 V AC or more".to_owned(),
            OldPartKind::YCapacitor => "a Y2 capacitor of 250 V AC or more".to_owned(),
            OldPartKind::Varistor => "a varistor of 275 V AC".to_owned(),
            OldPartKind::Fan => {
                format!("a fan for {}, or a DC fan on the unregulated rail", self.mains.nominal)
            }
            _ => format!("one for mains up to {}", self.mains.high),
        })
    }

    fn fan(&self, sink: &mut Sink, key: usize, part: &OldPart) {
        let Some(rated) = &part.rated else { return self.missing(sink, part, "rated") };
        let most = rated.nominal() * 1.1;
        sink.judge(&RATING, key, self.severity, below(self.sees(part).si(), most.si()), || {
            let ratio = self.mains.nominal / rated.nominal();
            let watts = part.power.as_ref().map(|p| p.nominal() * ratio * ratio);
            let power = watts.map_or(String::new(), |w| {
                format!(
                    ", taking {w} for the {} it is made for",
                    part.power.as_ref().map_or(Power::ZERO, |p| p.nominal())
                )
            });
            let says = format!(
                "The fan is made for {} and would lie on {}: {:.1} times its power{power}.",
                rated.nominal(),
                self.mains.nominal,
                ratio * ratio
            );
            let u = self.mains.working("U", "local mains", self.mains.nominal);
            let w = Working::formula(
                "times",
                "its power",
                Ratio::new(ratio * ratio),
                "(U / rated)²",
                vec![u, rated.working("rated", "its voltage")],
            );
            self.closing(Finding::new(self.subject(part), says).working(w).at(&rated.span), part)
        });
        self.half_winding(sink, key, part);
    }

    /// A 115 V fan moved across one half of the primary loads that half.
    fn half_winding(&self, sink: &mut Sink, key: usize, part: &OldPart) {
        let (Some(winding), Some(power), Some(machine)) = (
            &self.old.winding_power,
            &part.power,
            self.solved.job.machine.nameplate.as_ref().and_then(|p| p.power.as_ref()),
        ) else {
            return;
        };
        let halves = self.old.primaries.len().max(1) as f64;
        let share = machine.nominal() / halves + power.nominal() * FAN_VA;
        let max = winding.nominal();
        let severity = if part.across_half { self.severity } else { Severity::Note };
        sink.judge(&WINDING, key, severity, below(share.si(), max.si()), || {
            let inputs = vec![machine.working("P", "the machine"), power.working("Pfan", "the fan"), winding.working("most", "one winding")];
            let w = Working::formula("S", "on the half that feeds the fan", share, "P / 2 + 1.2 · Pfan", inputs).from_source(Source::practice("a small fan's volt-amperes are 1.2 times its watts"));
            let says = format!("Moved across one half of the primary, the fan would load that half with {share} of its {max}: not a way out.");
            Finding::new(self.subject(part), says).working(w)
        });
    }

    fn neon(&self, sink: &mut Sink, key: usize, part: &OldPart) {
        let Some(series) = &part.series else { return self.missing(sink, part, "series") };
        let may = part.resistor_power.as_ref().map_or(Power::watts(0.25), |p| p.nominal());
        let volts = Voltage::volts((self.sees(part).si() - NEON).max(0.0));
        let heat = volts * (volts / series.nominal());
        sink.judge(&RATING, key, self.severity, below(heat.si(), may.si()), || {
            let at = Voltage::volts((self.mains.nominal.si() - NEON).max(0.0));
            let amps: Current = at / series.nominal();
            let burns = at * amps;
            let u = self.mains.working("U", "local mains", self.mains.nominal);
            let r = series.working("R", "series resistor");
            let i = Working::formula("I", "through the lamp", amps, "(U − 65 V) / R", vec![u.clone(), r]);
            let w =
                Working::formula("P", "heat of its resistor", burns, "(U − 65 V) · I", vec![u.clone(), i])
                    .from_source(Source::practice("a neon lamp burns at 65 V"));
            let low = Resistance::ohms(preferred::at_least(preferred::Series::E6, volts.si() / 1.2e-3));
            let high = Resistance::ohms(preferred::at_least(preferred::Series::E6, low.si() * 1.3));
            let says = format!(
                "The neon lamp gets {amps} and its {} resistor burns {burns}; it is taken for a {may} one.",
                series.nominal()
            );
            let finding = Finding::new(self.subject(part), says).working(w).at(&series.span);
            if self.old.fate == Fate::Disconnected {
                self.closing(finding, part)
            } else {
                finding.cure(format!("a series resistor of {low} to {high}, rated for the mains voltage"))
            }
        });
    }

    fn fuse(&self, sink: &mut Sink, key: usize, part: &OldPart) {
        let (Some(current), Some(set)) = (
            &part.current,
            self.solved.job.machine.nameplate.as_ref().and_then(set_voltage).or(part.rated.as_ref()),
        ) else {
            return self.missing(sink, part, "current");
        };
        // The label's fuse belongs to the voltage its primary was made for.
        let made_for = self.old.primaries.first().map_or(set.nominal(), |p| p.nominal());
        let made_for = part.rated.as_ref().map_or(made_for, |r| r.nominal());
        let wanted = current.nominal() * (made_for / self.mains.nominal);
        let take = fuses::next_rating_down(wanted * 1.05).unwrap_or(wanted);
        let margin = below(current.nominal().si(), take.si() * 1.3);
        sink.judge(&FUSE, key, self.severity, margin, || {
            let inputs = vec![
                current.working("In", "fuse on the label"),
                Working::looked(
                    "Uold",
                    "voltage it belongs to",
                    made_for,
                    Source::computed("entered in the job"),
                ),
                self.mains.working("U", "local mains", self.mains.nominal),
            ];
            let w =
                Working::formula("I", "the same power at the new voltage", wanted, "In · Uold / U", inputs);
            let says = format!(
                "The label's {} fuse belongs to {made_for}; on {} it is {wanted}.",
                current.nominal(),
                self.mains.nominal
            );
            Finding::new(self.subject(part), says)
                .working(w)
                .cure(format!("a fuse of {take}, of the same speed"))
                .at(&current.span)
        });
    }

    /// The test that tells two windings in series from a dead short.
    fn windings(&self, sink: &mut Sink) {
        if self.old.primaries.len() < 2 || self.old.phase_proven || self.old.fate != Fate::InUse {
            return;
        }
        sink.tell(&PHASE, Severity::Stop, || {
            let test = Voltage::volts(12.0);
            let says = format!(
                "The primaries are joined in series and their phase is not proven: reversed, they are a dead short on {}.",
                self.mains.nominal
            );
            Finding::new("old supply, primaries", says)
                .cure(format!(
                    "with the mains lead out, feed {test} AC into one half and join one end of each: the free ends read {} if the series is right, 0 V if it is reversed; then set phase-proven = true",
                    test * 2.0
                ))
                .at(&self.old.span)
        });
    }
}

fn name(kind: OldPartKind) -> &'static str {
    match kind {
        OldPartKind::Electrolytic => "reservoir",
        OldPartKind::DoublerElectrolytic => "reservoir of the doubler",
        OldPartKind::Rectifier => "rectifier",
        OldPartKind::XCapacitor => "X capacitor",
        OldPartKind::YCapacitor => "Y capacitor",
        OldPartKind::Varistor => "varistor",
        OldPartKind::Switch => "switch",
        OldPartKind::Filter => "filter",
        OldPartKind::Fan => "fan",
        OldPartKind::Neon => "neon lamp",
        OldPartKind::Fuse => "fuse",
    }
}

fn effect(kind: OldPartKind) -> &'static str {
    match kind {
        OldPartKind::Varistor => " It would conduct on every peak and burn.",
        OldPartKind::Electrolytic | OldPartKind::DoublerElectrolytic => " It would vent.",
        OldPartKind::XCapacitor | OldPartKind::YCapacitor => {
            " It would fail, with smoke, at once or weeks later."
        }
        _ => "",
    }
}
