//! What is said to people about a house, as data, and its output forms.

mod edit;
mod finding;

pub use edit::{Certainty, Edit};
pub use finding::{Finding, Label, Severity};
