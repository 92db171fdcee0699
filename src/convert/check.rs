//! Whether the steps of a chain fit together, and what comes out of it: found without running it.

use super::flow;
use super::kind::{Kind, Misfit, Range};
use super::parameter::{self, BadParameter};
use super::run::StepNumber;
use super::{Chain, Step};
use std::collections::BTreeMap;

/// Steps of a chain, those within others counted in. More than any conversion needs; it bounds the time of a run.
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
    /// More than [`DEPTH_MAX`] chains within each other.
    #[error("at most {DEPTH_MAX} chains stand within each other")]
    TooDeep,
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
        self.check_at(input, attributes, &StepNumber::default())
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
mod tests {
    use super::*;

    /// What comes out of a chain written as JSON, or the fault with its step.
    fn check(steps: &str, input: Kind, expected: Result<&str, &str>) {
        let chain: Chain = serde_json::from_str(steps).unwrap();
        let attributes: BTreeMap<String, Kind> = [
            ("LevelControl.CurrentLevel".to_owned(), Kind::number(1.0, 254.0, 1.0)),
            ("Thermostat.OccupiedHeatingSetpoint".to_owned(), hundredths()),
        ]
        .into();
        let found =
            chain.check(input, &attributes).map(|kind| shown(&kind)).map_err(|error| error.to_string());
        assert_eq!(found.as_deref().map_err(String::as_str), expected, "{steps}");
    }

    fn shown(kind: &Kind) -> String {
        let Kind::Number(quantity) = kind else { return kind.to_string() };
        let unit = quantity.unit.as_ref().map(|unit| format!(", 1 is {}", unit.of(1.0))).unwrap_or_default();
        format!("{} by {}{unit}", quantity.range, quantity.resolution)
    }

    fn percent() -> Kind {
        Kind::quantity("%", 0.0, 100.0, 0.0)
    }

    fn celsius() -> Kind {
        Kind::quantity("°C", -273.0, 670_433.28, 0.01)
    }

    fn hundredths() -> Kind {
        Kind::Number(super::super::Quantity {
            unit: Some(super::super::Unit::scaled("°C", 0.01)),
            range: Range { min: 700.0, max: 3_000.0 },
            resolution: 1.0,
        })
    }

    fn rgb(max: f64) -> Kind {
        Kind::Structure(
            ["red", "green", "blue"].map(|name| (name.to_owned(), Kind::number(0.0, max, 1.0))).into(),
        )
    }

    #[test]
    fn numbers_keep_range_unit_and_resolution() {
        check("[]", percent(), Ok("0..100 by 0, 1 is 1 %"));
        check(r#"[{"step":"scale","from":[0,100],"to":[0,200]}]"#, percent(), Ok("0..200 by 0, 1 is 0.5 %"));
        check(r#"[{"step":"scale","from":[0,100],"to":[100,0]}]"#, percent(), Ok("0..100 by 0, 1 is 99 %"));
        check(
            r#"[{"step":"scale","from":[0,1],"to":[0,2]}]"#,
            Kind::number(0.0, 10.0, 0.5),
            Ok("0..20 by 1"),
        );
        check(
            r#"[{"step":"scale","from":[0,2],"to":[1,3]}]"#,
            Kind::number(0.0, 10.0, 1.0),
            Ok("1..11 by 1"),
        );
        check(
            r#"[{"step":"scale","from":[0,2],"to":[0.5,2.5]}]"#,
            Kind::number(0.0, 10.0, 1.0),
            Ok("0.5..10.5 by 0"),
        );
        check(r#"[{"step":"round","to":1}]"#, Kind::number(0.2, 9.7, 0.0), Ok("0..10 by 1"));
        check(r#"[{"step":"round","to":1}]"#, Kind::number(0.0, 10.0, 5.0), Ok("0..10 by 5"));
        check(r#"[{"step":"clamp","min":7,"max":30}]"#, celsius(), Ok("7..30 by 0.01, 1 is 1 °C"));
        check(r#"[{"step":"clamp","min":7.001,"max":30}]"#, celsius(), Ok("7.001..30 by 0, 1 is 1 °C"));
        check(r#"[{"step":"ignore","values":[0]}]"#, Kind::number(0.0, 255.0, 1.0), Ok("1..255 by 1"));
        check(r#"[{"step":"if-null","value":300}]"#, Kind::number(0.0, 255.0, 1.0), Ok("0..300 by 1"));
        check(r#"[{"step":"above","limit":0}]"#, percent(), Ok("a truth value"));
        check(r#"[{"step":"scale","from":[0,1],"to":[0,1]}]"#, Kind::Any, Ok("-inf..inf by 0"));
    }

    #[test]
    fn units_go_through_reciprocals_and_logarithms() {
        let mireds = r#"[{"step":"reciprocal","numerator":1000000}]"#;
        check(mireds, Kind::quantity("K", 2_000.0, 5_000.0, 1.0), Ok("200..500 by 0, 1 is 1 mired"));
        check(mireds, Kind::quantity("K", 0.0, 5_000.0, 1.0), Ok("200..1000000 by 0, 1 is 1 mired"));
        check(mireds, Kind::quantity("mired", 200.0, 500.0, 1.0), Ok("2000..5000 by 0, 1 is 1 K"));
        check(mireds, Kind::quantity("K", 0.0, 5_000.0, 0.0), Ok("200..inf by 0, 1 is 1 mired"));
        check(mireds, Kind::quantity("lx", 1.0, 10.0, 0.0), Ok("100000..1000000 by 0"));
        let log = r#"{"step":"log10","factor":100,"offset":0,"smallest":1,"below":-1}"#;
        check(
            &format!("[{log}]"),
            Kind::quantity("lx", 0.0, 1_000.0, 0.0),
            Ok("-1..300 by 0, 1 is 0.01 log10 of lx"),
        );
        let power = r#"{"step":"power10","factor":100,"offset":0}"#;
        check(
            &format!("[{log},{power}]"),
            Kind::quantity("lx", 1.0, 1_000.0, 0.0),
            Ok("1..1000 by 0, 1 is 1 lx"),
        );
    }

    #[test]
    fn tables_and_bits_give_codes() {
        check(
            r#"[{"step":"table","pairs":[[0,4],[1,3]],"otherwise":0}]"#,
            Kind::codes([0.0, 1.0, 2.0]),
            Ok("one of 0 3 4"),
        );
        check(r#"[{"step":"table","pairs":[[0,"a"],[1,1]]}]"#, Kind::Any, Ok("any value"));
        check(r#"[{"step":"table","pairs":[[0,null],[1,1]]}]"#, Kind::Any, Ok("one of 1"));
        check(
            r#"[{"step":"table","pairs":[[7,1]]}]"#,
            Kind::codes([0.0, 1.0]),
            Err("step 1: `7` is never met: one of 0 1 comes here"),
        );
        check(
            r#"[{"step":"table","pairs":[[true,1]]}]"#,
            percent(),
            Err("step 1: `true` is never met: a number 0..100 in % comes here"),
        );
        check(
            r#"[{"step":"ignore","values":[101]}]"#,
            percent(),
            Err("step 1: `101` is never met: a number 0..100 in % comes here"),
        );
        check(r#"[{"step":"bands","rows":[[0,1],[50,2]]}]"#, percent(), Ok("one of 1 2"));
        check(
            r#"[{"step":"scale","from":[0,1],"to":[0,2]},{"step":"round","to":4}]"#,
            Kind::codes([1.0, 3.0]),
            Ok("one of 0 8"),
        );
        check(
            r#"[{"step":"bit","number":3},{"step":"test-bit","number":3}]"#,
            Kind::Bool,
            Ok("a truth value"),
        );
        check(
            r#"[{"step":"bit","number":3},{"step":"test-bit","number":2}]"#,
            Kind::Bool,
            Err("step 2: `bit 2` is never met: a bitmap comes here"),
        );
        check(
            r#"[{"step":"test-bit","number":2}]"#,
            percent(),
            Err("step 1: values that are not rounded to multiples of 1"),
        );
    }

    #[test]
    fn structures_keep_their_fields() {
        check(r#"[{"step":"field","name":"green"}]"#, rgb(255.0), Ok("0..255 by 1"));
        check(
            r#"[{"step":"field","name":"white"}]"#,
            rgb(255.0),
            Err("step 1: the structure has no field `white`"),
        );
        check(
            r#"[{"step":"field","name":"white"}]"#,
            percent(),
            Err("step 1: a number 0..100 in % where a structure is asked for"),
        );
        check(
            r#"[{"step":"wrap","name":"a"},{"step":"set","fields":{"b":1}}]"#,
            percent(),
            Ok("a structure of `a` `b`"),
        );
        check(r#"[{"step":"rgb-to-hsv"}]"#, rgb(1.0), Ok("a structure of `hue` `saturation` `value`"));
        check(
            r#"[{"step":"rgb-to-hsv"}]"#,
            rgb(255.0),
            Err("step 1: field `red`: values 0..255 where only 0..1 can stand"),
        );
        let scaled = r#"{"step":"scale-fields","of":["red","green","blue"],"from":[0,255],"to":[0,1]}"#;
        check(
            &format!(r#"[{scaled},{{"step":"rgb-to-xyy"}},{{"step":"field","name":"Y"}}]"#),
            rgb(255.0),
            Ok("0..1 by 0"),
        );
        check(
            r#"[{"step":"within","name":"red","steps":[{"step":"same"},{"step":"not"}]}]"#,
            rgb(1.0),
            Err("step 1.2: a number 0..1 where a truth value is asked for"),
        );
        check(
            r#"[{"step":"kelvin-to-xy"},{"step":"xy-to-kelvin"}]"#,
            Kind::quantity("K", 2e3, 5e3, 1.0),
            Ok("1667..25000 by 0, 1 is 1 K"),
        );
        check(r#"[{"step":"kelvin-to-xy"}]"#, percent(), Err("step 1: a value in % where K is asked for"));
    }

    #[test]
    fn attributes_and_sums() {
        check(r#"[{"step":"attribute","of":"LevelControl.CurrentLevel"}]"#, Kind::Any, Ok("1..254 by 1"));
        check(
            r#"[{"step":"attribute","of":"LevelControl.Level"}]"#,
            Kind::Any,
            Err("step 1: the endpoint has no attribute `LevelControl.Level`"),
        );
        let shift = |scale: &str| {
            format!(
                r#"[{{"step":"wrap","name":"by"}},{{"step":"gather","fields":{{"by":{{"field":"by"}},"now":{{"attribute":"Thermostat.OccupiedHeatingSetpoint"}}}}}},{{"step":"within","name":"by","steps":[{scale}]}},{{"step":"sum","of":["now","by"]}}]"#
            )
        };
        let kelvin = || Kind::quantity("K", -5.0, 5.0, 0.01);
        check(
            &shift(r#"{"step":"scale","from":[0,1],"to":[0,100]}"#),
            kelvin(),
            Ok("200..3500 by 1, 1 is 0.01 °C"),
        );
        check(&shift(""), kelvin(), Err("step 4: 0.01 °C and 1 K cannot be added or subtracted"));
        check(
            &shift(r#"{"step":"scale","from":[0,1],"to":[0,100]}"#),
            percent(),
            Err("step 4: 0.01 °C and 0.01 % cannot be added or subtracted"),
        );
    }

    #[test]
    fn parameters_that_make_no_sense_are_refused() {
        check(
            r#"[{"step":"scale","from":[1,1],"to":[0,1]}]"#,
            Kind::Any,
            Err("step 1: the two numbers of `from` must differ"),
        );
        check(r#"[{"step":"same"},{"step":"round","to":0}]"#, Kind::Any, Err("step 2: `to` must be above 0"));
        check(
            r#"[{"step":"clamp","min":2,"max":1}]"#,
            Kind::Any,
            Err("step 1: `min` must not be above `max`"),
        );
        check(
            r#"[{"step":"clamp","min":200,"max":300}]"#,
            percent(),
            Err("step 1: all of 0..100 is cut off by 200..300"),
        );
        check(
            r#"[{"step":"reciprocal","numerator":0}]"#,
            Kind::Any,
            Err("step 1: `numerator` must not be 0"),
        );
        check(
            r#"[{"step":"log10","factor":1,"offset":0,"smallest":0}]"#,
            Kind::Any,
            Err("step 1: `smallest` must be above 0"),
        );
        check(
            r#"[{"step":"bands","rows":[[1,0],[1,2]]}]"#,
            Kind::Any,
            Err("step 1: each row of `rows` must begin above the row before"),
        );
        check(r#"[{"step":"bit","number":32}]"#, Kind::Bool, Err("step 1: bits are numbered 0 to 31"));
        check(r#"[{"step":"table","pairs":[]}]"#, Kind::Any, Err("step 1: `pairs` must not be empty"));
        check(r#"[{"step":"constant","value":[1]}]"#, Kind::Any, Err("step 1: `value` must not hold a list"));
        check(r#"[{"step":"constant","value":null}]"#, Kind::Any, Err("step 1: `value` must not be null"));
        check(r#"[{"step":"sum","of":["a","a"]}]"#, Kind::Any, Err("step 1: `a` stands twice in `of`"));
        check(
            r#"[{"step":"attribute","of":"Level"}]"#,
            Kind::Any,
            Err("step 1: an attribute is written `Cluster.Attribute`, not `Level`"),
        );
        check(
            &format!("[{}]", vec![r#"{"step":"same"}"#; 65].join(",")),
            Kind::Any,
            Err("step 65: a conversion has at most 64 steps"),
        );
        let deep = (0..5)
            .fold("[]".to_owned(), |inner, _| format!(r#"[{{"step":"within","name":"a","steps":{inner}}}]"#));
        check(&deep, Kind::Any, Err("step 1.1.1.1.1: at most 4 chains stand within each other"));
    }
}
