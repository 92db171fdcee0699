//! The text of a new class file, and the JSON Schema of the format.

use super::template::Template;
use schemars::generate::SchemaSettings;
use serde_json::Value;

/// A class file to begin with: a lamp of the house's own, with what to change beside each line.
pub fn starter(name: &str) -> String {
    let title = title(name);
    format!(
        "\
# A device class of this house. `housewright explain dimmable-light` shows what a finished one says;
# `housewright schema class` prints the format for your editor.
class: {name}                 # also the name of this file
based-on: on-off-light        # everything that is not written here is taken from there
title: {title}
group: lighting               # lighting, outlets, shading, doors, climate, sensors, energy, water, control
summary: A lamp that is switched on and off, with a timer of its own.
explanation: |
  What an integrator should know, choose and watch.

  For a lamp of another kind: change `based-on`, and drop what it has too much with `without: [point]`.

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
    if let Some(root) = schema.as_object_mut() {
        root.insert("title".to_owned(), "housewright device class".into());
        root.insert("required".to_owned(), serde_json::json!(["class"]));
    }
    schema
}
