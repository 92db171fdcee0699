//! The JSON Schemas of all formats, as they lie in `schema/`: a test holds them to what the types say, and what makes them of
//! the types is not in the program.

use serde_json::Value;

static SCHEMAS: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/embedded_schemas.rs"));

/// The schema of a format, by its name in `schema/NAME.schema.json`.
pub fn schema(name: &str) -> Value {
    let file = format!("{name}.schema.json");
    let text = SCHEMAS.iter().find(|(known, _)| *known == file).map_or("null", |(_, text)| text);
    serde_json::from_str(text)
        .expect("embedded when the program was built, and compared with the types by a test")
}
