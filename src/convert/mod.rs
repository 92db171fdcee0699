//! Conversions between bus values and attribute values, as data, and their reference interpreter.
//!
//! In: a value and, for steps that look at other attributes, the endpoint's attributes. Out: the converted value, or
//! a typed error. Knows nothing of classes, houses or files.

mod apply;
pub mod attribute;
pub mod bus;
mod chain;
mod check;
pub mod colour;
mod inverse;
mod kind;
mod misfit;
mod number;
pub mod proof;
mod run;
mod size;
mod step;
mod unit;
mod value;

pub use chain::Chain;
pub use check::{Attributes, BadParameter, ChainError, ChainFault, DEPTH_MAX, STEPS_MAX};
pub use inverse::{Loss, OneWay};
pub use kind::{Kind, Quantity, Range};
pub use misfit::Misfit;
pub use run::{ConvertError, Fault, StepNumber, Surroundings};
pub use size::{TooManyValues, VALUES_MAX, values_in};
pub use step::{Origin, Step};
pub use unit::{Scaling, Unit};
pub use value::{Fields, NoValue, Sort, Value};
