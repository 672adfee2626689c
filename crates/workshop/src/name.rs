//! The name of a job: what a person types for it in a terminal or an address.

use rusqlite::{Connection, params};

use crate::StoreError;

/// The most letters of a name, before a number is put after it.
const LONGEST: usize = 60;

/// A title as a name: lower-case ASCII letters and digits, with single hyphens between the words.
pub(crate) fn slug(title: &str) -> String {
    let words = title.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let mut name = words.collect::<Vec<_>>().join("-").to_ascii_lowercase();
    name.truncate(LONGEST);
    let name = name.trim_end_matches('-');
    if name.is_empty() { "job".to_owned() } else { name.to_owned() }
}

/// Is this a name that a job can have: made by [`slug`], perhaps with a number after it?
pub(crate) fn is_one(name: &str) -> bool {
    let is_letter = |c: u8| c.is_ascii_lowercase() || c.is_ascii_digit() || c == b'-';
    // The longest number has 20 digits.
    (1..=LONGEST + 21).contains(&name.len()) && !name.starts_with('-') && name.bytes().all(is_letter)
}

/// `wish`, or `wish-2`, `wish-3` ..: the first that no job has.
pub(crate) fn free(connection: &Connection, wish: &str) -> Result<String, StoreError> {
    let mut taken = connection.prepare("SELECT EXISTS (SELECT 1 FROM job WHERE name = ?1)")?;
    let mut name = wish.to_owned();
    let mut number = 2_u64;
    while taken.query_row(params![name], |row| row.get::<_, bool>(0))? {
        name = format!("{wish}-{number}");
        number += 1;
    }
    Ok(name)
}

#[cfg(test)]
mod tests {
    use super::slug;

    #[test]
    fn titles_become_names() {
        for (title, name) in [
            ("Rack of relays", "rack-of-relays"),
            ("  Plotter, 2nd (A/B) ", "plotter-2nd-a-b"),
            ("---", "job"),
            ("", "job"),
            ("Ω", "job"),
            ("Ünder 12 V", "nder-12-v"),
        ] {
            assert_eq!(slug(title), name);
        }
        assert_eq!(slug(&"ab ".repeat(30)).len(), 59);
    }
}
