//! Conversions between bus values and attribute values, as data, and their reference interpreter.
//!
//! In: a value and, for steps that look at other attributes, the endpoint's attributes. Out: the converted value, or
//! a typed error. Knows nothing of classes, houses or files.

mod chain;
mod number;
mod step;

pub use chain::Chain;
pub use step::{Origin, Step};
