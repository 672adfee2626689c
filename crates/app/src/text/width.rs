//! How many columns a text takes on a terminal, and what must not reach one.

/// First and last of the ranges of characters that take two columns: East Asian wide and fullwidth scripts, and
/// pictographs (Unicode Standard Annex 11, coarse).
const WIDE: [(u32, u32); 14] = [
    (0x1100, 0x115F),
    (0x231A, 0x231B),
    (0x2E80, 0x303E),
    (0x3041, 0x33FF),
    (0x3400, 0x4DBF),
    (0x4E00, 0x9FFF),
    (0xA000, 0xA4CF),
    (0xAC00, 0xD7A3),
    (0xF900, 0xFAFF),
    (0xFE30, 0xFE6F),
    (0xFF00, 0xFF60),
    (0xFFE0, 0xFFE6),
    (0x1F300, 0x1FAFF),
    (0x20000, 0x3FFFD),
];

/// The same for characters that take none: combining marks, joiners, variation selectors.
const NONE: [(u32, u32); 7] = [
    (0x0300, 0x036F),
    (0x1AB0, 0x1AFF),
    (0x1DC0, 0x1DFF),
    (0x200B, 0x200D),
    (0x20D0, 0x20FF),
    (0xFE00, 0xFE0F),
    (0xFE20, 0xFE2F),
];

/// Columns of a character.
pub fn of_char(c: char) -> usize {
    let within = |ranges: &[(u32, u32)]| ranges.iter().any(|(a, b)| (*a..=*b).contains(&u32::from(c)));
    match c {
        ' '..='~' => 1,
        _ if within(&NONE) => 0,
        _ if within(&WIDE) => 2,
        _ => 1,
    }
}

/// Columns of a text.
pub fn of(text: &str) -> usize {
    text.chars().map(of_char).sum()
}

/// A character as it may be shown: one that would steer the terminal or turn the direction of writing is replaced,
/// since a job may come from anybody.
pub fn shown(c: char) -> char {
    let steers = c.is_control()
        || matches!(c, '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}');
    if steers { '\u{FFFD}' } else { c }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_and_combining_characters_are_counted_as_they_stand() {
        assert_eq!(of("5 V ± 2 %"), 9);
        assert_eq!(of("電源"), 4);
        assert_eq!(of("e\u{301}"), 1);
        assert_eq!(of("−12 mΩ"), 6);
    }

    #[test]
    fn nothing_that_steers_a_terminal_is_shown() {
        let text: String = "a\x1b[31m\u{202E}b\u{9b}".chars().map(shown).collect();
        assert_eq!(text, "a\u{FFFD}[31m\u{FFFD}b\u{FFFD}");
    }
}
