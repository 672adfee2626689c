//! Near misses: the name that was probably meant.

/// The candidate that differs in the fewest letters, if few enough; none if two are equally near.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    let length = word.chars().count();
    let allowed = (length / 3).min(3);
    let mut found: Option<(usize, &str)> = None;
    let mut tie = false;
    for candidate in candidates {
        // Each letter more or less is a difference: most candidates need no closer look.
        if candidate.chars().count().abs_diff(length) > allowed {
            continue;
        }
        let d = distance(&word, &candidate.to_lowercase());
        match found {
            _ if d > allowed => {}
            Some((best, _)) if d > best => {}
            Some((best, _)) if d == best => tie = true,
            _ => (found, tie) = (Some((d, candidate)), false),
        }
    }
    found.filter(|_| !tie).map(|(_, c)| c)
}

/// Letters to insert, remove or change, a swap of neighbours counting once.
fn distance(a: &str, b: &str) -> usize {
    // Longer words are no names of ours, and must not cost time.
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(40).collect(), b.chars().take(40).collect());
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut now = vec![i];
        for j in 1..=b.len() {
            let changed = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = changed.min(last[j] + 1).min(now[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(before[j - 2] + 1);
            }
            now.push(best);
        }
        before = std::mem::replace(&mut last, now);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn only_a_single_near_name_is_offered() {
        assert_eq!(nearest("Irleand", ["Ireland", "Iceland"]), Some("Ireland"));
        assert_eq!(nearest("Ieeland", ["Ireland", "Iceland"]), None);
        assert_eq!(nearest("zz", ["za"]), None);
        assert_eq!(nearest("tolerence", ["tolerance", "nominal"]), Some("tolerance"));
        assert_eq!(nearest("nomnial", ["tolerance", "nominal"]), Some("nominal"));
        assert_eq!(nearest("colour", ["tolerance", "nominal"]), None);
    }
}
