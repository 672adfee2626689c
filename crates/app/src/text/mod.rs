//! Laying out text for a terminal: pure functions from texts and a [`Page`] to text.

pub mod excerpt;
pub mod grid;
pub mod width;
pub mod wrap;

/// What a text is laid out for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Page {
    /// Columns of the terminal.
    pub columns: usize,
    /// Whether escape sequences for weight and colour may be written.
    pub colour: bool,
}

/// Running text wider than this is hard to read.
const WIDEST_TEXT: usize = 100;

impl Page {
    /// Columns that running text may take.
    pub fn text(&self) -> usize {
        self.columns.min(WIDEST_TEXT)
    }
}

/// How a piece of text stands out; always beside words that say the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// As all the rest.
    Plain,
    /// A heading or subject.
    Strong,
    /// Said by the way.
    Faint,
    /// Of a stop or an error.
    Stop,
    /// Of a caution or a warning.
    Caution,
}

impl Style {
    /// The escape sequence that begins it; every style ends with [`RESET`].
    pub fn begin(self) -> &'static str {
        match self {
            Style::Plain => "",
            Style::Strong => "\x1b[1m",
            Style::Faint => "\x1b[2m",
            Style::Stop => "\x1b[1;31m",
            Style::Caution => "\x1b[1;33m",
        }
    }
}

/// The escape sequence that ends any style.
pub const RESET: &str = "\x1b[0m";

/// A text in its style, if the page has any.
pub fn painted(text: &str, style: Style, page: &Page) -> String {
    if page.colour && style != Style::Plain {
        format!("{}{text}{RESET}", style.begin())
    } else {
        text.to_owned()
    }
}
