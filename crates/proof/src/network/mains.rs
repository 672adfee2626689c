//! The mains side with protective earth and the case, at RMS values taken as direct ones, everything linear.
//!
//! Neutral is earthed at the origin. A supply is the resistance that takes its input current; what it delivers is no
//! matter here, only whether it gets its voltage and where currents go that should not.

use super::View;
use crate::harness::Harness;
use voltwright_circuit::{Law, Source};
use voltwright_job::{PartKind, Terminal, nets};
use voltwright_model::low_voltage::wire_ohms;
use voltwright_model::{LocalMains, Sample};
use voltwright_quantity::Quantity;
use voltwright_tables::fuses;

/// Resistance from the inlet's earth to the origin, ohms: as much as the loop of line and neutral has. Common practice.
const EARTH_OHMS: f64 = 0.5;
/// Volt-amperes of a supply whose input current is not given: a small load. Common practice.
const SMALL_LOAD: f64 = 50.0;

/// The mains side of a job.
#[derive(Debug, Clone)]
pub struct MainsNetwork {
    /// The network.
    pub view: View,
    /// Mains voltage, volts RMS.
    pub volts: f64,
    /// Node of the outlet's line.
    pub line: usize,
    /// The element that stands for the outlet.
    pub outlet: usize,
}

/// Builds it; nothing without an inlet or a country.
pub fn build(h: &Harness<'_>) -> Option<MainsNetwork> {
    let (job, inlet) = (h.job, h.job.inlet()?);
    let mains = LocalMains::of(job)?;
    let sample = Sample::nominal(job, Some(&mains));
    let mut view = View::empty(job, &h.wiring);
    let origin = view.network.node("origin");
    let line = view.network.node("outlet line");
    let volts = mains.nominal.si();
    let ohms = sample.of(&job.assume.mains_loop).max(1e-3);
    let source = Source::ideal(line, origin, volts, ohms);
    let outlet = view.network.add("outlet", Law::Source(source));
    for terminal in nets::all(job).into_iter().filter(|t| h.wiring.is_on_mains(*t) || h.is_earth(*t)) {
        view.node(job, &h.wiring, terminal);
    }
    for (t, name) in job.parts[inlet].terminals.iter().enumerate() {
        let node = view.node(job, &h.wiring, Terminal::Part(inlet, t));
        let (to, ohms) = match name.as_str() {
            "line" => (line, 1e-3),
            "earth" => (origin, EARTH_OHMS),
            _ => (origin, 1e-3),
        };
        view.resistor(format!("outlet {name}"), to, node, ohms);
    }
    wires(h, &mut view, &sample);
    (0..job.parts.len()).for_each(|p| part(h, &mut view, &sample, p, volts));
    Some(MainsNetwork { view, volts, line, outlet })
}

fn wires(h: &Harness<'_>, view: &mut View, sample: &Sample) {
    for (w, wire) in h.job.wires.iter().enumerate() {
        if h.is_mains(w) || h.is_earth_wire(w) {
            let (a, b) = (view.node(h.job, &h.wiring, wire.from), view.node(h.job, &h.wiring, wire.to));
            let (ohms, _) = wire_ohms(h.job, wire, h.wiring.metres[w].0, sample);
            view.wires[w] = Some(view.resistor(h.wire(w), a, b, ohms));
        }
    }
}

fn part(h: &Harness<'_>, view: &mut View, sample: &Sample, p: usize, volts: f64) {
    let part = &h.job.parts[p];
    let mut between = |a: usize, b: usize, ohms: f64| {
        let ends = [a, b].map(|t| Terminal::Part(p, t));
        if ends.iter().all(|t| h.wiring.is_on_mains(*t)) {
            let [a, b] = ends.map(|t| view.node(h.job, &h.wiring, t));
            let element = view.resistor(part.key.text.clone(), a, b, ohms);
            view.parts[p].push(element);
        }
    };
    match &part.kind {
        PartKind::Fuse(f) => {
            let ohms = f
                .resistance
                .as_ref()
                .map_or_else(|| fuses::cold_resistance(f.rating.nominal()).0.si(), |g| sample.of(g));
            between(0, 1, ohms);
        }
        PartKind::Switch(_) => {
            let contact = sample.of(&h.job.assume.contact);
            nets::through(&part.kind).into_iter().for_each(|(a, b)| between(a, b, contact));
        }
        PartKind::MainsSupply(s) => {
            let amps = s.input_current.as_ref().map_or(SMALL_LOAD / volts, |g| g.nominal().si());
            between(0, 1, volts / amps.max(1e-3));
        }
        PartKind::RawSupply(s) => {
            let watts = s.power.as_ref().map_or(SMALL_LOAD, |g| g.nominal().si());
            between(0, 1, volts * volts / watts.max(1e-3));
        }
        PartKind::Resistor(r) => between(0, 1, sample.of(&r.value)),
        PartKind::Fan(m) | PartKind::Lamp(m) => {
            let rated = m.rated.nominal().si();
            let ohms = m.power.as_ref().map(|w| rated * rated / w.nominal().si());
            if let Some(ohms) = ohms.or(m.series.as_ref().map(|r| r.nominal().si())) {
                between(0, 1, ohms);
            }
        }
        _ => {}
    }
}
