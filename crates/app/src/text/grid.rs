//! Tables in aligned columns; cells wrap where the page is narrow, and rows become paragraphs where it is narrower still.

use super::wrap::{Indent, Span, words, wrap};
use super::{Page, Style, painted, width};

/// Columns between two columns.
const GAP: usize = 2;
/// A column is never made narrower than this to fit the page.
const NARROWEST: usize = 8;

/// Sets rows below their headings, each line after `indent` spaces.
pub fn grid(headings: &[&str], rows: &[Vec<String>], indent: usize, page: &Page) -> String {
    let natural: Vec<usize> = (0..headings.len())
        .map(|c| rows.iter().map(|r| width::of(&r[c])).chain([width::of(headings[c])]).max().unwrap_or(0))
        .collect();
    let room = page.columns.saturating_sub(indent + GAP * headings.len().saturating_sub(1));
    match fit(natural, room) {
        Some(widths) => columns(headings, rows, &widths, indent, page),
        None => paragraphs(headings, rows, indent, page),
    }
}

/// Takes columns from the widest until all fit.
fn fit(mut widths: Vec<usize>, room: usize) -> Option<Vec<usize>> {
    while widths.iter().sum::<usize>() > room {
        let widest = widths.iter_mut().max().filter(|w| **w > NARROWEST)?;
        *widest -= 1;
    }
    Some(widths)
}

fn columns(headings: &[&str], rows: &[Vec<String>], widths: &[usize], indent: usize, page: &Page) -> String {
    let mut out = String::new();
    let head: Vec<String> = headings.iter().map(|h| (*h).to_owned()).collect();
    line(&mut out, &head, widths, indent, Style::Strong, page);
    for row in rows {
        line(&mut out, row, widths, indent, Style::Plain, page);
    }
    out
}

/// One row, as many lines as its tallest cell.
fn line(out: &mut String, cells: &[String], widths: &[usize], indent: usize, style: Style, page: &Page) {
    let broken: Vec<Vec<String>> = cells.iter().zip(widths).map(|(cell, w)| pieces(cell, *w)).collect();
    let tallest = broken.iter().map(Vec::len).max().unwrap_or(0);
    for k in 0..tallest {
        let mut text = String::new();
        let mut owed = indent;
        for (cell, w) in broken.iter().zip(widths) {
            let piece = cell.get(k).map_or("", String::as_str);
            if !piece.is_empty() {
                text.push_str(&" ".repeat(owed));
                text.push_str(&painted(piece, style, page));
                owed = 0;
            }
            owed += w - width::of(piece) + GAP;
        }
        out.push_str(&text);
        out.push('\n');
    }
}

/// A cell broken between words, and within a word that is too long.
fn pieces(cell: &str, room: usize) -> Vec<String> {
    let mut out = vec![String::new()];
    for word in words(cell) {
        let word: String = word.chars().map(width::shown).collect();
        let mut last = out.pop().unwrap_or_default();
        if !last.is_empty() && width::of(&last) + 1 + width::of(&word) > room {
            out.push(std::mem::take(&mut last));
        } else if !last.is_empty() {
            last.push(' ');
        }
        for c in word.chars() {
            if width::of(&last) + width::of_char(c) > room {
                out.push(std::mem::take(&mut last));
            }
            last.push(c);
        }
        out.push(last);
    }
    out
}

/// Each row as a paragraph: its first cell, then every other as "heading: cell".
fn paragraphs(headings: &[&str], rows: &[Vec<String>], indent: usize, page: &Page) -> String {
    let row = |row: &Vec<String>| {
        let rest = headings.iter().zip(row).skip(1).filter(|(_, cell)| !cell.is_empty());
        let rest: Vec<String> = rest.map(|(heading, cell)| format!("{heading}: {cell}")).collect();
        let spans =
            [Span(&row[0], Style::Strong), Span("–", Style::Faint), Span(&rest.join("; "), Style::Plain)];
        wrap(&spans, Indent(indent, indent + 4), page)
    };
    rows.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows() -> Vec<Vec<String>> {
        let row = |cells: [&str; 3]| cells.iter().map(|c| (*c).to_owned()).collect();
        vec![row(["IE", "Ireland", "EN 50160, clause 4.2"]), row(["JP", "Japan", "regulation"])]
    }

    fn set(columns: usize) -> String {
        grid(&["code", "country", "source"], &rows(), 2, &Page { columns, colour: false })
    }

    #[test]
    fn columns_align_where_they_fit() {
        assert_eq!(
            set(80),
            "  code  country  source\n  IE    Ireland  EN 50160, clause 4.2\n  JP    Japan    regulation\n"
        );
    }

    #[test]
    fn the_widest_column_gives_way_first() {
        assert_eq!(
            set(30),
            "  code  country  source\n  IE    Ireland  EN 50160,\n                 clause 4.2\n  JP    Japan    regulation\n"
        );
    }

    #[test]
    fn a_page_too_narrow_for_columns_gets_paragraphs() {
        assert_eq!(set(24).lines().next(), Some("  IE – country: Ireland;"));
        for columns in 18..90 {
            assert!(set(columns).lines().all(|l| width::of(l) <= columns), "{columns}");
        }
    }
}
