//! `voltwright import ARCHIVE`: a job's archive into the workshop.

use super::workshop::open;
use crate::arguments::Import;
use crate::failure::{Failure, Verdict};
use crate::source::why;
use crate::{clock, terminal};
use voltwright_workshop::archive;

/// Brings the archive in.
pub fn run(arguments: &Import) -> Result<Verdict, Failure> {
    let file = &arguments.archive;
    let unreadable = |why: String| Failure::File { what: "read", file: file.clone(), why, hint: None };
    let bytes = std::fs::read(file).map_err(|e| unreadable(why(&e)))?;
    let (store, place) = open(arguments.data.as_deref())?;
    let created = archive::import(&store, &bytes, clock::now()).map_err(|e| unreadable(e.to_string()))?;
    terminal::print(&format!("It is job `{}` in {}.\n", created.name, place.display()))?;
    Ok(Verdict::NoStop)
}
