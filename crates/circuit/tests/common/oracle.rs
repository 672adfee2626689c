//! The laws as the specification has them, written directly and without states, to judge a solution by substitution.

use voltwright_circuit::*;

/// Sums up currents at nodes, in a second hand.
pub struct Judged {
    /// Current left over at each node, amperes, and what rounding of the voltages alone can explain there.
    pub left_over: Vec<(f64, f64)>,
}

fn sign(v: f64) -> f64 {
    if v < 0.0 { -1.0 } else { 1.0 }
}

fn delivered(volts: f64, ohms: f64, limit: Option<f64>, overload: Overload, state: State, v: f64) -> f64 {
    if state == State::Tripped {
        return 0.0;
    }
    let x = (volts.abs() - sign(volts) * v) / ohms;
    match overload {
        Overload::Hold => x.clamp(0.0, limit.unwrap_or(f64::INFINITY)),
        Overload::Trip => x.max(0.0),
    }
}

impl Judged {
    /// Substitutes the voltages of a solution. Only "tripped" and "on" are taken from its states.
    pub fn of(net: &Network, solution: &Solution) -> Self {
        let volts = &solution.volts;
        let mut judged = Self { left_over: volts.iter().map(|v| (net.leak * v, 0.0)).collect() };
        for (element, flow) in net.elements.iter().zip(&solution.elements) {
            judged.element(&element.law, flow, volts);
        }
        judged.left_over[net.datum] = (0.0, 0.0);
        judged
    }

    fn moved(&mut self, from: usize, to: usize, amps: f64, steepest: f64, volts: &[f64]) {
        let unsure =
            4.0 * f64::EPSILON * (steepest * (volts[from].abs() + volts[to].abs() + 1.0) + amps.abs());
        self.left_over[from].0 += amps;
        self.left_over[to].0 -= amps;
        self.left_over[from].1 += unsure;
        self.left_over[to].1 += unsure;
    }

    fn element(&mut self, law: &Law, flow: &Flow, volts: &[f64]) {
        let v = |a: usize, b: usize| volts[a] - volts[b];
        match law {
            Law::Resistor(r) => self.moved(r.a, r.b, v(r.a, r.b) / r.ohms, 1.0 / r.ohms, volts),
            Law::Source(s) => {
                let j = delivered(s.volts, s.ohms, s.limit, s.overload, flow.state, v(s.plus, s.minus));
                self.moved(s.minus, s.plus, sign(s.volts) * j, 1.0 / s.ohms, volts);
            }
            Law::Diode(d) => {
                let amps = ((v(d.anode, d.cathode) - d.forward) / d.ohms).max(0.0);
                self.moved(d.anode, d.cathode, amps, 1.0 / d.ohms, volts);
            }
            Law::Clamp(c) => {
                let across = v(c.cathode, c.anode);
                let amps =
                    ((across - c.breakdown) / c.ohms).max(0.0) - ((-across - c.forward) / c.ohms).max(0.0);
                self.moved(c.cathode, c.anode, amps, 1.0 / c.ohms, volts);
            }
            Law::Load(l) => {
                let across = v(l.plus, l.minus);
                let amps = match l.draws {
                    Draws::Resistance => across / l.amount,
                    Draws::Current if across >= l.knee => l.amount,
                    Draws::Current => l.amount * across / l.knee,
                    Draws::Power if across >= l.knee => l.amount / across,
                    Draws::Power => l.amount * across / (l.knee * l.knee),
                };
                self.moved(l.plus, l.minus, amps, 1.0, volts);
            }
            Law::Regulator(r) => {
                let s = sign(r.volts);
                let regulated = (r.volts.abs() - s * v(r.output, r.reference)) / r.ohms;
                let passed = (s * v(r.input, r.output) - r.headroom) / r.ohms;
                let j = regulated.min(passed).min(r.limit).max(0.0);
                self.moved(r.input, r.output, s * j, 2.0 / r.ohms, volts);
            }
            Law::Converter(c) if flow.state == State::On => {
                let (mut power, mut unsure) = (c.idle, 1.0);
                for (o, its) in c.outputs.iter().zip(&flow.outputs) {
                    let across = v(o.plus, o.minus);
                    let j = delivered(o.volts, o.ohms, o.limit, o.overload, its.state, across);
                    power += (sign(o.volts) * across * j).max(0.0) / c.efficiency;
                    unsure += across.abs() / o.ohms / c.efficiency;
                    self.moved(o.minus, o.plus, sign(o.volts) * j, 1.0 / o.ohms, volts);
                }
                let divisor = v(c.in_plus, c.in_minus).max(c.low);
                self.moved(c.in_plus, c.in_minus, power / divisor, unsure / divisor, volts);
            }
            Law::Converter(_) => {}
        }
    }

    /// The worst node: amperes left over beyond what rounding explains.
    pub fn worst(&self) -> f64 {
        self.left_over.iter().fold(0.0, |worst: f64, (left, unsure)| worst.max(left.abs() - unsure))
    }
}
