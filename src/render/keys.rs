//! Keys of a description in words, as its JSON Schema has them.

use super::schema;
use crate::findings::breaking::wrapped;
use crate::rules::structure;
use crate::source::delimited::known_headings;
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
    match name {
        "columns" => text.push_str(&headings(width)),
        "words" => text.push_str(&words(width)),
        _ => {}
    }
    (!text.is_empty()).then_some(text)
}

/// The headings of tables that are found without help.
fn headings(width: usize) -> String {
    let head = "Headings that are found without help, in any case, with or without accents and what stands between their \
        letters. Types, flags and, where they can be told, names and addresses are known by what stands below them too.";
    let mut text = format!("\n{}\n", wrapped(head, width));
    for (column, known) in known_headings() {
        let _ = write!(text, "\n{}", wrapped(&format!("{}: {}", column.key(), known.join(", ")), width));
    }
    text.push('\n');
    text
}

/// What the word lists of a house may have.
fn words(width: usize) -> String {
    let schema = schema("words");
    let head = "Word lists help the checks with a house in another language: each file `*.yaml` in the folder `words/` beside the \
        root file is one. `housewright schema words` prints the JSON Schema. The keys of a list:";
    let mut text = format!("words: a folder of the house\n\n{}\n", wrapped(head, width));
    for (key, said) in schema.get("properties").and_then(Value::as_object).into_iter().flatten() {
        if let Some(said) = said.get("description").and_then(Value::as_str) {
            let _ = write!(text, "\n{}", wrapped(&format!("{key}: {}", said.replace('\n', " ")), width));
        }
    }
    text.push('\n');
    text
}

fn properties<'a>(schema: &'a Value, structure: &str) -> Option<&'a Value> {
    match structure {
        "DescriptionFile" => schema.get("properties"),
        _ => schema.get("$defs")?.get(structure)?.get("properties"),
    }
}
