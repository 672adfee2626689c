//! Running text broken into lines, a number never torn from its unit.

use super::{Page, RESET, Style, width};

/// A piece of running text in one style.
#[derive(Debug, Clone, Copy)]
pub struct Span<'a>(pub &'a str, pub Style);

/// Columns left free before the first line and before all others.
#[derive(Debug, Clone, Copy)]
pub struct Indent(pub usize, pub usize);

/// Units that stay on the line of the number before them.
const UNITS: [&str; 41] = [
    "V", "mV", "kV", "µV", "A", "mA", "kA", "µA", "W", "mW", "kW", "VA", "Ω", "mΩ", "kΩ", "MΩ", "%", "°C",
    "K", "K/W", "Hz", "kHz", "mm²", "cm²", "mm", "cm", "m", "s", "ms", "µs", "F", "mF", "µF", "nF", "pF",
    "A²s", "J", "mJ", "kg", "V/A", "min",
];

/// Narrower than this no text can be set; it then runs over the edge.
const NARROWEST: usize = 12;

/// Breaks spans into lines no wider than the page's text.
pub fn wrap(spans: &[Span<'_>], indent: Indent, page: &Page) -> String {
    let mut setter =
        Setter { out: String::new(), column: indent.0, empty: true, style: Style::Plain, indent, page };
    setter.out.push_str(&" ".repeat(indent.0));
    for Span(text, style) in spans {
        for word in words(text) {
            setter.word(&word, *style);
        }
    }
    setter.end()
}

/// A paragraph in one style.
pub fn paragraph(text: &str, indent: Indent, page: &Page) -> String {
    wrap(&[Span(text, Style::Plain)], indent, page)
}

/// Words that stay whole: between spaces, but a number with its unit is one.
pub fn words(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let bare = word.trim_end_matches([',', '.', ';', ':', ')', '?']);
        match out
            .last_mut()
            .filter(|last| last.ends_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&bare))
        {
            Some(last) => {
                last.push(' ');
                last.push_str(word);
            }
            None => out.push(word.to_owned()),
        }
    }
    out
}

struct Setter<'p> {
    out: String,
    column: usize,
    empty: bool,
    style: Style,
    indent: Indent,
    page: &'p Page,
}

impl Setter<'_> {
    fn word(&mut self, word: &str, style: Style) {
        let word: String = word.chars().map(width::shown).collect();
        let wide = width::of(&word);
        let space = usize::from(!self.empty);
        if !self.empty && self.column + space + wide > self.right() {
            self.line();
        } else if space == 1 {
            // The space before a word belongs to neither style.
            self.paint(if style == self.style { style } else { Style::Plain });
            self.out.push(' ');
            self.column += 1;
        }
        self.paint(style);
        for c in word.chars() {
            if self.column + width::of_char(c) > self.right() {
                self.line();
                self.paint(style);
            }
            self.out.push(c);
            self.column += width::of_char(c);
            self.empty = false;
        }
    }

    fn right(&self) -> usize {
        self.page.text().max(self.indent.1 + NARROWEST)
    }

    fn line(&mut self) {
        self.paint(Style::Plain);
        self.out.push('\n');
        self.out.push_str(&" ".repeat(self.indent.1));
        (self.column, self.empty) = (self.indent.1, true);
    }

    fn paint(&mut self, style: Style) {
        if self.page.colour && style != self.style {
            if self.style != Style::Plain {
                self.out.push_str(RESET);
            }
            self.out.push_str(style.begin());
        }
        self.style = style;
    }

    fn end(mut self) -> String {
        self.paint(Style::Plain);
        self.out.push('\n');
        self.out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(columns: usize) -> Page {
        Page { columns, colour: false }
    }

    #[test]
    fn lines_hang_and_no_number_loses_its_unit() {
        let text = "The rail is 4.71 V at the board, and it needs 4.75 V.";
        let set = paragraph(text, Indent(2, 4), &page(24));
        assert_eq!(set, "  The rail is 4.71 V at\n    the board, and it\n    needs 4.75 V.\n");
        let torn = paragraph("a rail of 12 V", Indent(0, 0), &page(12));
        assert_eq!(torn, "a rail of\n12 V\n");
    }

    #[test]
    fn no_line_is_wider_than_the_page_whatever_the_text() {
        let text = "wide 電源電源電源電源 and /a/very/long/path/without/any/space/in/it at 12 V ± 5 %";
        for columns in 14..120 {
            let set = paragraph(text, Indent(0, 2), &page(columns));
            assert!(set.lines().all(|l| width::of(l) <= columns.min(100)), "{columns}: {set}");
            let whole: String = set.split_whitespace().collect();
            assert_eq!(whole, text.split_whitespace().collect::<String>());
        }
    }

    #[test]
    fn styles_take_no_columns_and_never_cross_a_line() {
        let spans = [Span("STOP now", Style::Stop), Span("rail p5 is low", Style::Plain)];
        let set = wrap(&spans, Indent(0, 2), &Page { columns: 14, colour: true });
        assert_eq!(set, "\x1b[1;31mSTOP now\x1b[0m rail\n  p5 is low\n");
        let plain = wrap(&spans, Indent(0, 2), &page(14));
        assert_eq!(plain, "STOP now rail\n  p5 is low\n");
    }
}
