//! A value of a tree as JSON, by the rules of YAML 1.2 core.

use serde_json::{Map, Number, Value};

use super::core_schema;
use super::tree::{Kind, Node};

impl Node<'_> {
    /// The value as JSON: plain scalars become null, booleans and numbers where they look like them, everything else
    /// text. What was told as a problem is null.
    #[must_use]
    pub fn to_json(self) -> Value {
        match self.slot().kind {
            Kind::Empty | Kind::Broken => Value::Null,
            Kind::Plain => scalar(self.raw_text()),
            Kind::Quoted | Kind::Block => Value::String(self.raw_text().to_owned()),
            Kind::Sequence => Value::Array(self.items().map(Node::to_json).collect()),
            Kind::Mapping => Value::Object(
                self.entries()
                    .map(|(key, value)| (key.raw_text().to_owned(), value.to_json()))
                    .collect::<Map<String, Value>>(),
            ),
        }
    }
}

/// A plain scalar as JSON.
fn scalar(text: &str) -> Value {
    if core_schema::is_null(text) {
        return Value::Null;
    }
    if let Some(boolean) = core_schema::boolean(text) {
        return Value::Bool(boolean);
    }
    let looks_whole = !text.contains(['.', 'e', 'E']) || text.starts_with("0x");
    let whole = if looks_whole { core_schema::integer(text) } else { None };
    whole
        .and_then(Number::from_i128)
        .or_else(|| core_schema::number(text).and_then(Number::from_f64))
        .map_or_else(|| Value::String(text.to_owned()), Value::Number)
}
