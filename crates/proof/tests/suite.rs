//! The suite of the proof: job files with what must come of their mistakes in comments at their head.
//!
//! - `#? tried KIND N`: at least so many mistakes of a kind;
//! - `#? harm KIND STAGE`, `#? caught KIND STAGE`: some mistake of the kind does harm at that stage, is caught by the plan there;
//! - `#? shorted KIND N`: so many rails are shorted by it;
//! - `#? reads LOW HIGH STAGE; RED; BLACK[; KIND]`: what lies between two terminals over all spreads, with a mistake of the kind
//!   or without any;
//! - `#? escapes N`: so many mistakes escape.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use voltwright_job::nets;
use voltwright_proof::permutation;
use voltwright_proof::proof::Proof;
use voltwright_proof::reading::Interval;
use voltwright_proof::setup::Setup;
use voltwright_proof::trial::{Room, ranges};

fn of_kind(proof: &Proof<'_>, kind: &str) -> Vec<usize> {
    (0..proof.mistakes.len()).filter(|m| proof.mistakes[*m].kind().code == kind).collect()
}

fn stage(proof: &Proof<'_>, name: &str) -> usize {
    proof.setup.stages.iter().position(|s| s.name == name).unwrap_or_else(|| panic!("no stage {name}"))
}

fn reads(proof: &Proof<'_>, at: &str) -> Interval {
    let fields: Vec<&str> = at.split(';').map(str::trim).collect();
    let s = stage(proof, fields[0]);
    let job = proof.setup.job();
    let terminal = |name: &str| nets::all(job).into_iter().find(|t| nets::name(job, *t) == name).unwrap();
    let (a, b) = (terminal(fields[1]), terminal(fields[2]));
    let same = |x, y| proof.setup.is_same_point(s, x, y);
    let is_it = |r: &&voltwright_proof::reading::Reading| {
        same(r.red, a) && same(r.black, b) || same(r.red, b) && same(r.black, a)
    };
    let k = proof
        .setup
        .readings_of(s)
        .iter()
        .position(|r| is_it(&r))
        .unwrap_or_else(|| panic!("no reading {at}"));
    match fields.get(3) {
        None => proof.setup.readings_of(s)[k].range,
        Some(kind) => {
            let class = proof.class(of_kind(proof, kind)[0]);
            ranges(&proof.setup, &class.prepared, s, &mut Room::new()).unwrap()[k]
        }
    }
}

fn check(proof: &Proof<'_>, line: &str) {
    let (what, rest) = line.split_once(' ').unwrap();
    let (first, about) = rest.split_once(' ').unwrap_or((rest, ""));
    let any = |wanted: &dyn Fn(usize) -> bool| of_kind(proof, first).into_iter().any(wanted);
    match what {
        "tried" => {
            let count = of_kind(proof, first).len();
            assert!(count >= about.parse().unwrap(), "{line}: {count}");
        }
        "harm" => {
            let s = stage(proof, about);
            assert!(any(&|m| proof.class(m).outcome.harm.is_some_and(|(at, _)| at == s)), "{line}");
        }
        "caught" => {
            let s = stage(proof, about);
            assert!(any(&|m| proof.class(m).caught_at == Some(s)), "{line}");
        }
        "shorted" => {
            let of = of_kind(proof, first);
            let shorted: Vec<usize> = permutation::all(proof)
                .iter()
                .filter(|p| of.contains(&p.mistake))
                .map(|p| p.shorted.len())
                .collect();
            assert!(shorted.contains(&about.parse().unwrap()), "{line}: {shorted:?}");
        }
        "reads" => {
            let (high, at) = about.split_once(' ').unwrap();
            let (low, high): (f64, f64) = (first.parse().unwrap(), high.parse().unwrap());
            let range = reads(proof, at);
            assert!(low <= range.low && range.high <= high, "{line}: {range:?}");
        }
        "escapes" => assert_eq!(proof.escapes().len(), first.parse::<usize>().unwrap(), "{line}"),
        other => panic!("unknown expectation {other}"),
    }
}

#[test]
fn what_the_heads_of_the_files_expect() {
    for file in common::suite() {
        let text = common::text(&file);
        let job = common::job(&text);
        let proof = Proof::of(Setup::new(&job).unwrap(), 2);
        let lines: Vec<&str> = text.lines().filter_map(|l| l.strip_prefix("#? ")).collect();
        assert!(!lines.is_empty(), "{file} expects nothing");
        lines.into_iter().for_each(|line| check(&proof, line));
    }
}

/// Every position of both plugs carries a rail: the cure cannot be a key, and says so.
#[test]
fn a_plug_without_a_way_to_spare_gets_another_housing() {
    let text = common::text("suite/proof/09-till-computer.toml")
        .replace("[meter]", "[first-power]\nstages = [\"source\", \"till\"]\n\n[meter]");
    let job = common::job(&text);
    let proof = Proof::of(Setup::new(&job).unwrap(), 2);
    let says: Vec<&str> = proof.escapes().into_iter().map(|m| proof.mistakes[m].says.as_str()).collect();
    assert!(says.contains(&"k1 and k2 are exchanged"), "{says:?}");
    let cures = voltwright_proof::cure::offered(&text, &proof, 2);
    let of: Vec<&str> = cures.iter().map(|c| c.says.as_str()).collect();
    assert!(of.iter().any(|c| c.contains("neither has a way to spare for a key")), "{of:#?}");
}
