//! From a checked plan to bridges.
//!
//! In: a [`Checked`](crate::rules::Checked) plan and the ledger so far. Out: every endpoint with its device types,
//! clusters, first values and links, and the next ledger. Decides nothing that a rule should have refused, and writes
//! no file.

pub mod definition;
mod lower;
mod stencil;

pub use lower::{Lowered, identifying, lower};
