//! The table of datapoint types, and how to look one up.
//!
//! Source: KNX standard 03/07/02 "Datapoint Types"; the files in `schema/datapoint-types` name sections and say which
//! facts were compared with another implementation and which are from memory.

use super::dpt_id::{DptId, DptIdError};
use std::fmt;

include!(concat!(env!("OUT_DIR"), "/datapoint_types.rs"));

/// A datapoint type: what a group object's payload means.
///
/// Made by the build from `schema/datapoint-types`; there are no others.
#[derive(PartialEq)]
pub struct Dpt {
    /// Main and sub number.
    pub id: DptId,
    /// The standard's name, `DPT_Switch`.
    pub name: &'static str,
    /// What it is, in a few words.
    pub title: &'static str,
    /// Length of the payload.
    pub size: Size,
    /// What a value is as a whole.
    pub shape: Shape,
    pub(super) format: Format,
    pub(super) value_at: usize,
    /// The payload's fields, from the highest bit down.
    pub fields: &'static [Field],
    /// Section of 03/07/02; empty where it was not noted.
    pub section: &'static str,
    /// How the facts were checked.
    pub source: Source,
    /// Houses use it often (common practice).
    pub usual: bool,
    /// What else a person should know; may be empty.
    pub note: &'static str,
}

/// Length of a payload.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Size {
    /// 1 to 6 bits: they travel inside the service octet, not after it.
    Bits(u8),
    /// Whole bytes after the service octet.
    Bytes(u8),
    /// Text that a zero byte ends.
    Variable,
}

/// What a value is as a whole: which variant of [`super::Value`] it is decoded to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Shape {
    /// True or false.
    Bool,
    /// A whole number, in the type's unit.
    Integer,
    /// A decimal number, in the type's unit.
    Decimal,
    /// One of named raw values.
    Enum,
    /// Characters.
    Text,
    /// A direction and a step width (main type 3): fields `control` and `step`.
    Step,
    /// Day, month, year.
    Date,
    /// Time of day with an optional day of the week.
    Time,
    /// A structure with a date and a time of day, checked against the calendar.
    DateTime,
    /// Named fields.
    Structure,
}

/// Payloads that the codec reads in one go; all others go field by field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    Bit,
    U8,
    U16,
    U32,
    I8,
    I16,
    I32,
    I64,
    Float16,
    Float32,
    Fields,
}

/// A field of a payload.
#[derive(PartialEq)]
pub struct Field {
    /// Name in a structure; empty for reserved bits.
    pub name: &'static str,
    /// What it means, in a few words; may be empty.
    pub meaning: &'static str,
    /// Unit of the value; empty where it has none.
    pub unit: &'static str,
    /// Width in bits; 0 for text of any length.
    pub bits: u16,
    /// Bits below it in the payload.
    pub(super) low: u16,
    /// How the bits are read.
    pub kind: Kind,
    /// How a raw number becomes a value.
    pub scale: Scale,
    /// Smallest and largest value, in the unit.
    pub range: Range,
    pub(super) raw_min: i64,
    pub(super) raw_max: i64,
    /// Names of raw values, ascending.
    pub members: &'static [Member],
    /// Raw values that mean something else than a value, ascending.
    pub special: &'static [Special],
    /// Raw value taken where a structure leaves the field out.
    pub default: Option<u32>,
    /// Index of the `valid` or `invalid` bit that speaks for this field.
    pub(super) flag: Option<usize>,
}

impl Field {
    /// The raw value by which a structure says that the field holds nothing: a special one that stands for a field left out.
    pub(super) fn nothing(&self) -> Option<u32> {
        self.default.filter(|raw| self.special.iter().any(|special| special.raw == *raw))
    }
}

/// How a field's bits are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// One bit.
    Bool,
    /// Whole number without sign.
    Unsigned,
    /// Whole number, two's complement.
    Signed,
    /// 16-bit float of main type 9: `0.01 * M * 2^E`.
    Float16,
    /// IEEE 754 single.
    Float32,
    /// One of named raw values.
    Enum,
    /// Characters, one byte each or UTF-8, zeros behind.
    Text(CodeSet),
    /// Two digits of a year: 0..89 are 2000..2089, 90..99 are 1990..1999.
    YearOfCentury,
    /// A bit that is 1 where the fields it speaks for hold something.
    Valid,
    /// A bit that is 1 where the fields it speaks for hold nothing.
    Invalid,
    /// Always 0.
    Reserved,
}

/// Which characters a text may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CodeSet {
    /// 7-bit ASCII.
    Ascii,
    /// ISO 8859-1.
    Latin1,
    /// Unicode, as UTF-8.
    Utf8,
}

/// `value = raw * numerator / denominator + offset`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Scale {
    /// Above zero.
    pub numerator: u32,
    /// Above zero.
    pub denominator: u32,
    /// In the unit.
    pub offset: i32,
}

impl Scale {
    /// Unit per raw step.
    pub fn step(&self) -> f64 {
        f64::from(self.numerator) / f64::from(self.denominator)
    }

    pub(super) fn is_identity(&self) -> bool {
        *self == Self { numerator: 1, denominator: 1, offset: 0 }
    }
}

/// Smallest and largest value, both allowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Smallest.
    pub min: f64,
    /// Largest.
    pub max: f64,
}

/// A named raw value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Member {
    /// The raw value.
    pub raw: u32,
    /// Its name, lower case with hyphens.
    pub name: &'static str,
}

/// A raw value that means something else than a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Special {
    /// The raw value.
    pub raw: u32,
    /// What it means: `no data`.
    pub name: &'static str,
}

impl Special {
    /// Whether devices send it, to say that they have no value. What is reserved is for nobody to send.
    pub fn is_sent(&self) -> bool {
        self.name != "reserved"
    }
}

/// How a table entry was checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Source {
    /// Compared with data made by another implementation.
    Compared,
    /// From memory: compared with nothing.
    Memory,
    /// Common practice: not in the standard's table.
    Practice,
}

/// A main type.
#[derive(Debug, PartialEq, Eq)]
pub struct MainType {
    /// Its number.
    pub number: u16,
    /// What it holds, in a few words.
    pub title: &'static str,
}

impl Dpt {
    /// The one field that holds the value; none for structures, steps, dates and times.
    pub fn value_field(&self) -> Option<&'static Field> {
        match self.shape {
            Shape::Bool | Shape::Integer | Shape::Decimal | Shape::Enum | Shape::Text => {
                self.fields.get(self.value_at)
            }
            Shape::Step | Shape::Date | Shape::Time | Shape::DateTime | Shape::Structure => None,
        }
    }

    /// Unit of the value; empty where it has none, or where the fields have units of their own.
    pub fn unit(&self) -> &'static str {
        self.value_field().map_or("", |field| field.unit)
    }

    /// Range of a number, in its unit.
    pub fn range(&self) -> Option<Range> {
        self.number().map(|field| field.range)
    }

    /// Unit per raw step of a number; `None` for IEEE singles, and the smallest step, 0.01, for 16-bit floats.
    pub fn resolution(&self) -> Option<f64> {
        let field = self.number()?;
        if field.kind == Kind::Float32 { None } else { Some(field.scale.step()) }
    }

    /// Names of the raw values of an enum or a truth value.
    pub fn members(&self) -> &'static [Member] {
        self.value_field().map_or(&[], |field| field.members)
    }

    /// Raw values that mean something else than a value.
    pub fn special(&self) -> &'static [Special] {
        self.value_field().map_or(&[], |field| field.special)
    }

    /// The fields that a value has, without reserved and validity bits, from the highest bit down.
    pub fn value_fields(&self) -> impl Iterator<Item = &'static Field> {
        self.fields.iter().filter(|field| field.holds_value())
    }

    /// Whether every payload has the same value in both. What a truth value's two states are called is no difference:
    /// 1 is 1, be it on, true or active.
    pub fn reads_like(&self, other: &Self) -> bool {
        let alike = (self.size, self.shape, self.format) == (other.size, other.shape, other.format);
        alike && (self.shape == Shape::Bool || self.fields == other.fields)
    }

    fn number(&self) -> Option<&'static Field> {
        if matches!(self.shape, Shape::Integer | Shape::Decimal) { self.value_field() } else { None }
    }
}

impl Field {
    /// Whether it is part of a value: neither reserved nor a validity bit.
    pub fn holds_value(&self) -> bool {
        !matches!(self.kind, Kind::Reserved | Kind::Valid | Kind::Invalid)
    }

    /// Whether a structure may leave it out: it has a validity bit or a default.
    pub fn is_optional(&self) -> bool {
        self.flag.is_some() || self.default.is_some()
    }

    /// The member with this raw value.
    pub fn member(&self, raw: u32) -> Option<&'static Member> {
        let at = self.members.binary_search_by_key(&raw, |member| member.raw).ok()?;
        self.members.get(at)
    }
}

/// The number is enough: the rest is in the table.
impl fmt::Debug for Dpt {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "Dpt({})", self.id)
    }
}

impl fmt::Debug for Field {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "Field({})", self.name)
    }
}

/// Why text names no datapoint type of the table.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DptError {
    /// It is not written as a datapoint type is.
    #[error(transparent)]
    Written(#[from] DptIdError),
    /// The main type is not in the table.
    #[error("there is no datapoint type `{id}`: main type {} is not known", id.main)]
    UnknownMain {
        /// What was asked for.
        id: DptId,
    },
    /// The main type is, the sub-type is not.
    #[error("there is no datapoint type `{id}`; main type {} has {}", id.main, subs(id.main))]
    UnknownSub {
        /// What was asked for.
        id: DptId,
    },
}

fn subs(main: u16) -> String {
    const SHOWN: usize = 12;
    let all = of_main(main);
    let mut text: Vec<String> = all.iter().take(SHOWN).map(|dpt| dpt.id.to_string()).collect();
    if let (Some(last), true) = (all.last(), all.len() > SHOWN) {
        text.push(format!("… {}", last.id));
    }
    text.join(", ")
}

/// All datapoint types, ascending.
pub fn all() -> &'static [Dpt] {
    &TABLE
}

/// All main types, ascending.
pub fn main_types() -> &'static [MainType] {
    &MAIN_TYPES
}

/// The main type with this number.
pub fn main_type(number: u16) -> Option<&'static MainType> {
    MAIN_TYPES.get(MAIN_TYPES.binary_search_by_key(&number, |main| main.number).ok()?)
}

/// The datapoint types of a main type, ascending; empty if it is not known.
pub fn of_main(main: u16) -> &'static [Dpt] {
    let start = TABLE.partition_point(|dpt| dpt.id.main < main);
    let end = TABLE.partition_point(|dpt| dpt.id.main <= main);
    TABLE.get(start..end).unwrap_or(&[])
}

/// The datapoint type with this number.
pub fn find(id: DptId) -> Option<&'static Dpt> {
    TABLE.get(TABLE.binary_search_by_key(&id, |dpt| dpt.id).ok()?)
}

/// The datapoint type that text names: `5.001`, `DPT 5.001`, `DPST-5-1`.
///
/// # Errors
/// [`DptError`] where the text is malformed, or the main type or sub-type is not known.
pub fn lookup(text: &str) -> Result<&'static Dpt, DptError> {
    let id: DptId = text.parse()?;
    match find(id) {
        Some(dpt) => Ok(dpt),
        None if main_type(id.main).is_some() => Err(DptError::UnknownSub { id }),
        None => Err(DptError::UnknownMain { id }),
    }
}
