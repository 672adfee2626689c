//! What may be wrong, in words: one suspect after another, with where to look.

use super::words;
use voltwright_proof::diagnosis::Suspect;
use voltwright_proof::mistake::Mistake;
use voltwright_proof::proof::Proof;

/// What there is to say where nothing explains the readings.
pub const NOTHING_EXPLAINS: &str = "Nothing in the model explains these readings, no mistake and no pair of mistakes that it knows: measure again, check \
     the meter and its leads, and look for what the job file does not say.";

/// A suspect for people.
pub struct Told {
    /// What it is.
    pub says: String,
    /// How many other mistakes no reading tells from it, as words; empty for none.
    pub same: String,
    /// Its share, as words.
    pub share: String,
    /// Where to look.
    pub look: String,
}

/// A suspect in words.
pub fn told(proof: &Proof<'_>, suspect: &Suspect) -> Told {
    let mistakes: Vec<&Mistake> =
        suspect.classes.iter().map(|c| &proof.mistakes[proof.classes[*c].mistakes[0]]).collect();
    let says: Vec<&str> = mistakes.iter().map(|m| m.says.as_str()).collect();
    let look: Vec<&str> = mistakes.iter().map(|m| m.look.as_str()).collect();
    let same: usize = suspect.classes.iter().map(|c| proof.classes[*c].mistakes.len() - 1).sum();
    let same = match same {
        0 => String::new(),
        _ => format!(", or {} that no reading can tell from it", words::count(same, "other mistake")),
    };
    Told { says: says.join(", and "), same, share: share(suspect.share), look: look.join("; ") }
}

/// A share as it is said: nobody is served by tenths of a percent.
fn share(share: f64) -> String {
    if share < 0.01 { "less than 1 %".into() } else { format!("{:.0} %", share * 100.0) }
}
