//! What each output of a supply is asked for: running, starting, at least.

use std::rc::Rc;
use voltwright_job::nets::Nets;
use voltwright_job::{Job, PartKind, Supply, Terminal, WayUse};
use voltwright_model::{Loading, Point, Solved};
use voltwright_quantity::{Current, Time, Voltage};

/// What one output is asked for.
#[derive(Debug, Clone)]
pub struct Demand {
    /// Index of the part and of the output.
    pub output: (usize, usize),
    /// Running, every draw nominal.
    pub run: Current,
    /// Running, every draw at its upper end.
    pub run_high: Current,
    /// Starting together, every draw at its upper end.
    pub start_high: Current,
    /// Least, every draw at its lower end.
    pub light: Current,
    /// How long the starts last.
    pub start_time: Option<Time>,
    /// The draws behind it: load and draw.
    pub draws: Vec<(usize, usize)>,
}

/// The demands on all outputs of supplies and converters.
pub fn demands(solved: &Solved<'_>) -> Vec<Demand> {
    let job = solved.job;
    let outputs = job.parts.iter().enumerate().flat_map(|(p, part)| match &part.kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => (0..s.outputs.len()).map(|o| (p, o)).collect(),
        _ => Vec::new(),
    });
    let outputs: Vec<(usize, usize)> = outputs.collect();
    if job.wires.is_empty() {
        return outputs.into_iter().map(|o| by_voltage(job, o)).collect();
    }
    let nets = &solved.wiring().paths;
    let points = [
        solved.demand(Loading::Run, None),
        solved.demand(Loading::Run, Some(true)),
        solved.demand(Loading::Start, Some(true)),
        solved.demand(Loading::Light, Some(false)),
    ];
    let low = solved.low_voltage(Loading::Run);
    outputs
        .into_iter()
        .map(|(p, o)| {
            let amps = |point: &Option<Rc<Point>>| {
                Current::amps(
                    point
                        .as_ref()
                        .map_or(0.0, |point| output_current(point, &job.parts[p].kind, &low.parts[p], o)),
                )
            };
            let draws = fed_by(job, nets, p, o);
            let [run, run_high, start_high, light] = [0, 1, 2, 3].map(|i| amps(&points[i]));
            Demand {
                output: (p, o),
                run,
                run_high,
                start_high,
                light,
                start_time: start_time(job, &draws),
                draws,
            }
        })
        .collect()
}

/// Current of one output at a point, without sign.
pub fn output_current(point: &Point, kind: &PartKind, elements: &[usize], o: usize) -> f64 {
    match kind {
        PartKind::Converter(_) => {
            elements.first().map_or(0.0, |e| point.solution.elements[*e].outputs[o].current.abs())
        }
        _ => elements.get(o).map_or(0.0, |e| point.solution.elements[*e].current.abs()),
    }
}

/// The draws that hang on an output directly, not through a regulator or converter.
fn fed_by(job: &Job, nets: &Nets, p: usize, o: usize) -> Vec<(usize, usize)> {
    let Some(live) = live_terminal(job, p, o) else { return Vec::new() };
    let net = nets.net(Terminal::Part(p, live));
    let on_net =
        |l: usize, rail: usize| {
            job.loads[l].sockets.iter().enumerate().any(|(s, socket)| {
                socket.ways.iter().enumerate().any(|(w, (way, _))| {
                    *way == WayUse::Rail(rail) && nets.net(Terminal::Socket(l, s, w)) == net
                })
            })
        };
    all_draws(job).filter(|(l, d)| on_net(*l, job.loads[*l].draws[*d].rail)).collect()
}

fn all_draws(job: &Job) -> impl Iterator<Item = (usize, usize)> {
    job.loads.iter().enumerate().flat_map(|(l, load)| (0..load.draws.len()).map(move |d| (l, d)))
}

/// The terminal of an output that is not joined with other outputs: its plus, or its minus for a negative one
/// that is joined at its plus.
pub fn live_terminal(job: &Job, p: usize, o: usize) -> Option<usize> {
    let part = &job.parts[p];
    let (PartKind::MainsSupply(s) | PartKind::Converter(s)) = &part.kind else { return None };
    let find = |end: &str| {
        let name = format!("{}.{end}", s.outputs[o].name.text);
        part.terminals.iter().position(|t| *t == name)
    };
    let joined = voltwright_job::nets::joined_terminals(part);
    find("plus").filter(|t| !joined.contains(t)).or_else(|| find("minus"))
}

fn start_time(job: &Job, draws: &[(usize, usize)]) -> Option<Time> {
    let times =
        draws.iter().filter_map(|(l, d)| job.loads[*l].draws[*d].start.as_ref().and_then(|(_, t)| *t));
    times.reduce(Time::max)
}

/// Without wires: the rails whose nominal is this output's.
fn by_voltage(job: &Job, (p, o): (usize, usize)) -> Demand {
    let draws: Vec<(usize, usize)> = match &job.parts[p].kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => all_draws(job)
            .filter(|(l, d)| matches(s, o, job.rails[job.loads[*l].draws[*d].rail].nominal.nominal()))
            .collect(),
        _ => Vec::new(),
    };
    let of = |(l, d): &(usize, usize)| &job.loads[*l].draws[*d];
    let sum = |f: &dyn Fn(&voltwright_job::Draw) -> Current| draws.iter().map(|x| f(of(x))).sum::<Current>();
    Demand {
        output: (p, o),
        run: sum(&|d| d.run.nominal()),
        run_high: sum(&|d| d.run.spread.high),
        start_high: sum(&|d| d.start.as_ref().map_or(d.run.spread.high, |(s, _)| s.spread.high)),
        light: sum(&voltwright_job::Draw::lightest),
        start_time: start_time(job, &draws),
        draws,
    }
}

/// Whether an output is the one for a rail: within a tenth of its nominal, and of its sign.
pub fn matches(s: &Supply, o: usize, nominal: Voltage) -> bool {
    let volts = s.outputs[o].volts.nominal();
    ((volts - nominal) / nominal).abs() < 0.1
}
