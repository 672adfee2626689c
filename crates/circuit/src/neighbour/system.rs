//! The small system of a neighbour: one unknown a changed current, one a shifted part.

/// Unknowns beyond which a neighbour is no longer one.
pub(super) const MOST: usize = 40;

/// A dense system with a running bound of what rounding did to each row.
#[derive(Debug, Default)]
pub(super) struct System {
    pub size: usize,
    /// Row by row; after factoring the factors, in place.
    pub matrix: Vec<f64>,
    /// What each entry of a row may be wrong by.
    pub noise: Vec<f64>,
    swaps: Vec<usize>,
    inverse: Vec<f64>,
}

/// What a factorisation found.
#[derive(Debug, Clone, Copy)]
pub(super) struct Found {
    /// Whether the determinant is above zero.
    pub positive: bool,
    /// The worst share of a pivot that rounding made.
    pub doubt: f64,
}

impl System {
    pub fn reset(&mut self, size: usize) {
        self.size = size;
        self.matrix.clear();
        self.matrix.resize(size * size, 0.0);
        self.noise.clear();
        self.noise.resize(size, 0.0);
        self.swaps.clear();
        self.inverse.clear();
    }

    pub fn factor(&mut self) -> Found {
        let n = self.size;
        let mut found = Found { positive: true, doubt: 0.0 };
        for k in 0..n {
            let size = |row: usize| self.matrix[row * n + k].abs();
            let best = (k + 1..n).fold(k, |best, row| if size(row) > size(best) { row } else { best });
            if best != k {
                for c in 0..n {
                    self.matrix.swap(k * n + c, best * n + c);
                }
                self.noise.swap(k, best);
                found.positive = !found.positive;
            }
            self.swaps.push(best);
            let pivot = self.matrix[k * n + k];
            found.positive ^= pivot < 0.0;
            found.doubt = f64::max(found.doubt, self.noise[k] / pivot.abs());
            if !(pivot.abs() > 0.0 && pivot.is_finite()) {
                found.doubt = f64::INFINITY;
            }
            self.inverse.push(1.0 / pivot);
            let (above, below) = self.matrix.split_at_mut((k + 1) * n);
            let pivot_row = &above[k * n..];
            for (r, row) in below.chunks_exact_mut(n).enumerate() {
                let share = row[k] * self.inverse[k];
                row[k] = share;
                self.noise[k + 1 + r] += share.abs() * self.noise[k];
                for c in k + 1..n {
                    row[c] -= share * pivot_row[c];
                }
            }
        }
        found
    }

    pub fn solve(&self, values: &mut [f64]) {
        let n = self.size;
        for k in 0..n {
            values.swap(k, self.swaps[k]);
        }
        for i in 1..n {
            let row = &self.matrix[i * n..i * n + i];
            let known: f64 = row.iter().zip(&values[..i]).map(|(f, x)| f * x).sum();
            values[i] -= known;
        }
        for i in (0..n).rev() {
            let row = &self.matrix[i * n + i + 1..(i + 1) * n];
            let known: f64 = row.iter().zip(&values[i + 1..n]).map(|(f, x)| f * x).sum();
            values[i] = (values[i] - known) * self.inverse[i];
        }
    }

    /// The most that errors of the right-hand side may make of each unknown.
    pub fn bound(&self, errors: &mut [f64]) {
        let n = self.size;
        for k in 0..n {
            errors.swap(k, self.swaps[k]);
        }
        for i in 1..n {
            let row = &self.matrix[i * n..i * n + i];
            errors[i] += row.iter().zip(&errors[..i]).map(|(f, x)| f.abs() * x).sum::<f64>();
        }
        for i in (0..n).rev() {
            let row = &self.matrix[i * n + i + 1..(i + 1) * n];
            let known: f64 = row.iter().zip(&errors[i + 1..n]).map(|(f, x)| f.abs() * x).sum();
            errors[i] = (errors[i] + known) * self.inverse[i].abs();
        }
    }
}
