//! `voltwright export JOB`: a job of the workshop as an archive.

use super::workshop::open;
use crate::arguments::Export;
use crate::failure::{Failure, Verdict};
use crate::source::why;
use crate::{clock, terminal};
use std::fs::File;
use std::io::Write;
use voltwright_job::near::nearest;
use voltwright_workshop::{Store, archive};

/// What made the archive.
pub const PROGRAM: &str = concat!("voltwright ", env!("CARGO_PKG_VERSION"));

/// Writes the archive.
pub fn run(arguments: &Export) -> Result<Verdict, Failure> {
    let (store, place) = open(arguments.data.as_deref())?;
    let refused =
        |why: String| Failure::File { what: "read", file: place.display().to_string(), why, hint: None };
    let found = store.named(&arguments.job).map_err(|e| refused(e.to_string()))?;
    let job = found.ok_or_else(|| missing(&store, &arguments.job))?;
    let bytes =
        archive::export(&store, job.job, PROGRAM, clock::now()).map_err(|e| refused(e.to_string()))?;
    let file = arguments.output.clone().unwrap_or_else(|| format!("{}.zip", job.name));
    let failure = |e: std::io::Error| Failure::File {
        what: "write",
        file: file.clone(),
        why: why(&e),
        hint: Some("nothing is written over; name another file: --output FILE".to_owned()),
    };
    let mut out = File::create_new(&file).map_err(failure)?;
    out.write_all(&bytes).and_then(|()| out.sync_all()).map_err(failure)?;
    terminal::print(&format!("{file} is written.\n"))?;
    Ok(Verdict::NoStop)
}

fn missing(store: &Store, name: &str) -> Failure {
    let jobs = store.jobs("").unwrap_or_default();
    let near = nearest(name, jobs.iter().map(|j| j.name.as_str()));
    let hint = match near {
        Some(near) => format!("did you mean `{near}`?"),
        None if jobs.is_empty() => {
            "this workshop has no job; another folder can be named: --data FOLDER".to_owned()
        }
        None => {
            format!("the jobs are: {}", jobs.iter().map(|j| j.name.as_str()).collect::<Vec<_>>().join(", "))
        }
    };
    Failure::command_line(format!("there is no job `{name}` in the workshop"), Some(hint))
}
