//! `voltwright prove JOB [--pairs]`: the sieve; the escapes; what catches each mistake.

use crate::arguments::Prove;
use crate::failure::{Failure, Verdict};
use crate::proof::{data, sieve};
use crate::{source, terminal};
use voltwright_proof::{cure, pairs};

/// Tries every mistake, and every pair if asked, and prints what came of it.
pub fn run(arguments: &Prove) -> Result<Verdict, Failure> {
    let source = source::open(&arguments.job)?;
    let proof = super::proof_of(&source.job)?;
    let cures = cure::offered(&source.text, &proof, super::threads());
    let pairs = arguments.pairs.then(|| {
        let progress = terminal::Progress::new("pairs of mistakes");
        pairs::all(&proof, super::threads(), &|done, of| progress.tell(done, of))
    });
    let text = if arguments.json {
        super::json(&data::proof(&proof, &cures, pairs.as_ref()), true)?
    } else {
        sieve::whole(&proof, &cures, pairs.as_ref(), &terminal::output())
    };
    terminal::print(&text)?;
    Ok(if proof.plan.escapes.is_empty() { Verdict::NoStop } else { Verdict::Stop })
}
