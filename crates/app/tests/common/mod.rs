//! What the tests of the running workshop share: a folder that goes away, the server as a process, a plain HTTP client, a visit.

#![allow(dead_code, reason = "each test uses some of it")]

pub mod http;
pub mod server;
pub mod visit;
