//! Places in a text, line by line.

use std::ops::Range;

/// A text with some of its bytes replaced.
pub(super) fn splice(text: &str, span: &Range<usize>, with: &str) -> String {
    format!("{}{with}{}", &text[..span.start], &text[span.end..])
}

/// The line end that a text uses.
pub(super) fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") && !text.replace("\r\n", "").contains('\n') { "\r\n" } else { "\n" }
}

/// Where the text begins behind a byte-order mark.
pub(super) fn start(text: &str) -> usize {
    if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 }
}

/// The beginning of the line that a place is in.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(start(text), |i| i + 1)
}

/// The beginning of the line after the one at a place.
pub(super) fn line_after(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |i| at + i + 1)
}

/// The comma behind an entry, over spaces, line ends and comments.
pub(super) fn comma(text: &str, from: usize, to: usize) -> Option<usize> {
    let mut in_comment = false;
    for (at, c) in text[from..to].char_indices() {
        match c {
            '\n' => in_comment = false,
            '#' => in_comment = true,
            ',' if !in_comment => return Some(from + at),
            c if !in_comment && !c.is_whitespace() => return None,
            _ => {}
        }
    }
    None
}

/// The beginning of the comment lines that stand directly above the line that begins at a place; that line itself if there are
/// none, or if they do not begin behind a line that is `from` or later: then they head whatever comes below.
pub(super) fn comments_above(text: &str, line: usize, from: usize) -> usize {
    let mut head = line;
    while head > from {
        let above = line_start(text, head - 1);
        if !text[above..head].trim_start().starts_with('#') {
            return head;
        }
        head = above;
    }
    line
}
