//! Engineering rules: from a job to findings with their workings, along the path from the wall to the board.
//!
//! - [`finding`]: what a check says, and what could not be judged.
//! - [`sink`]: where rules put their judgements.
//! - [`rule`]: the rules, one file each, in the order of design page 3.
//! - [`assumptions`]: how far each assumed value may move before the verdict turns.
//! - [`check`]: all of it for one job.

pub mod assumptions;
pub mod demand;
pub mod finding;
pub mod holds;
pub mod influence;
pub mod report;
pub mod rule;
pub mod sink;

pub use finding::{About, Code, Finding, Severity, Stretch, Unjudged};
pub use report::{Report, check, findings};
