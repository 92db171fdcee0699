//! The two sides of a conversion: a datapoint type and an attribute.

use super::super::Value;
use super::super::number::whole;
use super::Person;

/// The bus's side: a datapoint type as the proof sees it.
pub trait BusSide: Sync {
    /// Name, such as `5.001`.
    fn name(&self) -> String;
    /// Length in bits, 1 to 64; the raw values are all numbers of so many bits.
    fn bits(&self) -> u32;
    /// Unit of the value, or of the structure's field of this name; empty where it has none.
    fn unit(&self, field: Option<&str>) -> String;
    /// The value that a raw number stands for; none where it stands for nothing (reserved bits, "no data").
    fn decode(&self, raw: u64) -> Option<Value>;
    /// The raw number for a value, the nearest one.
    ///
    /// # Errors
    /// Why there is none, in a short sentence.
    fn encode(&self, value: &Value) -> Result<u64, String>;
}

/// The controller's side: an attribute.
#[derive(Clone, Debug, PartialEq)]
pub struct AttributeSide {
    /// Name, `Cluster.Attribute`.
    pub name: String,
    /// The values it can have. The code for null is none of them.
    pub values: AttributeValues,
    /// What a person sees of it.
    pub person: Person,
}

/// The values that an attribute can have.
#[derive(Clone, Debug, PartialEq)]
pub enum AttributeValues {
    /// False and true.
    Bool,
    /// Whole numbers from the first to the last.
    Whole {
        /// Smallest.
        min: i64,
        /// Largest.
        max: i64,
    },
    /// Some whole numbers: an enum's, or those of a bitmap that make sense. Ascending, each once.
    Codes(Vec<i64>),
    /// IEEE 754 singles from the first to the last.
    Single {
        /// Smallest.
        min: f32,
        /// Largest.
        max: f32,
    },
    /// A structure of which one field counts.
    Field {
        /// Name of the field.
        name: String,
        /// The values that it can have.
        values: Box<AttributeValues>,
    },
}

impl AttributeValues {
    /// The highest of them.
    #[must_use]
    pub fn highest(&self) -> Value {
        self.at(self.count().saturating_sub(1))
    }

    /// How many there are.
    pub(super) fn count(&self) -> u64 {
        match self {
            AttributeValues::Bool => 2,
            AttributeValues::Whole { min, max } => max.abs_diff(*min).saturating_add(1),
            AttributeValues::Codes(codes) => codes.len() as u64,
            AttributeValues::Single { min, max } => order(*max).abs_diff(order(*min)).saturating_add(1),
            AttributeValues::Field { values, .. } => values.count(),
        }
    }

    /// The value with an index, in ascending order.
    pub(super) fn at(&self, index: u64) -> Value {
        match self {
            AttributeValues::Bool => Value::Bool(index > 0),
            #[allow(
                clippy::cast_precision_loss,
                reason = "a chain counts in doubles, as any interpreter of it does"
            )]
            AttributeValues::Whole { min, .. } => Value::Number(min.saturating_add_unsigned(index) as f64),
            AttributeValues::Codes(codes) => {
                let code = usize::try_from(index).ok().and_then(|index| codes.get(index));
                code.map_or(Value::Null, |code| number(*code))
            }
            AttributeValues::Single { min, .. } => {
                Value::Number(f64::from(single(order(*min).saturating_add_unsigned(index))))
            }
            AttributeValues::Field { name, values } => {
                Value::Structure([(name.clone(), values.at(index))].into_iter().collect())
            }
        }
    }

    /// The index of a value; none if the attribute cannot have it.
    pub(super) fn index(&self, value: &Value) -> Option<u64> {
        match (self, value) {
            (AttributeValues::Bool, Value::Bool(truth)) => Some(u64::from(*truth)),
            (AttributeValues::Whole { min, max }, Value::Number(number)) => integer(*number)
                .filter(|number| (min..=max).contains(&number))
                .map(|number| number.abs_diff(*min)),
            (AttributeValues::Codes(codes), Value::Number(number)) => {
                let number = whole(*number)?;
                codes.binary_search(&number).ok().map(|index| index as u64)
            }
            #[allow(
                clippy::cast_possible_truncation,
                reason = "an attribute of this type holds the nearest single"
            )]
            (AttributeValues::Single { min, max }, Value::Number(number)) => {
                let number = *number as f32;
                (*min..=*max).contains(&number).then(|| order(number).abs_diff(order(*min)))
            }
            (AttributeValues::Field { name, values }, Value::Structure(fields)) => {
                values.index(fields.get(name)?)
            }
            _ => None,
        }
    }
}

#[allow(clippy::cast_precision_loss, reason = "enum members and bitmaps have 32 bits at most")]
fn number(code: i64) -> Value {
    Value::Number(code as f64)
}

/// A number that is whole, in the range of 64-bit attributes: above 2^53 every double is, though not every integer is one.
#[allow(clippy::cast_possible_truncation, reason = "whole and within 2^62, looked at first")]
fn integer(value: f64) -> Option<i64> {
    const MOST: f64 = 4_611_686_018_427_387_904.0;
    (value.abs() <= MOST && value.fract().abs() <= 0.0).then_some(value as i64)
}

/// Place of a single in the order of all of them.
fn order(single: f32) -> i64 {
    let bits = i64::from(single.abs().to_bits());
    if single < 0.0 { -bits } else { bits }
}

fn single(order: i64) -> f32 {
    let magnitude = f32::from_bits(u32::try_from(order.unsigned_abs()).unwrap_or(u32::MAX));
    if order < 0 { -magnitude } else { magnitude }
}
