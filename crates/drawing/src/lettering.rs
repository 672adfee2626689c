//! Letters: escaped, kept with their units, measured and cut to what there is room for.

/// Text as it may stand in XML: markup escaped, what XML forbids replaced.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' | '\r' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// With a no-break space wherever one follows a number, so that a unit stays with it.
pub(crate) fn tight(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 4);
    let mut after_digit = false;
    for c in text.chars() {
        out.push(if c == ' ' && after_digit { '\u{a0}' } else { c });
        after_digit = c.is_ascii_digit();
    }
    out
}

/// About how wide a text is at a size, in px: rather more than less, since the reader's font is not known.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(em).sum::<f64>() * size
}

/// About how wide a letter is: a wide sans-serif's, from memory.
fn em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' | '\u{a0}' | '·' => 0.33,
        'f' | 'r' | 't' | '-' | '(' | ')' | '/' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' => 0.96,
        'A'..='Z' | '−' | '+' | '±' | '×' | 'Ω' => 0.76,
        c if c.is_ascii() => 0.63,
        // Other scripts may be as wide as they are high.
        c if (c as u32) < 0x3000 => 0.7,
        _ => 1.0,
    }
}

/// A text cut to a width, with an ellipsis where something is left out.
pub(crate) fn cut(text: &str, size: f64, room: f64) -> String {
    if width(text, size) <= room {
        return text.to_owned();
    }
    let mut out = String::new();
    let mut used = em('…') * size;
    for c in text.chars() {
        used += em(c) * size;
        if used > room {
            break;
        }
        out.push(c);
    }
    out.truncate(out.trim_end().len());
    out.push('…');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_stay_with_their_numbers() {
        assert_eq!(tight("at least 5 V, way 3"), "at least 5\u{a0}V, way 3");
    }

    #[test]
    fn what_is_cut_fits() {
        let long = "a name that somebody made far too long";
        let short = cut(long, 12.0, 80.0);
        assert!(short.ends_with('…') && width(&short, 12.0) <= 80.0 && long.starts_with(&short[..5]));
        assert_eq!(cut("p1", 12.0, 80.0), "p1");
    }
}
