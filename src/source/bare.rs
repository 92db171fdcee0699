//! Bare text in the JSON Schemas of what people write: an editor types `12` or `5.001` as a number, and `true` as a truth
//! value, before it looks; the reader takes what was written.

use serde_json::{Value, json};

/// What editors take a bare text for.
pub(crate) const FREE: [&str; 3] = ["string", "number", "boolean"];

/// Takes a number or a truth value too wherever text is free.
pub(crate) fn loosen(schema: &mut Value) {
    match schema {
        Value::Object(object) => {
            let free = object.get("type") == Some(&json!("string"))
                && !object.contains_key("enum")
                && !object.contains_key("const");
            if free {
                object.insert("type".to_owned(), json!(FREE));
            }
            object.values_mut().for_each(loosen);
        }
        Value::Array(items) => items.iter_mut().for_each(loosen),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}
