//! How far a proof may go where somebody waits for it: until it is told to stop, and in how much memory.

use crate::setup::NoPoint;
use std::sync::atomic::{AtomicBool, Ordering};

/// Never set.
pub(crate) static NEVER: AtomicBool = AtomicBool::new(false);
/// Bytes that a reading takes with all that is kept of it.
const A_READING: usize = 400;

/// How far a proof may go.
#[derive(Debug, Clone, Copy)]
pub struct Bounds<'s> {
    /// Set by whoever no longer needs it.
    pub stop: &'s AtomicBool,
    /// Bytes that it may take, about.
    pub room: usize,
}

/// Why there is no proof.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Unproved {
    /// The plan itself has no steady state.
    #[error("without any mistake, stage `{}` finds no steady state: {}", .0.stage, .0.why)]
    NoPoint(NoPoint),
    /// Nobody needs it any more.
    #[error("it was given up for something newer")]
    Stopped,
    /// So many mistakes against so many readings.
    #[error(
        "{mistakes} mistakes against {readings} readings are more than is kept ready here; `voltwright prove` has no such limit"
    )]
    TooLarge {
        /// Mistakes, or how many there are at least.
        mistakes: usize,
        /// Readings, or how many there may be.
        readings: usize,
    },
}

impl From<NoPoint> for Unproved {
    fn from(none: NoPoint) -> Self {
        Self::NoPoint(none)
    }
}

impl Bounds<'_> {
    /// Whether it may go on.
    pub(crate) fn goes_on(&self) -> Result<(), Unproved> {
        if self.stop.load(Ordering::Relaxed) { Err(Unproved::Stopped) } else { Ok(()) }
    }

    /// Whether so many mistakes that differ, against so many readings, fit: a bit for each of both, kept twice.
    pub(crate) fn holds(&self, mistakes: usize, readings: usize) -> Result<(), Unproved> {
        let bits = mistakes.saturating_mul(readings) / 4;
        let is_held = readings.saturating_mul(A_READING).saturating_add(bits) <= self.room;
        if is_held { Ok(()) } else { Err(Unproved::TooLarge { mistakes, readings }) }
    }
}
