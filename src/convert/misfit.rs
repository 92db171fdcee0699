//! Why values of one kind cannot stand where another is asked for.

use super::kind::Range;

/// Why values of one kind cannot stand where another is asked for.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Misfit {
    /// Another sort altogether.
    #[error("{found} where {expected} is asked for")]
    Sort {
        /// What is asked for.
        expected: String,
        /// What there is.
        found: String,
    },
    /// Another unit.
    #[error("a value in {found} where {expected} is asked for")]
    Unit {
        /// The unit asked for.
        expected: String,
        /// The unit there is.
        found: String,
    },
    /// The right unit, but another scaling: the number says something else. Not counted where a range or a turned
    /// direction of the installation comes in between.
    #[error("1 means {found}, but {expected} is asked for")]
    Scaling {
        /// What 1 means there.
        expected: String,
        /// What 1 means here.
        found: String,
    },
    /// Numbers out of range.
    #[error("values {found} where only {expected} can stand")]
    Range {
        /// What can stand there.
        expected: Range,
        /// What can come.
        found: Range,
    },
    /// A number that is none of the codes.
    #[error("the value {found} is none of the codes")]
    Code {
        /// The number.
        found: f64,
    },
    /// Fractions where multiples are asked for.
    #[error("values that are not rounded to multiples of {to}")]
    NotRounded {
        /// What they should be multiples of.
        to: f64,
    },
    /// A field is missing.
    #[error("the field `{name}` is missing")]
    FieldMissing {
        /// Its name.
        name: String,
    },
    /// A field that nobody takes.
    #[error("there is no field `{name}`")]
    FieldUnknown {
        /// Its name.
        name: String,
    },
    /// A field does not fit.
    #[error("field `{name}`: {misfit}")]
    Field {
        /// Its name.
        name: String,
        /// Why.
        misfit: Box<Misfit>,
    },
}
