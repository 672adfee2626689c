//! SVG written down: rounded coordinates, escaped text, classes.

use crate::lettering::{escaped, tight};
use std::fmt::Write;

/// A point, in px from the top left.
pub(crate) type Spot = (f64, f64);

/// Which part of a text stands at its spot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn word(self) -> &'static str {
        match self {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        }
    }
}

/// A drawing in the making.
#[derive(Debug, Default)]
pub(crate) struct Canvas {
    body: String,
}

impl Canvas {
    pub fn new() -> Self {
        Self::default()
    }

    fn put(&mut self, element: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        _ = self.body.write_fmt(element);
    }

    pub fn line(&mut self, class: &str, (x1, y1): Spot, (x2, y2): Spot) {
        let [x1, y1, x2, y2] = [x1, y1, x2, y2].map(px);
        self.put(format_args!(r#"<line class="{class}" x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>"#));
    }

    pub fn path(&mut self, class: &str, path: &Path) {
        self.put(format_args!(r#"<path class="{class}" d="{}"/>"#, path.0));
    }

    /// A line of a width of its own.
    pub fn thick(&mut self, class: &str, width: f64, path: &Path) {
        let width = px(width);
        self.put(format_args!(r#"<path class="{class}" stroke-width="{width}" d="{}"/>"#, path.0));
    }

    /// A line in a colour of its own.
    pub fn stroked(&mut self, class: &str, colour: &str, path: &Path) {
        self.put(format_args!(r#"<path class="{class}" stroke="{colour}" d="{}"/>"#, path.0));
    }

    /// A shape filled with a colour of its own.
    pub fn filled(&mut self, class: &str, colour: &str, path: &Path) {
        self.put(format_args!(r#"<path class="{class}" fill="{colour}" d="{}"/>"#, path.0));
    }

    pub fn circle(&mut self, class: &str, (x, y): Spot, r: f64) {
        let [x, y, r] = [x, y, r].map(px);
        self.put(format_args!(r#"<circle class="{class}" cx="{x}" cy="{y}" r="{r}"/>"#));
    }

    /// Where a page may let a terminal be chosen, by its name in wires and with words for those who do not see it; nothing is
    /// seen of it.
    pub fn target(&mut self, (terminal, label): (&str, &str), (x, y): Spot, (w, h): Spot) {
        let [x, y, w, h] = [x, y, w, h].map(px);
        let [terminal, label] = [terminal, label].map(escaped);
        self.put(format_args!(
            r#"<rect class="d-target" data-terminal="{terminal}" data-label="{label}" x="{x}" y="{y}" width="{w}" height="{h}" rx="4"/>"#
        ));
    }

    pub fn rect(&mut self, class: &str, (x, y): Spot, (w, h): Spot, r: f64) {
        let [x, y, w, h, r] = [x, y, w, h, r].map(px);
        self.put(format_args!(
            r#"<rect class="{class}" x="{x}" y="{y}" width="{w}" height="{h}" rx="{r}"/>"#
        ));
    }

    /// A text on its base line; numbers stay with their units.
    pub fn text(&mut self, class: &str, (x, y): Spot, anchor: Anchor, text: &str) {
        let (x, y, anchor) = (px(x), px(y), anchor.word());
        let text = escaped(&tight(text));
        self.put(format_args!(
            r#"<text class="{class}" x="{x}" y="{y}" text-anchor="{anchor}">{text}</text>"#
        ));
    }

    /// The whole element, with ids made from a prefix.
    pub fn finish(self, size: Spot, prefix: &str, title: &str, text: &str) -> String {
        self.finish_with("", size, prefix, title, text)
    }

    /// The same with further attributes.
    pub fn finish_with(
        self,
        more: &str,
        (width, height): Spot,
        prefix: &str,
        title: &str,
        text: &str,
    ) -> String {
        let (w, h, id) = (px(width), px(height), id(prefix));
        let (title, desc, body) = (escaped(title), escaped(text), self.body);
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="d"{more} role="img" aria-labelledby="{id}-title {id}-desc" viewBox="0 0 {w} {h}" width="{w}" height="{h}"><title id="{id}-title">{title}</title><desc id="{id}-desc">{desc}</desc>{body}</svg>"#
        )
    }
}

/// The outline of a shape or the way of a line.
#[derive(Debug, Clone, Default)]
pub(crate) struct Path(String);

impl Path {
    pub fn at((x, y): Spot) -> Self {
        Self(format!("M{} {}", px(x), px(y)))
    }

    /// Through all of some points.
    pub fn through(spots: &[Spot]) -> Self {
        let mut all = spots.iter();
        let start = all.next().map_or_else(Self::default, |s| Self::at(*s));
        all.fold(start, |path, s| path.to(*s))
    }

    pub fn to(mut self, (x, y): Spot) -> Self {
        _ = write!(self.0, "L{} {}", px(x), px(y));
        self
    }

    pub fn jump(mut self, (x, y): Spot) -> Self {
        _ = write!(self.0, "M{} {}", px(x), px(y));
        self
    }

    /// Along a circle, less than half of it around.
    pub fn arc(mut self, r: f64, clockwise: bool, (x, y): Spot) -> Self {
        _ = write!(self.0, "A{r} {r} 0 0 {} {} {}", u8::from(clockwise), px(x), px(y), r = px(r));
        self
    }

    pub fn close(mut self) -> Self {
        self.0.push('Z');
        self
    }

    /// A whole circle.
    pub fn disc((x, y): Spot, r: f64) -> Self {
        Self::at((x - r, y)).arc(r, true, (x + r, y)).arc(r, true, (x - r, y)).close()
    }
}

/// A coordinate rounded to 0.01, without what says nothing.
pub(crate) fn px(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.to_owned() }
}

/// A prefix as it may stand in an id.
fn id(prefix: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '-' || c == '_' { c } else { '-' };
    let id: String = prefix.chars().map(plain).collect();
    if id.starts_with(|c: char| c.is_ascii_alphabetic()) { id } else { format!("d{id}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short() {
        assert_eq!(["1.5", "2", "0", "-3.14", "120"], [1.5, 2.0, -0.001, -3.1372, 120.0].map(px).as_slice());
    }

    #[test]
    fn nothing_breaks_out_of_an_id_or_a_text() {
        let mut canvas = Canvas::new();
        canvas.text("d-label", (0.0, 0.0), Anchor::Start, "<script>\"'&\u{0}\u{8}");
        let svg = canvas.finish((1.0, 1.0), "7\"><x", "</title>", "]]>");
        assert!(!svg.contains("<script") && !svg.contains("<x"), "{svg}");
        assert!(svg.contains(r#"id="d7---x-title""#), "{svg}");
        assert!(roxmltree::Document::parse(&svg).is_ok(), "{svg}");
    }
}
