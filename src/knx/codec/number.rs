//! Numbers that fill a payload: the fast half of the codec. Nothing here needs the heap.

use super::super::dpt::{Dpt, Field, Format, Kind};
use super::super::payload::Payload;
use super::super::value::{Value, ValueKind};
use super::error::{DecodeError, EncodeError};

/// The number of a payload, in the type's unit; the raw value of an enum.
///
/// As [`super::decode`], for types whose value is a number.
///
/// # Errors
/// Those of [`super::decode`]. A type without a number (a truth value, a text, a structure) gives
/// [`DecodeError::Length`] for any payload.
#[inline]
pub fn decode_number(dpt: &Dpt, payload: &Payload) -> Result<f64, DecodeError> {
    if let (Format::Float16, [field], Some(bytes)) = (dpt.format, dpt.fields, payload.exactly()) {
        return float16(dpt, field, u16::from_be_bytes(bytes));
    }
    match super::decode(dpt, payload) {
        Ok(value) => value.number().ok_or_else(|| DecodeError::length(dpt, payload)),
        Err(error) => Err(error),
    }
}

/// The payload of a number in the type's unit.
///
/// # Errors
/// Those of [`super::encode`].
#[inline]
pub fn encode_number(dpt: &Dpt, value: f64) -> Result<Payload, EncodeError> {
    super::encode(dpt, &Value::Decimal(value))
}

#[inline]
pub(super) fn decode(dpt: &Dpt, payload: &Payload) -> Result<Value, DecodeError> {
    let [field] = dpt.fields else { return Err(DecodeError::length(dpt, payload)) };
    let raw = match dpt.format {
        Format::Float16 => {
            return match payload.exactly() {
                Some(bytes) => float16(dpt, field, u16::from_be_bytes(bytes)).map(Value::Decimal),
                None => Err(DecodeError::length(dpt, payload)),
            };
        }
        Format::Float32 => {
            return match payload.exactly() {
                Some(bytes) => float32(dpt, field, f32::from_be_bytes(bytes)).map(Value::Decimal),
                None => Err(DecodeError::length(dpt, payload)),
            };
        }
        Format::U8 => payload.exactly().map(|bytes| i64::from(u8::from_be_bytes(bytes))),
        Format::I8 => payload.exactly().map(|bytes| i64::from(i8::from_be_bytes(bytes))),
        Format::U16 => payload.exactly().map(|bytes| i64::from(u16::from_be_bytes(bytes))),
        Format::I16 => payload.exactly().map(|bytes| i64::from(i16::from_be_bytes(bytes))),
        Format::U32 => payload.exactly().map(|bytes| i64::from(u32::from_be_bytes(bytes))),
        Format::I32 => payload.exactly().map(|bytes| i64::from(i32::from_be_bytes(bytes))),
        Format::I64 => payload.exactly().map(i64::from_be_bytes),
        Format::Bit | Format::Fields => None,
    };
    match raw {
        Some(raw) => whole(dpt, field, raw),
        None => Err(DecodeError::length(dpt, payload)),
    }
}

/// The value of a whole raw number.
#[inline]
pub(super) fn whole(dpt: &Dpt, field: &'static Field, raw: i64) -> Result<Value, DecodeError> {
    if raw < field.raw_min || raw > field.raw_max {
        return Err(no_value(dpt, field, raw));
    }
    if field.scale.is_identity() { Ok(Value::Integer(raw)) } else { Ok(scaled(field, raw)) }
}

#[inline]
fn scaled(field: &Field, raw: i64) -> Value {
    let offset = field.scale.offset;
    if field.scale.denominator == 1 {
        // Fields with a scale have 32 bits at most, so that this cannot overflow.
        return Value::Integer(raw.saturating_mul(i64::from(field.scale.numerator)) + i64::from(offset));
    }
    #[allow(clippy::cast_precision_loss, reason = "fields with a scale have 32 bits at most")]
    let product = raw as f64 * f64::from(field.scale.numerator);
    Value::Decimal(product / f64::from(field.scale.denominator) + f64::from(offset))
}

/// Why a raw number is no value: it is a special one, or out of range.
#[cold]
fn no_value(dpt: &Dpt, field: &'static Field, raw: i64) -> DecodeError {
    match field.special.iter().find(|special| i64::from(special.raw) == raw) {
        Some(special) => DecodeError::Special { dpt: dpt.id, field, raw: special.raw },
        None => {
            let value = scaled(field, raw).number().unwrap_or(f64::NAN);
            DecodeError::OutOfRange { dpt: dpt.id, field, value }
        }
    }
}

/// The value of a 16-bit float: `0.01 * M * 2^E` with `M` of 12 bits in two's complement, its sign in the highest bit.
#[inline]
pub(super) fn float16(dpt: &Dpt, field: &'static Field, raw: u16) -> Result<f64, DecodeError> {
    let sign = i32::from(raw >> 15) << 11;
    let mantissa = i32::from(raw & 0x7ff) - sign;
    let exponent = (raw >> 11) & 0xf;
    let value = f64::from(mantissa << exponent) / 100.0;
    if value < field.range.min || value > field.range.max {
        return Err(no_float16(dpt, field, raw, value));
    }
    Ok(value)
}

#[cold]
fn no_float16(dpt: &Dpt, field: &'static Field, raw: u16, value: f64) -> DecodeError {
    match field.special.iter().find(|special| special.raw == u32::from(raw)) {
        Some(special) => DecodeError::Special { dpt: dpt.id, field, raw: special.raw },
        None => DecodeError::OutOfRange { dpt: dpt.id, field, value },
    }
}

#[inline]
pub(super) fn float32(dpt: &Dpt, field: &'static Field, value: f32) -> Result<f64, DecodeError> {
    let value = f64::from(value);
    if !value.is_finite() {
        return Err(DecodeError::NotFinite { dpt: dpt.id, field });
    }
    if value < field.range.min || value > field.range.max {
        return Err(DecodeError::OutOfRange { dpt: dpt.id, field, value });
    }
    Ok(value)
}

#[inline]
pub(super) fn encode(dpt: &Dpt, value: f64) -> Result<Payload, EncodeError> {
    let [field] = dpt.fields else { return Err(EncodeError::wrong_kind(dpt, None, ValueKind::Number)) };
    let raw = raw(dpt, field, value)?;
    Ok(filled(dpt.format, raw))
}

#[inline]
pub(super) fn encode_whole(dpt: &Dpt, value: i64) -> Result<Payload, EncodeError> {
    let [field] = dpt.fields else { return Err(EncodeError::wrong_kind(dpt, None, ValueKind::Number)) };
    let raw = raw_whole(dpt, field, value)?;
    Ok(filled(dpt.format, raw))
}

/// The payload of a raw number that fits the format, as [`raw`] makes them.
#[inline]
fn filled(format: Format, raw: i64) -> Payload {
    let bytes @ [.., e, f, g, h] = raw.to_be_bytes();
    match format {
        Format::U8 | Format::I8 => Payload::short([h]),
        Format::U16 | Format::I16 | Format::Float16 => Payload::short([g, h]),
        Format::I64 => Payload::short(bytes),
        Format::U32 | Format::I32 | Format::Float32 | Format::Bit | Format::Fields => {
            Payload::short([e, f, g, h])
        }
    }
}

/// The raw number of a whole number in the unit: exact where the field has no scale.
#[inline]
pub(super) fn raw_whole(dpt: &Dpt, field: &'static Field, value: i64) -> Result<i64, EncodeError> {
    let exact = field.scale.is_identity() && matches!(field.kind, Kind::Unsigned | Kind::Signed);
    #[allow(
        clippy::cast_precision_loss,
        reason = "a number above 2^53 is far out of range of all that has a scale"
    )]
    let number = value as f64;
    if !exact {
        return raw(dpt, field, number);
    }
    if value < field.raw_min || value > field.raw_max {
        return Err(EncodeError::OutOfRange { dpt: dpt.id, field, value: number });
    }
    Ok(value)
}

/// The raw number nearest to a value in the unit; a tie goes to the even one.
#[inline]
pub(super) fn raw(dpt: &Dpt, field: &'static Field, value: f64) -> Result<i64, EncodeError> {
    // Written so that NaN is refused as well.
    if !(value >= field.range.min && value <= field.range.max) {
        return Err(refused(dpt, field, value));
    }
    match field.kind {
        Kind::Float16 => Ok(i64::from(raw_float16(value))),
        Kind::Float32 => {
            #[allow(
                clippy::cast_possible_truncation,
                reason = "the nearest single is wanted; the range is checked"
            )]
            let single = value as f32;
            Ok(i64::from(single.to_bits()))
        }
        Kind::Unsigned | Kind::Signed => nearest(dpt, field, value),
        Kind::Bool
        | Kind::Enum
        | Kind::Text(_)
        | Kind::YearOfCentury
        | Kind::Valid
        | Kind::Invalid
        | Kind::Reserved => Err(EncodeError::wrong_kind(dpt, Some(field), ValueKind::Number)),
    }
}

#[cold]
fn refused(dpt: &Dpt, field: &'static Field, value: f64) -> EncodeError {
    if value.is_finite() {
        EncodeError::OutOfRange { dpt: dpt.id, field, value }
    } else {
        EncodeError::NotFinite { dpt: dpt.id, field, value }
    }
}

/// First double above all 64-bit whole numbers.
const ABOVE_I64: f64 = 9_223_372_036_854_775_808.0;

#[inline]
fn nearest(dpt: &Dpt, field: &'static Field, value: f64) -> Result<i64, EncodeError> {
    let scale = field.scale;
    let steps = (value - f64::from(scale.offset)) * f64::from(scale.denominator) / f64::from(scale.numerator);
    let raw = if field.bits > 32 {
        let rounded = steps.round_ties_even();
        if rounded >= ABOVE_I64 {
            return Err(EncodeError::OutOfRange { dpt: dpt.id, field, value });
        }
        #[allow(
            clippy::cast_possible_truncation,
            reason = "a whole number below 2^63; the lines above say so"
        )]
        let raw = rounded as i64;
        raw
    } else {
        nearest_whole(steps)
    };
    // The range's ends need not be whole steps: the nearest step inside them is taken.
    Ok(raw.clamp(field.raw_min, field.raw_max))
}

/// The whole number nearest to a number below 2^50, ties to even.
///
/// Added to this constant, a number loses its fraction to the adder's own rounding, and what is left are the low bits:
/// several times faster than `round_ties_even` where the processor's rounding instruction cannot be counted on.
#[inline]
fn nearest_whole(number: f64) -> i64 {
    const SHIFT: f64 = 6_755_399_441_055_744.0; // 1.5 * 2^52
    (number + SHIFT).to_bits().cast_signed() - SHIFT.to_bits().cast_signed()
}

/// The 16-bit float nearest to a value in range, with the smallest exponent that the mantissa fits.
#[inline]
fn raw_float16(value: f64) -> u16 {
    /// Of 2^10 in a double: its mantissa is the first that has 11 bits.
    const EXPONENT: u64 = 1023 + 10;
    let hundredths = value * 100.0;
    let exponent = ((hundredths.to_bits() >> 52) & 0x7ff).saturating_sub(EXPONENT);
    // The mantissa has 11 bits: below 2048, and from 1024 on unless the exponent is 0.
    let mantissa = hundredths * f64::from_bits((1023 - exponent) << 52);
    let (mantissa, exponent) = match nearest_whole(mantissa) {
        2048 => (1024, exponent + 1),
        // -2048 is a mantissa, 2048 is not.
        -1024 if exponent > 0 && mantissa >= -1024.0 => (-2048, exponent - 1),
        whole => (whole, exponent),
    };
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the mantissa is within 12 bits, the exponent below 16, and the sign is wanted as a bit"
    )]
    let raw = ((mantissa as u16) & 0x87ff) | ((exponent as u16) << 11);
    raw
}

#[cfg(test)]
mod tests {
    use super::super::super::dpt;
    use super::*;

    fn check(value: f64, expected: &str) {
        let temperature = dpt::lookup("9.002").unwrap();
        assert_eq!(encode(temperature, value).unwrap().to_string(), expected, "{value}");
    }

    /// Values whose bytes were computed with exact fractions.
    #[test]
    fn encodes_16_bit_floats() {
        for (value, expected) in [
            (0.0, "0000"),
            (-0.0, "0000"),
            (-0.004, "0000"),
            (0.01, "0001"),
            (-0.01, "87ff"),
            (20.47, "07ff"),
            (20.48, "0c00"),
            (-20.48, "8000"),
            (-20.49, "8c00"),
            (-20.5, "8bff"),
            (21.5, "0c33"),
            (100.0, "1ce2"),
            (-30.0, "8a24"),
            (670_433.28, "7ffe"),
            (-671_088.64, "f800"),
        ] {
            check(value, expected);
        }
    }

    /// Between the largest mantissa and the next exponent's first, the nearer one is taken.
    #[test]
    fn takes_the_nearest_across_exponents() {
        check(20.473, "07ff");
        check(20.476, "0c00");
        check(40.945, "0fff");
        check(40.956, "1400");
    }

    /// Every raw number comes back as a raw number of the same value.
    #[test]
    fn all_16_bit_floats_come_back() {
        let temperature = dpt::lookup("9.002").unwrap();
        for raw in 0..=u16::MAX {
            let Ok(value) = decode(temperature, &Payload::bytes(&raw.to_be_bytes())) else {
                assert_eq!(raw, 0x7fff);
                continue;
            };
            let again = super::super::encode(temperature, &value).unwrap();
            assert_eq!(decode(temperature, &again), Ok(value), "{raw:04x}");
        }
    }
}
