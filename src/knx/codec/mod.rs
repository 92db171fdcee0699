//! The one encoder and decoder of payloads, driven by the table of datapoint types.
//!
//! In: a datapoint type and a payload, or a value. Out: the value, or the payload, or a typed error that says what is
//! allowed. A number is encoded as the nearest one that the type has; a tie goes to the even raw number, as IEEE 754
//! has it (the standard fixes no rounding). Nothing is cut off, nothing wraps. Reserved bits are written as 0 and must
//! be read as 0. Numbers, truth values, enums and steps need no heap.
//!
//! What single types have of their own is in the table, not here.

mod calendar;
mod error;
mod fields;
mod number;
mod text;

pub use calendar::days_of_month;
pub use error::{DecodeError, EncodeError};
pub(super) use fields::shaped;
pub use number::{decode_number, encode_number};

use super::dpt::{Dpt, Format, Size};
use super::payload::Payload;
use super::value::{Value, ValueKind};

/// The value of a payload, in the type's unit.
///
/// # Errors
/// [`DecodeError`] if the payload has another length or form than the type, a reserved bit is set, a number is out of
/// the type's range or a raw value has no meaning, a special value says that there is none (`7fff` of main type 9), a
/// text has characters outside its code set, or a date or time does not exist.
#[inline]
pub fn decode(dpt: &Dpt, payload: &Payload) -> Result<Value, DecodeError> {
    match dpt.format {
        Format::Fields => fields::decode(dpt, payload),
        Format::Bit => decode_bit(dpt, payload),
        Format::U8
        | Format::U16
        | Format::U32
        | Format::I8
        | Format::I16
        | Format::I32
        | Format::I64
        | Format::Float16
        | Format::Float32 => number::decode(dpt, payload),
    }
}

/// The payload of a value given in the type's unit.
///
/// # Errors
/// [`EncodeError`] if the value is of another kind than the type's, a number is out of the type's range or no number
/// (NaN, infinite), an enum's raw value has no meaning, a field is missing or unknown, a text is too long or has
/// characters outside its code set, or a date or time does not exist.
#[inline]
pub fn encode(dpt: &Dpt, value: &Value) -> Result<Payload, EncodeError> {
    match (dpt.format, value) {
        (Format::Fields, _) => fields::encode(dpt, value),
        (Format::Bit, Value::Bool(on)) => small(dpt, u8::from(*on)),
        (Format::Bit, _) => Err(EncodeError::wrong_kind(dpt, None, value.kind())),
        (_, Value::Decimal(value)) => number::encode(dpt, *value),
        (_, Value::Integer(value)) => number::encode_whole(dpt, *value),
        _ => Err(EncodeError::wrong_kind(dpt, None, value.kind())),
    }
}

fn decode_bit(dpt: &Dpt, payload: &Payload) -> Result<Value, DecodeError> {
    match (payload.is_small(), payload.as_bytes()) {
        (true, [0]) => Ok(Value::Bool(false)),
        (true, [1]) => Ok(Value::Bool(true)),
        (true, _) => Err(DecodeError::Reserved { dpt: dpt.id }),
        (false, _) => Err(DecodeError::length(dpt, payload)),
    }
}

fn small(dpt: &Dpt, bits: u8) -> Result<Payload, EncodeError> {
    Payload::small(bits).ok_or_else(|| EncodeError::wrong_kind(dpt, None, ValueKind::Number))
}

/// Whether a payload's form and length are those of the type.
fn fits(size: Size, payload: &Payload) -> bool {
    match size {
        Size::Bits(_) => payload.is_small(),
        Size::Bytes(bytes) => !payload.is_small() && payload.as_bytes().len() == usize::from(bytes),
        Size::Variable => !payload.is_small(),
    }
}
