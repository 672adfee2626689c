//! Near misses: the name that was probably meant.

/// The candidate nearest to `word`, if it is near enough to be asked for.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let allowed = (word.chars().count() / 3).clamp(1, 3);
    candidates
        .into_iter()
        .map(|c| (distance(&word.to_lowercase(), &c.to_lowercase()), c))
        .filter(|(d, _)| *d <= allowed)
        .min_by_key(|(d, _)| *d)
        .map(|(_, c)| c)
}

/// Number of letters to insert, remove, change or exchange with their neighbour.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(64).collect(), b.chars().take(64).collect());
    let mut rows = vec![vec![0usize; b.len() + 1]; a.len() + 1];
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            rows[i][j] = if i == 0 || j == 0 {
                i + j
            } else {
                let change = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
                let mut best = change.min(rows[i - 1][j] + 1).min(rows[i][j - 1] + 1);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    best = best.min(rows[i - 2][j - 2] + 1);
                }
                best
            };
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn asks_for_what_is_near_only() {
        assert_eq!(nearest("tolerence", ["tolerance", "nominal"]), Some("tolerance"));
        assert_eq!(nearest("nomnial", ["tolerance", "nominal"]), Some("nominal"));
        assert_eq!(nearest("colour", ["tolerance", "nominal"]), None);
        assert_eq!(nearest("x", ["p5"]), None);
    }
}
