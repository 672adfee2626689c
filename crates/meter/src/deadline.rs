//! The moment by which a whole exchange must be over, however many bytes and connections it takes.

use std::time::{Duration, Instant};

/// No exchange is given longer than this.
const LONGEST: Duration = Duration::from_secs(3600);

/// The moment by which an exchange must be over.
#[derive(Debug, Clone, Copy)]
pub struct Deadline {
    start: Instant,
    allowed: Duration,
}

impl Deadline {
    /// The moment that comes `allowed` after now.
    #[expect(
        clippy::disallowed_methods,
        reason = "a time-out needs a clock; it decides whether, never what, is answered"
    )]
    pub fn after(allowed: Duration) -> Deadline {
        Deadline { start: Instant::now(), allowed: allowed.min(LONGEST) }
    }

    /// The time that is left, nothing when it is over.
    pub fn left(&self) -> Option<Duration> {
        self.allowed.checked_sub(self.start.elapsed()).filter(|left| !left.is_zero())
    }

    /// The time that was allowed, in seconds.
    pub fn seconds(&self) -> String {
        self.allowed.as_secs_f64().to_string()
    }
}
