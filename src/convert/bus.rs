//! The bus end of a chain: what a datapoint type's values look like in a conversion.
//!
//! 1-bit types are truth values; numbers are in the type's unit; enums and scene numbers are raw numbers; everything else
//! is a structure with the datapoint-type table's field names, each field in its own unit. A field that a telegram marks
//! as holding nothing is null, and a null field is marked so in a telegram.
#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "what is no truth value and no text is a number or has fields"
)]

use super::kind::{Kind, Quantity, Range};
use super::unit::Unit;
use super::value::{Fields, Value};
use crate::knx::dpt::{self, Shape};
use crate::knx::{self, Dpt, EncodeError, Field};

/// What a decoded value of the type is in a conversion.
#[must_use]
pub fn value_from_bus(dpt: &Dpt, value: &knx::Value) -> Value {
    if let Some(simple) = simple(value) {
        return simple;
    }
    let given = value.fields().unwrap_or_default();
    let mut fields: Fields = dpt.value_fields().map(|field| (field.name, Value::Null)).collect();
    for (name, value) in given {
        fields.put(name, simple(&value).unwrap_or(Value::Null));
    }
    Value::Structure(fields)
}

fn simple(value: &knx::Value) -> Option<Value> {
    match value {
        knx::Value::Bool(truth) => Some(Value::Bool(*truth)),
        knx::Value::Text(text) => Some(Value::Text(text.to_string())),
        other => other.number().map(Value::Number),
    }
}

/// The value to encode for the result of a conversion; null (nothing is to be sent) gives none.
///
/// # Errors
/// [`EncodeError`] where the type has no such fields. Kinds and ranges are for the encoder to refuse.
pub fn value_to_bus(dpt: &Dpt, value: &Value) -> Result<Option<knx::Value>, EncodeError> {
    let value = match value {
        Value::Null => return Ok(None),
        Value::Structure(fields) => {
            let given = fields.iter().filter(|(_, value)| **value != Value::Null);
            let given = given.filter_map(|(name, value)| {
                let field = dpt.value_fields().find(|field| field.name == name);
                single(field, value).map(|value| (name, value))
            });
            knx::Value::from_fields(dpt, given)?
        }
        Value::Bool(_) | Value::Number(_) | Value::Text(_) => {
            let Some(value) = single(dpt.value_field(), value) else { return Ok(None) };
            value
        }
    };
    Ok(Some(value))
}

/// A value of one field, or of a type that is one.
fn single(field: Option<&Field>, value: &Value) -> Option<knx::Value> {
    match value {
        Value::Null | Value::Structure(_) => None,
        Value::Bool(truth) => Some(knx::Value::Bool(*truth)),
        Value::Text(text) => Some(knx::Value::Text(text.as_str().into())),
        Value::Number(number) => {
            let named = field.is_some_and(|field| field.kind == dpt::Kind::Enum);
            let raw = super::number::whole(*number).and_then(|raw| u32::try_from(raw).ok());
            Some(raw.filter(|_| named).map_or(knx::Value::Decimal(*number), knx::Value::Enum))
        }
    }
}

/// What kind of values the type has, as what goes into a chain.
///
/// As what comes out of one, ask for [`Kind::unrounded`]: the encoder takes the nearest value by itself.
#[must_use]
pub fn kind_of(dpt: &Dpt) -> Kind {
    match (dpt.shape, dpt.value_field()) {
        (Shape::Text, _) => Kind::Text,
        (_, Some(field)) => field_kind(field),
        (_, None) => Kind::Structure(
            dpt.value_fields().map(|field| (field.name.to_owned(), field_kind(field))).collect(),
        ),
    }
}

fn field_kind(field: &Field) -> Kind {
    match field.kind {
        dpt::Kind::Bool | dpt::Kind::Valid | dpt::Kind::Invalid | dpt::Kind::Reserved => Kind::Bool,
        dpt::Kind::Text(_) => Kind::Text,
        dpt::Kind::Enum => Kind::codes(field.members.iter().map(|member| f64::from(member.raw))),
        dpt::Kind::Unsigned | dpt::Kind::Signed | dpt::Kind::YearOfCentury | dpt::Kind::Float16 => {
            measured(field, field.scale.step())
        }
        dpt::Kind::Float32 => measured(field, 0.0),
    }
}

fn measured(field: &Field, resolution: f64) -> Kind {
    Kind::Number(Quantity {
        unit: (!field.unit.is_empty()).then(|| Unit::plain(field.unit)),
        range: Range { min: field.range.min, max: field.range.max },
        resolution,
    })
}
