//! Keys of the job file in words, as labels have them.

/// What the trade writes in capitals.
const CAPITALS: [&str; 5] = ["ac", "dc", "esr", "ntc", "pe"];

/// A key in words: `ground-lift` is "Ground lift", `dc-volts` is "DC volts".
pub fn label(key: &str) -> String {
    let words: Vec<String> = key.split('-').map(word).collect();
    let mut letters = words.join(" ");
    if let Some(first) = letters.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    letters
}

fn word(word: &str) -> String {
    if CAPITALS.contains(&word) { word.to_ascii_uppercase() } else { word.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::label;

    #[test]
    fn a_key_is_read_as_words() {
        for (key, words) in [
            ("nominal", "Nominal"),
            ("look-alike", "Look alike"),
            ("esr", "ESR"),
            ("dc-volts", "DC volts"),
            ("pe-resistance", "PE resistance"),
            ("space", "Space"),
            ("old-supply", "Old supply"),
            ("", ""),
        ] {
            assert_eq!(label(key), words);
        }
    }
}
