//! Would anything stop an over-voltage before an irreplaceable board, and does the guard fit?
//!
//! A supply or regulator that fails high raises its rail past what the board survives. Guards: an output's own cut-off
//! (`cuts-off-at`), a clamp from the rail to 0 V, or a regulator behind. Judged:
//! - a rail of an irreplaceable load with harm limits has a guard (common practice);
//! - the guard acts below the harm limit, with all of its spread;
//! - a clamp begins above the rail's tolerance, so that it does not conduct in use;
//! - a clamp stands what the source delivers into it until a fuse opens: `P = U_clamp · I_limit`.

use crate::demand;
use crate::finding::{About, Code, Finding, Severity, Stretch};
use crate::sink::{Sink, above, below};
use voltwright_job::nets::Nets;
use voltwright_job::{Clamp, PartKind, Terminal, WayUse, Worth};
use voltwright_model::Solved;
use voltwright_quantity::{Power, Quantity, Source, Voltage, Working};

static NO_GUARD: Code =
    Code::new("no-guard", Stretch::Supply, "Nothing stops an over-voltage before an irreplaceable load.");
static TOO_HIGH: Code =
    Code::new("guard-too-high", Stretch::Supply, "A guard acts only above what does harm.");
static TOO_LOW: Code =
    Code::new("guard-too-low", Stretch::Supply, "A clamp begins within the rail's tolerance.");
static CLAMP_POWER: Code =
    Code::new("clamp-power", Stretch::Supply, "A clamp is destroyed before anything opens.");

/// The codes of this rule.
pub static CODES: &[&Code] = &[&NO_GUARD, &TOO_HIGH, &TOO_LOW, &CLAMP_POWER];

/// Judges every rail of every irreplaceable load.
pub fn run(solved: &Solved<'_>, sink: &mut Sink) {
    let job = solved.job;
    if job.wires.is_empty() {
        return;
    }
    let nets = &solved.wiring().paths;
    for (l, load) in job.loads.iter().enumerate().filter(|(_, l)| l.worth == Worth::Irreplaceable) {
        for draw in &load.draws {
            let rail = &job.rails[draw.rail];
            let key = l * job.rails.len() + draw.rail;
            let Some(net) = net_of(solved, nets, l, draw.rail) else { continue };
            let guards = guards(solved, nets, net, rail.nominal.nominal() < Voltage::ZERO);
            let Some(harm) = &rail.harm else { continue };
            let limit = if rail.nominal.nominal() < Voltage::ZERO { harm.low.abs() } else { harm.high.abs() };
            if guards.is_empty() {
                sink.tell(&NO_GUARD, Severity::Caution, || {
                    let says = format!(
                        "{} of {} has no guard: a supply or regulator that fails high reaches a board nobody can replace (it survives {limit}).",
                        rail.name.text, load.name
                    );
                    Finding::new(format!("{}, rail {}", load.name, rail.name.text), says).about(About::Rail { load: l, rail: draw.rail })
                        .cure(format!("an over-voltage cut-off or a clamp with a fuse before it, acting below {limit}"))
                        .at(&rail.name.span)
                });
                continue;
            }
            let lowest = guards.iter().map(|(_, v)| *v).reduce(Voltage::min).unwrap_or(Voltage::ZERO);
            sink.judge(&TOO_HIGH, key, Severity::Stop, below(lowest.si(), limit.si()), || {
                let says = format!(
                    "The guard of {} acts at up to {lowest}; {} survives {limit}.",
                    rail.name.text, load.name
                );
                Finding::new(format!("{}, rail {}", load.name, rail.name.text), says)
                    .about(About::Rail { load: l, rail: draw.rail })
                    .cure("a guard that acts earlier")
                    .at(&rail.name.span)
            });
        }
    }
    clamps(solved, sink, nets);
}

fn net_of(solved: &Solved<'_>, nets: &Nets, l: usize, rail: usize) -> Option<usize> {
    solved.job.way(l, WayUse::Rail(rail)).map(|way| nets.net(way))
}

/// What guards a net, with the highest voltage at which each acts.
fn guards(solved: &Solved<'_>, nets: &Nets, net: usize, negative: bool) -> Vec<(String, Voltage)> {
    let job = solved.job;
    let mut found = Vec::new();
    for (p, part) in job.parts.iter().enumerate() {
        match &part.kind {
            PartKind::MainsSupply(s) | PartKind::Converter(s) => {
                for (o, output) in s.outputs.iter().enumerate() {
                    let live = demand::live_terminal(job, p, o).map(|t| nets.net(Terminal::Part(p, t)));
                    if let (Some(cut), true) = (&output.cuts_off_at, live == Some(net)) {
                        found.push((
                            format!("{}.{}", part.key.text, output.name.text),
                            cut.high.abs().max(cut.low.abs()),
                        ));
                    }
                }
            }
            PartKind::Clamp(c) => {
                // The end that lies on a positive rail is the cathode; on a negative one the anode.
                let end = if negative { 0 } else { 1 };
                if nets.net(Terminal::Part(p, end)) == net {
                    let acts = c.at_current.as_ref().map_or(c.breakdown.spread.high, |g| g.spread.high);
                    found.push((part.key.text.clone(), acts));
                }
            }
            _ => {}
        }
    }
    found
}

fn clamps(solved: &Solved<'_>, sink: &mut Sink, nets: &Nets) {
    let job = solved.job;
    for (p, part) in job.parts.iter().enumerate() {
        let PartKind::Clamp(c) = &part.kind else { continue };
        let net = [0, 1].map(|t| nets.net(Terminal::Part(p, t)));
        let rails = job.rails.iter().enumerate().filter(|(r, _)| {
            (0..job.loads.len()).any(|l| net_of(solved, nets, l, *r).is_some_and(|n| net.contains(&n)))
        });
        for (r, rail) in rails {
            let Some(t) = &rail.tolerance else { continue };
            let most = t.low.abs().max(t.high.abs());
            let begins = c.breakdown.spread.low;
            sink.judge(&TOO_LOW, p * 1000 + r, Severity::Stop, above(begins.si(), most.si()), || {
                let says = format!(
                    "{} may begin to draw at {begins}; {} may be {most} in use.",
                    part.key.text, rail.name.text
                );
                Finding::new(&part.key.text, says)
                    .about(About::Part(p))
                    .cure("a clamp with a higher breakdown")
                    .at(&c.breakdown.span)
            });
        }
        power(solved, sink, nets, p, c);
    }
}

/// What the source drives into the clamp for as long as nothing opens.
fn power(solved: &Solved<'_>, sink: &mut Sink, nets: &Nets, p: usize, c: &Clamp) {
    let job = solved.job;
    let name = &job.parts[p].key.text;
    let Some(stands) = &c.power else {
        return sink.missing(
            &CLAMP_POWER,
            name,
            format!("part.{name}.power"),
            "whether it outlives a fault until something opens",
        );
    };
    let ends = [0, 1].map(|t| nets.net(Terminal::Part(p, t)));
    let fused = job.parts.iter().enumerate().any(|(q, part)| {
        matches!(part.kind, PartKind::Fuse(_)) && ends.contains(&nets.net(Terminal::Part(q, 0)))
    });
    let limit = job.parts.iter().enumerate().flat_map(|(q, part)| {
        let outputs = match &part.kind {
            PartKind::MainsSupply(s) | PartKind::Converter(s) => s.outputs.as_slice(),
            _ => &[],
        };
        outputs.iter().enumerate().filter_map(move |(o, out)| {
            let live = demand::live_terminal(job, q, o)?;
            ends.contains(&nets.net(Terminal::Part(q, live)))
                .then(|| out.ceiling().map(|g| g.nominal()))
                .flatten()
        })
    });
    let Some(amps) = limit.reduce(voltwright_quantity::Current::max) else { return };
    let volts = c.at_current.as_ref().map_or(c.breakdown.spread.high, |g| g.spread.high);
    let burns: Power = volts * amps;
    if fused || c.latches {
        return; // a fuse opens, or a latched clamp has little voltage left across it
    }
    sink.judge(&CLAMP_POWER, p, Severity::Caution, below(burns.si(), stands.nominal().si()), || {
        let inputs = vec![
            Working::looked("U", "across the clamp", volts, Source::computed("upper end of its breakdown")),
            Working::looked("I", "limit of the supply", amps, Source::computed("entered in the job")),
        ];
        let w = Working::formula("P", "in the clamp", burns, "U · I", inputs);
        let says = format!(
            "In a fault {name} would burn {burns} for as long as the supply delivers {amps}; it stands {}.",
            stands.nominal()
        );
        Finding::new(name, says)
            .about(About::Part(p))
            .working(w)
            .cure(
                "a fuse before the clamp that opens well below the supply's limit, or a supply that cuts off",
            )
            .at(&c.breakdown.span)
    });
}
