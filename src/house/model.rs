//! The house description as written: what the keys are and what they hold.
//!
//! These types are the format. The reader and the JSON Schema that editors use are both made from them, and each
//! field's text is what an editor shows. Version 1 is the first.

use crate::source::{Entries, Given, Place, Scalar, Spanned, TEXT_OR_LIST};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, SeqAccess, Visitor};
use std::borrow::Cow;
use std::fmt;

/// The version of the description format that this program reads.
pub const VERSION: &str = "1";

/// A file of a house description: the root file or one that it includes.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct DescriptionFile {
    /// Version of the description format: 1. Stands in the root file only.
    pub housewright: Given<Scalar>,
    /// The house itself. Stands in the root file only.
    pub house: Given<HouseHead>,
    /// The KNX buses of the house, by a short key. With one bus, appliances need not name it.
    pub buses: Given<Entries<Bus>>,
    /// The Matter bridges of the house, by a short key. With one bridge, appliances need not name it.
    pub bridges: Given<Entries<Bridge>>,
    /// Further files of the description: paths or patterns such as `rooms/*.yaml`, inside the house's folder. A file named here
    /// may have any ending; one with rooms that ends in `.yaml` or `.yml` and that nothing includes is told.
    pub include: Given<OneOrMany>,
    /// The rooms, by a short key, with their appliances.
    pub rooms: Given<Entries<Room>>,
    /// Rules that are silenced in the whole house: the rule's name and the reason.
    pub allow: Given<Entries<Scalar>>,
}

/// What is true of the house as a whole.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct HouseHead {
    /// A short key for the house, of lower-case letters, digits and hyphens. It seeds the unique ids: never change it.
    pub id: Given<String>,
    /// The house's name, as people say it.
    pub name: Given<String>,
    /// How group addresses are written here: `three-level` (1/2/3), `two-level` (1/515) or `free` (2563).
    pub notation: Given<NotationWord>,
}

/// How group addresses are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NotationWord {
    /// Main, middle and sub group: `1/2/3`.
    ThreeLevel,
    /// Main and sub group: `1/515`.
    TwoLevel,
    /// A number: `2563`.
    Free,
}

/// A KNX bus.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Bus {
    /// The bus's address table, a delimited text file inside the house's folder. Most checks live on it.
    pub table: Given<String>,
    /// The table's own headings, where they are not found without help; `housewright explain columns` lists those that are.
    pub columns: Given<Columns>,
}

/// Headings of an address table.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Columns {
    /// Heading of the column with the group address.
    pub address: Given<String>,
    /// Heading of the column with the name.
    pub name: Given<String>,
    /// Heading of the column with the datapoint type.
    pub dpt: Given<String>,
    /// Heading of the column with the description.
    pub description: Given<String>,
    /// Heading of the column with the communication flags (C R W T U).
    pub flags: Given<String>,
    /// Heading of the column with the room.
    pub room: Given<String>,
}

/// A Matter bridge.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Bridge {
    /// The bridge's NodeLabel: what a controller shows for it; 32 bytes at most.
    pub name: Given<String>,
    /// How many bridged endpoints this gateway carries.
    pub capacity: Given<u32>,
}

/// A room with its appliances.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Room {
    /// The room's name, as the family says it.
    pub name: Given<String>,
    /// The floor's name or key.
    pub floor: Given<String>,
    /// The bus of the appliances here, where there are several.
    pub bus: Given<String>,
    /// The bridge of the appliances here, where there are several.
    pub bridge: Given<String>,
    /// Rules that are silenced in this room: the rule's name and the reason.
    pub allow: Given<Entries<Scalar>>,
    /// The appliances, each by a key that is unique in the house, stable for ever and free of the room.
    pub appliances: Given<Entries<Appliance>>,
}

/// One thing the family would name: a lamp, a blind, a thermostat, a sensor.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Appliance {
    /// What the family sees: the NodeLabel, 32 bytes at most.
    pub name: Given<String>,
    /// The device class, such as `dimmable-light`.
    pub class: Given<String>,
    /// The bus, where the house has several.
    pub bus: Given<String>,
    /// The bridge, where the house has several.
    pub bridge: Given<String>,
    /// The points, by the names the class gives them.
    pub points: Given<Entries<Point>>,
    /// What the class lets the description say: limits, times, numbers.
    pub settings: Given<Entries<Scalar>>,
    /// The key this appliance had before, so that a rename keeps its identity.
    pub formerly: Given<String>,
    /// Whether controllers see it; `false` describes an appliance without showing it.
    pub bridged: Given<bool>,
    /// Who confirmed the local safety device of something that moves or heats, and what was checked.
    pub confirmed: Given<Box<Confirmed>>,
    /// Rules that are silenced for this appliance: the rule's name and the reason.
    pub allow: Given<Entries<Scalar>>,
    /// A remark for colleagues; nothing is made of it.
    pub note: Given<String>,
}

/// Who confirmed a local safety device.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Confirmed {
    /// Who looked.
    pub by: Given<String>,
    /// What was checked, in a few words.
    pub checked: Given<String>,
    /// When, as a date: 2026-05-31.
    pub on: Given<String>,
}

/// One function of an appliance on the bus.
#[derive(Clone, Debug, Default, serde::Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Point {
    /// The group address the point is written through.
    pub command: Given<String>,
    /// The group address its status is learned from.
    pub feedback: Given<String>,
    /// Further group addresses that also move it: central and group functions.
    pub listens: Given<OneOrMany>,
    /// The datapoint type, where it is not the class's usual one; written bare: 5.010. It is meant for each address of the
    /// point that the class takes it at.
    pub dpt: Given<DptText>,
    /// The datapoint type of `feedback`, where it is another one than the command's.
    #[serde(rename = "feedback-dpt")]
    pub feedback_dpt: Given<DptText>,
    /// Whether the appliance means the opposite by its values.
    pub reversed: Given<bool>,
    /// The lowest and the highest value the appliance takes, in the datapoint type's unit.
    pub range: Given<[f64; 2]>,
}

/// A datapoint type as text. Editors read a bare `5.001` as a number, so their schema allows one.
#[derive(Clone, Debug, PartialEq, Eq, serde::Deserialize)]
#[serde(transparent)]
pub struct DptText(pub String);

impl JsonSchema for DptText {
    fn schema_name() -> Cow<'static, str> {
        "DptText".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        // A bare `5.001` is a number to an editor. A truth value is text here too, and then no datapoint type.
        json_schema!({ "type": ["string", "number", "boolean"] })
    }
}

/// One text or a list of texts.
#[derive(Clone, Debug)]
pub enum OneOrMany {
    /// One.
    One(String),
    /// A list.
    Many(Vec<Spanned<String>>),
}

impl OneOrMany {
    /// The texts, each with its place; `whole` is where the value stands.
    pub fn texts(self, whole: Place) -> Vec<Spanned<String>> {
        match self {
            Self::One(text) => vec![Spanned::new(text, whole)],
            Self::Many(texts) => texts,
        }
    }
}

impl<'de> Deserialize<'de> for OneOrMany {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_newtype_struct(TEXT_OR_LIST, OneOrManyVisitor)
    }
}

struct OneOrManyVisitor;

impl<'de> Visitor<'de> for OneOrManyVisitor {
    type Value = OneOrMany;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text or a list of texts")
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, deserializer: D) -> Result<OneOrMany, D::Error> {
        deserializer.deserialize_any(self)
    }

    fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<OneOrMany, E> {
        Ok(OneOrMany::One(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut texts: A) -> Result<OneOrMany, A::Error> {
        let mut many = Vec::new();
        while let Some(text) = texts.next_element()? {
            many.push(text);
        }
        Ok(OneOrMany::Many(many))
    }
}

impl JsonSchema for OneOrMany {
    fn schema_name() -> Cow<'static, str> {
        "OneOrMany".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let one = generator.subschema_for::<String>();
        json_schema!({ "anyOf": [one, { "type": "array", "items": one }] })
    }
}
