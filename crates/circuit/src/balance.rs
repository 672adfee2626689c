//! The operating point verified by substitution: what each element carries at the voltages found, what is left over at
//! each node, and where the power goes. What does not balance is refused.

use crate::network::{Law, Network};
use crate::operating::wanted;
use crate::potentials::Potentials;
use crate::solution::{Flow, OutputFlow, Power, Solution, State, Unsolved};
use crate::walk::{Collector, Moves, Walk};

/// Largest share of the largest current, or of the largest power, that may be left over.
const BELIEVED: f64 = 1e-9;

/// Currents in the order of the walk: one an element, a converter's outputs before its input.
struct Currents {
    flows: Vec<f64>,
    left_over: Vec<f64>,
}

impl Collector for Currents {
    fn flow(&mut self, from: usize, to: usize, amps: f64) {
        self.flows.push(amps);
        self.left_over[from] += amps;
        self.left_over[to] -= amps;
    }

    fn conduct(&mut self, _: usize, _: usize, _: f64) {}

    fn control(&mut self, _: usize, _: usize, _: usize, _: usize, _: f64) {}
}

/// The solution at these voltages and states, if it balances.
pub(crate) fn verified(net: &Network, states: &[State], at: &Potentials) -> Result<Solution, Unsolved> {
    if let Some(node) = at.main.iter().position(|v| !v.is_finite()) {
        return Err(Unsolved::NotFinite { node: net.nodes[node].clone() });
    }
    let mut states = states.to_vec();
    let mut currents = Currents {
        flows: Vec::with_capacity(states.len()),
        left_over: at.main.iter().map(|v| net.leak * v).collect(),
    };
    Walk::new(Moves::None, 0.0).over(net, &mut states, at, &mut currents);
    let left_over = currents.left_over.iter().enumerate().filter(|(node, _)| *node != net.datum);
    let residual = left_over.fold(0.0, |most: f64, (_, left)| most.max(left.abs()));
    let scale = currents.flows.iter().fold(net.leak, |most: f64, amps| most.max(amps.abs()));
    within(residual, scale)?;
    let (power, largest) = power(net, at, &currents.flows);
    within(power.delivered - power.taken - power.heat, largest.max(net.leak))?;
    let elements = flows(net, &states, at, &currents.flows);
    Ok(Solution { volts: at.main.clone(), elements, residual, power })
}

fn within(residual: f64, scale: f64) -> Result<(), Unsolved> {
    let believed = residual.abs() <= BELIEVED * scale;
    if believed { Ok(()) } else { Err(Unsolved::Unbalanced { residual: residual.abs(), scale }) }
}

/// The balance, and the largest power of any one element.
fn power(net: &Network, at: &Potentials, flows: &[f64]) -> (Power, f64) {
    let leak: f64 = at.main.iter().map(|v| net.leak * v * v).sum();
    let mut power = Power { heat: leak, ..Power::default() };
    let mut largest: f64 = 0.0;
    let mut flows = flows.iter();
    let mut next = || flows.next().copied().unwrap_or(f64::NAN);
    for element in &net.elements {
        let times = |plus: usize, minus: usize, amps: f64| at.across(plus, minus).volts() * amps;
        let watts = match &element.law {
            Law::Resistor(r) => times(r.a, r.b, next()),
            Law::Source(s) => times(s.plus, s.minus, next()),
            Law::Diode(d) => times(d.anode, d.cathode, next()),
            Law::Clamp(c) => times(c.cathode, c.anode, next()),
            Law::Load(l) => times(l.plus, l.minus, next()),
            Law::Regulator(r) => times(r.input, r.output, next()),
            Law::Converter(c) => {
                let outputs: f64 = c.outputs.iter().map(|o| times(o.plus, o.minus, next())).sum();
                let input = times(c.in_plus, c.in_minus, next());
                largest = largest.max(input.abs());
                input + outputs
            }
        };
        largest = largest.max(watts.abs());
        match &element.law {
            Law::Source(_) => power.delivered -= watts,
            Law::Load(_) => power.taken += watts,
            _ => power.heat += watts,
        }
    }
    (power, largest)
}

fn flows(net: &Network, states: &[State], at: &Potentials, flows: &[f64]) -> Vec<Flow> {
    let mut k = 0;
    let mut all = Vec::with_capacity(net.elements.len());
    for element in &net.elements {
        let next = k + element.law.states();
        let (its_states, its_flows) = (&states[k..next], &flows[k..next]);
        all.push(match &element.law {
            Law::Converter(c) => {
                let pairs = its_states[1..].iter().zip(its_flows);
                let outputs =
                    pairs.map(|(state, flow)| OutputFlow { state: *state, current: 0.0 - flow }).collect();
                // Why it is off may have become another reason than the one it went off for.
                let off = !matches!(its_states[0], State::On | State::Tripped);
                let state = if off { wanted(c, &at.main) } else { its_states[0] };
                Flow { state, current: its_flows[its_flows.len() - 1], outputs }
            }
            Law::Source(_) => Flow { state: its_states[0], current: 0.0 - its_flows[0], outputs: Vec::new() },
            _ => Flow { state: its_states[0], current: its_flows[0], outputs: Vec::new() },
        });
        k = next;
    }
    all
}
