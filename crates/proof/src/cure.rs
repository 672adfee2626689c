//! Cures of escapes, each tried in the model before it is offered: the job's text is changed, and all is proved anew.
//!
//! A kind of cure is one file: it looks at what escapes and says how the job could be changed.

use crate::proof::Proof;
use crate::setup::Setup;
use voltwright_job::edit::{self, EditError};
use voltwright_job::{Job, read};

mod clamp;
mod key;
mod measure;
mod other_housing;
mod stages;

/// A change of a job's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TextEdit {
    /// A text or a quantity is set.
    Set(String, String),
    /// A flag is set.
    Flag(String, bool),
    /// A key goes.
    Remove(String),
    /// An entry is added to a list of tables, as written in a file.
    Append(String, String),
}

/// A way to close escapes that might be taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// What to do, for people.
    pub says: String,
    /// What that is in the job's text.
    pub edits: Vec<TextEdit>,
}

/// A cure that was tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Cure {
    /// What to do, for people.
    pub says: String,
    /// What that is in the job's text.
    pub edits: Vec<TextEdit>,
    /// The mistakes that no longer escape with it, by index.
    pub closes: Vec<usize>,
    /// Escapes that are left, and those that it makes.
    pub left: usize,
}

type Kind = fn(&Proof<'_>, &[usize]) -> Vec<Candidate>;

static KINDS: &[Kind] =
    &[key::candidates, other_housing::candidates, stages::candidates, measure::candidates, clamp::candidates];

/// All cures that close some of the escapes, those that close most first.
pub fn offered(text: &str, proof: &Proof<'_>, threads: usize) -> Vec<Cure> {
    let escapes = proof.escapes();
    if escapes.is_empty() {
        return Vec::new();
    }
    let mut cures: Vec<Cure> = KINDS
        .iter()
        .flat_map(|kind| kind(proof, &escapes))
        .filter_map(|candidate| tried(text, proof, &escapes, candidate, threads))
        .filter(|cure| !cure.closes.is_empty() && cure.left < escapes.len())
        .collect();
    cures.sort_by_key(|cure| std::cmp::Reverse(cure.closes.len()));
    cures
}

/// A text with edits made.
///
/// # Errors
/// See [`EditError`].
pub fn edited(text: &str, edits: &[TextEdit]) -> Result<String, EditError> {
    let mut text = text.to_owned();
    for e in edits {
        text = match e {
            TextEdit::Set(path, value) => edit::set(&text, path, value)?,
            TextEdit::Flag(path, value) => edit::set_flag(&text, path, *value)?,
            TextEdit::Remove(path) => edit::remove(&text, path)?,
            TextEdit::Append(path, entry) => edit::append(&text, path, entry)?,
        };
    }
    Ok(text)
}

/// Proves the job anew with a candidate; nothing if it does not read or finds no steady state.
fn tried(
    text: &str,
    proof: &Proof<'_>,
    escapes: &[usize],
    candidate: Candidate,
    threads: usize,
) -> Option<Cure> {
    let changed = edited(text, &candidate.edits).ok()?;
    let reading = read(&changed);
    if !reading.is_usable() {
        return None;
    }
    let anew = Proof::of(Setup::new(&reading.job).ok()?, threads);
    let still: Vec<&str> = anew.escapes().into_iter().map(|m| anew.mistakes[m].says.as_str()).collect();
    let closes =
        escapes.iter().copied().filter(|m| !still.contains(&proof.mistakes[*m].says.as_str())).collect();
    Some(Cure { says: candidate.says, edits: candidate.edits, closes, left: still.len() })
}

/// The plugs whose mating mistakes, as `wanted` says, are among some.
fn plugs(proof: &Proof<'_>, escapes: &[usize], wanted: &[&str]) -> Vec<usize> {
    let mut plugs = Vec::new();
    for mistake in escapes.iter().map(|m| &proof.mistakes[*m]) {
        if wanted.contains(&mistake.kind().code) {
            for change in &mistake.changes {
                if let crate::change::Change::Mate { plug, .. } = change
                    && !plugs.contains(plug)
                {
                    plugs.push(*plug);
                }
            }
        }
    }
    plugs
}

/// The ways of a plug without a wire: only they are free to be blocked as a key.
fn free_ways(job: &Job, proof: &Proof<'_>, plug: usize) -> usize {
    let wired = |w: &usize| proof.setup.harness.wiring.is_wired(voltwright_job::Terminal::Plug(plug, *w));
    (0..job.plugs[plug].ways).filter(|w| !wired(w)).count()
}
