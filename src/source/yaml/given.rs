//! Types for the model: a value that may be broken without taking its surroundings with it, an ordered mapping, a
//! scalar as written.

use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};

use crate::source::{FileId, Place, Spanned};

/// The names by which the reader knows that a place is asked for. No type of a model is called so.
pub(super) const GIVEN: &str = "\0given";
pub(super) const SPANNED: &str = "\0spanned";
pub(super) const SCALAR: &str = "\0scalar";

/// The name under which a type of a model asks for a text, whatever it looks like, or a list: its visitor gets
/// `visit_str` or `visit_seq`.
pub const TEXT_OR_LIST: &str = "\0text-or-list";

/// A value of the description that is read leniently: what is wrong inside is told as a problem, and the rest of
/// the structure is read all the same.
///
/// A field of this type needs `#[serde(default)]`; an absent key is then `Absent`. In a JSON Schema it is `T`.
#[derive(Clone, Debug, PartialEq)]
pub enum Given<T> {
    /// The key is not there.
    Absent,
    /// The key is there and its value could not be read; this has been told.
    Broken(Place),
    /// The value.
    Here(Spanned<T>),
}

// By hand, since a derived `Default` would ask it of `T`.
#[allow(clippy::derivable_impls, reason = "the derive would demand `T: Default`")]
impl<T> Default for Given<T> {
    fn default() -> Self {
        Self::Absent
    }
}

impl<T> Given<T> {
    /// The value with its place, if it is there and sound.
    pub fn here(&self) -> Option<&Spanned<T>> {
        match self {
            Self::Here(value) => Some(value),
            Self::Absent | Self::Broken(_) => None,
        }
    }

    /// The value, if it is there and sound.
    pub fn value(&self) -> Option<&T> {
        self.here().map(|spanned| &spanned.value)
    }

    /// The value with its place, taken out, if it is there and sound.
    pub fn into_here(self) -> Option<Spanned<T>> {
        match self {
            Self::Here(value) => Some(value),
            Self::Absent | Self::Broken(_) => None,
        }
    }

    /// Whether the key is not there.
    pub fn is_absent(&self) -> bool {
        matches!(self, Self::Absent)
    }

    /// Where it stands, sound or not.
    pub fn place(&self) -> Option<Place> {
        match self {
            Self::Absent => None,
            Self::Broken(place) => Some(*place),
            Self::Here(value) => Some(value.place),
        }
    }
}

/// A mapping with free keys, in the order of the text. A key occurs once.
#[derive(Clone, Debug, PartialEq)]
pub struct Entries<T>(pub Vec<(Spanned<String>, Given<T>)>);

impl<T> Default for Entries<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T> Entries<T> {
    /// The value of a key, if it is there and sound. Looks through all keys.
    pub fn get(&self, key: &str) -> Option<&Spanned<T>> {
        self.0.iter().find(|(name, _)| name.value == key).and_then(|(_, value)| value.here())
    }

    /// The keys with the values that are sound.
    pub fn sound(&self) -> impl Iterator<Item = (&Spanned<String>, &Spanned<T>)> {
        self.0.iter().filter_map(|(key, value)| Some((key, value.here()?)))
    }
}

/// A scalar as written, whatever it looks like: an address, a datapoint type, a value of a setting.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Scalar {
    /// The text, after escapes.
    pub text: String,
    /// Whether it was written without quotes, so that it may be a number or a truth value.
    pub plain: bool,
}

/// The place of a value that no reader of ours gave.
const NOWHERE: Place = Place { file: FileId(0), start: 0, end: 0 };

/// Takes a place and a value out of the sequence `file, start, end, value`.
struct PlacedVisitor<T>(PhantomData<T>);

/// A place, and the value if it could be read.
type Placed<T, E> = (Place, Result<T, E>);

impl<T> PlacedVisitor<T> {
    fn take<'de, A: SeqAccess<'de>>(mut parts: A) -> Result<Placed<T, A::Error>, A::Error>
    where
        T: Deserialize<'de>,
    {
        let mut number = || Ok(parts.next_element::<u32>()?.unwrap_or(0));
        let place = Place { file: FileId(number()?), start: number()?, end: number()? };
        let value = parts
            .next_element::<T>()
            .and_then(|value| value.ok_or_else(|| serde::de::Error::custom("a value")));
        Ok((place, value))
    }
}

struct GivenVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for GivenVisitor<T> {
    type Value = Given<T>;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, deserializer: D) -> Result<Given<T>, D::Error> {
        Ok(Given::Here(Spanned::new(T::deserialize(deserializer)?, NOWHERE)))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, parts: A) -> Result<Given<T>, A::Error> {
        let (place, value) = PlacedVisitor::<T>::take(parts)?;
        Ok(match value {
            Ok(value) => Given::Here(Spanned::new(value, place)),
            Err(_) => Given::Broken(place),
        })
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Given<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_newtype_struct(GIVEN, GivenVisitor(PhantomData))
    }
}

struct SpannedVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for SpannedVisitor<T> {
    type Value = Spanned<T>;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, deserializer: D) -> Result<Spanned<T>, D::Error> {
        Ok(Spanned::new(T::deserialize(deserializer)?, NOWHERE))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, parts: A) -> Result<Spanned<T>, A::Error> {
        let (place, value) = PlacedVisitor::<T>::take(parts)?;
        Ok(Spanned::new(value?, place))
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Spanned<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_newtype_struct(SPANNED, SpannedVisitor(PhantomData))
    }
}

/// Entries that room is made for before they are read, at most.
pub(super) const MOST_FORESEEN: usize = 1024;

struct EntriesVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for EntriesVisitor<T> {
    type Value = Entries<T>;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("keys with values")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Entries<T>, A::Error> {
        let mut entries = Vec::with_capacity(map.size_hint().unwrap_or(0));
        while let Some(entry) = map.next_entry()? {
            entries.push(entry);
        }
        Ok(Entries(entries))
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Entries<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(EntriesVisitor(PhantomData))
    }
}

struct ScalarVisitor;

impl<'de> Visitor<'de> for ScalarVisitor {
    type Value = Scalar;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a text or a number")
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, deserializer: D) -> Result<Scalar, D::Error> {
        Ok(Scalar { text: String::deserialize(deserializer)?, plain: false })
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut parts: A) -> Result<Scalar, A::Error> {
        let plain = parts.next_element::<bool>()?.unwrap_or(false);
        Ok(Scalar { text: parts.next_element::<String>()?.unwrap_or_default(), plain })
    }
}

impl<'de> Deserialize<'de> for Scalar {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_newtype_struct(SCALAR, ScalarVisitor)
    }
}

/// In a JSON Schema these stand for what they hold.
macro_rules! schema_of_inner {
    ($($outer:ident),*) => {$(
        impl<T: JsonSchema> JsonSchema for $outer<T> {
            fn inline_schema() -> bool {
                T::inline_schema()
            }

            fn schema_name() -> Cow<'static, str> {
                T::schema_name()
            }

            fn schema_id() -> Cow<'static, str> {
                T::schema_id()
            }

            fn json_schema(generator: &mut SchemaGenerator) -> Schema {
                T::json_schema(generator)
            }
        }
    )*};
}

schema_of_inner!(Given, Spanned);

impl<T: JsonSchema> JsonSchema for Entries<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("Entries_of_{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "object", "additionalProperties": generator.subschema_for::<T>() })
    }
}

impl JsonSchema for Scalar {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Scalar".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": ["string", "number", "boolean"] })
    }
}
