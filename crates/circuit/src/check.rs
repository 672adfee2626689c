//! Refuses values without physical meaning before anything is computed from them.

use crate::network::{Draws, Law, Network};
use crate::solution::Unsolved;

impl Law {
    /// Number of its kind, for comparing wirings.
    pub(crate) fn kind(&self) -> u32 {
        match self {
            Law::Resistor(_) => 0,
            Law::Source(_) => 1,
            Law::Diode(_) => 2,
            Law::Clamp(_) => 3,
            Law::Load(_) => 4,
            Law::Regulator(_) => 5,
            Law::Converter(_) => 6,
        }
    }

    /// Gives each node that it touches, in a fixed order.
    pub(crate) fn terminals(&self, mut each: impl FnMut(usize)) {
        match self {
            Law::Resistor(r) => [r.a, r.b].into_iter().for_each(each),
            Law::Source(s) => [s.plus, s.minus].into_iter().for_each(each),
            Law::Diode(d) => [d.anode, d.cathode].into_iter().for_each(each),
            Law::Clamp(c) => [c.cathode, c.anode].into_iter().for_each(each),
            Law::Load(l) => [l.plus, l.minus].into_iter().for_each(each),
            Law::Regulator(r) => [r.input, r.reference, r.output].into_iter().for_each(each),
            Law::Converter(c) => {
                [c.in_plus, c.in_minus].into_iter().for_each(&mut each);
                c.outputs.iter().for_each(|o| [o.plus, o.minus].into_iter().for_each(&mut each));
                c.enable.iter().for_each(|e| [e.plus, e.minus].into_iter().for_each(&mut each));
            }
        }
    }

    pub(crate) fn group(&self) -> Option<usize> {
        match self {
            Law::Source(s) => s.group,
            Law::Converter(c) => c.group,
            _ => None,
        }
    }

    /// What is wrong with it in a network of so many nodes and groups.
    pub(crate) fn faulty_in(&self, nodes: usize, groups: usize) -> Option<&'static str> {
        let mut inside = self.group().is_none_or(|g| g < groups);
        self.terminals(|node| inside &= node < nodes);
        unless(inside, "its nodes and group must be those of the network").or(self.fault())
    }

    /// What is wrong with its values.
    fn fault(&self) -> Option<&'static str> {
        match self {
            Law::Resistor(r) => resistance(r.ohms),
            Law::Source(s) => resistance(s.ohms).or(voltage(s.volts)).or(limit(s.limit)),
            Law::Diode(d) => resistance(d.ohms).or(voltage(d.forward)),
            Law::Clamp(c) => resistance(c.ohms).or(clamp(c.breakdown, c.forward)),
            Law::Load(l) => load(l.draws, l.amount, l.knee),
            Law::Regulator(r) => {
                resistance(r.ohms).or(voltage(r.volts)).or(voltage(r.headroom)).or(limit(Some(r.limit)))
            }
            Law::Converter(c) => {
                let of_output =
                    |o: &crate::network::Output| resistance(o.ohms).or(voltage(o.volts)).or(limit(o.limit));
                converter(c.efficiency, c.idle).or(c.outputs.iter().find_map(of_output))
            }
        }
    }
}

fn unless(good: bool, expected: &'static str) -> Option<&'static str> {
    if good { None } else { Some(expected) }
}

fn resistance(ohms: f64) -> Option<&'static str> {
    unless(ohms > 0.0 && ohms.is_finite(), "its resistance must be above zero and finite")
}

fn voltage(volts: f64) -> Option<&'static str> {
    unless(volts.is_finite(), "its voltage must be a finite number")
}

fn limit(amps: Option<f64>) -> Option<&'static str> {
    unless(amps.is_none_or(|a| a >= 0.0), "its limit must be zero or more")
}

fn clamp(breakdown: f64, forward: f64) -> Option<&'static str> {
    let good = breakdown.is_finite() && forward.is_finite() && breakdown >= -forward;
    unless(good, "its breakdown must lie above its forward voltage taken backward")
}

fn load(draws: Draws, amount: f64, knee: f64) -> Option<&'static str> {
    match draws {
        Draws::Resistance => resistance(amount),
        Draws::Current | Draws::Power => {
            unless(amount >= 0.0 && amount.is_finite(), "what it draws must be zero or more")
                .or(unless(knee > 0.0 && knee.is_finite(), "its knee must be above zero and finite"))
        }
    }
}

fn converter(efficiency: f64, idle: f64) -> Option<&'static str> {
    unless(efficiency > 0.0 && efficiency <= 1.0, "its efficiency must be above 0 and at most 1")
        .or(unless(idle >= 0.0 && idle.is_finite(), "its idle power must be zero or more"))
}

/// Checks every value and index of a network.
pub(crate) fn check(net: &Network) -> Result<(), Unsolved> {
    let nodes = net.nodes.len();
    if net.datum >= nodes.max(1) || !(net.leak >= 0.0 && net.leak.is_finite()) {
        let expected = "its datum must be one of its nodes, its leak zero or more";
        return Err(Unsolved::Faulty { element: "the network".to_owned(), expected });
    }
    for element in &net.elements {
        if let Some(expected) = element.law.faulty_in(nodes, net.groups.len()) {
            return Err(Unsolved::Faulty { element: element.name.clone(), expected });
        }
    }
    Ok(())
}
