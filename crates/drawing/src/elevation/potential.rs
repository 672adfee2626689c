//! At what potential each terminal is, at the job's operating point with the loads running.

use super::heights::{Heights, Level};
use std::rc::Rc;
use voltwright_circuit::State;
use voltwright_job::nets::{self, Nets};
use voltwright_job::{Job, PartKind, Terminal};
use voltwright_model::{Loading, LowVoltage, Point, Solved};
use voltwright_quantity::Quantity;
use voltwright_rules::demand::live_terminal;

/// Height of the mains where the job does not say what they are, volts.
const MAINS: f64 = 230.0;
/// Volts from 0 V up to which a conductor counts as one that brings the current back.
const RETURN: f64 = 1.0;
/// How far neutral is drawn above the line of 0 V, and protective earth below it.
const ASIDE: f64 = 7.0;

/// What is known of a terminal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Potential {
    /// Volts against 0 V.
    Volts(f64),
    /// Volts that it will have once everything is plugged in.
    Beyond(f64),
    /// On the line of the mains.
    Line,
    /// On their neutral.
    Neutral,
    /// On protective earth.
    Earth,
    /// On both poles of the mains: a short.
    Shorted,
    /// On nothing that is known.
    Unknown,
}

/// The potentials of a job.
pub(super) struct Potentials<'s> {
    job: &'s Job,
    solved: &'s Solved<'s>,
    low: &'s LowVoltage,
    point: Option<Rc<Point>>,
    /// Parts that switch themselves off, in which case the point is the one without any limits.
    pub tripped: Vec<usize>,
    /// The same with everything plugged in, where the stage leaves something out.
    beyond: Option<Solved<'s>>,
    poles: [Option<Terminal>; 2],
    /// Nets that power reaches, where something is open.
    reached: Option<(Nets, Vec<usize>)>,
}

impl<'s> Potentials<'s> {
    /// Of a solved job, with some fuses out or switches off.
    pub fn of(solved: &'s Solved<'s>, open: &[usize]) -> Self {
        let job = solved.job;
        let (point, tripped) = point(solved);
        let pole = |name| job.inlet().and_then(|inlet| job.terminal(inlet, name));
        Self {
            job,
            solved,
            low: solved.low_voltage(Loading::Run),
            point,
            tripped,
            beyond: solved.stage.connected.contains(&false).then(|| Solved::new(job)),
            poles: [pole("line"), pole("neutral")],
            reached: (!open.is_empty()).then(|| reached(job, open)),
        }
    }

    /// What is wrong with the operating point, and what is drawn instead; nothing where it is as it should be.
    pub fn note(&self) -> Option<(String, &'static str)> {
        if self.point.is_none() {
            return Some(("there is no operating point".into(), "low voltages are not drawn"));
        }
        if self.solved.point(Loading::Run).is_err() {
            return Some(("there is no operating point".into(), "drawn as if nothing had a limit"));
        }
        let names: Vec<&str> = self.tripped.iter().map(|p| self.job.parts[*p].key.text.as_str()).collect();
        let wrong = match names.as_slice() {
            [] => return None,
            [one] => format!("{one} switches itself off"),
            many => format!("{} switch themselves off", many.join(" and ")),
        };
        Some((wrong, "drawn as if nothing had a limit"))
    }

    /// Of a terminal.
    pub fn at(&self, terminal: Terminal) -> Potential {
        let wiring = self.solved.wiring();
        if wiring.is_on_mains(terminal) {
            let on = |pole: Option<Terminal>| pole.is_some_and(|p| wiring.paths.same(p, terminal));
            return match self.poles.map(on) {
                [true, true] => Potential::Shorted,
                [true, false] => Potential::Line,
                [false, true] => Potential::Neutral,
                [false, false] => Potential::Unknown,
            };
        }
        if let Some((node, point)) = self.low.node(terminal).zip(self.point.as_ref()) {
            return Potential::Volts(point.solution.volts[node]);
        }
        if let Some(volts) = self.beyond.as_ref().and_then(|all| of_terminal(all, terminal)) {
            return Potential::Beyond(volts);
        }
        match terminal {
            Terminal::Part(p, t) if self.job.parts[p].terminals[t] == "earth" => Potential::Earth,
            Terminal::Chassis => Potential::Earth,
            _ => Potential::Unknown,
        }
    }

    /// Of a load's rail: volts from its 0 V plane as the load sees them, and against 0 V of the supply.
    pub fn rail(&self, load: usize, rail: usize) -> Option<(f64, f64)> {
        let nodes = &self.low.loads[load];
        let (plane, com) = (nodes.rails.get(rail).copied().flatten()?, nodes.com?);
        let volts = &self.point.as_ref()?.solution.volts;
        Some((volts[plane] - volts[com], volts[plane]))
    }

    /// Of a load's 0 V plane.
    pub fn com(&self, load: usize) -> Option<f64> {
        Some(self.point.as_ref()?.solution.volts[self.low.loads[load].com?])
    }

    /// Whether power reaches a terminal with what is open left open.
    pub fn is_alive(&self, terminal: Terminal) -> bool {
        self.reached.as_ref().is_none_or(|(nets, on)| on.contains(&nets.net(terminal)))
    }

    /// Mains voltage, where the job says it.
    pub fn mains(&self) -> Option<f64> {
        self.solved.mains.as_ref().map(|m| m.nominal.si())
    }

    /// Height of a potential.
    pub fn height(&self, heights: &Heights, potential: Potential) -> f64 {
        match potential {
            Potential::Volts(v) | Potential::Beyond(v) => heights.at(v),
            Potential::Line => heights.at(self.mains().unwrap_or(MAINS)),
            Potential::Neutral => heights.at(0.0) - ASIDE,
            Potential::Shorted => heights.at(0.0) - 2.0 * ASIDE,
            Potential::Earth | Potential::Unknown => heights.at(0.0) + ASIDE,
        }
    }

    /// Which turn a wire takes on the way from the wall: out, back, neither.
    pub fn turn(&self, from: Terminal, to: Terminal) -> u8 {
        let plain = |p| match p {
            Potential::Beyond(v) => Potential::Volts(v),
            other => other,
        };
        match (plain(self.at(from)), plain(self.at(to))) {
            (Potential::Line, _) | (_, Potential::Line) => 0,
            (Potential::Volts(a), Potential::Volts(b)) if a.abs().max(b.abs()) > RETURN => 0,
            (Potential::Neutral, _) | (_, Potential::Neutral) => 1,
            (Potential::Volts(_), Potential::Volts(_)) => 1,
            _ => 2,
        }
    }

    /// The levels of the chart: rails, 0 V, the mains.
    pub fn levels(&self) -> Vec<Level> {
        let lift = self.job.assume.ground_lift.nominal().si().max(1e-3);
        let mut levels = vec![Level { low: -lift, nominal: 0.0, high: lift }];
        levels.extend(self.job.rails.iter().map(|rail| {
            let nominal = rail.nominal.nominal().si();
            match &rail.tolerance {
                Some(t) => Level { low: t.low.si(), nominal, high: t.high.si() },
                None => Level {
                    low: nominal - 0.05 * nominal.abs(),
                    nominal,
                    high: nominal + 0.05 * nominal.abs(),
                },
            }
        }));
        if self.poles[0].is_some() {
            let nominal = self.mains().unwrap_or(MAINS);
            levels.push(Level { low: 0.9 * nominal, nominal, high: 1.1 * nominal });
        }
        levels
    }
}

/// The operating point; where a supply switches itself off the one that there would be if nothing had a limit, since a
/// misplaced wire is seen by the height that it would have.
fn point(solved: &Solved<'_>) -> (Option<Rc<Point>>, Vec<usize>) {
    let Ok(point) = solved.point(Loading::Run) else {
        return (solved.demand(Loading::Run, None), Vec::new());
    };
    let has_tripped = |e: &usize| {
        let flow = &point.solution.elements[*e];
        flow.state == State::Tripped || flow.outputs.iter().any(|o| o.state == State::Tripped)
    };
    let parts = &solved.low_voltage(Loading::Run).parts;
    let tripped: Vec<usize> = (0..parts.len()).filter(|p| parts[*p].iter().any(has_tripped)).collect();
    match solved.demand(Loading::Run, None).filter(|_| !tripped.is_empty()) {
        Some(unlimited) => (Some(unlimited), tripped),
        None => (Some(point.clone()), tripped),
    }
}

/// Potential of a low-voltage terminal with the loads running.
fn of_terminal(solved: &Solved<'_>, terminal: Terminal) -> Option<f64> {
    let node = solved.low_voltage(Loading::Run).node(terminal)?;
    Some(solved.point(Loading::Run).ok()?.solution.volts[node])
}

/// The nets that power reaches past open parts: from the line, through supplies, converters and regulators.
fn reached(job: &Job, open: &[usize]) -> (Nets, Vec<usize>) {
    let mut nets = Nets::of_conductors(job);
    for (p, part) in job.parts.iter().enumerate().filter(|(p, _)| !open.contains(p)) {
        for (a, b) in nets::through(&part.kind) {
            nets.join(Terminal::Part(p, a), Terminal::Part(p, b));
        }
    }
    let line = job.inlet().and_then(|inlet| job.terminal(inlet, "line"));
    let mut on: Vec<usize> = line.map(|t| nets.net(t)).into_iter().collect();
    loop {
        let before = on.len();
        for (p, part) in job.parts.iter().enumerate() {
            let is_on = |t: usize| on.contains(&nets.net(Terminal::Part(p, t)));
            let outs: Vec<usize> = match &part.kind {
                PartKind::MainsSupply(s) if line.is_none() || is_on(0) || is_on(1) => {
                    (0..s.outputs.len()).filter_map(|o| live_terminal(job, p, o)).collect()
                }
                PartKind::Converter(s) if is_on(0) => {
                    (0..s.outputs.len()).filter_map(|o| live_terminal(job, p, o)).collect()
                }
                PartKind::RawSupply(_) if line.is_none() || is_on(0) || is_on(1) => {
                    (2..part.terminals.len()).collect()
                }
                PartKind::Regulator(_) if is_on(0) => vec![2],
                _ => Vec::new(),
            };
            for net in outs.into_iter().map(|t| nets.net(Terminal::Part(p, t))) {
                if !on.contains(&net) {
                    on.push(net);
                }
            }
        }
        if on.len() == before {
            return (nets, on);
        }
    }
}
