//! Whether the steps of a chain fit together, and what comes out of it: found without running it.

mod flow;
mod parameter;

pub use parameter::BadParameter;

use super::kind::{Kind, Range};
use super::misfit::Misfit;
use super::run::StepNumber;
use super::size::{TooManyValues, VALUES_MAX};
use super::{Chain, Step};
use std::collections::BTreeMap;

/// Steps of a chain, those within others counted in. More than any conversion needs; with [`VALUES_MAX`] it bounds the time of
/// a run.
pub const STEPS_MAX: usize = 64;
/// Chains within chains.
pub const DEPTH_MAX: usize = 4;

/// What is known of the attributes a chain may look at.
pub trait Attributes {
    /// The kind of an attribute written `Cluster.Attribute`; none if the endpoint has no such attribute.
    fn kind(&self, of: &str) -> Option<Kind>;
}

/// An endpoint without attributes.
impl Attributes for () {
    fn kind(&self, _of: &str) -> Option<Kind> {
        None
    }
}

impl Attributes for BTreeMap<String, Kind> {
    fn kind(&self, of: &str) -> Option<Kind> {
        self.get(of).cloned()
    }
}

/// A chain whose steps do not fit together.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("step {step}: {fault}")]
pub struct ChainError {
    /// The step that does not fit.
    pub step: StepNumber,
    /// Why.
    #[source]
    pub fault: ChainFault,
}

/// Why a step does not fit where it stands.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ChainFault {
    /// A parameter that makes no sense.
    #[error("{0}")]
    Parameter(BadParameter),
    /// A value of another sort, unit or range than the step takes.
    #[error("{0}")]
    Misfit(Misfit),
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
    /// Nothing of what comes lies within the bounds of a clamp, so that all of it would be cut off.
    #[error("all of {found} is cut off by {bounds}")]
    AllCut {
        /// What comes.
        found: Range,
        /// The clamp.
        bounds: Range,
    },
    /// An entry of a table or a list that no value can equal.
    #[error("`{entry}` is never met: {found} comes here")]
    NeverMet {
        /// The entry, as JSON.
        entry: String,
        /// What comes.
        found: String,
    },
    /// Quantities that cannot be added to or taken from each other.
    #[error("{first} and {second} cannot be added or subtracted")]
    UnlikeUnits {
        /// The unit of the first.
        first: String,
        /// The unit of the other.
        second: String,
    },
    /// More than [`STEPS_MAX`] steps.
    #[error("a conversion has at most {STEPS_MAX} steps")]
    TooLong,
    /// More than [`VALUES_MAX`] values.
    #[error("{0}")]
    TooManyValues(TooManyValues),
    /// More than [`DEPTH_MAX`] chains within each other.
    #[error("at most {DEPTH_MAX} chains stand within each other")]
    TooDeep,
}

impl Step {
    /// Whether the step's own parameters make sense, and those of the steps within it, whatever goes in.
    ///
    /// # Errors
    /// The first parameter that does not.
    pub fn parameters(&self) -> Result<(), BadParameter> {
        parameter::look(self)?;
        if let Self::Within { steps, .. } = self {
            steps.steps.iter().try_for_each(Self::parameters)?;
        }
        Ok(())
    }
}

impl Chain {
    /// What comes out of the chain, if `input` goes in; proof that its steps fit together.
    ///
    /// The result is wide enough: every value that [`Chain::run`] can give is of it, null apart.
    ///
    /// # Errors
    /// The first step that does not fit, see [`ChainFault`].
    pub fn check(&self, input: Kind, attributes: &dyn Attributes) -> Result<Kind, ChainError> {
        if self.count() > STEPS_MAX {
            return Err(ChainError {
                step: StepNumber::default().within(STEPS_MAX),
                fault: ChainFault::TooLong,
            });
        }
        if let Some(index) = self.first_beyond_values() {
            let fault = ChainFault::TooManyValues(TooManyValues);
            return Err(ChainError { step: StepNumber::default().within(index), fault });
        }
        self.check_at(input, attributes, &StepNumber::default())
    }

    /// The first step with which the values are too many.
    fn first_beyond_values(&self) -> Option<usize> {
        let mut values = 0;
        self.steps.iter().position(|step| {
            values += step.values();
            values > VALUES_MAX
        })
    }

    /// How many steps there are, those within others counted in.
    fn count(&self) -> usize {
        self.steps
            .iter()
            .map(|step| if let Step::Within { steps, .. } = step { 1 + steps.count() } else { 1 })
            .sum()
    }

    fn check_at(
        &self,
        input: Kind,
        attributes: &dyn Attributes,
        outer: &StepNumber,
    ) -> Result<Kind, ChainError> {
        let mut kind = input;
        for (index, step) in self.steps.iter().enumerate() {
            let number = outer.within(index);
            let failed = |fault| ChainError { step: number.clone(), fault };
            if number.path().len() > DEPTH_MAX {
                return Err(failed(ChainFault::TooDeep));
            }
            parameter::look(step).map_err(|bad| failed(ChainFault::Parameter(bad)))?;
            kind = match (step, kind) {
                (Step::Within { name, steps }, Kind::Structure(mut fields)) => {
                    let inner = fields.get(name).cloned();
                    let inner = inner.ok_or_else(|| failed(ChainFault::NoField { name: name.clone() }))?;
                    fields.insert(name.clone(), steps.check_at(inner, attributes, &number)?);
                    Kind::Structure(fields)
                }
                (Step::Within { steps, .. }, Kind::Any) => {
                    steps.check_at(Kind::Any, attributes, &number)?;
                    Kind::Any
                }
                (step, kind) => flow::after(step, kind, attributes).map_err(failed)?,
            };
        }
        Ok(kind)
    }
}

#[cfg(test)]
mod tests;
