//! The examples: finished jobs without escapes, first drafts with one that an offered cure closes, and results that do not
//! depend on the number of threads.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod common;

use voltwright_proof::cure;
use voltwright_proof::pairs;
use voltwright_proof::proof::Proof;
use voltwright_proof::setup::Setup;

#[test]
fn finished_jobs_have_no_escapes() {
    for example in common::EXAMPLES {
        let job = common::job(&common::text(&format!("examples/{example}/finished.toml")));
        let proof = Proof::of(Setup::new(&job).unwrap(), 2);
        let says: Vec<&str> = proof.escapes().into_iter().map(|m| proof.mistakes[m].says.as_str()).collect();
        assert_eq!(says, Vec::<&str>::new(), "{example}");
        let harmful = proof.classes.iter().filter(|c| c.outcome.harm.is_some());
        assert!(harmful.clone().count() > 40, "{example}: {} harmful", harmful.count());
        assert!(harmful.into_iter().all(|c| c.caught_at.is_some()), "{example}");
        assert_eq!(proof.plan.cost, proof.plan.bound, "{example}: the plan is not proven");
    }
}

/// The cure is applied to the text, the job read and proved anew.
#[test]
fn a_cure_of_each_first_draft_closes_its_escapes() {
    for example in common::EXAMPLES {
        let text = common::text(&format!("examples/{example}/first-draft.toml"));
        let job = common::job(&text);
        let proof = Proof::of(Setup::new(&job).unwrap(), 2);
        let escapes = proof.escapes();
        assert!(!escapes.is_empty(), "{example} has no escape");
        let cures = cure::offered(&text, &proof, 2);
        let best =
            cures.first().unwrap_or_else(|| panic!("{example}: no cure for {} escapes", escapes.len()));
        let cured = cure::edited(&text, &best.edits).unwrap();
        let job = common::job(&cured);
        let anew = Proof::of(Setup::new(&job).unwrap(), 2);
        let still: Vec<&str> = anew.escapes().into_iter().map(|m| anew.mistakes[m].says.as_str()).collect();
        for m in &best.closes {
            assert!(
                !still.contains(&proof.mistakes[*m].says.as_str()),
                "{example}: {}",
                proof.mistakes[*m].says
            );
        }
        assert_eq!(still.len(), best.left, "{example}");
    }
}

#[test]
fn one_thread_or_two_give_the_same() {
    for file in common::all() {
        let job = common::job(&common::text(&file));
        let [one, two] = [1, 2].map(|threads| Proof::of(Setup::new(&job).unwrap(), threads));
        let debug = |proof: &Proof<'_>| {
            let classes: Vec<String> = proof
                .classes
                .iter()
                .map(|c| format!("{:?} {:?} {:?}", c.mistakes, c.outcome, c.caught_at))
                .collect();
            format!("{classes:?} {:?} {}", proof.plan, proof.points)
        };
        assert_eq!(debug(&one), debug(&two), "{file}");
    }
}

#[test]
fn pairs_do_not_depend_on_the_number_of_threads() {
    let job = common::job(&common::text("examples/plotter/first-draft.toml"));
    let proof = Proof::of(Setup::new(&job).unwrap(), 2);
    let [one, two] = [1, 2].map(|threads| pairs::all(&proof, threads, &|_, _| {}));
    assert_eq!(one, two);
    assert!(one.count > 5_000, "{}", one.count);
    assert_eq!(one.count, one.caught.iter().sum::<u64>() + one.escapes + one.unnoticed);
}
