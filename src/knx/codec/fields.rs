//! Payloads field by field: enums, texts, structures, dates, times, steps.

use super::super::dpt::{Dpt, Field, Kind, Shape, Size};
use super::super::payload::Payload;
use super::super::value::{Date, Structure, Time, Value, ValueKind};
use super::calendar::{check_date, check_time};
use super::error::{DecodeError, EncodeError};
use super::{fits, number, text};

/// Most bytes of a payload of fields: all of them are read as one number.
const WIDEST: usize = 16;

pub(super) fn decode(dpt: &Dpt, payload: &Payload) -> Result<Value, DecodeError> {
    if !fits(dpt.size, payload) {
        return Err(DecodeError::length(dpt, payload));
    }
    if let Some(Field { kind: Kind::Text(code_set), .. }) = dpt.value_field() {
        return text::decode(dpt, *code_set, payload.as_bytes()).map(Value::Text);
    }
    let bits = wide(payload.as_bytes());
    let unused = match dpt.size {
        Size::Bits(width) => bits >> width,
        Size::Bytes(_) | Size::Variable => 0,
    };
    if unused != 0 || dpt.fields.iter().any(|field| field.kind == Kind::Reserved && cut(bits, field) != 0) {
        return Err(DecodeError::Reserved { dpt: dpt.id });
    }
    let value = match dpt.shape {
        Shape::Structure | Shape::DateTime => {
            let mut kept = Vec::with_capacity(dpt.fields.len());
            for field in dpt.value_fields().filter(|field| is_present(dpt, field, bits)) {
                if field.nothing().is_some_and(|raw| u64::from(raw) == cut(bits, field)) {
                    continue;
                }
                kept.push((field.name, decode_field(dpt, field, cut(bits, field))?));
            }
            Value::Structure(Structure(kept))
        }
        Shape::Step => step(read(dpt, "control", bits)?, read(dpt, "step", bits)?),
        Shape::Date => date(read(dpt, "year", bits)?, read(dpt, "month", bits)?, read(dpt, "day", bits)?),
        Shape::Time => time(
            read(dpt, "day", bits)?,
            read(dpt, "hour", bits)?,
            read(dpt, "minute", bits)?,
            read(dpt, "second", bits)?,
        ),
        Shape::Bool | Shape::Integer | Shape::Decimal | Shape::Enum | Shape::Text => {
            let field = dpt.value_field().ok_or_else(|| DecodeError::length(dpt, payload))?;
            decode_field(dpt, field, cut(bits, field))?
        }
    };
    check_calendar(&value).map_err(|cause| DecodeError::Calendar { dpt: dpt.id, cause })?;
    Ok(value)
}

/// The payload's bits as one number.
fn wide(bytes: &[u8]) -> u128 {
    bytes.iter().take(WIDEST).fold(0, |bits, byte| bits << 8 | u128::from(*byte))
}

/// The bits of one field.
fn cut(bits: u128, field: &Field) -> u64 {
    let mask = u64::MAX.checked_shr(u32::from(64_u16.saturating_sub(field.bits))).unwrap_or(0);
    #[allow(clippy::cast_possible_truncation, reason = "the mask leaves a field's bits, 64 at most")]
    let low = bits.checked_shr(u32::from(field.low)).unwrap_or(0) as u64;
    low & mask
}

/// Whether the field's validity bit, if it has one, says that it holds something.
fn is_present(dpt: &Dpt, field: &Field, bits: u128) -> bool {
    match field.flag.and_then(|at| dpt.fields.get(at)) {
        Some(flag) => (cut(bits, flag) == 1) == (flag.kind == Kind::Valid),
        None => true,
    }
}

/// A whole number out of a named field; 0 where the type has no such field.
fn read(dpt: &Dpt, name: &str, bits: u128) -> Result<i64, DecodeError> {
    let Some(field) = dpt.fields.iter().find(|field| field.name == name) else { return Ok(0) };
    Ok(as_whole(&decode_field(dpt, field, cut(bits, field))?))
}

fn as_whole(value: &Value) -> i64 {
    match value {
        Value::Bool(on) => i64::from(*on),
        Value::Integer(number) => *number,
        Value::Enum(raw) => i64::from(*raw),
        Value::Decimal(_)
        | Value::Step { .. }
        | Value::Date(_)
        | Value::Time(_)
        | Value::Text(_)
        | Value::Structure(_) => 0,
    }
}

fn step(control: i64, step: i64) -> Value {
    Value::Step { control: control != 0, step: byte(step) }
}

fn date(year: i64, month: i64, day: i64) -> Value {
    Value::Date(Date { year: u16::try_from(year).unwrap_or(0), month: byte(month), day: byte(day) })
}

fn time(day: i64, hour: i64, minute: i64, second: i64) -> Value {
    Value::Time(Time { day: byte(day), hour: byte(hour), minute: byte(minute), second: byte(second) })
}

/// A number that the field's range holds to a byte.
fn byte(number: i64) -> u8 {
    u8::try_from(number).unwrap_or(u8::MAX)
}

fn decode_field(dpt: &Dpt, field: &'static Field, raw: u64) -> Result<Value, DecodeError> {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_possible_wrap,
        reason = "the raw number has no more bits than the field; a sign is put back below"
    )]
    let (whole, single, half) = (raw as i64, raw as u32, raw as u16);
    match field.kind {
        Kind::Bool | Kind::Valid | Kind::Invalid | Kind::Reserved => Ok(Value::Bool(raw != 0)),
        Kind::Unsigned => number::whole(dpt, field, whole),
        Kind::Signed => {
            let unused = u32::from(64_u16.saturating_sub(field.bits));
            number::whole(dpt, field, whole.wrapping_shl(unused).wrapping_shr(unused))
        }
        Kind::Float16 => number::float16(dpt, field, half).map(Value::Decimal),
        Kind::Float32 => number::float32(dpt, field, f32::from_bits(single)).map(Value::Decimal),
        Kind::Enum => enumerated(dpt, field, single),
        Kind::YearOfCentury => match whole {
            0..=89 => Ok(Value::Integer(2000 + whole)),
            90..=99 => Ok(Value::Integer(1900 + whole)),
            raw => Err(DecodeError::YearOfCentury { dpt: dpt.id, field, raw }),
        },
        Kind::Text(_) => Err(DecodeError::Reserved { dpt: dpt.id }),
    }
}

fn enumerated(dpt: &Dpt, field: &'static Field, raw: u32) -> Result<Value, DecodeError> {
    if field.member(raw).is_some() {
        return Ok(Value::Enum(raw));
    }
    match field.special.iter().find(|special| special.raw == raw) {
        Some(special) => Err(DecodeError::Special { dpt: dpt.id, field, raw: special.raw }),
        None => Err(DecodeError::UnknownMember { dpt: dpt.id, field, raw }),
    }
}

/// Checks a date and a time of day against the calendar, as far as the value has them.
fn check_calendar(value: &Value) -> Result<(), super::error::CalendarError> {
    let get = |structure: &Structure, name| structure.get(name).map(as_whole);
    match value {
        Value::Date(date) => check_date(Some(date.year), date.month, date.day),
        Value::Structure(structure) => {
            if let (Some(month), Some(day)) = (get(structure, "month"), get(structure, "day")) {
                let year = get(structure, "year").and_then(|year| u16::try_from(year).ok());
                check_date(year, byte(month), byte(day))?;
            }
            match (get(structure, "hour"), get(structure, "minute"), get(structure, "second")) {
                (Some(hour), Some(minute), Some(second)) => check_time(hour, minute, second),
                _ => Ok(()),
            }
        }
        Value::Bool(_)
        | Value::Integer(_)
        | Value::Decimal(_)
        | Value::Enum(_)
        | Value::Step { .. }
        | Value::Time(_)
        | Value::Text(_) => Ok(()),
    }
}

pub(super) fn encode(dpt: &Dpt, value: &Value) -> Result<Payload, EncodeError> {
    let bits = match (dpt.value_field(), value) {
        (Some(field), Value::Text(text)) => {
            let Kind::Text(code_set) = field.kind else {
                return Err(EncodeError::wrong_kind(dpt, None, ValueKind::Text));
            };
            return text::encode(dpt, field, code_set, text);
        }
        (Some(field), _) => place(encode_field(dpt, field, value)?, field),
        (None, _) if !takes(dpt.shape, value) => {
            return Err(EncodeError::wrong_kind(dpt, None, value.kind()));
        }
        (None, _) => encode_structure(dpt, value)?,
    };
    check_calendar(value).map_err(|cause| EncodeError::Calendar { dpt: dpt.id, cause })?;
    let bytes = bits.to_be_bytes();
    match dpt.size {
        Size::Bits(_) => super::small(dpt, bytes.last().copied().unwrap_or(0)),
        Size::Bytes(length) => {
            let (_, tail) = bytes.split_at_checked(WIDEST - usize::from(length)).unwrap_or((&[], &bytes));
            Ok(Payload::bytes(tail))
        }
        Size::Variable => Err(EncodeError::wrong_kind(dpt, None, value.kind())),
    }
}

/// Whether the value is of the type's shape. A structure with a step's, date's or time's fields is not one yet.
fn takes(shape: Shape, value: &Value) -> bool {
    matches!(
        (shape, value),
        (Shape::Step, Value::Step { .. })
            | (Shape::Date, Value::Date(_))
            | (Shape::Time, Value::Time(_))
            | (Shape::Structure | Shape::DateTime, Value::Structure(_))
    )
}

/// Moves a field's bits to their place.
fn place(raw: u64, field: &Field) -> u128 {
    u128::from(raw).checked_shl(u32::from(field.low)).unwrap_or(0)
}

fn encode_structure(dpt: &Dpt, value: &Value) -> Result<u128, EncodeError> {
    let mut bits = 0;
    for field in dpt.value_fields() {
        match (part(value, field.name), field.flag, field.default) {
            (Some(part), _, _) => bits |= place(encode_field(dpt, field, &part)?, field),
            (None, Some(_), _) => {}
            (None, None, Some(default)) => bits |= place(u64::from(default), field),
            (None, None, None) => return Err(EncodeError::MissingField { dpt: dpt.id, field: field.name }),
        }
    }
    for (at, flag) in dpt.fields.iter().enumerate().filter(|(_, field)| is_flag(field)) {
        let mut given = None;
        let mut missing = None;
        for field in dpt.fields.iter().filter(|field| field.flag == Some(at)) {
            if part(value, field.name).is_some() { given = Some(field) } else { missing = Some(field) }
        }
        if let (Some(given), Some(missing)) = (given, missing) {
            return Err(EncodeError::Incomplete { dpt: dpt.id, given, missing });
        }
        bits |= place(u64::from(given.is_some() == (flag.kind == Kind::Valid)), flag);
    }
    Ok(bits)
}

fn is_flag(field: &Field) -> bool {
    matches!(field.kind, Kind::Valid | Kind::Invalid)
}

/// One field of a value with fields. Fields are numbers, truth values and enums: a copy needs no heap.
fn part(value: &Value, name: &str) -> Option<Value> {
    let number = |number: u8| Some(Value::Integer(i64::from(number)));
    match (value, name) {
        (Value::Structure(structure), _) => structure.get(name).cloned(),
        (Value::Step { control, .. }, "control") => Some(Value::Bool(*control)),
        (Value::Step { step, .. }, "step") => number(*step),
        (Value::Date(date), "day") => number(date.day),
        (Value::Date(date), "month") => number(date.month),
        (Value::Date(date), "year") => Some(Value::Integer(i64::from(date.year))),
        (Value::Time(time), "day") => Some(Value::Enum(u32::from(time.day))),
        (Value::Time(time), "hour") => number(time.hour),
        (Value::Time(time), "minute") => number(time.minute),
        (Value::Time(time), "second") => number(time.second),
        _ => None,
    }
}

fn encode_field(dpt: &Dpt, field: &'static Field, value: &Value) -> Result<u64, EncodeError> {
    let wrong = || EncodeError::wrong_kind(dpt, Some(field), value.kind());
    let raw = match (field.kind, value) {
        (Kind::Bool, Value::Bool(on)) => i64::from(*on),
        (Kind::Enum, Value::Enum(raw)) => member(dpt, field, f64::from(*raw))?,
        (Kind::Enum, _) => member(dpt, field, value.number().ok_or_else(wrong)?)?,
        (Kind::YearOfCentury, _) => year_of_century(dpt, field, value.number().ok_or_else(wrong)?)?,
        (Kind::Unsigned | Kind::Signed | Kind::Float16 | Kind::Float32, Value::Integer(whole)) => {
            number::raw_whole(dpt, field, *whole)?
        }
        (Kind::Unsigned | Kind::Signed | Kind::Float16 | Kind::Float32, Value::Decimal(decimal)) => {
            number::raw(dpt, field, *decimal)?
        }
        _ => return Err(wrong()),
    };
    // A negative number keeps the low bits of its two's complement, as many as the field has.
    let mask = u64::MAX.checked_shr(u32::from(64_u16.saturating_sub(field.bits))).unwrap_or(0);
    Ok(u64::from_be_bytes(raw.to_be_bytes()) & mask)
}

fn member(dpt: &Dpt, field: &'static Field, number: f64) -> Result<i64, EncodeError> {
    field
        .members
        .iter()
        .find(|member| f64::from(member.raw).total_cmp(&(number + 0.0)).is_eq())
        .map(|member| i64::from(member.raw))
        .ok_or(EncodeError::UnknownMember { dpt: dpt.id, field, raw: number })
}

fn year_of_century(dpt: &Dpt, field: &'static Field, year: f64) -> Result<i64, EncodeError> {
    if !(year >= field.range.min && year <= field.range.max) {
        return Err(EncodeError::OutOfRange { dpt: dpt.id, field, value: year });
    }
    #[allow(clippy::cast_possible_truncation, reason = "the range is that of years")]
    let year = year.round_ties_even() as i64;
    Ok(year % 100)
}

/// A structure as the type's own shape: a step, a date or a time.
pub(in super::super) fn shaped(dpt: &Dpt, value: Value) -> Result<Value, EncodeError> {
    // What the encoder takes, the decoder reads: each field is checked on the way.
    let bits = encode_structure(dpt, &value)?;
    let get = |name: &str| -> i64 {
        let raw = dpt.fields.iter().find(|field| field.name == name).map_or(0, |field| cut(bits, field));
        i64::try_from(raw).unwrap_or(0)
    };
    Ok(match dpt.shape {
        Shape::Step => step(get("control"), get("step")),
        Shape::Date => {
            let century = if get("year") < 90 { 2000 } else { 1900 };
            date(century + get("year"), get("month"), get("day"))
        }
        Shape::Time => time(get("day"), get("hour"), get("minute"), get("second")),
        Shape::Bool
        | Shape::Integer
        | Shape::Decimal
        | Shape::Enum
        | Shape::Text
        | Shape::DateTime
        | Shape::Structure => value,
    })
}
