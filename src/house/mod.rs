//! The house description as written.
//!
//! In: the documents of a house. Out: the [`House`], every value with its place, and what is wrong with the writing.
//! Looks nothing up: of classes it only tells editors what they ask for.
//! It knows no datapoint types and no Matter.

pub mod model;
mod problem;
mod read;
mod schema;

pub use problem::{Keyed, Problem, ProblemKind};
pub use read::{House, is_fit_key, read};
pub use schema::schema;
