//! Does every output of the supply cover what is asked of it, at its upper and at its lower end?
//!
//! Five numbers a rail: running current, peak with its duration, least load, tolerance, order. The current of an
//! output is that of the solved circuit with its limits lifted, so that regulators and converters count with what
//! they take. Limits:
//! - running at the upper end of every draw: at most the rating; nominal: at most 80 % of it
//!   (`assume.continuous`), common practice;
//! - all starts together: at most what the output holds (`trips-at`, `peak`, else `limit`), for at most the time its
//!   peak may last; a supply chosen for it anew has `I_peak / 0.8`;
//! - lower end of every draw: at least `least`; the preload that cures it is `R ≤ U / (I_least − I)`, of twice the
//!   power `U²/R` that it burns (common practice);
//! - a capacitor that bridges a peak needs `C = (I_peak − I_limit)·t / ΔU` (charge balance).
//!
//! ```
//! // 5 V needs 0.8 A and gets 0.45 A: a preload of at most 14.3 Ω.
//! let missing: f64 = 0.8 - 0.45;
//! assert!((5.0 / missing - 14.2857).abs() < 1e-3);
//! ```
//!
//! Not covered: how the limit itself drifts with temperature (rule 19), dynamics of the dip.

use crate::demand::{Demand, demands, matches};
use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::holds::holds;
use crate::sink::{Sink, above, below};
use voltwright_job::{Output, Overload, PartKind, Supply};
use voltwright_model::{Loading, Solved};
use voltwright_quantity::{
    ApparentPower, Capacitance, Current, Power, Quantity, Ratio, Resistance, Source, Voltage, Working,
};
use voltwright_tables::preferred;

static OVER_RATING: Code =
    Code::new("output-over-rating", Stretch::Supply, "An output runs above its rating.");
static OVER_SHARE: Code =
    Code::new("output-over-share", Stretch::Supply, "An output runs above its continuous share.");
static PEAK: Code =
    Code::new("peak-over-limit", Stretch::Supply, "The starts ask for more than an output holds.");
static PEAK_TIME: Code =
    Code::new("peak-too-long", Stretch::Supply, "A start lasts longer than an output's peak may.");
static BRIDGE: Code = Code::new(
    "peak-not-bridged",
    Stretch::Supply,
    "The capacitor that would bridge a peak is more than the output starts.",
);
static CAPACITANCE: Code = Code::new(
    "output-capacitance",
    Stretch::Supply,
    "More capacitance hangs on an output than it will start.",
);
static LEAST: Code =
    Code::new("under-least-load", Stretch::Supply, "An output gets less than its least load.");
static POWER: Code =
    Code::new("power-over-rating", Stretch::Supply, "All outputs together exceed the supply's power.");
static POWER_SHARE: Code =
    Code::new("power-over-share", Stretch::Supply, "All outputs together exceed the continuous share.");
static AT_WALL: Code =
    Code::new("drawn-from-wall", Stretch::Wall, "What the machine will draw from the mains.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[
    &OVER_RATING,
    &OVER_SHARE,
    &PEAK,
    &PEAK_TIME,
    &BRIDGE,
    &CAPACITANCE,
    &LEAST,
    &POWER,
    &POWER_SHARE,
    &AT_WALL,
];

/// Judges every output, then every supply as a whole.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    if !sink.wants_any(CODES) {
        return;
    }
    let job = solved.job;
    let all = demands(solved);
    for (key, demand) in all.iter().enumerate() {
        let (p, o) = demand.output;
        let (PartKind::MainsSupply(s) | PartKind::Converter(s)) = &job.parts[p].kind else { continue };
        let output = &s.outputs[o];
        if demand.draws.is_empty() && demand.run_high.si() < 1e-6 && output.least.is_none() {
            continue;
        }
        let name = format!("{}.{}", job.parts[p].key.text, output.name.text);
        let seen = Seen { solved, key, name, demand, supply: s, output };
        seen.rating(sink);
        seen.peak(sink);
        seen.capacitance(sink);
        seen.least(sink, &all);
    }
    for p in 0..job.parts.len() {
        if let PartKind::MainsSupply(s) | PartKind::Converter(s) = &job.parts[p].kind {
            power(solved, sink, p, s, &all);
        }
    }
}

/// One output with what is asked of it.
struct Seen<'a, 'j> {
    solved: &'a Solved<'j>,
    key: usize,
    name: String,
    demand: &'a Demand,
    supply: &'a Supply,
    output: &'a Output,
}

impl Seen<'_, '_> {
    /// The draws behind a figure, as leaves.
    fn draws(&self, start: bool) -> Vec<Working> {
        let job = self.solved.job;
        let one = |(l, d): &(usize, usize)| {
            let (load, draw) = (&job.loads[*l], &job.loads[*l].draws[*d]);
            let given = draw.start.as_ref().filter(|_| start).map_or(&draw.run, |(s, _)| s);
            given.working_at(
                &load.key.text,
                &format!("{} from {}", load.name, job.rails[draw.rail].name.text),
                given.spread.high,
            )
        };
        self.demand.draws.iter().map(one).collect()
    }

    fn rating(&self, sink: &mut Sink) {
        let Some(limit) = &self.output.limit else {
            sink.missing(
                &OVER_RATING,
                &self.name,
                format!("part.{}.output.{}.limit", self.part(), self.output.name.text),
                "whether it covers its loads",
            );
            return;
        };
        let (i, max) = (self.demand.run_high, limit.nominal());
        sink.judge(&OVER_RATING, self.key, Severity::Stop, below(i.si(), max.si()), || {
            let i_w = Working::solved(
                "I",
                "running, every draw at its upper end",
                i,
                "with limits lifted",
                self.draws(false),
            );
            let room = Working::formula(
                "room",
                "left of the rating",
                max - i,
                "rating − I",
                vec![limit.working("rating", "continuous rating"), i_w],
            );
            let wanted = (self.demand.run / self.solved.job.assume.continuous.nominal().si()).max(i);
            Finding::new(&self.name, format!("{} runs at up to {i}; it is rated {max}.", self.name))
                .about(About::Part(self.demand.output.0))
                .working(room)
                .cure(format!("a supply with at least {wanted} on this output, or fewer loads on it"))
                .at(&limit.span)
        });
        let share = &self.solved.job.assume.continuous;
        let (i, most) = (self.demand.run, max * share.nominal().si());
        sink.judge(&OVER_SHARE, self.key, Severity::Caution, below(i.si(), most.si()), || {
            let i_w = Working::solved("I", "running, nominal", i, "with limits lifted", self.draws(false));
            let inputs = vec![
                share.working("share", "continuous share, common practice"),
                limit.working("rating", "rating"),
                i_w,
            ];
            Finding::new(
                &self.name,
                format!("{} runs at {i}, more than {} of its {max}.", self.name, share.nominal()),
            )
            .about(About::Part(self.demand.output.0))
            .working(Working::formula("room", "left of the share", most - i, "share · rating − I", inputs))
            .cure(format!("an output of at least {}", i / share.nominal().si()))
        });
    }

    fn part(&self) -> &str {
        &self.solved.job.parts[self.demand.output.0].key.text
    }

    fn peak(&self, sink: &mut Sink) {
        let starts =
            self.demand.draws.iter().any(|(l, d)| self.solved.job.loads[*l].draws[*d].start.is_some());
        let (true, Some(ceiling)) = (starts, self.output.ceiling()) else { return };
        let (peak, max) = (self.demand.start_high, ceiling.nominal());
        sink.judge(&PEAK, self.key, Severity::Stop, below(peak.si(), max.si()), || {
            self.write_peak(peak, max)
        });
        if let (Some((_, Some(may))), Some(lasts)) = (&self.output.peak, self.demand.start_time) {
            let above_rating = self.output.limit.as_ref().is_some_and(|l| peak > l.nominal());
            let margin = if above_rating { below(lasts.si(), may.si()) } else { 1.0 };
            sink.judge(&PEAK_TIME, self.key, Severity::Stop, margin, || {
                Finding::new(
                    &self.name,
                    format!("The starts on {} last {lasts}; its peak may last {may}.", self.name),
                )
                .about(About::Part(self.demand.output.0))
                .cure("start the loads one after the other, or a supply with a longer peak")
            });
        }
        if peak > max {
            self.bridge(sink, peak, max);
        }
    }

    fn write_peak(&self, peak: Current, max: Current) -> Finding {
        let share = &self.solved.job.assume.continuous;
        let wanted = peak / share.nominal().si();
        let ceiling = self.output.ceiling().map(|c| c.working("limit", "what the output holds")).into_iter();
        let i_w = Working::solved(
            "I",
            "all starts together, upper ends",
            peak,
            "with limits lifted",
            self.draws(true),
        );
        let w = Working::formula(
            "over",
            "above what it holds",
            peak - max,
            "I − limit",
            ceiling.chain([i_w]).collect(),
        );
        let happens = match self.supply.overload {
            Overload::Hold => "it drops its voltage on each start",
            Overload::Hiccup => "it switches off and tries again on each start",
            Overload::Latch => "it switches off and stays off",
            Overload::FoldBack => "it folds back and may stay there",
        };
        let time = self.demand.start_time.map_or(String::new(), |t| format!(" for at least {t}"));
        let nominal = self.demand.run;
        let average = match &self.output.limit {
            Some(l) if nominal < l.nominal() => {
                format!(" The running {nominal} of {} is not what decides.", l.nominal())
            }
            _ => String::new(),
        };
        let says =
            format!("Starts ask {} for {peak}{time}; it holds {max}, so {happens}.{average}", self.name);
        Finding::new(&self.name, says).about(About::Part(self.demand.output.0))
            .working(w)
            .cure(format!("an output of at least {wanted}, or one with a documented peak of {peak}{time}; or starts one after the other"))
            .at(&self.output.volts.span)
    }

    /// Whether a capacitor could bridge the peak, and whether the output would start it.
    fn bridge(&self, sink: &mut Sink, peak: Current, max: Current) {
        let (Some(t), Some(most)) = (self.demand.start_time, &self.output.capacitance) else { return };
        let rail = self
            .demand
            .draws
            .first()
            .map(|(l, d)| &self.solved.job.rails[self.solved.job.loads[*l].draws[*d].rail]);
        let dip = match rail.and_then(|r| r.tolerance.as_ref().map(|t| (r.nominal.nominal() - t.low).abs())) {
            Some(dip) if dip > Voltage::ZERO => dip,
            _ => self.output.volts.nominal().abs() * 0.1,
        };
        let needs = Capacitance::farads(((peak - max).si() * t.si()) / dip.si());
        sink.judge(&BRIDGE, self.key, Severity::Caution, below(needs.si(), most.nominal().si()), || {
            let inputs = vec![
                Working::solved("I", "peak", peak, "with limits lifted", self.draws(true)),
                Working::looked("limit", "what the output holds", max, Source::computed("its trips-at, peak or limit")),
                Working::looked("t", "duration", t, Source::computed("the longest start")),
                Working::looked("dU", "dip the rail may take", dip, Source::computed("tolerance of the rail")),
            ];
            let w = Working::formula("C", "capacitance that would bridge the peak", needs, "(I − limit) · t / dU", inputs)
                .from_source(Source::computed("charge balance"));
            let times = needs / most.nominal();
            let says = format!(
                "Capacitors cannot cure the peak on {}: {needs} would be needed, {times:.0} times the {} it will start.",
                self.name,
                most.nominal()
            );
            Finding::new(&self.name, says).about(About::Part(self.demand.output.0)).working(w).cure("size the supply for the peak")
        });
    }

    fn capacitance(&self, sink: &mut Sink) {
        let Some(most) = &self.output.capacitance else { return };
        let job = self.solved.job;
        let on_loads =
            self.demand.draws.iter().filter_map(|(l, d)| job.loads[*l].draws[*d].capacitance.as_ref());
        let sum: Capacitance = on_loads.map(|c| c.spread.high).sum();
        sink.judge(&CAPACITANCE, self.key, Severity::Stop, below(sum.si(), most.nominal().si()), || {
            let says = format!("{sum} hangs on {}; it will start {}.", self.name, most.nominal());
            Finding::new(&self.name, says)
                .about(About::Part(self.demand.output.0))
                .cure("a supply that starts it, or a slow switch-on between them")
        });
    }

    fn least(&self, sink: &mut Sink, all: &[Demand]) {
        let Some(least) = &self.output.least else { return };
        let (gets, needs) = (self.demand.light, least.nominal());
        let strayed = self.strayed(all);
        let severity = if strayed.is_empty() { Severity::Caution } else { Severity::Stop };
        sink.judge(&LEAST, self.key, severity, above(gets.si(), needs.si()), || {
            let volts = self.output.volts.nominal().abs();
            let missing = needs - gets;
            let most = volts / missing;
            let take = Resistance::ohms(preferred::at_most(preferred::Series::E6, most.si()));
            let burns = volts * (volts / take);
            let inputs = vec![
                self.output.volts.working_at("U", "its voltage", volts),
                least.working("least", "least load it needs"),
                Working::solved("I", "what it gets, every draw at its lower end", gets, "with limits lifted", vec![]),
            ];
            let w = Working::formula("R", "largest preload that makes up for it", most, "U / (least − I)", inputs);
            let effect = if strayed.is_empty() { String::new() } else { format!(" Meanwhile {}.", strayed.join("; ")) };
            let says = format!("{} needs {needs} and gets {gets}: the supply is too big for its load.{effect}", self.name);
            Finding::new(&self.name, says).about(About::Part(self.demand.output.0)).working(w).at(&least.span).cure(format!(
                "a preload of at most {most}: {take} takes {}, burns {burns} and wants {} or more, in the airflow and in the harness, not on the board",
                volts / take,
                burns * 2.0
            ))
        });
    }

    /// Outputs of this supply that may leave a rail's tolerance while this one is under its least load.
    fn strayed(&self, all: &[Demand]) -> Vec<String> {
        let job = self.solved.job;
        let p = self.demand.output.0;
        let mut out = Vec::new();
        for (o, output) in self.supply.outputs.iter().enumerate() {
            let Some(range) = &output.without_least else { continue };
            let rails = all
                .iter()
                .filter(|d| d.output == (p, o))
                .flat_map(|d| &d.draws)
                .map(|(l, d)| job.loads[*l].draws[*d].rail);
            let mut rails: Vec<usize> = rails.collect();
            rails.dedup();
            for rail in rails.iter().map(|r| &job.rails[*r]) {
                let leaves = rail.tolerance.as_ref().is_none_or(|t| range.low < t.low || range.high > t.high);
                if leaves && matches(self.supply, o, rail.nominal.nominal()) {
                    out.push(format!(
                        "{} may be anywhere from {} to {}",
                        rail.name.text, range.low, range.high
                    ));
                }
            }
        }
        out.dedup();
        out
    }
}

fn power(solved: &Solved<'_>, sink: &mut Sink, p: usize, s: &Supply, all: &[Demand]) {
    let part = &solved.job.parts[p];
    let its: Vec<&Demand> = all.iter().filter(|d| d.output.0 == p).collect();
    let sum = |of: fn(&Demand) -> Current| -> Power {
        its.iter().map(|d| s.outputs[d.output.1].volts.nominal().abs() * of(d)).sum()
    };
    let (nominal, high) = (sum(|d| d.run), sum(|d| d.run_high));
    let leaves = || {
        its.iter()
            .map(|d| {
                Working::solved(
                    &s.outputs[d.output.1].name.text,
                    "current, upper ends",
                    d.run_high,
                    "with limits lifted",
                    vec![],
                )
            })
            .collect::<Vec<_>>()
    };
    if let Some(rating) = &s.power {
        let max = rating.nominal();
        sink.judge(&POWER, p, Severity::Stop, below(high.si(), max.si()), || {
            let w =
                Working::formula("P", "all outputs, every draw at its upper end", high, "Σ U · I", leaves());
            Finding::new(
                &part.key.text,
                format!("All outputs of {} together deliver {high}; it is rated {max}.", part.key.text),
            )
            .about(About::Part(p))
            .working(w)
            .cure(format!(
                "a supply of at least {}",
                (nominal / solved.job.assume.continuous.nominal().si()).max(high)
            ))
            .at(&rating.span)
        });
        let share = solved.job.assume.continuous.nominal();
        sink.judge(&POWER_SHARE, p, Severity::Caution, below(nominal.si(), max.si() * share.si()), || {
            let w = Working::formula("P", "all outputs, nominal", nominal, "Σ U · I", leaves());
            Finding::new(
                &part.key.text,
                format!("{} runs at {nominal}, more than {share} of its {max}.", part.key.text),
            )
            .about(About::Part(p))
            .working(w)
        });
    } else {
        sink.missing(
            &POWER,
            &part.key.text,
            format!("part.{}.power", part.key.text),
            "whether all its outputs together are within its power",
        );
    }
    if matches!(part.kind, PartKind::MainsSupply(_)) {
        at_wall(solved, sink, p, nominal);
    }
}

/// What is drawn from the wall, back through the efficiency and the power factor.
fn at_wall(solved: &Solved<'_>, sink: &mut Sink, p: usize, nominal: Power) {
    let (Some(mains), true) = (&solved.mains, sink.is_written()) else { return };
    let PartKind::MainsSupply(s) = &solved.job.parts[p].kind else { return };
    if !solved.job.wires.is_empty() && !holds(solved, Loading::Run) {
        return;
    }
    // Without wires there is no circuit to solve: nominal voltages times currents.
    let wired = !solved.job.wires.is_empty();
    let (output, how) = match wired {
        true => (Power::watts(solved.output_watts(p, false)), "at its terminals, with the loads running"),
        false => (nominal, "as nominal voltages times currents, without wires"),
    };
    let standard = Ratio::new(voltwright_model::low_voltage::EFFICIENCY);
    let efficiency = s.efficiency.as_ref().map_or(standard, |e| e.nominal());
    let idle = s.idle.as_ref().map_or(Power::ZERO, |i| i.nominal());
    let watts = output / efficiency.si() + idle;
    let factor = s.power_factor.as_ref().unwrap_or(&solved.job.assume.power_factor);
    let volt_amps = ApparentPower::volt_amps(watts.si() / factor.nominal().si());
    let amps = Current::amps(volt_amps.si() / mains.nominal.si());
    let name = &solved.job.parts[p].key.text;
    sink.tell(&AT_WALL, Severity::Note, || {
        let efficiency = match &s.efficiency {
            Some(e) => e.working("η", "efficiency"),
            None => Working::looked("η", "efficiency", standard, Source::practice("switching supplies")),
        };
        let mut inputs =
            vec![Working::solved("Pout", "delivered by its outputs", output, how, vec![]), efficiency];
        inputs.extend(s.idle.as_ref().map(|i| i.working("Pidle", "without load")));
        let formula = if s.idle.is_some() { "Pout / η + Pidle" } else { "Pout / η" };
        let p_in = Working::formula("P", "power from the mains", watts, formula, inputs);
        let u = mains.working("U", "mains", mains.nominal);
        let w = Working::formula(
            "I",
            "current from the mains",
            amps,
            "P / (λ · U)",
            vec![p_in, factor.working("λ", "power factor"), u],
        );
        let says = format!(
            "With the loads running {name} takes {watts}, {volt_amps} or {amps} at {} from the mains.",
            mains.nominal
        );
        Finding::new(name, says).about(About::Part(p)).working(w)
    });
}
