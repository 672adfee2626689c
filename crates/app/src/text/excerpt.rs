//! A mistake in a job's text shown at its place: file, line, column, the line itself, carets under the characters.

use super::wrap::{Indent, paragraph};
use super::{Page, Style, painted, width};
use voltwright_job::{Diagnostic, Lines, Severity};

/// Columns that a tab is shown as.
const TAB: usize = 4;
/// Bytes looked at before and after the place: more than any page shows, and little work in a line of megabytes.
const NEAR: usize = 1000;
/// Stands where a line is cut.
const CUT: char = '…';

/// Renders one diagnostic of the text in `lines`, which came from `file`.
pub fn render(diagnostic: &Diagnostic, file: &str, lines: &Lines<'_>, page: &Page) -> String {
    let start = diagnostic.span.start;
    let line = lines.line(start);
    let word = match diagnostic.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    };
    let place = format!("{file}:{line}:{}:", lines.column(start));
    let head = [
        super::wrap::Span(&place, Style::Strong),
        super::wrap::Span(word, style(diagnostic.severity)),
        super::wrap::Span("–", Style::Faint),
        super::wrap::Span(&diagnostic.message, Style::Plain),
    ];
    super::wrap::wrap(&head, Indent(0, 4), page) + &below(diagnostic, lines, page)
}

/// The line itself with carets, and the hint: what stands below the message.
pub fn below(diagnostic: &Diagnostic, lines: &Lines<'_>, page: &Page) -> String {
    let start = diagnostic.span.start;
    let line = lines.line(start);
    let style = style(diagnostic.severity);
    let from = start.saturating_sub(lines.start_of(line));
    let long = diagnostic.span.end.saturating_sub(start);
    let mut out = excerpt(line, lines.text_of(line), from, long, style, page);
    if let Some(hint) = &diagnostic.hint {
        out.push_str(&paragraph(&format!("hint: {hint}"), Indent(4, 10), page));
    }
    out
}

fn style(severity: Severity) -> Style {
    match severity {
        Severity::Error => Style::Stop,
        Severity::Warning => Style::Caution,
    }
}

/// A line's number and text, and below it carets from byte `from` on for `long` bytes.
fn excerpt(number: usize, text: &str, from: usize, long: usize, style: Style, page: &Page) -> String {
    let gutter = format!("{number:>5} │ ");
    let room = page.text().saturating_sub(width::of(&gutter)).max(20);
    let cells = Cells::of(text, from, from + long.max(1));
    let (first, last) = cells.window(room);
    let (mut shown, mut below) = (String::new(), String::new());
    if first > 0 || cells.cut.0 {
        shown.push(CUT);
        below.push(' ');
    }
    for cell in &cells.all[first..last] {
        shown.push(cell.shown);
        below.push_str(&if cell.marked { "^" } else { " " }.repeat(width::of_char(cell.shown)));
    }
    if last < cells.all.len() || cells.cut.1 {
        shown.push(CUT);
    }
    // A place behind the last character: the end of the line.
    if !below.contains('^') {
        below.push('^');
    }
    let blank = " ".repeat(width::of(&gutter) - 2);
    let carets = below.trim_end();
    let lead = &carets[..carets.len() - carets.trim_start().len()];
    let carets = painted(carets.trim_start(), style, page);
    format!("{}{}\n{blank}│ {lead}{carets}\n", painted(&gutter, Style::Faint, page), shown.trim_end())
}

/// A character as shown, and whether the diagnostic is about it.
struct Cell {
    shown: char,
    marked: bool,
}

/// The characters near a place, and whether the line goes on before and after them.
struct Cells {
    all: Vec<Cell>,
    cut: (bool, bool),
}

impl Cells {
    fn of(text: &str, from: usize, to: usize) -> Self {
        let start = text.floor_char_boundary(from.saturating_sub(NEAR));
        let end = text.ceil_char_boundary(to.min(from + NEAR).saturating_add(NEAR).min(text.len()));
        let mut all = Vec::new();
        for (at, c) in text[start..end].char_indices().map(|(i, c)| (start + i, c)) {
            // A span may begin or end within a character only by mistake: its character is then marked.
            let marked = at < to && at + c.len_utf8() > from;
            let (shown, times) = if c == '\t' { (' ', TAB) } else { (width::shown(c), 1) };
            all.extend((0..times).map(|_| Cell { shown, marked }));
        }
        Self { all, cut: (start > 0, end < text.len()) }
    }

    /// First and behind-last cell to show so that the place is seen and no more than `room` columns are taken.
    fn window(&self, room: usize) -> (usize, usize) {
        let wide = |from: usize, to: usize| {
            self.all[from..to].iter().map(|c| width::of_char(c.shown)).sum::<usize>()
        };
        if self.cut == (false, false) && wide(0, self.all.len()) <= room {
            return (0, self.all.len());
        }
        let room = room - 2;
        let place = self.all.iter().position(|c| c.marked).unwrap_or(self.all.len());
        let marked = self.all.iter().filter(|c| c.marked).count().min(room * 2 / 3);
        let lead = (room - marked) / 3;
        let mut first = place;
        while first > 0 && wide(first - 1, place) <= lead {
            first -= 1;
        }
        let mut last = first;
        while last < self.all.len() && wide(first, last + 1) <= room {
            last += 1;
        }
        while first > 0 && last == self.all.len() && wide(first - 1, last) <= room {
            first -= 1;
        }
        (first, last)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, wrong: &str, columns: usize) -> String {
        let start = text.find(wrong).unwrap();
        let d = Diagnostic::error(start..start + wrong.len(), "no such unit").hint("did you mean V?");
        render(&d, "a.toml", &Lines::new(text), &Page { columns, colour: false })
    }

    /// The characters of the line above that have a caret below, by columns.
    fn under_carets(set: &str) -> String {
        let lines: Vec<&str> = set.lines().collect();
        let at = lines.iter().position(|l| l.contains('^')).unwrap();
        let carets: Vec<char> = lines[at].chars().collect();
        let mut column = 0;
        let mut out = String::new();
        for c in lines[at - 1].chars() {
            if carets.get(column) == Some(&'^') {
                out.push(c);
            }
            column += width::of_char(c);
        }
        out
    }

    #[test]
    fn shows_place_line_carets_and_hint() {
        let set = shown("format = 1\np5 = \"5 volz\"\n", "\"5 volz\"", 80);
        assert_eq!(
            set,
            "a.toml:2:6: error – no such unit\n    2 │ p5 = \"5 volz\"\n      │      ^^^^^^^^\n    hint: did you mean V?\n"
        );
    }

    #[test]
    fn carets_stand_below_the_very_characters_after_tabs_and_wide_ones() {
        for text in
            ["\t\tx = \"5 volz\"", "title = \"電源\" # 電源 5 volz", "e\u{301}e\u{301} = 5 volz", "5 volz"]
        {
            assert_eq!(under_carets(&shown(text, "volz", 80)), "volz", "{text}");
        }
        assert_eq!(under_carets(&shown("x = \"電源\"", "電源", 80)), "電源");
    }

    #[test]
    fn a_long_line_is_cut_around_the_place() {
        for before in [0, 5, 60, 500, 5000] {
            for after in [0, 5, 500] {
                let text = format!("{}volz{}", "ä ".repeat(before), " zz".repeat(after));
                let set = shown(&text, "volz", 60);
                assert!(set.lines().all(|l| width::of(l) <= 60), "{set}");
                assert_eq!(under_carets(&set), "volz", "{set}");
            }
        }
    }

    #[test]
    fn places_outside_the_text_do_no_harm() {
        for span in [0..0, 4..4, 3..3, 7..90, 2..1000] {
            let d = Diagnostic::error(span, "?");
            let set = render(&d, "a", &Lines::new("ab\nä\n"), &Page { columns: 80, colour: false });
            assert!(set.contains('^'));
        }
        let d = Diagnostic::error(0..1, "?");
        assert!(render(&d, "a", &Lines::new(""), &Page { columns: 80, colour: false }).contains('^'));
    }
}
