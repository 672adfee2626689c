//! Why a command could not be done, by whose fault; the exit status follows.

use crate::text::wrap::{Indent, Span, wrap};
use crate::text::{Page, Style};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;

/// How a command ended that was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Done, and nothing says stop.
    NoStop,
    /// Done, and something says stop.
    Stop,
}

impl Verdict {
    /// The exit status.
    pub fn status(self) -> u8 {
        match self {
            Verdict::NoStop => 0,
            Verdict::Stop => 1,
        }
    }
}

/// Why a command could not be done.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The job's text is wrong: its diagnostics, already rendered.
    #[error("{0}")]
    Job(String),
    /// The command line asks for something that does not exist.
    #[error("{message}")]
    CommandLine {
        /// What was asked for and does not exist.
        message: String,
        /// What to do instead.
        hint: Option<String>,
    },
    /// A file or a stream cannot be read or written.
    #[error("cannot {what} {file}: {why}")]
    File {
        /// "read", "write".
        what: &'static str,
        /// Its name.
        file: String,
        /// What the system says.
        why: String,
        /// What to do instead.
        hint: Option<String>,
    },
    /// The machine as planned has no steady state at a stage: there is nothing to compare mistakes with.
    #[error("without any mistake, stage `{stage}` finds no steady state: {why}")]
    NoProof {
        /// The stage.
        stage: String,
        /// Why.
        why: String,
    },
    /// A mistake of ours.
    #[error("{0}")]
    Ours(String),
}

impl Failure {
    /// The command line asks for something that does not exist.
    pub fn command_line(message: impl Into<String>, hint: Option<String>) -> Self {
        Self::CommandLine { message: message.into(), hint }
    }

    /// The exit status.
    pub fn status(&self) -> u8 {
        match self {
            Failure::Job(_)
            | Failure::CommandLine { .. }
            | Failure::File { .. }
            | Failure::NoProof { .. } => 2,
            Failure::Ours(_) => 3,
        }
    }

    /// As written to standard error.
    pub fn render(&self, page: &Page) -> String {
        match self {
            Failure::Job(rendered) => rendered.clone(),
            Failure::CommandLine { hint, .. } | Failure::File { hint, .. } => {
                self.with_hint(hint.as_deref(), page)
            }
            Failure::NoProof { .. } => {
                self.with_hint(Some("`voltwright check` tells what is wrong with the plan itself"), page)
            }
            Failure::Ours(_) => {
                let about = "This is a mistake in Voltwright, not in your job; nothing of it was judged. \
                     Please report it with the job file and this line.";
                self.with_hint(None, page) + &wrap(&[Span(about, Style::Plain)], Indent(4, 4), page)
            }
        }
    }

    fn with_hint(&self, hint: Option<&str>, page: &Page) -> String {
        let message = self.to_string();
        let spans = [Span("error", Style::Stop), Span("–", Style::Faint), Span(&message, Style::Plain)];
        let mut out = wrap(&spans, Indent(0, 4), page);
        if let Some(hint) = hint {
            out.push_str(&wrap(
                &[Span("hint:", Style::Plain), Span(hint, Style::Plain)],
                Indent(4, 10),
                page,
            ));
        }
        out
    }
}

/// Where the panic that is being caught happened; set by the hook, which alone knows it.
static WHERE: Mutex<Option<String>> = Mutex::new(None);

/// Runs `work`; a panic in it becomes a failure of ours.
pub fn guarded<T>(work: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(|info| {
        if let Ok(mut place) = WHERE.lock() {
            *place = Some(info.to_string().replace('\n', " "));
        }
    }));
    let outcome = catch_unwind(AssertUnwindSafe(work));
    std::panic::set_hook(usual);
    outcome.unwrap_or_else(|_| {
        let place =
            WHERE.lock().ok().and_then(|mut p| p.take()).unwrap_or_else(|| "at an unknown place".into());
        Err(Failure::Ours(place))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_reported_as_ours() {
        let failure = guarded::<()>(|| panic!("the sky fell")).unwrap_err();
        let told = failure.render(&Page { columns: 80, colour: false });
        assert_eq!(failure.status(), 3);
        assert!(
            told.contains("the sky fell") && told.contains("failure.rs") && told.contains("not in your job"),
            "{told}"
        );
    }

    #[test]
    fn what_the_user_can_mend_has_status_two_and_a_hint() {
        let failure =
            Failure::command_line("there is no table `mians`", Some("did you mean `mains`?".into()));
        assert_eq!(failure.status(), 2);
        assert_eq!(
            failure.render(&Page { columns: 80, colour: false }),
            "error – there is no table `mians`\n    hint: did you mean `mains`?\n"
        );
    }
}
