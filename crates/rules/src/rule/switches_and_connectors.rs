//! Is every switch rated for the kind of current it breaks, and no contact overloaded?
//!
//! - An AC rating says nothing about DC: an arc that the mains put out a hundred times a second burns on.
//! - Current against the rating of its kind; inrush `Î = U / R` of a discharged capacitor behind a closing contact, with
//!   the resistance `R` of the loop (Ω), against the peak that the switch may make.
//! - Each contact of a plug against its rating; ways in parallel share by their resistances, in the solved circuit.
//! - A single pole belongs in the line.
//!
//! ```
//! // 24 V through 0.12 Ω into a discharged capacitor: 200 A.
//! assert!((24.0 / 0.12 - 200.0_f64).abs() < 1e-9);
//! ```

use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::{Sink, above, below};
use voltwright_job::nets::Nets;
use voltwright_job::{Job, PartKind, Switch, Terminal};
use voltwright_model::solved::MainsEnd;
use voltwright_model::{Loading, Solved};
use voltwright_quantity::parse::{CurrentKind, Rating};
use voltwright_quantity::{Capacitance, Current, Quantity, Resistance, Source, Voltage, Working};

static KIND: Code =
    Code::new("switch-kind", Stretch::Wiring, "A switch breaks a kind of current it is not rated for.");
static CURRENT: Code =
    Code::new("switch-current", Stretch::MainsSide, "A switch carries more than it is rated for.");
static VOLTAGE: Code =
    Code::new("switch-voltage", Stretch::MainsSide, "A switch breaks a higher voltage than it is rated for.");
static INRUSH: Code =
    Code::new("switch-inrush", Stretch::MainsSide, "A switch makes a higher peak than it may.");
static POLE: Code = Code::new("switch-pole", Stretch::MainsSide, "A single-pole switch lies in the neutral.");
static CONTACT: Code =
    Code::new("contact-current", Stretch::Wiring, "A contact of a plug carries more than it may.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&KIND, &CURRENT, &VOLTAGE, &INRUSH, &POLE, &CONTACT];

/// Judges every switch and every contact.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    let wiring = solved.wiring().clone();
    let nets = &wiring.paths;
    for (p, part) in job.parts.iter().enumerate() {
        let PartKind::Switch(s) = &part.kind else { continue };
        let mains = wiring.is_on_mains(Terminal::Part(p, 0));
        let seen = Seen { solved, p, name: &part.key.text, s };
        if mains {
            seen.on_mains(sink);
            pole(job, sink, p, s);
        } else if !solved.low_voltage(Loading::Run).parts[p].is_empty() {
            seen.on_direct_current(sink, nets);
        }
    }
    contacts(solved, sink);
}

struct Seen<'a, 'j> {
    solved: &'a Solved<'j>,
    p: usize,
    name: &'a str,
    s: &'a Switch,
}

impl Seen<'_, '_> {
    fn rating(&self, kind: CurrentKind) -> Option<&Rating> {
        let fits = |r: &&Rating| r.kind == Some(kind) || (r.kind.is_none() && kind == CurrentKind::Ac);
        self.s.rated.iter().filter(fits).max_by(|a, b| a.voltage.si().total_cmp(&b.voltage.si()))
    }

    fn markings(&self) -> String {
        let one = |r: &Rating| {
            let kind = match r.kind {
                Some(CurrentKind::Ac) => " AC",
                Some(CurrentKind::Dc) => " DC",
                None => "",
            };
            format!("{} at {}{kind}", r.current, r.voltage)
        };
        self.s.rated.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    fn on_mains(&self, sink: &mut Sink) {
        let (Some(mains), Some(rating)) = (&self.solved.mains, self.rating(CurrentKind::Ac)) else {
            let enter = format!("part.{}.rated", self.name);
            return sink.missing(&CURRENT, self.name, enter, "whether it may switch the mains");
        };
        sink.judge(&VOLTAGE, self.p, Severity::Stop, above(rating.voltage.si(), mains.nominal.si()), || {
            let says =
                format!("{} is marked {}; the mains are {}.", self.name, self.markings(), mains.nominal);
            Finding::new(self.name, says)
                .about(About::Part(self.p))
                .cure("a switch for the mains voltage")
                .at(&self.s.rated_span)
        });
        if let Some(point) = self.solved.mains_point(MainsEnd::Low) {
            let amps =
                point.0.parts[self.p].iter().map(|e| point.1.elements[*e].current.abs()).fold(0.0, f64::max);
            let amps = Current::amps(amps);
            sink.judge(&CURRENT, self.p, Severity::Stop, below(amps.si(), rating.current.si()), || {
                let says = format!("{} carries {amps}; it is marked {}.", self.name, self.markings());
                Finding::new(self.name, says)
                    .about(About::Part(self.p))
                    .cure("a larger switch")
                    .at(&self.s.rated_span)
            });
        }
        self.mains_inrush(sink);
    }

    fn mains_inrush(&self, sink: &mut Sink) {
        let peak: Current = self
            .solved
            .job
            .parts
            .iter()
            .filter_map(|p| match &p.kind {
                PartKind::MainsSupply(s) => s.inrush.as_ref().map(|g| g.nominal()),
                _ => None,
            })
            .sum();
        if peak <= Current::ZERO {
            return;
        }
        match &self.s.inrush {
            Some(most) => {
                sink.judge(&INRUSH, self.p, Severity::Caution, below(peak.si(), most.nominal().si()), || {
                    let says = format!(
                        "The supplies take {peak} when switched on; {} may make {}.",
                        self.name,
                        most.nominal()
                    );
                    Finding::new(self.name, says)
                        .about(About::Part(self.p))
                        .cure("a switch for that inrush, or an inrush limiter")
                        .at(&self.s.rated_span)
                })
            }
            None => sink.missing(
                &INRUSH,
                self.name,
                format!("part.{}.inrush", self.name),
                "whether it welds at the inrush of the supplies",
            ),
        }
    }

    /// A switch in a low-voltage lead breaks direct current.
    fn on_direct_current(&self, sink: &mut Sink, nets: &Nets) {
        let low = self.solved.low_voltage(Loading::Run);
        let Some(point) = self.solved.heavy_point() else { return };
        let amps =
            low.parts[self.p].iter().map(|e| point.solution.elements[*e].current.abs()).fold(0.0, f64::max);
        let amps = Current::amps(amps);
        let volts = self.open_volts();
        match self.rating(CurrentKind::Dc) {
            Some(rating) => {
                sink.judge(&CURRENT, self.p, Severity::Stop, below(amps.si(), rating.current.si()), || {
                    let says = format!(
                        "{} carries {amps} of direct current; it is marked {}.",
                        self.name,
                        self.markings()
                    );
                    Finding::new(self.name, says)
                        .about(About::Part(self.p))
                        .cure("a larger switch")
                        .at(&self.s.rated_span)
                });
                sink.judge(&VOLTAGE, self.p, Severity::Stop, above(rating.voltage.si(), volts.si()), || {
                    let says = format!(
                        "{} breaks {volts} of direct voltage; it is marked {}.",
                        self.name,
                        self.markings()
                    );
                    Finding::new(self.name, says)
                        .about(About::Part(self.p))
                        .cure("a switch for that direct voltage")
                        .at(&self.s.rated_span)
                });
            }
            None => self.unknown_for_direct(sink, nets, amps, volts),
        }
    }

    fn unknown_for_direct(&self, sink: &mut Sink, nets: &Nets, amps: Current, volts: Voltage) {
        let making = self.making(nets, volts);
        sink.judge(&KIND, self.p, Severity::Stop, -1.0, || {
            let marked = match self.markings() {
                none if none.is_empty() => "has no marking".to_owned(),
                marks => format!("is marked {marks}"),
            };
            let inrush = making.as_ref().map_or(String::new(), |(peak, r, c)| {
                format!(" Closing on {c} it makes {peak} ({volts} through {r}).")
            });
            let says = format!("{} breaks {amps} of direct current at {volts} and {marked}: an AC rating says nothing about DC.{inrush}", self.name);
            let finding = Finding::new(self.name, says).about(About::Part(self.p))
                .cure("move it back to the mains side, or a switch marked for this direct voltage and current")
                .at(&self.s.rated_span);
            match making {
                Some((peak, r, _)) => finding.working(
                    Working::formula("Î", "peak when it closes", peak, "U / R", vec![
                        Working::solved("U", "across it when open", volts, "with the loads running", vec![]),
                        Working::solved("R", "of the loop", r, "from its drops at the running current", vec![]),
                    ])
                    .from_source(Source::computed("Ohm's law on a discharged capacitor")),
                ),
                None => finding,
            }
        });
    }

    /// The highest voltage of the sources on its path: what it may have to break.
    fn open_volts(&self) -> Voltage {
        let low = self.solved.low_voltage(Loading::Run);
        let paths = &self.solved.wiring().paths;
        let net = paths.net(Terminal::Part(self.p, 0));
        let on_net = |node: usize| same_net(&low.at, paths, self.solved.job, node, net);
        let volts = low.network.elements.iter().filter_map(|e| match &e.law {
            voltwright_circuit::Law::Source(s) if on_net(s.plus) || on_net(s.minus) => {
                Some(Voltage::volts(s.volts.abs()))
            }
            _ => None,
        });
        volts.reduce(Voltage::max).unwrap_or(Voltage::ZERO)
    }

    /// Peak when it closes on the capacitance of the loads behind it, the loop's resistance and that capacitance. The
    /// loop is taken from the solved circuit: the sum of the drops between source and load over the current.
    fn making(&self, nets: &Nets, volts: Voltage) -> Option<(Current, Resistance, Capacitance)> {
        let job = self.solved.job;
        let low = self.solved.low_voltage(Loading::Run);
        let point = self.solved.point(Loading::Run).ok()?;
        let net = nets.net(Terminal::Part(self.p, 0));
        for (l, load) in job.loads.iter().enumerate() {
            for draw in &load.draws {
                let (Some(c), Some(plane), Some(com)) =
                    (&draw.capacitance, low.loads[l].rails[draw.rail], low.loads[l].com)
                else {
                    continue;
                };
                let Some(way) = job.way(l, voltwright_job::WayUse::Rail(draw.rail)) else { continue };
                if nets.net(way) != net {
                    continue;
                }
                let element = *low.parts[self.p].first()?;
                let amps = point.solution.elements[element].current.abs();
                let source = point.network.elements.iter().find_map(|e| match &e.law {
                    voltwright_circuit::Law::Source(s)
                        if s.volts.abs() > 0.0 && same_net(&low.at, nets, job, s.plus, net) =>
                    {
                        Some(s.volts.abs())
                    }
                    _ => None,
                })?;
                let lost = source - (point.solution.volts[plane] - point.solution.volts[com]).abs();
                let ohms = Resistance::ohms(lost / amps.max(1e-9));
                return Some((volts / ohms, ohms, c.nominal()));
            }
        }
        None
    }
}

/// Whether a node belongs to a terminal of a net.
fn same_net(at: &[Option<usize>], nets: &Nets, job: &Job, node: usize, net: usize) -> bool {
    voltwright_job::nets::all(job)
        .into_iter()
        .any(|t| at[nets.terminals.index(t)] == Some(node) && nets.net(t) == net)
}

/// A single pole must break the line.
fn pole(job: &Job, sink: &mut Sink, p: usize, s: &Switch) {
    let Some(neutral) = job.inlet().and_then(|inlet| job.terminal(inlet, "neutral")) else { return };
    if s.poles != 1 {
        return;
    }
    let nets = Nets::through_only(job, |kind| matches!(kind, PartKind::Fuse(_)));
    let in_neutral = (0..2).any(|t| nets.same(Terminal::Part(p, t), neutral));
    sink.judge(&POLE, p, Severity::Stop, if in_neutral { -1.0 } else { 1.0 }, || {
        let name = &job.parts[p].key.text;
        let says = format!(
            "{name} breaks the neutral: switched off, everything behind it still has the line's potential."
        );
        Finding::new(name, says)
            .about(About::Part(p))
            .cure("put it in the line, or take a switch with two poles")
            .at(&job.parts[p].key.span)
    });
}

fn contacts(solved: &Solved<'_>, sink: &mut Sink) {
    let low = solved.low_voltage(Loading::Run);
    let Some(heavy) = solved.heavy_point() else { return };
    for (p, plug) in solved.job.plugs.iter().enumerate() {
        let carried = low.contacts[p]
            .iter()
            .enumerate()
            .filter_map(|(w, e)| e.map(|e| (w, Current::amps(heavy.solution.elements[e].current.abs()))));
        let Some((way, amps)) = carried.max_by(|a, b| a.1.si().total_cmp(&b.1.si())) else { continue };
        let Some(most) = &plug.contact else {
            let enter = format!("plug.{}.contact", plug.key.text);
            sink.missing(&CONTACT, &plug.key.text, enter, "whether its contacts carry their currents");
            continue;
        };
        let most_amps = most.spread.low;
        sink.judge(&CONTACT, p, Severity::Stop, below(amps.si(), most_amps.si()), || {
            let w = Working::formula("room", "left", most_amps - amps, "most − I", vec![
                most.working_at("most", "one contact", most_amps),
                Working::solved("I", "through the busiest contact", amps, "every draw at its upper end", vec![]),
            ]);
            let says = format!("Way {} of {} carries {amps}; a contact may carry {most_amps} at the lower end of its rating.", way + 1, plug.key.text);
            Finding::new(format!("plug {}", plug.key.text), says).about(About::Plug(p)).working(w).cure("more ways in parallel, or larger contacts").at(&plug.key.span)
        });
    }
}
