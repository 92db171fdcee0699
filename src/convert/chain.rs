//! A conversion: steps, run in order.

use super::Step;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A conversion: steps, run in order. An empty chain passes the value on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Chain {
    /// The steps.
    pub steps: Vec<Step>,
}
