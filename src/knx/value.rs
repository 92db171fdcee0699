//! Values of the bus, as they are decoded and as they are given to the encoder.

use super::codec::EncodeError;
use super::dpt::{Dpt, Kind, Shape};
use std::fmt;

/// A value of a datapoint type. It carries no type and no unit of its own: the [`Dpt`] has them.
///
/// Numbers are in the type's unit. Whole numbers and decimals stand for each other when they are encoded. Numbers,
/// truth values and enums need no heap.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A truth value (main type 1, flags).
    Bool(bool),
    /// A whole number, in the unit.
    Integer(i64),
    /// A decimal number, in the unit.
    Decimal(f64),
    /// A raw value that has a name.
    Enum(u32),
    /// A relative step (main type 3).
    Step {
        /// Which way: true is increase, or down.
        control: bool,
        /// 0 stops; 1 to 7 divide the whole range into `2^(step-1)` parts.
        step: u8,
    },
    /// Day, month and year.
    Date(Date),
    /// Time of day.
    Time(Time),
    /// Characters.
    Text(Box<str>),
    /// Named fields.
    Structure(Structure),
}

/// A date of main type 11, 1990 to 2089.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Date {
    /// 1990 to 2089.
    pub year: u16,
    /// 1 to 12.
    pub month: u8,
    /// 1 to 31, and no more than the month has.
    pub day: u8,
}

/// A time of day of main type 10.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Time {
    /// 1 is Monday, 7 Sunday; 0 is no day.
    pub day: u8,
    /// 0 to 23.
    pub hour: u8,
    /// 0 to 59.
    pub minute: u8,
    /// 0 to 59.
    pub second: u8,
}

/// Named fields, in the order of the table, without those that hold nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Structure(pub(super) Vec<(&'static str, Value)>);

impl Structure {
    /// The field with this name; `None` where it holds nothing.
    pub fn get(&self, name: &str) -> Option<&Value> {
        self.0.iter().find(|(field, _)| *field == name).map(|(_, value)| value)
    }

    /// Names and values, in the order of the table.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, &Value)> {
        self.0.iter().map(|(name, value)| (*name, value))
    }
}

/// What kind of thing a value is, for messages.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ValueKind {
    /// True or false.
    Bool,
    /// A whole number or a decimal.
    Number,
    /// One of named raw values.
    Enum,
    /// A relative step.
    Step,
    /// A date.
    Date,
    /// A time of day.
    Time,
    /// Characters.
    Text,
    /// Named fields.
    Structure,
}

impl ValueKind {
    /// What a type takes.
    pub(super) fn of_shape(shape: Shape) -> Self {
        match shape {
            Shape::Bool => Self::Bool,
            Shape::Integer | Shape::Decimal => Self::Number,
            Shape::Enum => Self::Enum,
            Shape::Text => Self::Text,
            Shape::Step => Self::Step,
            Shape::Date => Self::Date,
            Shape::Time => Self::Time,
            Shape::DateTime | Shape::Structure => Self::Structure,
        }
    }

    /// What a field takes.
    pub(super) fn of_field(kind: Kind) -> Self {
        match kind {
            Kind::Bool | Kind::Valid | Kind::Invalid | Kind::Reserved => Self::Bool,
            Kind::Enum => Self::Enum,
            Kind::Text(_) => Self::Text,
            Kind::Unsigned | Kind::Signed | Kind::Float16 | Kind::Float32 | Kind::YearOfCentury => {
                Self::Number
            }
        }
    }
}

impl fmt::Display for ValueKind {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            Self::Bool => "a truth value",
            Self::Number => "a number",
            Self::Enum => "a named raw value",
            Self::Step => "a step",
            Self::Date => "a date",
            Self::Time => "a time",
            Self::Text => "text",
            Self::Structure => "a structure",
        })
    }
}

impl Value {
    /// What kind of thing it is.
    pub fn kind(&self) -> ValueKind {
        match self {
            Self::Bool(_) => ValueKind::Bool,
            Self::Integer(_) | Self::Decimal(_) => ValueKind::Number,
            Self::Enum(_) => ValueKind::Enum,
            Self::Step { .. } => ValueKind::Step,
            Self::Date(_) => ValueKind::Date,
            Self::Time(_) => ValueKind::Time,
            Self::Text(_) => ValueKind::Text,
            Self::Structure(_) => ValueKind::Structure,
        }
    }

    /// The number, in the unit; the raw value of an enum. `None` for everything else.
    pub fn number(&self) -> Option<f64> {
        match self {
            #[allow(clippy::cast_precision_loss, reason = "a double is what is asked for; the doc says so")]
            Self::Integer(number) => Some(*number as f64),
            Self::Decimal(number) => Some(*number),
            Self::Enum(raw) => Some(f64::from(*raw)),
            Self::Bool(_)
            | Self::Step { .. }
            | Self::Date(_)
            | Self::Time(_)
            | Self::Text(_)
            | Self::Structure(_) => None,
        }
    }

    /// Its fields with their names, in the order of the table: of structures, steps, dates and times. Otherwise `None`.
    ///
    /// Fields that hold nothing are left out. A step has `control` and `step`; a date `day`, `month`, `year`; a time
    /// `day`, `hour`, `minute`, `second`.
    pub fn fields(&self) -> Option<Vec<(&'static str, Value)>> {
        let number = |value: u8| Self::Integer(i64::from(value));
        match self {
            Self::Structure(structure) => Some(structure.0.clone()),
            Self::Step { control, step } => {
                Some(vec![("control", Self::Bool(*control)), ("step", number(*step))])
            }
            Self::Date(date) => Some(vec![
                ("day", number(date.day)),
                ("month", number(date.month)),
                ("year", Self::Integer(i64::from(date.year))),
            ]),
            Self::Time(time) => Some(vec![
                ("day", Self::Enum(u32::from(time.day))),
                ("hour", number(time.hour)),
                ("minute", number(time.minute)),
                ("second", number(time.second)),
            ]),
            Self::Bool(_) | Self::Integer(_) | Self::Decimal(_) | Self::Enum(_) | Self::Text(_) => None,
        }
    }

    /// Puts a value together from named fields: the inverse of [`Value::fields`]. Order does not matter.
    ///
    /// # Errors
    /// [`EncodeError`] if the type has no fields, a name is not one of them or is given twice, a field that must be
    /// there is not, or a step, date or time is out of range. The ranges of a structure's fields are for the encoder.
    pub fn from_fields<'a>(
        dpt: &Dpt,
        fields: impl IntoIterator<Item = (&'a str, Value)>,
    ) -> Result<Self, EncodeError> {
        if dpt.value_field().is_some() {
            return Err(EncodeError::wrong_kind(dpt, None, ValueKind::Structure));
        }
        let mut given: Vec<Option<Value>> = vec![None; dpt.fields.len()];
        for (name, value) in fields {
            let at = dpt.fields.iter().position(|field| field.holds_value() && field.name == name);
            let Some(slot) = at.and_then(|at| given.get_mut(at)) else {
                return Err(EncodeError::UnknownField { dpt: dpt.id, name: name.into() });
            };
            if slot.replace(value).is_some() {
                return Err(EncodeError::FieldTwice { dpt: dpt.id, name: name.into() });
            }
        }
        let mut kept = Vec::new();
        for (field, value) in dpt.fields.iter().zip(given) {
            match value {
                Some(value) => kept.push((field.name, value)),
                None if field.holds_value() && !field.is_optional() => {
                    return Err(EncodeError::MissingField { dpt: dpt.id, field: field.name });
                }
                None => {}
            }
        }
        let structure = Self::Structure(Structure(kept));
        if matches!(dpt.shape, Shape::Structure | Shape::DateTime) {
            Ok(structure)
        } else {
            super::codec::shaped(dpt, structure)
        }
    }
}
