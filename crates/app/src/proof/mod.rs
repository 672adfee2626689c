//! The proof as text and as data: the sieve, the steps at the bench, what readings say.

pub mod data;
pub mod groups;
pub mod judged;
pub mod problem;
pub mod readings;
pub mod sheet;
pub mod sieve;
pub mod suspects;
pub mod words;
