//! What the terminal can show, from its kind and the environment.

use crate::failure::Failure;
use crate::text::Page;
use std::io::{ErrorKind, IsTerminal, Write};
use std::sync::atomic::{AtomicUsize, Ordering};
use terminal_size::{Width, terminal_size_of};

/// Columns of a page where neither `COLUMNS` nor a terminal says.
const COLUMNS: usize = 80;
/// Fewest and most columns that are believed.
const BELIEVED: std::ops::RangeInclusive<usize> = 20..=10_000;

/// Looks up a variable of the environment.
type Environment<'e> = &'e dyn Fn(&str) -> Option<String>;

/// The page that standard output is.
pub fn output() -> Page {
    let stream = std::io::stdout();
    page(&environment, stream.is_terminal(), terminal_size_of(&stream).map(|(Width(w), _)| w.into()))
}

/// The page that standard error is.
pub fn errors() -> Page {
    let stream = std::io::stderr();
    page(&environment, stream.is_terminal(), terminal_size_of(&stream).map(|(Width(w), _)| w.into()))
}

fn environment(name: &str) -> Option<String> {
    std::env::var(name).ok()
}

fn page(environment: Environment<'_>, is_terminal: bool, measured: Option<usize>) -> Page {
    let stated = environment("COLUMNS").and_then(|c| c.trim().parse().ok());
    let columns = [stated, measured].into_iter().flatten().find(|c| BELIEVED.contains(c)).unwrap_or(COLUMNS);
    Page { columns, colour: colours(environment, is_terminal) }
}

/// `NO_COLOR` and `CLICOLOR_FORCE` as their conventions say; else only a terminal that knows escape sequences.
fn colours(environment: Environment<'_>, is_terminal: bool) -> bool {
    let is = |name: &str, value: &str| environment(name).as_deref() == Some(value);
    if environment("NO_COLOR").is_some_and(|v| !v.is_empty()) {
        return false;
    }
    if environment("CLICOLOR_FORCE").is_some_and(|v| !v.is_empty() && v != "0") {
        return true;
    }
    is_terminal && !is("TERM", "dumb") && !is("CLICOLOR", "0")
}

/// Writes to standard output; a reader that has gone away is no error.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut stream = std::io::stdout().lock();
    match stream.write_all(text.as_bytes()).and_then(|()| stream.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(Failure::File {
            what: "write",
            file: "standard output".into(),
            why: e.to_string(),
            hint: None,
        }),
        _ => Ok(()),
    }
}

/// Writes to standard error, as far as anybody listens.
pub fn complain(text: &str) {
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

/// How far long work has come, on a terminal's standard error; elsewhere nothing is written.
pub struct Progress {
    what: &'static str,
    shown: bool,
    last: AtomicUsize,
}

impl Progress {
    /// Of so-called work.
    pub fn new(what: &'static str) -> Self {
        Self { what, shown: std::io::stderr().is_terminal(), last: AtomicUsize::new(usize::MAX) }
    }

    /// Tells how much is done, a line that is written over.
    pub fn tell(&self, done: usize, of: usize) {
        let percent = done * 100 / of.max(1);
        if self.shown && self.last.swap(percent, Ordering::Relaxed) != percent {
            complain(&format!("\r{}: {percent:3} %", self.what));
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown {
            complain("\r\x1b[K");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(set: &[(&str, &str)], is_terminal: bool, measured: Option<usize>) -> (usize, bool) {
        let look = |name: &str| set.iter().find(|(n, _)| *n == name).map(|(_, v)| (*v).to_owned());
        let page = page(&look, is_terminal, measured);
        (page.columns, page.colour)
    }

    #[test]
    fn columns_come_from_the_variable_then_the_terminal() {
        assert_eq!(of(&[], false, None).0, 80);
        assert_eq!(of(&[], true, Some(132)).0, 132);
        assert_eq!(of(&[("COLUMNS", "60")], true, Some(132)).0, 60);
        assert_eq!(of(&[("COLUMNS", "0")], true, Some(132)).0, 132);
        assert_eq!(of(&[("COLUMNS", "wide")], false, None).0, 80);
    }

    #[test]
    fn colour_needs_a_terminal_that_wants_it() {
        assert!(of(&[], true, None).1);
        assert!(!of(&[], false, None).1);
        assert!(!of(&[("NO_COLOR", "1")], true, None).1);
        assert!(!of(&[("NO_COLOR", "1"), ("CLICOLOR_FORCE", "1")], true, None).1);
        assert!(of(&[("NO_COLOR", "")], true, None).1);
        assert!(!of(&[("TERM", "dumb")], true, None).1);
        assert!(of(&[("CLICOLOR_FORCE", "1")], false, None).1);
        assert!(!of(&[("CLICOLOR_FORCE", "0")], false, None).1);
        assert!(!of(&[("CLICOLOR", "0")], true, None).1);
    }
}
