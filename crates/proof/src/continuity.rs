//! The pair of continuity tables: what must connect and what must not, before anything is plugged in.

use crate::network::cold::OPEN;
use crate::setup::{Setup, Table};
use voltwright_job::Terminal;

/// Ohms below which terminals count as one conductor: wires, a switch, a fuse.
const CONNECTED: f64 = 5.0;

/// Both tables.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Continuity {
    /// Terminals that must be one conductor, and the most that the meter may show between any two of them, ohms.
    pub connect: Vec<(Vec<Terminal>, f64)>,
    /// Pairs of conductors, by index in `connect`, that something lies between: the least that the meter may show, ohms. Every
    /// other pair must be open.
    pub between: Vec<(usize, usize, f64)>,
}

/// The tables of a job: of its first stage with the power off, nothing plugged in; none without one.
pub fn of(setup: &Setup<'_>) -> Option<Continuity> {
    let stage = setup.stages.iter().position(|s| !s.live && s.open.is_none() && !s.mated.contains(&true))?;
    let Table::Cold(_) = &setup.tables[stage] else { return None };
    let readings = setup.readings_of(stage);
    let mut nets: Vec<Vec<Terminal>> = Vec::new();
    for t in readings.iter().flat_map(|r| [r.red, r.black]) {
        if nets.iter().any(|net| net.contains(&t)) {
            continue;
        }
        let joined = |net: &&mut Vec<Terminal>| {
            readings.iter().any(|r| {
                r.range.high < CONNECTED
                    && (r.red == t && net.contains(&r.black) || r.black == t && net.contains(&r.red))
            })
        };
        match nets.iter_mut().find(joined) {
            Some(net) => net.push(t),
            None => nets.push(vec![t]),
        }
    }
    let place = |t: Terminal| nets.iter().position(|net| net.contains(&t));
    let mut connect: Vec<(Vec<Terminal>, f64)> = nets.iter().map(|net| (net.clone(), 0.0)).collect();
    let mut between: Vec<(usize, usize, f64)> = Vec::new();
    for r in readings {
        let (Some(a), Some(b)) = (place(r.red), place(r.black)) else { continue };
        let (a, b) = (a.min(b), a.max(b));
        if a == b {
            connect[a].1 = connect[a].1.max(r.window.high);
        } else if r.window.low < OPEN {
            match between.iter_mut().find(|(x, y, _)| (*x, *y) == (a, b)) {
                Some(known) => known.2 = known.2.min(r.window.low),
                None => between.push((a, b, r.window.low)),
            }
        }
    }
    Some(Continuity { connect, between })
}
