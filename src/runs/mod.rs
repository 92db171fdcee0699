//! Stages put together: what a command asks for, from files to files.
//!
//! Each of these goes through several stages and adds none. They may use all stages; no stage uses them. `cli` prints what
//! comes of them.

pub mod again;
pub mod beside;
pub mod build;
pub mod compare;
pub mod definitions;
mod forgotten;
pub mod git_driver;
pub(crate) mod history;
mod recall;
pub(crate) mod unshown;

pub use recall::{Doubt, RecallError};
