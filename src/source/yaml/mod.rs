//! Description text into a tree that keeps every place, and from there into typed values.
//!
//! In: text. Out: a [`Tree`] of what was written, no scalar typed by its looks; [`read_tree`] gives it the types
//! of the model. What never happens here: a guess. `5.010`, `on`, `05` and `12:30` are text until a type says
//! otherwise, and then the rules of `core_schema` decide. Where a line was meant to begin is looked for only in what
//! is wrong as it stands and is never built; `around` says how.

mod access;
mod around;
mod brackets;
mod build;
mod core_schema;
mod diagnose;
mod disguised;
mod events;
mod flaw;
mod fused;
mod given;
mod headed;
mod inline;
mod json;
mod keys;
mod merge;
mod parted;
mod read;
mod reading;
mod realign;
mod region;
mod shift;
mod shortcut;
mod structure;
mod tabs;
mod tree;
mod unquoted;
mod written;

pub(crate) use around::read_judged;
pub use events::parse;
pub(crate) use events::parse_around;
pub use flaw::QUOTED;
pub use given::{Entries, Given, Scalar, TEXT_OR_LIST};
pub use read::{read_node, read_tree};
pub(super) use tree::Weight;
pub use tree::{Node, Tree};
