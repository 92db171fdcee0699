//! Why a payload or a value is refused. Each message says what is allowed.

use super::super::dpt::{self, CodeSet, Dpt, Field, Kind, Size};
use super::super::dpt_id::DptId;
use super::super::payload::Payload;
use super::super::value::ValueKind;
use super::super::written;
use std::fmt;

/// Why a payload is not a value of a datapoint type.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DecodeError {
    /// Another length, or the other of the two forms.
    #[error("{dpt} has a payload of {expected}, this one has {}", length(*found, *bytes))]
    Length {
        /// The type.
        dpt: DptId,
        /// Its size.
        expected: Size,
        /// What there is.
        found: Size,
        /// Length of the payload in bytes.
        bytes: usize,
    },
    /// A text of free length that no telegram carries.
    #[error("{dpt} has at most {most} bytes, this one has {bytes}")]
    TooLong {
        /// The type.
        dpt: DptId,
        /// Length of the text in bytes.
        bytes: usize,
        /// Most bytes of a text.
        most: usize,
    },
    /// A bit is set that the type does not have or that must be 0.
    #[error("{dpt} has reserved bits that must be 0, and one of them is 1")]
    Reserved {
        /// The type.
        dpt: DptId,
    },
    /// A number outside the type's range.
    #[error("{}{} is out of range of {dpt}: {}", of(field), written::number_in(field, *value), written::range(field))]
    OutOfRange {
        /// The type.
        dpt: DptId,
        /// The field.
        field: &'static Field,
        /// Its value, in the unit.
        value: f64,
    },
    /// Two digits of a year that are three.
    #[error(
        "{}the raw number {raw} is no year of {dpt}: 0 to 99 are the last two digits of {}",
        of(field),
        written::range(field)
    )]
    YearOfCentury {
        /// The type.
        dpt: DptId,
        /// The field.
        field: &'static Field,
        /// The raw value.
        raw: i64,
    },
    /// A raw value without a meaning.
    #[error("{}{raw} has no meaning in {dpt}: {}", of(field), written::members(field))]
    UnknownMember {
        /// The type.
        dpt: DptId,
        /// The field.
        field: &'static Field,
        /// The raw value.
        raw: u32,
    },
    /// The payload says that there is no value.
    #[error("{}the payload means `{}`, which is no value of {dpt}", of(field), meaning(field, *raw))]
    Special {
        /// The type.
        dpt: DptId,
        /// The field; its `special` has the meaning.
        field: &'static Field,
        /// The raw value.
        raw: u32,
    },
    /// An IEEE single that is infinite or not a number.
    #[error("{}the payload is no finite number, {dpt} has finite numbers only", of(field))]
    NotFinite {
        /// The type.
        dpt: DptId,
        /// The field.
        field: &'static Field,
    },
    /// A byte that is no character of the code set.
    #[error("byte {position} of the text is no character of {code_set}, which {dpt} is written in")]
    Character {
        /// The type.
        dpt: DptId,
        /// Which byte, from 1.
        position: usize,
        /// What is allowed.
        code_set: CodeSet,
    },
    /// Something after the zero byte that ends a text.
    #[error("byte {position} follows the zero byte that ends the text; {dpt} has only zero bytes there")]
    AfterEnd {
        /// The type.
        dpt: DptId,
        /// Which byte, from 1.
        position: usize,
    },
    /// A date or time of day that does not exist.
    #[error("{dpt} cannot hold this: {cause}")]
    Calendar {
        /// The type.
        dpt: DptId,
        /// Why it does not exist.
        cause: CalendarError,
    },
}

/// Why a value has no payload in a datapoint type.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EncodeError {
    /// A value of another kind.
    #[error("{}{dpt} takes {}, not {found}", name(*field), expected(*dpt, *field))]
    WrongKind {
        /// The type.
        dpt: DptId,
        /// The field, in a structure.
        field: Option<&'static Field>,
        /// What was given.
        found: ValueKind,
    },
    /// A number outside the type's range.
    #[error("{}{} is out of range of {dpt}: {}", of(field), written::number_in(field, *value), written::range(field))]
    OutOfRange {
        /// The type.
        dpt: DptId,
        /// The field.
        field: &'static Field,
        /// What was given, in the unit.
        value: f64,
    },
    /// NaN or infinite.
    #[error("{}{value} is no finite number: {dpt} takes {}", of(field), written::range(field))]
    NotFinite {
        /// The type.
        dpt: DptId,
        /// The field.
        field: &'static Field,
        /// What was given.
        value: f64,
    },
    /// A raw value without a meaning.
    #[error("{}{raw} has no meaning in {dpt}: {}", of(field), written::members(field))]
    UnknownMember {
        /// The type.
        dpt: DptId,
        /// The field.
        field: &'static Field,
        /// The raw value.
        raw: f64,
    },
    /// A field that must be given is not.
    #[error("{dpt} needs the field `{field}`")]
    MissingField {
        /// The type.
        dpt: DptId,
        /// The field's name.
        field: &'static str,
    },
    /// A field is given without the one that shares its validity bit.
    #[error("`{}` of {dpt} goes with `{}`: give both or neither", given.name, missing.name)]
    Incomplete {
        /// The type.
        dpt: DptId,
        /// The field that is there.
        given: &'static Field,
        /// The field that is not.
        missing: &'static Field,
    },
    /// A name that is none of the type's fields.
    #[error("{dpt} has no field `{name}`: {}", written::field_names(*dpt))]
    UnknownField {
        /// The type.
        dpt: DptId,
        /// What was given.
        name: Box<str>,
    },
    /// A field is given twice.
    #[error("`{name}` of {dpt} is given twice")]
    FieldTwice {
        /// The type.
        dpt: DptId,
        /// The field.
        name: Box<str>,
    },
    /// More bytes than the type has.
    #[error("the text has {bytes} bytes, {dpt} has room for {most}")]
    TooLong {
        /// The type.
        dpt: DptId,
        /// Length in the type's code set.
        bytes: usize,
        /// Room.
        most: usize,
    },
    /// Fewer bytes than the type has.
    #[error("{dpt} takes one character")]
    TooShort {
        /// The type.
        dpt: DptId,
    },
    /// A character outside the code set.
    #[error("{character:?} is no character of {code_set}, which {dpt} is written in")]
    Character {
        /// The type.
        dpt: DptId,
        /// The first such character.
        character: char,
        /// What is allowed.
        code_set: CodeSet,
    },
    /// A date or time of day that does not exist.
    #[error("{dpt} cannot hold this: {cause}")]
    Calendar {
        /// The type.
        dpt: DptId,
        /// Why it does not exist.
        cause: CalendarError,
    },
}

/// A date or time of day that does not exist.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CalendarError {
    /// The month has fewer days.
    #[error("month {month}{} has {days} days, so there is no day {day}", year.map(|year| format!(" of {year}")).unwrap_or_default())]
    Day {
        /// The year, where there is one.
        year: Option<u16>,
        /// The month.
        month: u8,
        /// The day.
        day: u8,
        /// Days that the month has.
        days: u8,
    },
    /// An hour 24 that is not midnight.
    #[error("hour 24 is midnight: minute and second are 0")]
    Midnight,
}

impl DecodeError {
    #[cold]
    pub(super) fn length(dpt: &Dpt, payload: &Payload) -> Self {
        let bytes = payload.as_bytes().len();
        let found = if payload.is_small() {
            Size::Bits(6)
        } else {
            Size::Bytes(u8::try_from(bytes).unwrap_or(u8::MAX))
        };
        Self::Length { dpt: dpt.id, expected: dpt.size, found, bytes }
    }
}

impl EncodeError {
    #[cold]
    pub(in super::super) fn wrong_kind(dpt: &Dpt, field: Option<&'static Field>, found: ValueKind) -> Self {
        Self::WrongKind { dpt: dpt.id, field, found }
    }
}

/// The length of a payload in words, also of one that is longer than any of a telegram.
fn length(found: Size, bytes: usize) -> String {
    if bytes > usize::from(u8::MAX) { format!("{bytes} bytes") } else { found.to_string() }
}

/// The field's name before a message, where there is more than one field to speak of.
fn of(field: &Field) -> String {
    if field.name == "value" || field.name.is_empty() { String::new() } else { format!("`{}`: ", field.name) }
}

/// What a special raw value means.
fn meaning(field: &Field, raw: u32) -> &'static str {
    field.special.iter().find(|special| special.raw == raw).map_or("no value", |special| special.name)
}

/// What the type or its field takes.
fn expected(dpt: DptId, field: Option<&'static Field>) -> ValueKind {
    let kind = dpt::find(dpt).map_or(ValueKind::Structure, |dpt| ValueKind::of_shape(dpt.shape));
    field.map_or(kind, |field| ValueKind::of_field(field.kind))
}

fn name(field: Option<&'static Field>) -> String {
    field.map(of).unwrap_or_default()
}

impl fmt::Display for Size {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bits(1) => out.write_str("1 bit"),
            Self::Bits(bits) => write!(out, "{bits} bits"),
            Self::Bytes(1) => out.write_str("1 byte"),
            Self::Bytes(bytes) => write!(out, "{bytes} bytes"),
            Self::Variable => out.write_str("bytes of any number"),
        }
    }
}

impl fmt::Display for CodeSet {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            Self::Ascii => "ASCII",
            Self::Latin1 => "ISO 8859-1",
            Self::Utf8 => "UTF-8",
        })
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            Self::Bool => "true or false",
            Self::Unsigned => "whole number",
            Self::Signed => "whole number with sign",
            Self::Float16 => "16-bit float",
            Self::Float32 => "IEEE 754 single",
            Self::Enum => "named raw values",
            Self::Text(_) => "text",
            Self::YearOfCentury => "two digits of a year",
            Self::Valid => "1 where the fields hold something",
            Self::Invalid => "1 where the fields hold nothing",
            Self::Reserved => "reserved, 0",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_payload_longer_than_any_telegram_is_told_in_full() {
        let dpt = DptId { main: 9, sub: 1 };
        let told = |bytes| {
            let found = Size::Bytes(u8::try_from(bytes).unwrap_or(u8::MAX));
            DecodeError::Length { dpt, expected: Size::Bytes(2), found, bytes }.to_string()
        };
        assert_eq!(told(3), "9.001 has a payload of 2 bytes, this one has 3 bytes");
        assert_eq!(told(60_000), "9.001 has a payload of 2 bytes, this one has 60000 bytes");
    }
}
