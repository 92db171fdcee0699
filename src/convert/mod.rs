//! Conversions between bus values and attribute values, as data, and their reference interpreter.
//!
//! In: a value and, for steps that look at other attributes, the endpoint's attributes. Out: the converted value, or
//! a typed error. Knows nothing of classes, houses or files.

mod chain;
pub mod colour;
mod number;
mod run;
mod step;
mod value;

pub use chain::Chain;
pub use run::{ConvertError, Fault, StepNumber, Surroundings};
pub use step::{Origin, Step};
pub use value::{Fields, NoValue, Sort, Value};
