//! How many values the steps of a conversion hold: what bounds the time of a run and of a proof.

use super::{Chain, Origin, Step};
use serde::{Deserialize, Deserializer, de};
use serde_json::Value as Json;

/// Values in the steps of a chain, together: what its tables, bands and lists hold, those of chains within it counted in. The
/// longest table that a datapoint type of 8 bits can need has 512; a proof looks through them for each of 65,536 raw values.
pub const VALUES_MAX: usize = 1_024;

/// More than [`VALUES_MAX`] values.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a conversion has at most {VALUES_MAX} values in its tables and lists")]
pub struct TooManyValues;

impl Step {
    /// How many values the step holds, those of the steps within it counted in.
    pub fn values(&self) -> usize {
        match self {
            Self::Table { pairs, otherwise } => {
                let pairs = pairs.iter().map(|(input, output)| values_in(input) + values_in(output));
                pairs.sum::<usize>() + otherwise.as_ref().map_or(0, values_in)
            }
            Self::Bands { rows } => rows.iter().map(|(_, output)| 1 + values_in(output)).sum(),
            Self::Ignore { values } => values.iter().map(values_in).sum(),
            Self::IfNull { value } | Self::Constant { value } => values_in(value),
            Self::Within { steps, .. } => steps.values(),
            Self::Gather { fields } => fields.values().map(values_of).sum(),
            Self::Set { fields } => fields.values().map(values_in).sum(),
            Self::Sum { of } | Self::ScaleFields { of, .. } => of.len(),
            Self::Same
            | Self::Not
            | Self::Scale { .. }
            | Self::Round { .. }
            | Self::Clamp { .. }
            | Self::Reciprocal { .. }
            | Self::Log10 { .. }
            | Self::Power10 { .. }
            | Self::Bit { .. }
            | Self::TestBit { .. }
            | Self::Above { .. }
            | Self::Field { .. }
            | Self::Wrap { .. }
            | Self::Attribute { .. }
            | Self::Difference { .. }
            | Self::RgbToHsv
            | Self::HsvToRgb
            | Self::RgbToXyy
            | Self::XyyToRgb
            | Self::KelvinToXy
            | Self::XyToKelvin
            | Self::RgbwToRgb
            | Self::RgbToRgbw => 0,
        }
    }
}

impl Chain {
    /// How many values its steps hold.
    pub fn values(&self) -> usize {
        self.steps.iter().map(Step::values).sum()
    }
}

/// A chain as it is written; one of more values than any has is refused, whoever wrote it.
impl<'de> Deserialize<'de> for Chain {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let chain = Self { steps: Vec::deserialize(deserializer)? };
        if chain.values() > VALUES_MAX { Err(de::Error::custom(TooManyValues)) } else { Ok(chain) }
    }
}

fn values_of(origin: &Origin) -> usize {
    match origin {
        Origin::Field(_) | Origin::Attribute(_) => 1,
        Origin::Constant(json) => values_in(json),
    }
}

/// The values in a piece of JSON: itself, and those of its fields and entries.
pub fn values_in(json: &Json) -> usize {
    match json {
        Json::Object(fields) => 1 + fields.values().map(values_in).sum::<usize>(),
        Json::Array(entries) => 1 + entries.iter().map(values_in).sum::<usize>(),
        Json::Null | Json::Bool(_) | Json::Number(_) | Json::String(_) => 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether steps are read, and how many values are in them.
    fn check(steps: &str, expected: Result<usize, &str>) {
        let chain = serde_json::from_str::<Chain>(steps).map_err(|error| error.to_string());
        let found = chain.map(|chain| chain.values());
        match expected {
            Ok(count) => assert_eq!(found, Ok(count), "{steps}"),
            Err(said) => assert!(found.is_err_and(|error| error.contains(said)), "{steps}"),
        }
    }

    fn numbers(count: usize) -> String {
        (0..count).map(|number| number.to_string()).collect::<Vec<_>>().join(",")
    }

    #[test]
    fn a_conversion_has_so_many_values_and_not_one_more() {
        let said = "a conversion has at most 1024 values in its tables and lists";
        let ignore = |count| format!(r#"{{"step":"ignore","values":[{}]}}"#, numbers(count));
        check("[]", Ok(0));
        check(&format!("[{}]", ignore(VALUES_MAX)), Ok(VALUES_MAX));
        check(&format!("[{}]", ignore(VALUES_MAX + 1)), Err(said));
        check(&format!("[{},{}]", ignore(600), ignore(600)), Err(said));
        check(&format!(r#"[{{"step":"within","name":"a","steps":[{}]}}]"#, ignore(1_025)), Err(said));
        check(r#"[{"step":"table","pairs":[[0,{"a":1,"b":2}],[1,null]],"otherwise":3}]"#, Ok(7));
        check(r#"[{"step":"bands","rows":[[0,1],[5,2]]}]"#, Ok(4));
        check(r#"[{"step":"gather","fields":{"a":{"field":"b"},"c":{"constant":1}}}]"#, Ok(2));
    }
}
