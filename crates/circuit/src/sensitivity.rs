//! Slopes of a reading to every value of every element, by one adjoint solve.
//!
//! With `F(V, p) = 0` the balance at all nodes and `R = Σ w·V` the reading, `dR/dp = −λ·∂F/∂p` where `Fᵥᵀ λ = w`. A value
//! of an element only enters the current that the element moves between two nodes, so each slope is a difference of two
//! λ times a derivative of the law. States stay as they are: on the border of two pieces the slope is that of one side.

use crate::dense::Dense;
use crate::laws::{Rating, sign};
use crate::lu::{Equations, Pivots, Sparse};
use crate::network::{Clamp, Converter, Draws, Law, Load, Network, Regulator};
use crate::operating::PLAIN_AT_MOST;
use crate::ordering::Ordering;
use crate::potentials::Potentials;
use crate::solution::{Flow, Solution, State};
use crate::walk::{Moves, Walk, amps_per_watt};

/// A value of an element.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// Resistance of a resistor, source, diode, clamp or regulator, ohms.
    Ohms,
    /// Voltage of a source or regulator.
    Volts,
    /// Current limit of a source or regulator, amperes.
    Limit,
    /// Forward voltage of a diode or clamp.
    Forward,
    /// Breakdown voltage of a clamp.
    Breakdown,
    /// What a load draws, in its own unit.
    Amount,
    /// Knee of a load, volts.
    Knee,
    /// Headroom of a regulator, volts.
    Headroom,
    /// Efficiency of a converter.
    Efficiency,
    /// Idle power of a converter, watts.
    Idle,
    /// Voltage of a converter's output, by index.
    OutputVolts(usize),
    /// Resistance of a converter's output, by index, ohms.
    OutputOhms(usize),
    /// Current limit of a converter's output, by index, amperes.
    OutputLimit(usize),
}

/// Slopes of one reading to every value, in volts per SI unit of the value.
#[derive(Debug, Clone)]
pub struct Sensitivities {
    /// First slope of each element, and one past the last.
    starts: Vec<u32>,
    slopes: Vec<(Field, f64)>,
}

impl Sensitivities {
    /// Change of the reading for a change of one value; 0 for a value that has no effect, or that the element has not.
    /// Not a number if the operating point is at the edge where slopes are infinite.
    pub fn to(&self, element: usize, field: Field) -> f64 {
        let slopes = &self.slopes[self.starts[element] as usize..self.starts[element + 1] as usize];
        slopes.iter().find(|(of, _)| *of == field).map_or(0.0, |(_, slope)| *slope)
    }
}

impl Network {
    /// Slopes of the reading `Σ weight · V[node]` at an operating point of this network. States and voltages are taken
    /// from the solution as they are.
    pub fn sensitivities(
        &self,
        ordering: &Ordering,
        solution: &Solution,
        of: &[(usize, f64)],
    ) -> Sensitivities {
        let mut only = Sensitivities { starts: vec![0; self.elements.len() + 1], slopes: Vec::new() };
        self.sensitivities_of_all(ordering, solution, &[of], |_, slopes| only = slopes);
        only
    }

    /// Slopes of many readings at one operating point, each given to `take` with its index: the matrix is factored once.
    pub fn sensitivities_of_all(
        &self,
        ordering: &Ordering,
        solution: &Solution,
        readings: &[&[(usize, f64)]],
        mut take: impl FnMut(usize, Sensitivities),
    ) {
        let at = Potentials::of(&solution.volts);
        let mut states = Vec::with_capacity(self.elements.len() + 8);
        for flow in &solution.elements {
            states.push(flow.state);
            states.extend(flow.outputs.iter().map(|o| o.state));
        }
        let ordering = self.fitting(ordering);
        let mut sparse = Sparse::new(&ordering);
        let good = factored(self, &mut sparse, &mut states, &at);
        let mut plain = (!good && self.nodes.len() <= PLAIN_AT_MOST).then(|| Dense::new(self));
        let plain_is_good = plain.as_mut().is_some_and(|plain| factored(self, plain, &mut states, &at));
        for (index, of) in readings.iter().enumerate() {
            let mut adjoint = vec![0.0; self.nodes.len()];
            of.iter().for_each(|(node, weight)| adjoint[*node] += weight);
            match &mut plain {
                _ if good => sparse.solve_transposed(&mut adjoint),
                Some(plain) if plain_is_good => plain.solve_transposed(&mut adjoint),
                _ => adjoint.fill(f64::NAN),
            }
            take(index, self.slopes(solution, &at, adjoint));
        }
    }

    fn slopes(&self, solution: &Solution, at: &Potentials, mut adjoint: Vec<f64>) -> Sensitivities {
        if let Some(at_datum) = adjoint.get_mut(self.datum) {
            *at_datum = 0.0;
        }
        let mut slopes =
            Slopes { at, adjoint: &adjoint, slopes: Vec::with_capacity(3 * self.elements.len()) };
        let mut starts = Vec::with_capacity(self.elements.len() + 1);
        starts.push(0);
        for (element, flow) in self.elements.iter().zip(&solution.elements) {
            slopes.of_law(&element.law, flow);
            starts.push(slopes.slopes.len() as u32);
        }
        Sensitivities { starts, slopes: slopes.slopes }
    }
}

/// Assembles and factors the equations; false if a pivot is too small to divide by.
fn factored(net: &Network, equations: &mut impl Equations, states: &mut [State], at: &Potentials) -> bool {
    equations.clear();
    Walk::new(Moves::None, 0.0).over(net, states, at, equations);
    equations.factor(net.leak) != Pivots::Tiny
}

struct Slopes<'a> {
    at: &'a Potentials,
    adjoint: &'a [f64],
    slopes: Vec<(Field, f64)>,
}

impl Slopes<'_> {
    /// Change of the reading for a current that is moved from one node to another.
    fn moving(&self, from: usize, to: usize) -> f64 {
        self.adjoint[to] - self.adjoint[from]
    }

    fn push(&mut self, field: Field, slope: f64) {
        self.slopes.push((field, slope));
    }

    fn of_law(&mut self, law: &Law, flow: &Flow) {
        let (state, current) = (flow.state, flow.current);
        match law {
            Law::Resistor(r) => self.push(Field::Ohms, -self.moving(r.a, r.b) * current / r.ohms),
            Law::Source(s) => {
                let by = ByRating::of(&s.into(), state, current);
                let moving = self.moving(s.minus, s.plus);
                self.push(Field::Volts, moving * by.volts);
                self.push(Field::Ohms, moving * by.ohms);
                self.push(Field::Limit, moving * by.limit);
            }
            Law::Diode(d) if state == State::On => {
                let moving = self.moving(d.anode, d.cathode) / d.ohms;
                self.push(Field::Forward, -moving);
                self.push(Field::Ohms, -moving * current);
            }
            Law::Diode(_) => {}
            Law::Clamp(c) => self.of_clamp(c, flow),
            Law::Load(l) => self.of_load(l, state),
            Law::Regulator(r) => self.of_regulator(r, flow),
            Law::Converter(c) => self.of_converter(c, flow),
        }
    }

    fn of_clamp(&mut self, c: &Clamp, flow: &Flow) {
        let moving = self.moving(c.cathode, c.anode) / c.ohms;
        match flow.state {
            State::Clamping => self.push(Field::Breakdown, -moving),
            State::Forward => self.push(Field::Forward, moving),
            _ => {}
        }
        self.push(Field::Ohms, -moving * flow.current);
    }

    fn of_load(&mut self, l: &Load, state: State) {
        let moving = self.moving(l.plus, l.minus);
        let v = self.at.across(l.plus, l.minus).volts();
        let (by_amount, by_knee) = match (l.draws, state) {
            (Draws::Resistance, _) => (-v / (l.amount * l.amount), 0.0),
            (Draws::Current, State::Starved) => (v / l.knee, -l.amount * v / (l.knee * l.knee)),
            (Draws::Current, _) => (1.0, 0.0),
            (Draws::Power, State::Starved) => {
                let by_amount = v / (l.knee * l.knee);
                (by_amount, -2.0 * l.amount * by_amount / l.knee)
            }
            (Draws::Power, _) => (1.0 / v, 0.0),
        };
        self.push(Field::Amount, moving * by_amount);
        self.push(Field::Knee, moving * by_knee);
    }

    fn of_regulator(&mut self, r: &Regulator, flow: &Flow) {
        let moving = self.moving(r.input, r.output);
        match flow.state {
            State::Regulating => self.push(Field::Volts, moving / r.ohms),
            State::DropOut => self.push(Field::Headroom, -moving * sign(r.volts) / r.ohms),
            State::Limiting => self.push(Field::Limit, moving * sign(r.volts)),
            _ => {}
        }
        if matches!(flow.state, State::Regulating | State::DropOut) {
            self.push(Field::Ohms, -moving * flow.current / r.ohms);
        }
    }

    /// A value of an output moves current at the output and, by the power, at the input.
    fn of_converter(&mut self, c: &Converter, flow: &Flow) {
        if flow.state != State::On {
            return;
        }
        let per_watt = amps_per_watt(c, self.at.across(c.in_plus, c.in_minus).volts()).flow;
        let at_input = self.moving(c.in_plus, c.in_minus) * per_watt;
        let mut delivered = 0.0;
        for (i, (o, its)) in c.outputs.iter().zip(&flow.outputs).enumerate() {
            let v = self.at.across(o.plus, o.minus).volts();
            let counts = if v * its.current > 0.0 { 1.0 } else { 0.0 };
            delivered += counts * v * its.current;
            let by = ByRating::of(&o.into(), its.state, its.current);
            let moving = self.moving(o.minus, o.plus) + at_input * counts * v / c.efficiency;
            self.push(Field::OutputVolts(i), moving * by.volts);
            self.push(Field::OutputOhms(i), moving * by.ohms);
            self.push(Field::OutputLimit(i), moving * by.limit);
        }
        self.push(Field::Efficiency, -at_input * delivered / (c.efficiency * c.efficiency));
        self.push(Field::Idle, at_input);
    }
}

/// Derivatives of a source's current out of its plus.
#[derive(Default)]
struct ByRating {
    volts: f64,
    ohms: f64,
    limit: f64,
}

impl ByRating {
    fn of(rating: &Rating, state: State, current: f64) -> Self {
        match state {
            State::Holding => Self { volts: 1.0 / rating.ohms, ohms: -current / rating.ohms, limit: 0.0 },
            State::Limiting => Self { limit: sign(rating.volts), ..Self::default() },
            _ => Self::default(),
        }
    }
}
