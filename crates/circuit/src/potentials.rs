//! Node voltages carried in two parts, so that the small drop across a milliohm at high voltage keeps all its digits.
//!
//! A volt step of one unit in the last place at 230 V across 0.1 mΩ is already 0.3 nA: too coarse to balance a network
//! at light load. The second part carries what the first rounds away.

/// The voltage of each node, `main + rest`.
#[derive(Debug, Clone, Default)]
pub(crate) struct Potentials {
    pub main: Vec<f64>,
    rest: Vec<f64>,
}

/// A voltage difference in two parts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Drop {
    main: f64,
    rest: f64,
}

impl Potentials {
    pub fn zero(nodes: usize) -> Self {
        Self { main: vec![0.0; nodes], rest: vec![0.0; nodes] }
    }

    pub fn of(volts: &[f64]) -> Self {
        Self { main: volts.to_vec(), rest: vec![0.0; volts.len()] }
    }

    pub fn copy_from(&mut self, other: &Self) {
        self.main.copy_from_slice(&other.main);
        self.rest.copy_from_slice(&other.rest);
    }

    /// Sets the voltages to those of another, moved.
    pub fn set(&mut self, other: &Self, moved: &[f64]) {
        let nodes = moved.len();
        self.main.resize(nodes, 0.0);
        self.rest.resize(nodes, 0.0);
        let from = other.main.iter().zip(&other.rest).zip(moved);
        for ((main, rest), ((other_main, other_rest), by)) in
            self.main.iter_mut().zip(&mut self.rest).zip(from)
        {
            let (sum, lost) = add_exactly(*other_main, *by);
            (*main, *rest) = (sum, other_rest + lost);
        }
    }

    /// Of a node, rounded once.
    pub fn volts(&self, node: usize) -> f64 {
        self.main[node] + self.rest[node]
    }

    /// From `minus` to `plus`.
    #[inline]
    pub fn across(&self, plus: usize, minus: usize) -> Drop {
        let (main, lost) = add_exactly(self.main[plus], -self.main[minus]);
        Drop { main, rest: lost + (self.rest[plus] - self.rest[minus]) }
    }

    /// The two parts' sum at a node less the same at another moment.
    pub fn since(&self, other: &Self, node: usize) -> f64 {
        (self.main[node] - other.main[node]) + (self.rest[node] - other.rest[node])
    }

    pub fn shift(&mut self, node: usize, by: f64, bound: f64) {
        let (main, lost) = add_exactly(self.main[node], by);
        if main.abs() > bound {
            (self.main[node], self.rest[node]) = (main.clamp(-bound, bound), 0.0);
        } else {
            (self.main[node], self.rest[node]) = add_exactly(main, lost + self.rest[node]);
        }
    }
}

impl Drop {
    /// A difference in one part.
    pub fn of(volts: f64) -> Self {
        Self { main: volts, rest: 0.0 }
    }

    #[inline]
    pub fn volts(self) -> f64 {
        self.main + self.rest
    }

    /// The difference less `volts`, rounded once.
    #[inline]
    pub fn less(self, volts: f64) -> f64 {
        let (main, lost) = add_exactly(self.main, -volts);
        main + (self.rest + lost)
    }

    /// Turned round where `sign` is −1.
    #[inline]
    pub fn times(self, sign: f64) -> Self {
        Self { main: self.main * sign, rest: self.rest * sign }
    }
}

/// A sum with its rounding error (Knuth's two-sum; exact in round-to-nearest).
#[inline]
pub(crate) fn add_exactly(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let b_part = sum - a;
    (sum, (a - (sum - b_part)) + (b - b_part))
}
