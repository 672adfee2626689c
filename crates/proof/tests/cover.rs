//! The cheapest cover against brute force, at its edges, and on large problems.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "cover/problems.rs"]
mod problems;

use problems::Dice;
use proptest::prelude::*;
use voltwright_proof::cover::{Bits, Column, Cover, Uncoverable, least_cost, more_telling};

const EFFORT: u64 = 20_000;

fn column(cost: u32, rows: &[usize]) -> Column {
    Column { cost, rows: rows.iter().copied().collect() }
}

fn cost_of(columns: &[Column], chosen: &[usize]) -> u64 {
    chosen.iter().map(|j| u64::from(columns[*j].cost)).sum()
}

fn covers(columns: &[Column], rows: usize, chosen: &[usize]) -> bool {
    (0..rows).all(|i| chosen.iter().any(|j| columns[*j].rows.contains(i)))
}

/// What every answer must be, optimal or not.
fn check(columns: &[Column], rows: usize, cover: &Cover) {
    assert!(covers(columns, rows, &cover.columns), "{cover:?}");
    assert_eq!(cost_of(columns, &cover.columns), cover.cost);
    assert!(cover.bound <= cover.cost, "{cover:?}");
    assert!(cover.columns.is_sorted_by(|a, b| a < b), "{cover:?}");
    for left_out in &cover.columns {
        let rest: Vec<usize> = cover.columns.iter().copied().filter(|j| j != left_out).collect();
        assert!(!covers(columns, rows, &rest), "{left_out} is superfluous in {cover:?}");
    }
}

/// The least cost over all subsets, if any covers.
fn by_force(columns: &[Column], rows: usize) -> Option<u64> {
    let subset = |bits: usize| (0..columns.len()).filter(|j| bits >> j & 1 == 1).collect::<Vec<_>>();
    let all = (0..1 << columns.len()).map(subset);
    all.filter(|chosen| covers(columns, rows, chosen)).map(|chosen| cost_of(columns, &chosen)).min()
}

/// Up to 12 columns over up to 10 rows, of costs that often tie.
fn small() -> impl Strategy<Value = (Vec<Column>, usize)> {
    let row_sets = (0..=10_usize, 0..=12_usize, prop_oneof![Just(3_u32), Just(60)]);
    row_sets.prop_flat_map(|(rows, columns, dearest)| {
        let one = (0..=dearest, prop::collection::vec(0..rows.max(1), 0..=4.min(rows)));
        let column = one.prop_map(|(cost, rows)| column(cost, &rows));
        (prop::collection::vec(column, columns), Just(rows))
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn as_cheap_as_by_force((columns, rows) in small()) {
        match least_cost(&columns, rows, EFFORT) {
            Ok(cover) => {
                check(&columns, rows, &cover);
                prop_assert_eq!(Some(cover.cost), by_force(&columns, rows));
                prop_assert_eq!(cover.bound, cover.cost);
            }
            Err(Uncoverable { rows: left }) => {
                let covered = |i: &usize| columns.iter().any(|column| column.rows.contains(*i));
                let expected: Vec<usize> = (0..rows).filter(|i| !covered(i)).collect();
                prop_assert_eq!(left, expected);
                prop_assert_eq!(by_force(&columns, rows), None);
            }
        }
    }

    #[test]
    fn more_telling_keeps_cost_and_cover(seed in 0_u64..10_000) {
        let (columns, rows) = problems::plain(&mut Dice::new(seed), 25, 60);
        let cover = least_cost(&columns, rows, EFFORT).unwrap();
        let score = |chosen: &[usize]| chosen.iter().map(|j| columns[*j].rows.count() as u64).sum::<u64>();
        let before = score(&cover.columns);
        let after = more_telling(&columns, rows, cover.clone(), score);
        check(&columns, rows, &after);
        prop_assert_eq!((after.cost, after.bound), (cover.cost, cover.bound));
        prop_assert!(score(&after.columns) >= before);
    }

    #[test]
    fn sets_are_sets(a in prop::collection::btree_set(0..200_usize, 0..40), b in prop::collection::btree_set(0..150_usize, 0..40)) {
        let (x, y): (Bits, Bits) = (a.iter().copied().collect(), b.iter().copied().collect());
        prop_assert!(x.iter().eq(a.iter().copied()));
        prop_assert_eq!(x.count(), a.len());
        prop_assert_eq!(x.first(), a.first().copied());
        prop_assert_eq!(x.is_empty(), a.is_empty());
        prop_assert!(x.union(&y).iter().eq(a.union(&b).copied()));
        prop_assert!(x.difference(&y).iter().eq(a.difference(&b).copied()));
        prop_assert_eq!(x.is_subset(&y), a.is_subset(&b));
        let mut both = x.clone();
        both.intersect(&y);
        prop_assert!(both.iter().eq(a.intersection(&b).copied()));
        prop_assert!(both.is_subset(&x) && both.is_subset(&y));
    }
}

#[test]
fn no_rows_need_no_columns() {
    let cover = least_cost(&[column(3, &[0]), column(0, &[])], 0, EFFORT).unwrap();
    assert_eq!(cover, Cover { columns: vec![], cost: 0, bound: 0, explored: 0 });
    assert_eq!(least_cost(&[], 0, 0).unwrap().columns, Vec::<usize>::new());
}

#[test]
fn rows_that_nothing_covers_are_named() {
    let error = least_cost(&[column(1, &[1]), column(1, &[3, 9])], 5, EFFORT).unwrap_err();
    assert_eq!(error.rows, [0, 2, 4]);
    assert_eq!(error.to_string(), "no column covers row 0, 2, 4");
}

#[test]
fn what_is_free_is_used_but_only_where_it_helps() {
    let columns = [column(5, &[0, 1]), column(0, &[1]), column(0, &[1]), column(2, &[0]), column(0, &[])];
    let cover = least_cost(&columns, 2, EFFORT).unwrap();
    assert_eq!((cover.columns, cover.cost, cover.bound), (vec![1, 3], 2, 2));
}

#[test]
fn of_equal_columns_the_first_is_chosen() {
    let columns = [column(9, &[0, 1]), column(4, &[0, 1]), column(4, &[0, 1]), column(4, &[0])];
    assert_eq!(least_cost(&columns, 2, EFFORT).unwrap().columns, [1]);
}

#[test]
fn costs_may_be_as_large_as_they_come() {
    // A triangle: any two of the three.
    let columns = [column(u32::MAX, &[0, 1]), column(u32::MAX, &[1, 2]), column(u32::MAX - 1, &[0, 2])];
    let cover = least_cost(&columns, 3, EFFORT).unwrap();
    assert_eq!((cover.cost, cover.bound), (2 * u64::from(u32::MAX) - 1, 2 * u64::from(u32::MAX) - 1));
}

/// Known without any solver: where any two of an odd number of things can be had together for the same, one of them
/// costs as much as a pair. Blocks of different cost are independent.
#[test]
fn large_problem_of_known_cost() {
    let (mut columns, mut rows, mut expected) = (Vec::new(), 0, 0);
    for (block, things) in [6_usize, 8, 10, 12, 7, 9, 11, 13, 41].into_iter().enumerate() {
        let cost = 10 + block as u32;
        for a in 0..things {
            (0..a).for_each(|b| columns.push(column(cost, &[rows + a, rows + b])));
        }
        expected += u64::from(cost) * things.div_ceil(2) as u64;
        rows += things;
    }
    let cover = least_cost(&columns, rows, EFFORT).unwrap();
    check(&columns, rows, &cover);
    assert_eq!((cover.cost, cover.bound), (expected, expected));
}

/// Things with a price each, any two of them had for the sum of their prices: an odd number costs the cheapest one twice.
#[test]
fn the_odd_one_out_is_proven_without_search() {
    let mut dice = Dice::new(5);
    let prices: Vec<u32> = (0..61).map(|_| 5 + 5 * dice.below(6) as u32).collect();
    let mut columns = Vec::new();
    for a in 0..prices.len() {
        (0..a).for_each(|b| columns.push(column(prices[a] + prices[b], &[a, b])));
    }
    let cover = least_cost(&columns, prices.len(), 50).unwrap();
    check(&columns, prices.len(), &cover);
    let expected = u64::from(prices.iter().sum::<u32>() + prices.iter().min().unwrap());
    assert_eq!((cover.cost, cover.bound), (expected, expected));
}

/// As many mistakes and readings as there may be.
#[test]
fn readings_on_a_large_harness_are_proven() {
    let mut proven = 0;
    for seed in 0..3 {
        let (columns, rows) = problems::harness(&mut Dice::new(seed), 80, 1500, 6000);
        let cover = least_cost(&columns, rows, 50).unwrap();
        check(&columns, rows, &cover);
        proven += u32::from(cover.bound == cover.cost);
    }
    assert_eq!(proven, 3);
}

#[test]
fn mixed_problems_are_proven_and_repeat() {
    let mut proven = 0;
    for seed in 0..12 {
        let (columns, rows) = problems::mixed(seed);
        let cover = least_cost(&columns, rows, 300).unwrap();
        check(&columns, rows, &cover);
        assert_eq!(cover, least_cost(&columns, rows, 300).unwrap());
        proven += u32::from(cover.bound == cover.cost);
    }
    assert!(proven >= 9, "{proven} of 12");
}

#[test]
fn without_effort_the_gap_is_stated() {
    let mut gaps = 0;
    for seed in 0..20 {
        let (columns, rows) = problems::plain(&mut Dice::new(seed), 60, 80);
        let (quick, full) =
            (least_cost(&columns, rows, 0).unwrap(), least_cost(&columns, rows, EFFORT).unwrap());
        check(&columns, rows, &quick);
        assert_eq!(quick.explored, 0);
        assert_eq!(full.bound, full.cost);
        assert!(quick.bound <= full.cost && full.cost <= quick.cost);
        gaps += u32::from(quick.bound < quick.cost);
    }
    assert!(gaps > 0, "none of these needs a search: the test shows nothing");
}

#[test]
fn a_more_telling_cover_of_the_same_cost() {
    // 1 and 2 do the same as 0 for the same price; 3 costs more; 4 does not cover.
    let columns =
        [column(2, &[0, 1]), column(2, &[0, 1]), column(2, &[0, 1]), column(3, &[0, 1]), column(2, &[0])];
    let cover = least_cost(&columns, 2, EFFORT).unwrap();
    assert_eq!(cover.columns, [0]);
    let better = more_telling(&columns, 2, cover.clone(), |chosen| chosen[0] as u64);
    assert_eq!((better.columns, better.cost, better.bound), (vec![2], 2, 2));
    assert_eq!(more_telling(&columns, 2, cover.clone(), |_| 7), cover);
}
