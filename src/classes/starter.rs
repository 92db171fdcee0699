//! The text of a new class file, and the JSON Schema of the format.

use super::template::Template;
use crate::source::bare::loosen;
use schemars::generate::SchemaSettings;
use serde_json::{Value, json};

/// A class file to begin with: a lamp, with what to change beside each line.
pub fn starter(name: &str) -> String {
    let title = title(name);
    format!(
        "\
# A device class of this house, begun as a lamp: write the nearest class that `housewright list classes` shows behind
# `based-on`, change the texts, and leave only what differs. `housewright explain dimmable-light` shows what a finished
# class says; `housewright schema class` prints the format for your editor.
class: {name}                 # also the name of this file
based-on: on-off-light        # the nearest class: everything that is not written here is taken from there
title: {title}
group: lighting               # lighting, outlets, shading, doors, climate, sensors, energy, water, control
summary: What it is and what the family can do with it, in a sentence.
explanation: |
  What an integrator should know, choose and watch.

# without: [point]            # points of the class above that this one has not

points:
  switching:                  # only what is different from the class above
    feedback: {{ need: required }}

# A new point, and what it does in Matter:
#   brightness:
#     title: sets the brightness
#     need: required
#     command:  {{ need: required, dpts: [5.001], flags: CW }}
#     feedback: {{ need: required, dpts: [5.001], flags: CRT }}
#     links:
#       - from: state                           # the feedback, or without one the command
#         attribute: LevelControl.CurrentLevel
#         convert: [{{ step: ignore, values: [0] }}, {{ step: scale, from: [0, 100], to: [0, 254] }}]
#       - command: [LevelControl.MoveToLevel, LevelControl.MoveToLevelWithOnOff] # a controller asks, the bus is told
#         convert: [{{ step: field, name: Level }}, {{ step: scale, from: [0, 254], to: [0, 100] }}]
#
# parts:
#   main:
#     device-types: {{ DimmableLight: 3 }}        # with the revision of the data model
#     clusters:
#       LevelControl: {{ features: [OO, LT] }}
"
    )
}

/// `hall-lamp` as a title: `Hall lamp`.
pub(super) fn title(name: &str) -> String {
    let words = name.replace('-', " ");
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The JSON Schema (draft 2020-12) of a class file.
pub fn schema() -> Value {
    let mut schema =
        SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<Template>().to_value();
    loosen(&mut schema);
    if let Some(flags) = schema.pointer_mut("/$defs/Address/properties/flags").and_then(Value::as_object_mut)
    {
        flags.insert("pattern".to_owned(), FLAGS.into());
    }
    if let Some(root) = schema.as_object_mut() {
        root.insert("title".to_owned(), "housewright device class".into());
        root.insert("required".to_owned(), json!(["class"]));
        // What a class is based on may say the rest.
        root.insert("if".to_owned(), json!({ "not": { "required": ["based-on"] } }));
        root.insert(
            "then".to_owned(),
            json!({
                "dependentRequired": { "confirm": ["caution"] },
                "if": { "properties": { "bridged": { "const": false } }, "required": ["bridged"] },
                "then": { "required": ["why"] },
            }),
        );
    }
    schema
}

/// Letters of flags in English and German, and what may stand between them; `knx::Flags` says the same.
const FLAGS: &str = "^[-–., \\tCRWTUIcrwtuiKLSÜAklsüa]*$";
