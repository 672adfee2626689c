//! How much the store takes at once, so that one mistaken upload cannot fill it.

use crate::StoreError;

/// The longest text of a job, and of a digest.
pub(crate) const TEXT: usize = 8 << 20;
/// The largest picture.
pub(crate) const PICTURE: usize = 20 << 20;
/// The longest title, note or other small field.
pub(crate) const FIELD: usize = 64 << 10;
/// The most characters in the key of an entry.
pub(crate) const KEY: usize = 64;

/// Refuses a text of more than `most` bytes; `what` names it at the head of a sentence.
pub(crate) fn text(what: &'static str, text: &str, most: usize) -> Result<(), StoreError> {
    if text.len() > most {
        return Err(StoreError::TextTooLarge { what, bytes: text.len(), most });
    }
    Ok(())
}
