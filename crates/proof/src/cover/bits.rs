//! Sets of small numbers.

/// A set of small numbers, a bit each: the rows of a column, the columns of a row.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bits {
    words: Vec<u64>,
}

impl Bits {
    /// An empty set with room for the numbers below `n`.
    pub fn new(n: usize) -> Self {
        Self { words: vec![0; n.div_ceil(64)] }
    }

    /// All numbers below `n`.
    pub fn full(n: usize) -> Self {
        let mut words = vec![u64::MAX; n.div_ceil(64)];
        if let (Some(last), rest @ 1..) = (words.last_mut(), n % 64) {
            *last = (1 << rest) - 1;
        }
        Self { words }
    }

    /// Puts a number in; the room grows where it must.
    pub fn insert(&mut self, i: usize) {
        if i / 64 >= self.words.len() {
            self.words.resize(i / 64 + 1, 0);
        }
        self.words[i / 64] |= 1 << (i % 64);
    }

    /// Takes a number out.
    pub fn remove(&mut self, i: usize) {
        if let Some(word) = self.words.get_mut(i / 64) {
            *word &= !(1 << (i % 64));
        }
    }

    /// Whether a number is in it.
    pub fn contains(&self, i: usize) -> bool {
        self.words.get(i / 64).is_some_and(|word| word >> (i % 64) & 1 == 1)
    }

    /// How many numbers are in it.
    pub fn count(&self) -> usize {
        self.words.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// Bytes that it takes.
    pub fn weight(&self) -> usize {
        size_of_val(&*self.words)
    }

    /// Whether no number is in it.
    pub fn is_empty(&self) -> bool {
        self.words.iter().all(|word| *word == 0)
    }

    /// The numbers, ascending.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        numbers(self.words.iter().copied())
    }

    /// The numbers that are in both, ascending.
    pub fn common<'a>(&'a self, other: &'a Self) -> impl Iterator<Item = usize> + 'a {
        numbers(self.words.iter().zip(&other.words).map(|(a, b)| a & b))
    }

    /// How many numbers are in both.
    pub fn count_common(&self, other: &Self) -> usize {
        self.words.iter().zip(&other.words).map(|(a, b)| (a & b).count_ones() as usize).sum()
    }

    /// The lowest number in it.
    pub fn first(&self) -> Option<usize> {
        self.iter().next()
    }

    /// Whether all that is in this set is in the other.
    pub fn is_subset(&self, other: &Self) -> bool {
        let (common, beyond) = self.words.split_at(self.words.len().min(other.words.len()));
        common.iter().zip(&other.words).all(|(a, b)| a & !b == 0) && beyond.iter().all(|word| *word == 0)
    }

    /// Puts in all that is in the other.
    pub fn unite(&mut self, other: &Self) {
        if self.words.len() < other.words.len() {
            self.words.resize(other.words.len(), 0);
        }
        self.words.iter_mut().zip(&other.words).for_each(|(a, b)| *a |= b);
    }

    /// Takes out all that is in the other.
    pub fn subtract(&mut self, other: &Self) {
        self.words.iter_mut().zip(&other.words).for_each(|(a, b)| *a &= !b);
    }

    /// Takes out all that is not in the other.
    pub fn intersect(&mut self, other: &Self) {
        let others = other.words.iter().chain(std::iter::repeat(&0));
        self.words.iter_mut().zip(others).for_each(|(a, b)| *a &= b);
    }

    /// What is in either.
    pub fn union(&self, other: &Self) -> Self {
        let mut both = self.clone();
        both.unite(other);
        both
    }

    /// What is in this one alone.
    pub fn difference(&self, other: &Self) -> Self {
        let mut rest = self.clone();
        rest.subtract(other);
        rest
    }
}

impl FromIterator<usize> for Bits {
    fn from_iter<I: IntoIterator<Item = usize>>(numbers: I) -> Self {
        let mut set = Self::default();
        numbers.into_iter().for_each(|i| set.insert(i));
        set
    }
}

/// The places of the bits set in words that follow one another.
fn numbers(words: impl Iterator<Item = u64>) -> impl Iterator<Item = usize> {
    words.enumerate().flat_map(|(at, word)| {
        let rests = std::iter::successors(Some(word), |rest| Some(rest & rest.wrapping_sub(1)));
        rests.take_while(|rest| *rest != 0).map(move |rest| at * 64 + rest.trailing_zeros() as usize)
    })
}
