//! A conversion: steps, run in order.

use super::{Origin, Step};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A conversion: steps, run in order. An empty chain passes the value on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Chain {
    /// The steps.
    pub steps: Vec<Step>,
}

impl Chain {
    /// The attributes that its steps look at, `Cluster.Attribute`, in the order of the steps; one may come twice.
    pub fn attributes(&self) -> Vec<&str> {
        let mut found = Vec::new();
        self.collect(&mut found);
        found
    }

    fn collect<'a>(&'a self, found: &mut Vec<&'a str>) {
        for step in &self.steps {
            if let Step::Attribute { of } = step {
                found.push(of);
            } else if let Step::Within { steps, .. } = step {
                steps.collect(found);
            } else if let Step::Gather { fields } = step {
                found.extend(fields.values().filter_map(|origin| {
                    if let Origin::Attribute(of) = origin { Some(of.as_str()) } else { None }
                }));
            }
        }
    }
}
