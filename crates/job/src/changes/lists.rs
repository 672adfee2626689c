//! Which entries of two lists are the same ones.

/// An entry of the old list, of the new one, or one that is in both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Pairing {
    Both(usize, usize),
    Old(usize),
    New(usize),
}

impl Pairing {
    /// The same behind so many entries of the old list and of the new one.
    pub(super) fn behind(self, old: usize, new: usize) -> Self {
        match self {
            Self::Both(a, b) => Self::Both(old + a, new + b),
            Self::Old(a) => Self::Old(old + a),
            Self::New(b) => Self::New(new + b),
        }
    }
}

/// The largest table of comparisons that is made; longer lists are compared by position.
const LARGEST: usize = 1 << 22;

/// Pairs entries that are equal and in the same order, as many as there are; what stands between them by position, where it is `alike`.
pub(crate) fn pair<T: PartialEq>(old: &[T], new: &[T], alike: impl Fn(&T, &T) -> bool) -> Vec<Pairing> {
    let mut pairs = Vec::new();
    let (mut a, mut b) = (0, 0);
    let end = (old.len(), new.len());
    for (i, j) in kept(old, new).into_iter().chain([end]) {
        while a < i || b < j {
            match (a < i, b < j) {
                (true, true) if alike(&old[a], &new[b]) => pairs.push(Pairing::Both(a, b)),
                (true, true) => pairs.extend([Pairing::Old(a), Pairing::New(b)]),
                (true, false) => pairs.push(Pairing::Old(a)),
                (false, _) => pairs.push(Pairing::New(b)),
            }
            (a, b) = ((a + 1).min(i), (b + 1).min(j));
        }
        if (i, j) != end {
            pairs.push(Pairing::Both(i, j));
        }
        (a, b) = ((i + 1).min(end.0), (j + 1).min(end.1));
    }
    pairs
}

/// The longest row of equal entries that both lists have in the same order.
pub(super) fn kept<T: PartialEq>(old: &[T], new: &[T]) -> Vec<(usize, usize)> {
    let head = old.iter().zip(new).take_while(|(a, b)| a == b).count();
    let (rest_old, rest_new) = (&old[head..], &new[head..]);
    let tail = rest_old.iter().rev().zip(rest_new.iter().rev()).take_while(|(a, b)| a == b).count();
    let (n, m) = (rest_old.len() - tail, rest_new.len() - tail);
    let mut kept: Vec<(usize, usize)> = (0..head).map(|i| (i, i)).collect();
    if n.saturating_mul(m) <= LARGEST {
        kept.extend(common(&rest_old[..n], &rest_new[..m]).into_iter().map(|(i, j)| (head + i, head + j)));
    }
    kept.extend((0..tail).map(|i| (head + n + i, head + m + i)));
    kept
}

fn common<T: PartialEq>(old: &[T], new: &[T]) -> Vec<(usize, usize)> {
    let wide = new.len() + 1;
    // How many can be kept of what follows a pair of places.
    let mut best = vec![0u32; (old.len() + 1) * wide];
    for i in (0..old.len()).rev() {
        for j in (0..new.len()).rev() {
            best[i * wide + j] = if old[i] == new[j] {
                best[(i + 1) * wide + j + 1] + 1
            } else {
                best[(i + 1) * wide + j].max(best[i * wide + j + 1])
            };
        }
    }
    let (mut i, mut j, mut kept) = (0, 0, Vec::new());
    while i < old.len() && j < new.len() {
        if old[i] == new[j] {
            kept.push((i, j));
            (i, j) = (i + 1, j + 1);
        } else if best[(i + 1) * wide + j] >= best[i * wide + j + 1] {
            i += 1;
        } else {
            j += 1;
        }
    }
    kept
}
