//! A conversion: steps, run in order.

use super::{Origin, Step};
use schemars::JsonSchema;
use serde::Serialize;

/// A conversion: steps, run in order. An empty chain passes the value on.
///
/// A value is null, a truth value, a number (IEEE 754 double), a text, or a structure of named values. At the Matter end
/// attributes, fields and events have the data model's names; enumerations and bitmaps are numbers, and a command goes in
/// as the structure of its fields, those that the controller left out being null.
///
/// At the bus end a 1-bit type is a truth value (1 is true), a number is in the type's unit (50 for 50 % of 5.001), an
/// enumeration is its raw number, and so is a scene (17.001 counts from 0). Everything else is a structure with the field
/// names that `housewright explain` shows: 3.007 and 3.008 are `control` (true is the 1 of the telegram: brighter, down) and
/// `step` (0 stops), 18.001 is `learn` and `scene`, 232.600 is `red`, `green` and `blue` from 0 to 255, 242.600 is `x` and
/// `y` from 0 to 1 and `brightness` from 0 to 255. A field that a telegram marks as not valid is null, and one that is null
/// or missing is marked so in a telegram. A telegram that holds no value (9.xxx as `7fff`) is not converted: attributes of
/// its links that may be null become null, others stay. What goes to the bus is rounded to the type's nearest value; one
/// outside its range is not sent.
///
/// Null passes every step unchanged, except `if-null`. Null at the end means that nothing is passed on: no telegram, no
/// change of the attribute, no event. Steps are strict: a value of another sort than the step takes is the error
/// `wrong-kind`, a structure without a field that the step names is `no-field`, an endpoint without the attribute is
/// `no-attribute`, a result that is no finite number is `not-finite`. After an error nothing is passed on either; an
/// interpreter should report it. An attribute is looked at as it stood before the command or telegram that is converted
/// had effect.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
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
