//! Every wiring mistake tried before power is: what each would do at each stage of first power, the fewest readings that
//! catch every harmful one before it can do harm, what escapes, and what readings say of the mistakes.
//!
//! - [`mistake`]: every mistake of a job, one kind a file; [`change`]: what a mistake changes; [`harness`]: the wiring as things.
//! - [`stage`]: the stages; [`network`]: what they are tried on; [`setup`]: all of it made ready; [`step`]: changes as edits.
//! - [`harm`] and [`mains_effect`]: what does harm; [`reading`]: what can be read; [`trial`]: one mistake tried.
//! - [`cover`]: the cheapest readings that catch everything; [`first_power`]: the walk through them at the bench; [`diagnosis`]: what readings say.

mod asked;
pub mod bounds;
pub mod change;
pub mod continuity;
mod corner;
pub mod cover;
pub mod cure;
pub mod diagnosis;
pub mod first_power;
pub mod harm;
pub mod harness;
pub mod mains_effect;
pub mod mistake;
pub mod network;
pub mod pairs;
pub mod permutation;
pub mod proof;
pub mod reading;
pub mod setup;
pub mod stage;
pub mod step;
pub mod trial;
