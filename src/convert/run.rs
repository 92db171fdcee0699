//! The reference interpreter: runs the steps of a chain on a value.
#![allow(clippy::wildcard_enum_match_arm, reason = "all steps but the three most frequent go the same way")]

use super::apply::{apply, constant, finite, line, no_field, round};
use super::value::{Fields, Sort, Value};
use super::{Chain, Step};
use std::fmt;

/// What a chain may look at beside its input: the endpoint's attributes as they stand.
pub trait Surroundings {
    /// The value of an attribute written `Cluster.Attribute`; none if the endpoint has no such attribute.
    fn attribute(&self, of: &str) -> Option<Value>;
}

/// An endpoint without attributes.
impl Surroundings for () {
    fn attribute(&self, _of: &str) -> Option<Value> {
        None
    }
}

impl Surroundings for Fields {
    fn attribute(&self, of: &str) -> Option<Value> {
        self.get(of).cloned()
    }
}

/// Which step of a chain: 1 for the first; of steps within a step both, such as `3.1`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StepNumber(Vec<usize>);

impl StepNumber {
    /// The numbers from the outermost chain inwards.
    #[must_use]
    pub fn path(&self) -> &[usize] {
        &self.0
    }

    pub(super) fn within(&self, index: usize) -> Self {
        let mut inner = self.clone();
        inner.0.push(index + 1);
        inner
    }

    pub(super) fn outwards(mut self, index: usize) -> Self {
        self.0.insert(0, index + 1);
        self
    }
}

impl fmt::Display for StepNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (depth, number) in self.0.iter().enumerate() {
            write!(f, "{}{number}", if depth == 0 { "" } else { "." })?;
        }
        Ok(())
    }
}

/// A value that a chain cannot convert.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("step {step}: {fault}")]
pub struct ConvertError {
    /// The step that could not.
    pub step: StepNumber,
    /// Why.
    #[source]
    pub fault: Fault,
}

/// Why a step cannot convert a value.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// A value of another sort than the step takes.
    #[error("takes {expected}, got {found}")]
    WrongKind {
        /// What the step takes.
        expected: &'static str,
        /// What came.
        found: Sort,
    },
    /// A structure without a field that the step names.
    #[error("the structure has no field `{name}`")]
    NoField {
        /// The field.
        name: String,
    },
    /// An endpoint without an attribute that the step names.
    #[error("the endpoint has no attribute `{of}`")]
    NoAttribute {
        /// The attribute, `Cluster.Attribute`.
        of: String,
    },
    /// A result that is infinite or no number.
    #[error("the result is no finite number")]
    NotFinite,
}

impl Fault {
    /// The error's word, the same for every interpreter.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Fault::WrongKind { .. } => "wrong-kind",
            Fault::NoField { .. } => "no-field",
            Fault::NoAttribute { .. } => "no-attribute",
            Fault::NotFinite => "not-finite",
        }
    }
}

impl Chain {
    /// Runs the steps on a value.
    ///
    /// Null as a result means that nothing is passed on.
    ///
    /// # Errors
    /// [`ConvertError`] with the number of the step that cannot convert what it got.
    pub fn run(&self, value: &Value, surroundings: &dyn Surroundings) -> Result<Value, ConvertError> {
        self.run_noting(value.clone(), surroundings, &mut Cut::default())
    }

    /// [`Chain::run`], which also notes what a `clamp` cut off.
    pub(super) fn run_noting(
        &self,
        mut value: Value,
        surroundings: &dyn Surroundings,
        cut: &mut Cut,
    ) -> Result<Value, ConvertError> {
        for (index, step) in self.steps.iter().enumerate() {
            value = match (step, value) {
                (Step::IfNull { value }, Value::Null) => constant(value).map_err(|fault| at(index, fault))?,
                (_, Value::Null) => Value::Null,
                (Step::Within { name, steps }, Value::Structure(mut fields)) => {
                    let field = fields.get_mut(name).ok_or_else(|| at(index, no_field(name)))?;
                    let inner = std::mem::replace(field, Value::Null);
                    *field = steps.run_noting(inner, surroundings, cut).map_err(|error| ConvertError {
                        step: error.step.outwards(index),
                        fault: error.fault,
                    })?;
                    Value::Structure(fields)
                }
                (step, Value::Number(number)) => {
                    arithmetic(step, number, surroundings, cut).map_err(|fault| at(index, fault))?
                }
                (step, value) => apply(step, value, surroundings).map_err(|fault| at(index, fault))?,
            };
        }
        Ok(value)
    }
}

/// What a step makes of a number. The steps that most chains consist of are taken here, in front of all others.
#[inline]
fn arithmetic(
    step: &Step,
    number: f64,
    surroundings: &dyn Surroundings,
    cut: &mut Cut,
) -> Result<Value, Fault> {
    match step {
        Step::Scale { from, to } => finite(line(number, from, to)),
        Step::Round { to } => finite(round(number, *to)),
        Step::Clamp { min, max } => {
            cut.below |= number < *min;
            cut.above |= number > *max;
            Ok(Value::Number(number.max(*min).min(*max)))
        }
        other => apply(other, Value::Number(number), surroundings),
    }
}

/// What the clamps of a run cut off.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cut {
    /// A number below a smallest one.
    pub(super) below: bool,
    /// A number above a largest one.
    pub(super) above: bool,
}

impl Cut {
    /// Whether there was anything to cut off.
    pub(super) fn any(self) -> bool {
        self.below || self.above
    }
}

fn at(index: usize, fault: Fault) -> ConvertError {
    ConvertError { step: StepNumber::default().within(index), fault }
}
