//! What a derive cannot read: values that may be written in several shapes.

use super::{ConditionTemplate, Detail, Joining, OneOrMore, UnitsTemplate, Ways};
use crate::classes::shape::Joint;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserializer, Error, MapAccess, SeqAccess, Unexpected, Visitor};
use std::borrow::Cow;
use std::fmt;

struct Texts;

impl<'de> Visitor<'de> for Texts {
    type Value = OneOrMore;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a text or a list of texts")
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<OneOrMore, E> {
        Ok(OneOrMore(vec![text.to_owned()]))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut entries: A) -> Result<OneOrMore, A::Error> {
        let mut texts = Vec::new();
        while let Some(text) = entries.next_element()? {
            texts.push(text);
        }
        Ok(OneOrMore(texts))
    }
}

impl<'de> Deserialize<'de> for OneOrMore {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Texts)
    }
}

impl JsonSchema for OneOrMore {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "OneOrMore".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [{ "type": "string" }, { "type": "array", "items": { "type": "string" } }] })
    }
}

struct Joinings;

impl<'de> Visitor<'de> for Joinings {
    type Value = Joining;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("`true`, `bits` or `{ first-of: [...] }`")
    }

    fn visit_bool<E: Error>(self, last: bool) -> Result<Joining, E> {
        Ok(if last { Joining::Last } else { Joining::Never })
    }

    fn visit_str<E: Error>(self, word: &str) -> Result<Joining, E> {
        match word {
            "bits" => Ok(Joining::Together(Joint::Bits)),
            _ => Err(E::invalid_value(Unexpected::Str(word), &self)),
        }
    }

    fn visit_map<A: MapAccess<'de>>(self, entries: A) -> Result<Joining, A::Error> {
        let Ranked { first_of } = Ranked::deserialize(MapAccessDeserializer::new(entries))?;
        Ok(Joining::Together(Joint::FirstOf(first_of)))
    }
}

/// Values of an attribute, the weightiest first.
#[derive(Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct Ranked {
    /// The first of these values that one of the points told last.
    first_of: Vec<serde_json::Value>,
}

impl<'de> Deserialize<'de> for Joining {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Joinings)
    }
}

impl JsonSchema for Joining {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Joining".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let ranked = generator.subschema_for::<Ranked>();
        json_schema!({ "anyOf": [{ "type": "boolean" }, { "const": "bits" }, ranked] })
    }
}

struct Conditions;

impl<'de> Visitor<'de> for Conditions {
    type Value = ConditionTemplate;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a point, a list of conditions, or a setting")
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<ConditionTemplate, E> {
        Ok(ConditionTemplate::Point(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut entries: A) -> Result<ConditionTemplate, A::Error> {
        let mut any = Vec::new();
        while let Some(one) = entries.next_element()? {
            any.push(one);
        }
        Ok(ConditionTemplate::Any(any))
    }

    fn visit_map<A: MapAccess<'de>>(self, entries: A) -> Result<ConditionTemplate, A::Error> {
        Detail::deserialize(MapAccessDeserializer::new(entries)).map(ConditionTemplate::Detail)
    }
}

impl<'de> Deserialize<'de> for ConditionTemplate {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Conditions)
    }
}

impl JsonSchema for ConditionTemplate {
    fn schema_name() -> Cow<'static, str> {
        "When".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let detail = generator.subschema_for::<Detail>();
        json_schema!({
            "description": "Something that an appliance has or has not: a point `brightness`, an address of it \
                            `brightness.feedback`, a setting, or a list of which one must hold.",
            "anyOf": [{ "type": "string" }, detail, { "type": "array", "items": { "$ref": "#/$defs/When" } }]
        })
    }
}

struct Units;

impl<'de> Visitor<'de> for Units {
    type Value = UnitsTemplate;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a list of steps, or such a list for each way")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut entries: A) -> Result<UnitsTemplate, A::Error> {
        let mut steps = Vec::new();
        while let Some(step) = entries.next_element()? {
            steps.push(step);
        }
        Ok(UnitsTemplate::Steps(steps))
    }

    fn visit_map<A: MapAccess<'de>>(self, entries: A) -> Result<UnitsTemplate, A::Error> {
        Ways::deserialize(MapAccessDeserializer::new(entries)).map(UnitsTemplate::Ways)
    }
}

impl<'de> Deserialize<'de> for UnitsTemplate {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Units)
    }
}

impl JsonSchema for UnitsTemplate {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Units".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let ways = generator.subschema_for::<Ways>();
        json_schema!({ "anyOf": [{ "type": "array", "items": { "type": "object" } }, ways] })
    }
}
