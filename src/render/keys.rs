//! Keys of a description in words, as its JSON Schema has them.

use super::schema;
use crate::findings::breaking::wrapped;
use crate::rules::structure;
use serde_json::Value;
use std::fmt::Write as _;

/// The structures of a description in the order in which they stand within each other; of the first the schema is.
const STRUCTURES: [&str; 9] =
    ["DescriptionFile", "HouseHead", "Bus", "Columns", "Bridge", "Room", "Appliance", "Point", "Confirmed"];

/// The keys of all structures, each once.
pub fn description_keys() -> Vec<String> {
    let schema = schema("house");
    let all = STRUCTURES.iter().filter_map(|structure| properties(&schema, structure)?.as_object());
    let mut keys: Vec<String> = all.flat_map(|of_one| of_one.keys().cloned()).collect();
    keys.sort();
    keys.dedup();
    keys
}

/// What a key says wherever one of this name stands, for a terminal of so many columns.
pub fn explain_key(name: &str, width: usize) -> Option<String> {
    let schema = schema("house");
    let mut text = String::new();
    for one in STRUCTURES {
        let key = properties(&schema, one).and_then(|properties| properties.get(name));
        if let Some(said) = key.and_then(|key| key.get("description")?.as_str()) {
            let between = if text.is_empty() { "" } else { "\n" };
            let said = wrapped(&said.replace('\n', " "), width);
            let _ = writeln!(text, "{between}{name}: a key of {}\n\n{said}", structure(one));
        }
    }
    (!text.is_empty()).then_some(text)
}

fn properties<'a>(schema: &'a Value, structure: &str) -> Option<&'a Value> {
    match structure {
        "DescriptionFile" => schema.get("properties"),
        _ => schema.get("$defs")?.get(structure)?.get("properties"),
    }
}
