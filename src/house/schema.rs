//! The JSON Schema of a description file, for editors: completion, hover text, and what they can underline.
//!
//! It is made from the same types as the reader. What differs is told here: editors type a bare `5.001` or `12` as a
//! number before they look, so wherever text is free a number or truth value is taken too; and what a class asks
//! of `points` and `settings` is added as `if`/`then` by class, so that a pointer into the document points at the key.
//!
//! What the reader asks for and a schema of one file cannot: that `housewright` and `house` stand in the root file and
//! nowhere else, that a key is used once in all files of the house, that bus, bridge and rule exist, that addresses and
//! datapoint types are right, and what a class of the house's own wants. `tests/it/schemas` holds both to one verdict on
//! everything else.

use super::model::{DescriptionFile, VERSION};
use crate::classes::{ClassLibrary, Need, SettingKind, SettingSpec};
use crate::source::bare::{FREE, loosen};
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

/// Keys that must be there, by structure: those that the reader tells as missing.
const REQUIRED: [(&str, &[&str]); 3] =
    [("HouseHead", &["id", "name"]), ("Bridge", &["name", "capacity"]), ("Appliance", &["name", "class"])];

/// Keys of a mapping that name things for ever, by the structure that has it.
const KEYED: [(&str, &str); 4] = [("", "buses"), ("", "bridges"), ("", "rooms"), ("Room", "appliances")];

/// A fit key as a pattern; `is_fit_key` says the same.
const KEY: &str = "^[a-z][a-z0-9]*(-[a-z0-9]+)*$";
/// Bytes that a key has at most.
const KEY_LONGEST: usize = 64;

/// The JSON Schema (draft 2020-12) of a description file, with the points and settings of these classes and the names of
/// these rules.
pub fn schema(library: &ClassLibrary, rules: &[&str]) -> Value {
    let generator = SchemaSettings::draft2020_12().into_generator();
    let mut schema = generator.into_root_schema_for::<DescriptionFile>().to_value();
    loosen(&mut schema);
    for (structure, key) in KEYED {
        if let Some(property) = property(&mut schema, structure, key) {
            property.insert("propertyNames".to_owned(), json!({ "pattern": KEY, "maxLength": KEY_LONGEST }));
        }
    }
    for structure in ["", "Room", "Appliance"] {
        if let Some(allow) = property(&mut schema, structure, "allow") {
            // A reason is required, and a reason says something.
            allow.insert("additionalProperties".to_owned(), json!({ "type": FREE, "pattern": "\\S" }));
            // For completion: a rule that is gone may stand there, and is told.
            let names = json!({ "anyOf": [{ "enum": rules }, { "type": "string" }] });
            allow.insert("propertyNames".to_owned(), names);
        }
    }
    if let Some(id) = property(&mut schema, "HouseHead", "id") {
        // A number is no fit key.
        id.insert("type".to_owned(), json!(["string", "boolean"]));
        id.insert("pattern".to_owned(), json!(KEY));
        id.insert("maxLength".to_owned(), json!(KEY_LONGEST));
    }
    if let Some(capacity) = property(&mut schema, "Bridge", "capacity") {
        capacity.insert("maximum".to_owned(), json!(u32::MAX));
    }
    if let Some(version) = property(&mut schema, "", "housewright") {
        version.remove("type");
        version.insert("enum".to_owned(), json!([VERSION.parse::<u32>().unwrap_or(1), VERSION]));
    }
    if let Some(definitions) = schema.get_mut("$defs").and_then(Value::as_object_mut) {
        for (structure, keys) in REQUIRED {
            if let Some(definition) = definitions.get_mut(structure).and_then(Value::as_object_mut) {
                definition.insert("required".to_owned(), json!(keys));
            }
        }
        if let Some(appliance) = definitions.get_mut("Appliance").and_then(Value::as_object_mut) {
            appliance.insert("allOf".to_owned(), by_class(library));
            name_classes(appliance, library);
        }
    }
    if let Some(root) = schema.as_object_mut() {
        root.insert("title".to_owned(), json!("housewright house description"));
    }
    schema
}

/// A key of a structure in the schema; of the root where the structure has no name.
fn property<'a>(schema: &'a mut Value, structure: &str, key: &str) -> Option<&'a mut Map<String, Value>> {
    let object = match structure {
        "" => schema,
        _ => schema.get_mut("$defs")?.get_mut(structure)?,
    };
    object.get_mut("properties")?.get_mut(key)?.as_object_mut()
}

/// Completion for `class:`; a class of the house's own is taken too.
fn name_classes(appliance: &mut Map<String, Value>, library: &ClassLibrary) {
    if let Some(class) = appliance.get_mut("properties").and_then(|properties| properties.get_mut("class")) {
        let description = class.get("description").cloned().unwrap_or_default();
        let classes = library.names().into_iter().filter_map(|name| library.get(name));
        let known = classes.map(|class| json!({ "const": class.name, "description": class.summary }));
        let any: Vec<Value> = known.chain([json!({ "type": FREE })]).collect();
        *class = json!({ "description": description, "anyOf": any });
    }
}

fn by_class(library: &ClassLibrary) -> Value {
    let classes = library.names().into_iter().filter_map(|name| library.get(name));
    let rules = classes.map(|class| {
        let points: Map<String, Value> = class
            .points
            .iter()
            .map(|point| {
                let need = match point.need {
                    Need::Required => "required",
                    Need::Recommended => "recommended",
                    Need::Optional => "optional",
                };
                (point.name.clone(), json!({ "$ref": "#/$defs/Point", "description": format!("{} ({need})", point.title) }))
            })
            .collect();
        let settings: Map<String, Value> = class
            .settings
            .iter()
            .map(|setting| (setting.name.clone(), self::setting(setting)))
            .collect();
        let only = |properties: Map<String, Value>| json!({ "properties": properties, "additionalProperties": false });
        json!({
            "if": { "properties": { "class": { "const": class.name } }, "required": ["class"] },
            "then": { "properties": { "points": only(points), "settings": only(settings) } },
        })
    });
    Value::Array(rules.collect())
}

/// A number as a text: what stands in quotes is read as what is in them. Its range is the reader's to say.
const NUMBER: &str = r"^\s*[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?\s*$";

/// What a setting takes.
fn setting(setting: &SettingSpec) -> Value {
    let mut values = match &setting.kind {
        SettingKind::Number { range: [low, high], whole } => {
            let kind = if *whole { "integer" } else { "number" };
            json!({ "anyOf": [
                { "type": kind, "minimum": low, "maximum": high },
                { "type": "string", "pattern": NUMBER },
            ] })
        }
        SettingKind::Choice { words } => {
            let words = words.iter().map(|(word, meaning)| {
                let mut any = vec![json!(word)];
                // What looks like a number, or like true or false, is one to an editor.
                any.extend(serde_json::from_str::<Value>(word).ok().filter(|value| !value.is_null()));
                json!({ "enum": any, "description": meaning })
            });
            json!({ "anyOf": words.collect::<Vec<_>>() })
        }
        SettingKind::Flag => json!({ "enum": [true, false, "true", "false"] }),
        SettingKind::Text { longest } => json!({ "type": FREE, "minLength": 1, "maxLength": longest }),
    };
    if let Some(values) = values.as_object_mut() {
        let unit = if setting.unit.is_empty() { String::new() } else { format!(" In {}.", setting.unit) };
        values.insert("description".to_owned(), json!(format!("{}{unit}", setting.description)));
    }
    values
}
