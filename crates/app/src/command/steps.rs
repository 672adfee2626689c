//! `voltwright steps JOB`: the first-power plan as a sheet.

use crate::arguments::Steps;
use crate::failure::{Failure, Verdict};
use crate::proof::{data, sheet};
use crate::{source, terminal};

/// Prints the steps of first power.
pub fn run(arguments: &Steps) -> Result<Verdict, Failure> {
    let source = source::open(&arguments.job)?;
    let proof = super::proof_of(&source.job)?;
    let text = if arguments.json {
        super::json(&data::steps(&proof), true)?
    } else {
        sheet::whole(&proof, &terminal::output())
    };
    terminal::print(&text)?;
    Ok(if proof.plan.escapes.is_empty() { Verdict::NoStop } else { Verdict::Stop })
}
