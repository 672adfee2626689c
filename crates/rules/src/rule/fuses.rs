//! Does every fuse carry its load, survive the inrush, break the fault, and protect the wires behind it?
//!
//! - Running current at the lowest mains against the rating: an IEC 60127 fuse carries its rating; 90 % of it is kept
//!   (common practice for a time-lag fuse in a warm holder).
//! - Inrush: the pulse's `∫i²dt` against 22 % of the melting I²t (100,000 pulses, maker's guide, from memory). The pulse
//!   of a capacitor input is taken as half a sine of 3 ms: `½·Î²·t` (common practice).
//! - Breaking capacity: low (35 A) is little on a wall socket; 1500 A is asked for on 200 V and more (common practice).
//! - Wires: the fuse must act at 2.1 times its rating (IEC 60127-2) before the wire passes 160 °C (PVC, from memory).
//!   A wire of the low-voltage side is protected by the fuse before it, else by the limit of its supply. From the inlet
//!   to the mains fuse only the house's own protection acts, which nobody entered: keep that piece short.

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::{Sink, above, below};
use voltwright_job::nets::Nets;
use voltwright_job::{Fuse, Job, PartKind, Terminal, Wire};
use voltwright_model::solved::MainsEnd;
use voltwright_model::wire_heat::{DESTROYED, rise_at};
use voltwright_model::{Loading, Solved, air_inside};
use voltwright_quantity::{
    Current, MeltingIntegral, Power, Quantity, Ratio, Resistance, Source, Time, Working,
};
use voltwright_tables::{conductors, fuses};

static RUNNING: Code =
    Code::new("fuse-running", Stretch::MainsSide, "A fuse carries more than it should for long.");
static INRUSH: Code = Code::new("fuse-inrush", Stretch::MainsSide, "The inrush wears a fuse out.");
static BREAKING: Code =
    Code::new("fuse-breaking", Stretch::MainsSide, "A fuse may not break the fault current.");
static NO_FUSE: Code =
    Code::new("mains-unfused", Stretch::MainsSide, "The mains reach a supply without a fuse in the line.");
static UNPROTECTED: Code =
    Code::new("wire-unprotected", Stretch::Wiring, "Nothing protects a wire before it is destroyed.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&RUNNING, &INRUSH, &BREAKING, &NO_FUSE, &UNPROTECTED];

/// Share of its rating that a fuse is loaded with for long: common practice.
const RUNNING_SHARE: f64 = 0.9;
/// Length of a supply's inrush, as half a sine: common practice.
const INRUSH_TIME: Time = Time::seconds(3e-3);
/// Pulses that a fuse shall survive.
const PULSES: f64 = 100_000.0;
/// Multiple of its rating at which an IEC fuse must act within half an hour (IEC 60127-2).
const MUST_ACT: f64 = 2.1;

/// Judges every fuse, then every wire.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    if !sink.wants_any(CODES) {
        return;
    }
    let wiring = solved.wiring().clone();
    let nets = &wiring.paths;
    for (p, part) in solved.job.parts.iter().enumerate() {
        if let PartKind::Fuse(f) = &part.kind {
            let mains = wiring.is_on_mains(Terminal::Part(p, 0));
            let seen = Seen { solved, p, name: &part.key.text, f, mains };
            seen.running(sink);
            seen.inrush(sink);
            seen.breaking(sink);
        }
    }
    unfused(solved, sink);
    let sources = [false, true].map(|mains| sources(solved.job, mains));
    for (w, wire) in solved.job.wires.iter().enumerate() {
        protected(solved, sink, nets, &sources, w, wire);
    }
}

struct Seen<'a, 'j> {
    solved: &'a Solved<'j>,
    p: usize,
    name: &'a str,
    f: &'a Fuse,
    mains: bool,
}

impl Seen<'_, '_> {
    fn current(&self) -> Option<Current> {
        if self.mains {
            let point = self.solved.mains_point(MainsEnd::Low)?;
            let e = *point.0.parts[self.p].first()?;
            let computed = Current::amps(point.1.elements[e].current.abs());
            return Some(self.stated_input().map_or(computed, |stated| computed.min(stated)));
        }
        let e = *self.solved.low_voltage(Loading::Run).parts[self.p].first()?;
        Some(Current::amps(self.solved.heavy_point()?.solution.elements[e].current.abs()))
    }

    /// The highest input current of all supplies together, where every sheet states it.
    fn stated_input(&self) -> Option<Current> {
        let inputs = self.solved.job.parts.iter().filter_map(|p| match &p.kind {
            PartKind::MainsSupply(s) => Some(s.input_current.as_ref().map(|i| i.nominal())),
            PartKind::RawSupply(_) | PartKind::Fan(_) | PartKind::Lamp(_) => Some(None),
            _ => None,
        });
        inputs.sum::<Option<Current>>().filter(|i| *i > Current::ZERO)
    }

    /// What makes the running current of a mains fuse: the supplies behind it, at their worse ends.
    fn behind(&self) -> Vec<Working> {
        let Some(mains) = self.solved.mains.as_ref().filter(|_| self.mains) else { return Vec::new() };
        let mut inputs = vec![mains.working("U", "lowest mains", mains.low)];
        for (p, part) in self.solved.job.parts.iter().enumerate() {
            let PartKind::MainsSupply(s) = &part.kind else { continue };
            let output = Power::watts(self.solved.output_watts(p, true));
            inputs.push(Working::solved(
                "Pout",
                &part.key.text,
                output,
                "every draw at its upper end",
                vec![],
            ));
            inputs.extend(
                s.efficiency.as_ref().map(|e| e.working_at("η", "its efficiency, lower end", e.spread.low)),
            );
            let factor = s.power_factor.as_ref().unwrap_or(&self.solved.job.assume.power_factor);
            inputs.push(factor.working_at("λ", "its power factor, lower end", factor.spread.low));
        }
        inputs
    }

    fn running(&self, sink: &mut Sink) {
        let (Some(i), max) = (self.current(), self.f.rating.nominal() * RUNNING_SHARE) else { return };
        sink.judge(&RUNNING, self.p, Severity::Stop, below(i.si(), max.si()), || {
            let inputs = vec![
                self.f.rating.working("In", "rating"),
                Working::looked(
                    "share",
                    "kept in use",
                    Ratio::new(RUNNING_SHARE),
                    Source::practice("time-lag fuse in a warm holder"),
                ),
                Working::solved(
                    "I",
                    "running",
                    i,
                    "at the lowest mains, every draw at its upper end",
                    self.behind(),
                ),
            ];
            let w = Working::formula("room", "left", max - i, "share · In − I", inputs);
            let take = fuses::next_rating_up(i / RUNNING_SHARE);
            let says = format!("{} of {} carries {i} when running.", self.name, self.f.rating.nominal());
            let finding =
                Finding::new(self.name, says).about(About::Part(self.p)).working(w).at(&self.f.rating.span);
            match take {
                Some(size) => finding.cure(format!("a fuse of {size}, if the wires behind it allow it")),
                None => finding,
            }
        });
    }

    /// The highest inrush of the supplies, and the melting I²t of the fuse.
    fn inrush(&self, sink: &mut Sink) {
        if !self.mains {
            return;
        }
        let supplies = self.solved.job.parts.iter().filter_map(|p| match &p.kind {
            PartKind::MainsSupply(s) => Some((p, s.inrush.as_ref())),
            _ => None,
        });
        let mut peak = Current::ZERO;
        for (part, inrush) in supplies {
            match inrush {
                Some(given) => peak = peak + given.nominal(),
                None => {
                    let enter = format!("part.{}.input.inrush", part.key.text);
                    sink.missing(
                        &INRUSH,
                        self.name,
                        enter,
                        "whether the inrush wears the fuse and the switch out",
                    );
                }
            }
        }
        let Some(speed) = self.f.speed.as_ref().and_then(|s| fuses::Speed::parse(&s.text)) else {
            let enter = format!("part.{}.speed", self.name);
            return sink.missing(&INRUSH, self.name, enter, "whether the inrush wears it out");
        };
        if peak <= Current::ZERO {
            return;
        }
        let high = self.f.breaks.as_ref().is_some_and(|b| b.current.si() >= 1000.0);
        let (melting, source) = match &self.f.melting {
            Some(given) => (given.nominal(), Source::computed("entered in the job")),
            None if high && matches!(speed, fuses::Speed::T | fuses::Speed::TT) => {
                fuses::melting_integral_high(self.f.rating.nominal())
            }
            None => fuses::melting_integral(self.f.rating.nominal(), speed),
        };
        let pulse = fuses::half_sine_integral(peak, INRUSH_TIME);
        let most: MeltingIntegral = melting * fuses::pulse_share(PULSES);
        sink.judge(&INRUSH, 2 * self.p + 1, Severity::Stop, below(pulse.si(), melting.si()), || {
            let says = format!("The inrush of {peak} is a pulse of {pulse}; {} melts at {melting}: it opens at the first switch-on.", self.name);
            Finding::new(self.name, says).about(About::Part(self.p)).cure("a slower fuse of the size the wires allow, or an inrush limiter").at(&self.f.rating.span)
        });
        if pulse > melting {
            return;
        }
        sink.judge(&INRUSH, 2 * self.p, Severity::Caution, below(pulse.si(), most.si()), || {
            let inputs = vec![
                Working::looked("Î", "inrush of the supplies", peak, Source::computed("entered in the job")),
                Working::looked("t", "its length", INRUSH_TIME, Source::practice("half a sine")),
            ];
            let w = Working::formula("I²t", "the pulse", pulse, "½ · Î² · t", inputs).from_source(fuses::PULSE_SOURCE);
            let m = Working::looked("melting", "I²t of the fuse", melting, source);
            let room = Working::formula("share", "of the melting I²t", Ratio::new(pulse / melting), "I²t / melting", vec![w, m]);
            let says = format!(
                "The inrush of {peak} is a pulse of {pulse}; {} melts at {melting} and stands {most} again and again.",
                self.name
            );
            Finding::new(self.name, says).about(About::Part(self.p)).working(room).cure("a slower fuse, or an inrush limiter").at(&self.f.rating.span)
        });
    }

    fn breaking(&self, sink: &mut Sink) {
        if !self.mains {
            return;
        }
        let Some(mains) = &self.solved.mains else { return };
        let Some(breaks) = &self.f.breaks else {
            let enter = format!("part.{}.breaks", self.name);
            return sink.missing(
                &BREAKING,
                self.name,
                enter,
                "whether it breaks a short circuit of the mains",
            );
        };
        let margin_volts = above(breaks.voltage.si(), mains.nominal.si());
        sink.judge(&BREAKING, 2 * self.p, Severity::Stop, margin_volts, || {
            let says = format!(
                "{} breaks its current at up to {}; the mains are {}.",
                self.name, breaks.voltage, mains.nominal
            );
            Finding::new(self.name, says)
                .about(About::Part(self.p))
                .cure("a fuse rated for the mains voltage")
                .at(&self.f.rating.span)
        });
        let wanted = Current::amps(if mains.nominal.si() > 150.0 { 1500.0 } else { 100.0 });
        sink.judge(
            &BREAKING,
            2 * self.p + 1,
            Severity::Caution,
            above(breaks.current.si(), wanted.si()),
            || {
                let says = format!(
                    "{} breaks {}; a short circuit at a wall socket may give more.",
                    self.name, breaks.current
                );
                Finding::new(self.name, says)
                    .about(About::Part(self.p))
                    .cure(format!("a ceramic fuse that breaks {wanted}"))
                    .at(&self.f.rating.span)
            },
        );
    }
}

/// Every line terminal of a supply must be parted from the inlet's line by a fuse.
fn unfused(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    let Some(inlet) = job.inlet() else { return };
    let nets = Nets::through_only(job, |kind| matches!(kind, PartKind::Switch(_)));
    for (p, part) in job.parts.iter().enumerate() {
        if !matches!(part.kind, PartKind::MainsSupply(_) | PartKind::RawSupply(_)) {
            continue;
        }
        let Some(line) = job.terminal(inlet, "line") else { continue };
        // Whichever of its terminals the line is wired to.
        let bare = ["line", "neutral"].iter().filter_map(|n| job.terminal(p, n)).any(|t| nets.same(line, t));
        let margin = if bare { -1.0 } else { 1.0 };
        sink.judge(&NO_FUSE, p, Severity::Stop, margin, || {
            let says = format!("No fuse lies between the inlet's line and {}.", part.key.text);
            Finding::new(&part.key.text, says)
                .about(About::Part(p))
                .cure("a fuse in the line conductor, next to the inlet")
                .at(&part.key.span)
        });
    }
}

/// The terminal of a regulator that it holds.
const REGULATED: usize = 2;

/// The current at which something acts before a wire is destroyed.
fn protected(
    solved: &Solved<'_>,
    sink: &mut Sink,
    nets: &Nets,
    sources: &[Vec<Terminal>; 2],
    w: usize,
    wire: &Wire,
) {
    if !sink.wants(&UNPROTECTED, w) {
        return;
    }
    let ends = [wire.from, wire.to];
    let mains = solved.wiring().is_on_mains(ends[0]);
    let net = nets.net(ends[0]);
    let fuse = fuse_before(
        solved.job,
        solved.wiring().fuse_steps(solved.job),
        &sources[usize::from(mains)],
        ends[0],
    );
    let acts = if mains { fuse } else { fuse.or_else(|| low_protection(solved, nets, net)) };
    let Some((by, amps)) = acts else {
        // A return has no source of its own, and before the mains fuse the house's own protection counts.
        let feeds = |s: &&Terminal| !mains && nets.same(**s, ends[0]);
        if let Some(enter) = sources[0].iter().find(feeds).and_then(|s| limit_of(solved.job, *s)) {
            let subject = format!("{} and what else it feeds", wire.from_text.text);
            let tells = "what protects its wires, unless a fuse is put before them";
            sink.missing(&UNPROTECTED, subject, enter, tells);
        }
        return;
    };
    let (per_metre, area) = solved.wiring().metres[w];
    let air = air_inside(solved.job);
    let reaches = air.si() + rise_at(DESTROYED, amps.si(), area, per_metre, wire.bundle);
    sink.judge(&UNPROTECTED, w, Severity::Stop, below(reaches - air.si(), DESTROYED - air.si()), || {
        let t = voltwright_quantity::Temperature::celsius(reaches);
        let (.., source) = conductors::per_metre(wire.size);
        let inputs = vec![
            Working::looked("I", &format!("current at which {by} acts"), amps, Source::seen("IEC 60127-2 for fuses; the supply's limit as entered")),
            Working::looked("r", "resistance of a metre", Resistance::ohms(per_metre), source),
        ];
        let working = Working::formula("T", "the wire in a fault", t, "Tair + I² · r · kt / (π · d · h) / k²", inputs)
            .from_source(Source::memory("160 °C for PVC, IEC 60364-4-43"));
        let says = format!(
            "{} ({}) would reach {t} at the {amps} that {by} lets through for long; its insulation is destroyed at {DESTROYED:.0} °C.",
            wire.name(),
            wire.size_text.text
        );
        Finding::new(wire.name(), says).about(About::Wire(w)).working(working).cure("a fuse for this wire near its source, or a thicker wire").at(&wire.span)
    });
}

/// The fuse that every way from a source to a terminal passes: the largest, where ways differ; none where a source is
/// there without any.
fn fuse_before(
    job: &Job,
    steps: &[(Option<usize>, Nets)],
    sources: &[Terminal],
    here: Terminal,
) -> Option<(String, Current)> {
    let fed = |nets: &Nets| sources.iter().any(|s| nets.same(*s, here));
    let (fuse, _) = steps.iter().find(|(_, nets)| fed(nets))?;
    let part = &job.parts[(*fuse)?];
    match &part.kind {
        PartKind::Fuse(f) => Some((part.key.text.clone(), f.rating.nominal() * MUST_ACT)),
        _ => None,
    }
}

/// Where the limit of a source is to be entered; for a winding with rectifier there is none, only a fuse protects.
fn limit_of(job: &Job, source: Terminal) -> Option<String> {
    let Terminal::Part(p, t) = source else { return None };
    let part = &job.parts[p];
    match &part.kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => {
            let o = (0..s.outputs.len()).find(|o| crate::demand::live_terminal(job, p, *o) == Some(t))?;
            Some(format!("part.{}.output.{}.limit", part.key.text, s.outputs[o].name.text))
        }
        PartKind::Regulator(_) => Some(format!("part.{}.limit", part.key.text)),
        _ => Some("[part.…] a fuse after it".to_owned()),
    }
}

/// The largest limit of the outputs on a net.
fn low_protection(solved: &Solved<'_>, nets: &Nets, net: usize) -> Option<(String, Current)> {
    let job = solved.job;
    let regulators = job.parts.iter().enumerate().filter_map(|(p, part)| {
        let PartKind::Regulator(r) = &part.kind else { return None };
        let acts = r.limit.as_ref()?.nominal();
        (nets.net(Terminal::Part(p, REGULATED)) == net).then(|| (part.key.text.clone(), acts))
    });
    let outputs = job.parts.iter().enumerate().flat_map(|(p, part)| {
        let list = match &part.kind {
            PartKind::MainsSupply(s) | PartKind::Converter(s) => s.outputs.as_slice(),
            _ => &[],
        };
        list.iter().enumerate().filter_map(move |(o, output)| {
            let live = crate::demand::live_terminal(job, p, o)?;
            let acts = output.ceiling()?.nominal();
            (nets.net(Terminal::Part(p, live)) == net)
                .then(|| (format!("{}.{}", part.key.text, output.name.text), acts))
        })
    });
    outputs.chain(regulators).max_by(|a, b| a.1.si().total_cmp(&b.1.si()))
}

/// Where current comes from: the line of the inlet, or the live ends of all outputs.
fn sources(job: &Job, mains: bool) -> Vec<Terminal> {
    let of = |(p, part): (usize, &voltwright_job::Part)| -> Vec<Terminal> {
        match &part.kind {
            PartKind::Inlet if mains => job.terminal(p, "line").into_iter().collect(),
            PartKind::MainsSupply(s) | PartKind::Converter(s) if !mains => (0..s.outputs.len())
                .filter_map(|o| crate::demand::live_terminal(job, p, o).map(|t| Terminal::Part(p, t)))
                .collect(),
            PartKind::RawSupply(s) if !mains => s
                .outputs
                .iter()
                .filter_map(|o| {
                    job.terminal(p, &format!("{}.{}", o.name.text, if o.negative { "minus" } else { "plus" }))
                })
                .collect(),
            PartKind::Regulator(_) if !mains => vec![Terminal::Part(p, REGULATED)],
            _ => Vec::new(),
        }
    };
    job.parts.iter().enumerate().flat_map(of).collect()
}
