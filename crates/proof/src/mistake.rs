//! Every mistake of a job, one kind a file, all of one shape: what it is, how common, and all of its kind in a job.

use crate::change::Change;
use crate::harness::Harness;

mod earth_missing;
mod ends_exchanged;
mod fuse_in_neutral;
mod line_to_chassis;
mod look_alike;
mod part_failed;
mod part_turned;
mod plug_half_mated;
mod plug_mirrored;
mod plug_shifted;
mod plug_turned;
mod poles_exchanged;
mod strap_wrong;
mod twins_exchanged;
mod ways_bridged;
mod wire_chafed;
mod wire_moved;
mod wire_off;

/// A kind of mistake.
pub struct Kind {
    /// Its name, for data and documentation.
    pub code: &'static str,
    /// What it is, in a few words.
    pub about: &'static str,
    /// How common one of it is, beside the others: our own estimate, made from restorers' reports.
    pub weight: f64,
    /// All of this kind in a job.
    pub all: fn(&Harness<'_>) -> Vec<Mistake>,
}

/// All kinds, in the order in which they are shown.
pub static KINDS: &[&Kind] = &[
    &wire_off::KIND,
    &wire_moved::KIND,
    &ends_exchanged::KIND,
    &ways_bridged::KIND,
    &wire_chafed::KIND,
    &plug_turned::KIND,
    &plug_shifted::KIND,
    &plug_half_mated::KIND,
    &twins_exchanged::KIND,
    &plug_mirrored::KIND,
    &look_alike::KIND,
    &part_turned::KIND,
    &strap_wrong::KIND,
    &poles_exchanged::KIND,
    &earth_missing::KIND,
    &line_to_chassis::KIND,
    &fuse_in_neutral::KIND,
    &part_failed::KIND,
];

/// One way in which the machine may differ from the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Mistake {
    /// Index of its kind in [`KINDS`].
    pub kind: usize,
    /// What is wrong, for people.
    pub says: String,
    /// Where to look for it, for people.
    pub look: String,
    /// What it changes.
    pub changes: Vec<Change>,
    /// How common it is among those of its kind: 1, or less for one that takes a long way.
    pub share: f64,
}

impl Mistake {
    /// One of a kind that is filled in by [`all`].
    pub(crate) fn new(says: String, look: impl Into<String>, changes: Vec<Change>) -> Self {
        Self { kind: 0, says, look: look.into(), changes, share: 1.0 }
    }

    /// The same, less common than others of its kind.
    pub(crate) fn sharing(mut self, share: f64) -> Self {
        self.share = share;
        self
    }

    /// Its kind.
    pub fn kind(&self) -> &'static Kind {
        KINDS[self.kind]
    }

    /// How common it is, beside the others.
    pub fn weight(&self) -> f64 {
        self.kind().weight * self.share
    }
}

/// All mistakes of a job, kind by kind.
pub fn all(harness: &Harness<'_>) -> Vec<Mistake> {
    let of_kind = |(k, kind): (usize, &&Kind)| {
        let mut mistakes = (kind.all)(harness);
        mistakes.iter_mut().for_each(|m| m.kind = k);
        mistakes
    };
    KINDS.iter().enumerate().flat_map(of_kind).collect()
}
