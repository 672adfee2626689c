//! Mistakes of the file's grammar, in our words where they have a usual cause.

use crate::Diagnostic;
use std::ops::Range;
use toml::de::Error;

/// The mistakes worth telling, and whether the text is torn: after a bracket that is not closed nothing can be
/// said of what follows, so what is only its consequence is left out.
pub(super) fn faults(text: &str, errors: &[Error]) -> (Vec<Diagnostic>, bool) {
    let mut errors: Vec<(Range<usize>, &str)> =
        errors.iter().map(|e| (place(text, e), e.message())).collect();
    errors.sort_by_key(|(span, _)| (span.start, span.end));
    let mut told = Vec::new();
    let mut torn = false;
    let mut twice_in: Option<Range<usize>> = None;
    for (span, message) in errors {
        if message.contains("duplicate key") {
            // Of a table that stands there twice its keys are no mistakes of their own.
            if twice_in.as_ref().is_some_and(|table| table.contains(&span.start)) {
                continue;
            }
            twice_in = in_header(text, span.start).then(|| span.end..end_of_table(text, span.end));
            told.push(twice(text, span));
            continue;
        }
        torn = true;
        told.push(fault(text, span, message));
        if ["missing", "unclosed", "recurs"].iter().any(|word| message.contains(word)) {
            break;
        }
    }
    (told, torn)
}

/// Where the parser saw it, as whole characters of the text.
fn place(text: &str, error: &Error) -> Range<usize> {
    let span = error.span().unwrap_or(0..0);
    let mut end = text.floor_char_boundary(span.end);
    let mut start = text.floor_char_boundary(span.start.min(end));
    if start == end {
        start = text[..end].char_indices().next_back().map_or(0, |(i, _)| i);
        if start == end {
            end = text.chars().next().map_or(0, char::len_utf8);
        }
    }
    start..end
}

fn twice(text: &str, span: Range<usize>) -> Diagnostic {
    let message = format!("`{}` stands here a second time", &text[span.clone()]);
    let hint = "every name may stand once in its table; rename or remove one of the two";
    Diagnostic::error(span, message).hint(hint)
}

fn fault(text: &str, span: Range<usize>, message: &str) -> Diagnostic {
    if (message.contains("basic string") || message.contains("literal string, expected"))
        && let Some(open) = open_quote(text, span.end)
    {
        let message = "this text has no closing quote on its line";
        return Diagnostic::error(open, message).hint("a text stands between two quotes");
    }
    if message.contains("must be quoted") {
        let hint = format!("did you mean \"{}\"?", &text[span.clone()]);
        return Diagnostic::error(span, "a text stands between two quotes").hint(hint);
    }
    if message.contains("missing comma") {
        let next =
            text[span.start..].find(|c: char| !c.is_whitespace()).map_or(span.start, |i| span.start + i);
        let place = next..next + text[next..].chars().next().map_or(0, char::len_utf8);
        let hint =
            "or a bracket before it is not closed; what follows can be judged only once this is mended";
        return Diagnostic::error(place, "a comma is missing before this").hint(hint);
    }
    let hint = if message.contains("recurs") {
        Some("nothing in a job is nested so deep")
    } else if message.contains("string") || message.contains("quot") {
        Some("a text stands between two quotes on one line: \"5 V\"")
    } else if message.contains("missing") || message.contains("unclosed") {
        Some("what follows can be judged only once this is mended")
    } else {
        None
    };
    Diagnostic::error(span, message.to_owned()).maybe_hint(hint.map(str::to_owned))
}

/// From the quote that nothing closes to the end of its line.
fn open_quote(text: &str, before: usize) -> Option<Range<usize>> {
    let line = text[..before].rfind('\n').map_or(0, |i| i + 1);
    let end = text[line..].find(['\n', '\r']).map_or(text.len(), |i| line + i);
    let mut open = None;
    let mut escaped = false;
    for (i, c) in text[line..end].char_indices() {
        match (open, c) {
            (None, '"' | '\'') => open = Some((line + i, c)),
            (Some((_, quote)), c) if c == quote && !escaped => open = None,
            _ => {}
        }
        escaped = c == '\\' && !escaped && open.is_some_and(|(_, quote)| quote == '"');
    }
    open.map(|(start, _)| start..end)
}

fn in_header(text: &str, at: usize) -> bool {
    let line = text[..at].rfind('\n').map_or(0, |i| i + 1);
    text[line..].trim_start().starts_with('[')
}

/// Where the next table begins.
fn end_of_table(text: &str, from: usize) -> usize {
    text[from..].find("\n[").map_or(text.len(), |i| from + i)
}
