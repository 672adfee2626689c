//! Every declared key is read, and every value of every key is judged, whatever else is wrong.

use crate::keys::Section;

pub(crate) fn note(section: &'static Section, kind: Option<&str>, key: &str) {
    let _ = (section, kind, key);
}
