//! The shape of all checks against published values.

/// What is checked, what we compute, what is published, the share it may differ by, and where it is published.
pub(crate) type Check = (&'static str, f64, f64, f64, &'static str);

/// Tells every row that does not hold, not only the first.
pub(crate) fn all_hold(checks: &[Check]) {
    let wrong: Vec<String> = checks
        .iter()
        .filter(|(_, computed, expected, share, _)| {
            // Written so that a value that is no number fails.
            let holds = (computed - expected).abs() <= share * expected.abs();
            !holds
        })
        .map(|(what, computed, expected, share, source)| {
            format!("{what}: {computed}, published {expected} ±{} % ({source})", share * 100.0)
        })
        .collect();
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), checks.len(), wrong.join("\n"));
}

#[test]
#[should_panic(expected = "2 of 3")]
fn a_wrong_value_and_no_number_at_all_are_both_told() {
    all_hold(&[
        ("right", 1.0, 1.0005, 0.001, "-"),
        ("wrong", 1.0, 1.1, 0.001, "-"),
        ("none", f64::NAN, 1.0, 0.5, "-"),
    ]);
}
