//! Random cover problems: plain ones, and ones with the shape of readings on a harness.

use voltwright_proof::cover::{Bits, Column};

/// A small generator of its own, so that one number tells a problem.
pub struct Dice(u64);

impl Dice {
    /// Seeded.
    pub fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x2545_f491_4f6c_dd1d);
        dice.0 |= u64::from(dice.0 == 0);
        for _ in 0..8 {
            dice.below(2);
        }
        dice
    }

    /// One of 0..n (xorshift).
    pub fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as usize % n.max(1)
    }

    /// With a chance in a thousand.
    pub fn chance(&mut self, of_thousand: usize) -> bool {
        self.below(1000) < of_thousand
    }
}

/// A problem of 20 to 170 rows and 20 to 250 columns, half of them plain, half like a harness; every row can be covered.
pub fn mixed(seed: u64) -> (Vec<Column>, usize) {
    let mut dice = Dice::new(seed);
    let (rows, columns) = (20 + dice.below(151), 20 + dice.below(231));
    match dice.below(2) {
        0 => plain(&mut dice, rows, columns),
        _ => {
            let terminals = 8 + dice.below(40);
            harness(&mut dice, terminals, rows, columns)
        }
    }
}

/// Each column covers each row with one chance, costs are of one grain.
pub fn plain(dice: &mut Dice, rows: usize, columns: usize) -> (Vec<Column>, usize) {
    let chance = 20 + dice.below(150);
    let grain = [1, 1, 5, 10][dice.below(4)];
    let column = |dice: &mut Dice| {
        let mut covered = Bits::new(rows);
        (0..rows).filter(|_| dice.chance(chance)).for_each(|i| covered.insert(i));
        Column { cost: (grain * (1 + dice.below(60 / grain))) as u32, rows: covered }
    };
    let all = (0..columns).map(|_| column(dice)).collect();
    coverable(dice, all, rows)
}

/// Columns are readings between two terminals of a tree of wires, at one of four stages; rows are mistakes: a wire left
/// off, seen by readings across it, or two terminals bridged, seen by readings that begin beyond one of them; each must be
/// seen before a stage.
pub fn harness(dice: &mut Dice, terminals: usize, rows: usize, columns: usize) -> (Vec<Column>, usize) {
    let parents: Vec<usize> = (0..terminals).map(|t| dice.below(t.min(t / 2 + 3))).collect();
    let reach: Vec<usize> = (0..terminals).map(|_| 5 + dice.below(6) * 5).collect();
    let within = |mut t: usize, top: usize| {
        while t > top {
            t = parents[t];
        }
        t == top
    };
    // Some wires carry so little that a reading across many wires does not tell.
    let faint: Vec<bool> = (0..terminals).map(|_| dice.chance(300)).collect();
    let depth = |t: usize| std::iter::successors(Some(t), |t| (*t > 0).then(|| parents[*t])).count();
    let fine_enough = |a: usize, b: usize, top: usize| !faint[top] || depth(a) + depth(b) <= depth(top) + 5;
    let mistakes: Vec<(usize, Option<usize>, usize)> = (0..rows)
        .map(|_| {
            let other = dice.chance(500).then(|| 1 + dice.below(terminals - 1));
            (1 + dice.below(terminals - 1), other, 1 + dice.below(4))
        })
        .collect();
    let reading = |dice: &mut Dice| {
        let (a, b, stage) = (dice.below(terminals), dice.below(terminals), dice.below(4));
        let sees = |(top, other, harm): &(usize, Option<usize>, usize)| {
            let across = within(a, *top) != within(b, *top);
            stage < *harm
                && fine_enough(a, b, *top)
                && (across || other.is_some_and(|o| within(a, o) != within(b, o)))
        };
        let mut covered = Bits::new(rows);
        (0..rows).filter(|i| sees(&mistakes[*i])).for_each(|i| covered.insert(i));
        Column { cost: (reach[a] + reach[b]) as u32, rows: covered }
    };
    let all = (0..columns).map(|_| reading(dice)).collect();
    coverable(dice, all, rows)
}

/// Rows that nothing covers are put into some column.
fn coverable(dice: &mut Dice, mut columns: Vec<Column>, rows: usize) -> (Vec<Column>, usize) {
    let mut left = Bits::full(rows);
    columns.iter().for_each(|column| left.subtract(&column.rows));
    for i in left.iter() {
        let j = dice.below(columns.len());
        columns[j].rows.insert(i);
    }
    (columns, rows)
}
