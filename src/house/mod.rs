//! The house description as written.
//!
//! In: the documents of a house. Out: the [`House`], every value with its place, and what is wrong with the writing.
//! A file in which several things seem to be wrong is read again with a line moved, and one mistake told once.
//! Looks nothing up: of classes it only tells editors what they ask for.
//! It knows no datapoint types and no Matter.

mod cut_short;
mod kept;
pub mod model;
mod problem;
mod read;
mod reread;
mod schema;

pub use kept::Kept;
pub use problem::{Keyed, Problem, ProblemKind};
pub use read::{House, is_fit_key, read, read_with_lines_moved};
pub use schema::schema;
