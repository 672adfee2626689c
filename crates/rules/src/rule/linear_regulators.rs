//! Has every linear regulator its headroom at the lowest mains, and does it stay cool at the highest?
//!
//! - Headroom at the valley of the ripple, lowest mains, heaviest load: `H = U_valley − U_out` against what it needs
//!   (2 V for a three-terminal regulator, common practice).
//! - Heat at the highest mains: `P = (U_mean − U_out) · I`; junction `T = T_air + P · R_th`, planned for at most 110 °C
//!   (`assume.junction`, common practice) and limited to 125 °C.
//! - Reservoir of a raw supply without load at the highest mains against its rated voltage.
//!
//! The mean and the valley of a raw supply are those of the averaged source (see `voltwright_model::raw`, ±5 %).
//!
//! ```
//! // 9.0 V winding, 1.2 A, 4700 µF, from 100 V on 120 V 60 Hz: mean 12.2 V, 8.65 W, 114 °C at 8.5 K/W in 40 °C air.
//! use voltwright_model::raw::Averaged;
//! let a = Averaged::of(9.0, 0.12, 1.2, voltwright_job::Rectifier::Bridge, 4700e-6, 1.2, 60.0);
//! let heat = (a.mean_at(1.2) - 5.0) * 1.2;
//! assert!((heat - 8.65).abs() < 0.05 && (40.0 + 8.5 * heat - 113.5).abs() < 0.5);
//! ```

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::holds::holds;
use crate::sink::{Sink, above, below};
use voltwright_job::nets::Nets;
use voltwright_job::{PartKind, RawOutput, RawSupply, Regulator, Terminal};
use voltwright_model::raw::Averaged;
use voltwright_model::{Loading, LocalMains, Sample, Solved, air_inside};
use voltwright_quantity::{
    Current, Power, Quantity, Source, Temperature, ThermalResistance, Voltage, Working,
};

static HEADROOM: Code =
    Code::new("regulator-headroom", Stretch::Supply, "A regulator lacks headroom at the valley.");
static JUNCTION: Code =
    Code::new("regulator-junction", Stretch::Supply, "A regulator's junction exceeds its limit.");
static PLANNED: Code =
    Code::new("regulator-hot", Stretch::Supply, "A regulator runs hotter than one plans for.");
static CURRENT: Code =
    Code::new("regulator-current", Stretch::Supply, "A regulator delivers more than it may.");
static UNLOADED: Code = Code::new(
    "reservoir-unloaded",
    Stretch::Supply,
    "A reservoir without load exceeds its rated voltage at high mains.",
);

/// The codes of this rule.
pub static CODES: &[&Code] = &[&HEADROOM, &JUNCTION, &PLANNED, &CURRENT, &UNLOADED];

/// Junction temperature a silicon regulator stands: common practice.
const JUNCTION_LIMIT: f64 = 125.0;

/// Judges every regulator and every raw supply.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let nets = &solved.wiring().paths;
    // Where the supply has switched off, there is nothing to regulate.
    if !holds(solved, Loading::Run) {
        return;
    }
    for (p, part) in solved.job.parts.iter().enumerate() {
        match &part.kind {
            PartKind::Regulator(r) => {
                let seen = Seen { solved, p, name: &part.key.text, r, raw: raw_before(solved, nets, p) };
                seen.judge(sink);
            }
            PartKind::RawSupply(s) => unloaded(solved, sink, p, s),
            _ => {}
        }
    }
}

/// A raw output before a regulator.
struct Raw<'j> {
    part: usize,
    index: usize,
    output: &'j RawOutput,
}

/// The raw output that feeds the regulator's input, through fuses, switches and diodes.
fn raw_before<'j>(solved: &Solved<'j>, nets: &Nets, p: usize) -> Option<Raw<'j>> {
    let input = Terminal::Part(p, 0);
    solved.job.parts.iter().enumerate().find_map(|(part, raw)| {
        let PartKind::RawSupply(s) = &raw.kind else { return None };
        let feeds = |o: &RawOutput| {
            let live = format!("{}.{}", o.name.text, if o.negative { "minus" } else { "plus" });
            raw.terminals
                .iter()
                .position(|t| *t == live)
                .is_some_and(|t| nets.same(Terminal::Part(part, t), input))
        };
        let index = s.outputs.iter().position(feeds)?;
        Some(Raw { part, index, output: &s.outputs[index] })
    })
}

struct Seen<'a, 'j> {
    solved: &'a Solved<'j>,
    p: usize,
    name: &'a str,
    r: &'a Regulator,
    raw: Option<Raw<'j>>,
}

/// A regulator at one end of the mains.
#[derive(Clone, Copy)]
struct At {
    input: Voltage,
    current: Current,
    heat: Power,
    /// Lowest voltage at its input, with the ripple of a raw supply before it.
    valley: Voltage,
}

impl Seen<'_, '_> {
    /// Solved with every draw at its upper end, the mains at `volts`, and the supplies at one end of their spread.
    fn at(&self, volts: Option<Voltage>, sources: i8) -> Option<At> {
        let mut sample = self.heavy_sample(sources);
        if let Some(volts) = volts {
            sample = sample.with_mains(volts.si());
        }
        let base = self.solved.point(Loading::Run).ok()?;
        let point = self.solved.solve_at(Loading::Run, &sample, Some(&base.solution)).ok()?;
        let low = self.solved.low_voltage(Loading::Run);
        let node = |t| low.node(Terminal::Part(self.p, t));
        let (i, r, o) = (node(0)?, node(1)?, node(2)?);
        let element = *low.parts[self.p].first()?;
        let current = Current::amps(point.solution.elements[element].current.abs());
        let input = Voltage::volts((point.solution.volts[i] - point.solution.volts[r]).abs());
        let across = Voltage::volts((point.solution.volts[i] - point.solution.volts[o]).abs());
        let ripple = self.raw.as_ref().map_or(Voltage::ZERO, |raw| {
            // All that the reservoir feeds makes its ripple.
            let amps =
                low.parts[raw.part].get(raw.index).map_or(0.0, |e| point.solution.elements[*e].current.abs());
            let o = raw.output;
            let farads = o.reservoir.spread.low.si();
            let a = Averaged::of(1.0, 0.0, 1.0, o.rectifier, farads, 1.0, self.solved.hertz());
            Voltage::volts(a.ripple_per_amp * amps)
        });
        Some(At { input, current, heat: across * current, valley: input - ripple / 2.0 })
    }

    /// What a voltage at its input is, with the error of the averaged source where one feeds it.
    fn what(&self, words: &str) -> String {
        match self.raw {
            Some(_) => format!("{words} (averaged source, ±{:.0} %)", voltwright_model::raw::ERROR * 100.0),
            None => words.to_owned(),
        }
    }

    /// Every draw at its upper end, and every output of a supply at the end of its spread that `sources` points to:
    /// −1 the weaker, 1 the stronger.
    fn heavy_sample(&self, sources: i8) -> Sample {
        let mut ends = vec![0i8; self.solved.job.spreads.len()];
        for part in &self.solved.job.parts {
            if let PartKind::MainsSupply(s) = &part.kind {
                for o in &s.outputs {
                    ends[o.volts.id] = if o.volts.nominal() < Voltage::ZERO { -sources } else { sources };
                }
            }
        }
        for draw in self.solved.job.loads.iter().flat_map(|l| &l.draws) {
            ends[draw.run.id] = 1;
        }
        Sample::corner(self.solved.job, self.solved.mains.as_ref(), &ends)
    }

    fn judge(&self, sink: &mut Sink) {
        if !sink.wants_any(CODES) {
            return;
        }
        let mains = self.solved.mains.as_ref().filter(|_| self.raw.is_some());
        let (Some(low), Some(high)) = (self.at(mains.map(|m| m.low), -1), self.at(mains.map(|m| m.high), 1))
        else {
            return;
        };
        self.headroom(sink, low);
        self.current(sink, high);
        self.heat(sink, high, mains);
    }

    fn headroom(&self, sink: &mut Sink, low: At) {
        let valley = low.valley;
        let out = self.r.volts.spread.most().abs();
        let (has, needs) = (valley - out, self.r.headroom.nominal());
        sink.judge(&HEADROOM, self.p, Severity::Stop, above(has.si(), needs.si()), || {
            let inputs = vec![
                Working::solved(
                    "U",
                    &self.what("lowest voltage at its input"),
                    valley,
                    "at the lowest mains or weakest source, every draw at its upper end, less half the ripple",
                    vec![],
                ),
                self.r.volts.working_at("Uout", "its output", out),
                self.r.headroom.working("needs", "headroom it needs"),
            ];
            let w = Working::formula("H", "headroom", has, "U − Uout", inputs);
            let says = format!(
                "{} has {has} between its input's valley and its output; it needs {needs}.",
                self.name
            );
            Finding::new(self.name, says).about(About::Part(self.p))
                .working(w)
                .cure("a larger reservoir, a higher raw voltage, or a low-drop regulator")
                .at(&self.r.volts.span)
        });
    }

    fn current(&self, sink: &mut Sink, high: At) {
        let Some(limit) = &self.r.limit else { return };
        sink.judge(
            &CURRENT,
            self.p,
            Severity::Stop,
            below(high.current.si(), limit.spread.low.si() * (1.0 - 1e-6)),
            || {
                let says = format!(
                    "{} is asked for {} and delivers at most {}.",
                    self.name,
                    high.current,
                    limit.nominal()
                );
                Finding::new(self.name, says)
                    .about(About::Part(self.p))
                    .cure("a larger regulator")
                    .at(&limit.span)
            },
        );
    }

    fn heat(&self, sink: &mut Sink, high: At, mains: Option<&LocalMains>) {
        let Some(thermal) = &self.r.heat else {
            sink.missing(
                &JUNCTION,
                self.name,
                format!("part.{}.heat", self.name),
                "how hot its junction gets",
            );
            return;
        };
        let air = air_inside(self.solved.job);
        let junction = |at: At, r: ThermalResistance| air + at.heat * r;
        let hottest = junction(high, thermal.spread.high);
        let limit =
            self.r.junction_limit.as_ref().map_or(Temperature::celsius(JUNCTION_LIMIT), |g| g.nominal());
        let rise = |t: Temperature| (t - air).si().max(1e-9);
        let write = |limit: Temperature| {
            let now = mains.and_then(|m| self.at(Some(m.nominal), 0));
            let nominal = now.map_or(String::new(), |at| {
                format!(" ({} and {} at nominal mains)", at.heat, junction(at, thermal.nominal()))
            });
            let inputs = vec![
                Working::solved(
                    "U",
                    &self.what("mean voltage at its input"),
                    high.input,
                    "at the highest mains or strongest source, every draw at its upper end",
                    vec![],
                ),
                self.r.volts.working("Uout", "its output"),
                Working::solved("I", "its current", high.current, "every draw at its upper end", vec![]),
            ];
            let p = Working::formula("P", "heat", high.heat, "(U − Uout) · I", inputs);
            let at_nominal = now.map(|at| {
                let p = Working::solved(
                    "Pnom",
                    "heat at nominal mains",
                    at.heat,
                    "at nominal mains, every draw at its upper end",
                    vec![],
                );
                let t = junction(at, thermal.nominal());
                Working::formula("Tnom", "junction at nominal mains", t, "Tair + Pnom · Rth", vec![p])
            });
            let t_air = Working::looked(
                "Tair",
                "air inside",
                air,
                Source::practice("ambient and assume.inside-rise"),
            );
            let w = Working::formula("T", "junction", hottest, "Tair + P · Rth", {
                let rth = thermal.working_at("Rth", "junction to air", thermal.spread.high);
                [p, rth, t_air].into_iter().chain(at_nominal).collect()
            });
            let says = format!(
                "{} burns {} and its junction reaches {hottest}{nominal}; {limit} is the limit.",
                self.name, high.heat
            );
            Finding::new(self.name, says)
                .about(About::Part(self.p))
                .working(w)
                .cure("a larger heat sink, or a lower raw voltage")
                .at(&thermal.span)
        };
        sink.judge(&JUNCTION, self.p, Severity::Stop, below(rise(hottest), rise(limit)), || write(limit));
        let planned = self.solved.job.assume.junction.nominal();
        if hottest <= limit {
            sink.judge(&PLANNED, self.p, Severity::Caution, below(rise(hottest), rise(planned)), || {
                write(planned)
            });
        }
    }
}

/// Without load and at the highest mains: what a reservoir sees with the board out.
fn unloaded(solved: &Solved<'_>, sink: &mut Sink, p: usize, s: &RawSupply) {
    let Some(mains) = &solved.mains else { return };
    for (k, o) in s.outputs.iter().enumerate() {
        let name = format!("{}.{}", solved.job.parts[p].key.text, o.name.text);
        let Some(rated) = &o.reservoir_rated else {
            let enter =
                format!("part.{}.output.{}.reservoir-rated", solved.job.parts[p].key.text, o.name.text);
            sink.missing(
                &UNLOADED,
                name,
                enter,
                "whether its reservoir stands the unloaded voltage at high mains",
            );
            continue;
        };
        let volts = |mains: Voltage| {
            let (winding, regulation) = (o.winding.nominal().si(), o.regulation.nominal().si());
            let (amps, farads) = (o.current.nominal().si(), o.reservoir.nominal().si());
            let a = Averaged::of(
                winding,
                regulation,
                amps,
                o.rectifier,
                farads,
                mains / s.primary.nominal(),
                solved.hertz(),
            );
            Voltage::volts(a.unloaded)
        };
        let (sees, max) = (volts(mains.high), rated.nominal());
        // Where the machine already has its own voltage, only the part is left to change.
        let unloaded_cure = match mains.nominal <= s.primary.nominal() * 1.05 {
            true => "a reservoir of the next higher voltage; do not test with the board out",
            false => "do not test with the board out; feed the machine its own voltage",
        };
        sink.judge(&UNLOADED, p * 1000 + k, Severity::Stop, below(sees.si(), max.si()), || {
            let inputs = vec![
                o.winding.working("U", "winding, loaded"),
                o.regulation.working("r", "regulation"),
                mains.working("Uhigh", "highest mains", mains.high),
                s.primary.working("Uprim", "primary"),
            ];
            let w = Working::formula("E", "reservoir without load", sees, "U · (1 + r) · √2 · Uhigh / Uprim − diodes", inputs)
                .from_source(Source::practice("0.7 V a diode at light load"));
            let share = voltwright_quantity::Ratio::new(volts(mains.nominal) / max);
            let says = format!(
                "With its load out, the reservoir of {name} reaches {sees:.3} at {}; it is rated {max} ({share} of it at {} already).",
                mains.high, mains.nominal
            );
            Finding::new(name.clone(), says).about(About::Part(p)).working(w).cure(unloaded_cure).at(&rated.span)
        });
    }
}
