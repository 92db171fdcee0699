//! A value on its way through a conversion.

use super::number;
use serde_json::{Map, Value as Json};
use std::borrow::Cow;

/// A value on its way through a conversion, whichever side it comes from.
///
/// Equality is the conversions' own: numbers as numbers, structures whatever order their fields were given in.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Nothing: at the end of a chain nothing is passed on; as an attribute's value, unknown.
    Null,
    /// A truth value.
    Bool(bool),
    /// A number; whole numbers, enums and bitmaps too.
    Number(f64),
    /// A text.
    Text(String),
    /// Named values.
    Structure(Fields),
}

/// JSON that is no value: a list, or a number that no double holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("lists are not converted; a value is null, true or false, a number, a text or a structure of these")]
pub struct NoValue;

impl Value {
    /// The value that a piece of JSON stands for. Integers beyond 2^53 come to the nearest double.
    ///
    /// # Errors
    /// [`NoValue`] for a list, also inside a structure.
    pub fn from_json(json: &Json) -> Result<Value, NoValue> {
        Ok(match json {
            Json::Null => Value::Null,
            Json::Bool(truth) => Value::Bool(*truth),
            Json::Number(number) => Value::Number(number.as_f64().ok_or(NoValue)?),
            Json::String(text) => Value::Text(text.clone()),
            Json::Array(_) => return Err(NoValue),
            Json::Object(fields) => Value::Structure(Fields::from_json(fields)?),
        })
    }

    /// The value as JSON. Whole numbers below 2^53 are written as integers; a number that JSON cannot hold is null.
    #[must_use]
    pub fn to_json(&self) -> Json {
        match self {
            Value::Null => Json::Null,
            Value::Bool(truth) => Json::Bool(*truth),
            Value::Number(number) => number::to_json(*number),
            Value::Text(text) => Json::String(text.clone()),
            Value::Structure(fields) => {
                Json::Object(fields.iter().map(|(name, value)| (name.to_owned(), value.to_json())).collect())
            }
        }
    }

    /// Whether a piece of JSON stands for this value, without building it.
    #[must_use]
    pub fn equals_json(&self, json: &Json) -> bool {
        match (self, json) {
            (Value::Null, Json::Null) => true,
            (Value::Bool(a), Json::Bool(b)) => a == b,
            (Value::Number(a), Json::Number(b)) => b.as_f64() == Some(*a),
            (Value::Text(a), Json::String(b)) => a == b,
            (Value::Structure(a), Json::Object(b)) => {
                a.len() == b.len()
                    && b.iter().all(|(name, json)| a.get(name).is_some_and(|value| value.equals_json(json)))
            }
            (Value::Null | Value::Bool(_) | Value::Number(_) | Value::Text(_) | Value::Structure(_), _) => {
                false
            }
        }
    }

    /// What sort of value this is, in a word for messages.
    #[must_use]
    pub fn sort(&self) -> Sort {
        match self {
            Value::Null => Sort::Null,
            Value::Bool(_) => Sort::Bool,
            Value::Number(_) => Sort::Number,
            Value::Text(_) => Sort::Text,
            Value::Structure(_) => Sort::Structure,
        }
    }

    /// The number, if it is one.
    #[must_use]
    pub fn number(&self) -> Option<f64> {
        if let Value::Number(number) = self { Some(*number) } else { None }
    }
}

impl From<bool> for Value {
    fn from(truth: bool) -> Self {
        Value::Bool(truth)
    }
}

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Value::Number(number)
    }
}

/// The sorts of values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    /// Null.
    Null,
    /// A truth value.
    Bool,
    /// A number.
    Number,
    /// A text.
    Text,
    /// A structure.
    Structure,
    /// A list: never a value, but a constant in a step can be written as one.
    List,
}

impl std::fmt::Display for Sort {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Sort::Null => "null",
            Sort::Bool => "a truth value",
            Sort::Number => "a number",
            Sort::Text => "a text",
            Sort::Structure => "a structure",
            Sort::List => "a list",
        })
    }
}

/// The named values of a structure, each name once, in the order of the names.
///
/// A short sorted list: structures of the bus and of commands have a handful of fields, and the proof runs through
/// millions of them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fields(Vec<(Cow<'static, str>, Value)>);

impl Fields {
    /// No fields.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    fn from_json(fields: &Map<String, Json>) -> Result<Self, NoValue> {
        let mut out = Self(Vec::with_capacity(fields.len()));
        for (name, json) in fields {
            out.put(name.clone(), Value::from_json(json)?);
        }
        Ok(out)
    }

    /// Puts a field in, in place of one of the same name.
    pub fn put(&mut self, name: impl Into<Cow<'static, str>>, value: Value) {
        let name = name.into();
        match self.find(&name) {
            Ok(at) => {
                if let Some((_, old)) = self.0.get_mut(at) {
                    *old = value;
                }
            }
            Err(at) => self.0.insert(at, (name, value)),
        }
    }

    /// The field's value.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Value> {
        self.find(name).ok().and_then(|at| self.0.get(at)).map(|(_, value)| value)
    }

    /// The field's value, to be changed.
    pub fn get_mut(&mut self, name: &str) -> Option<&mut Value> {
        let at = self.find(name).ok()?;
        self.0.get_mut(at).map(|(_, value)| value)
    }

    /// Takes a field out.
    pub fn take(&mut self, name: &str) -> Option<Value> {
        self.find(name).ok().map(|at| self.0.remove(at).1)
    }

    /// How many fields there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The fields, in the order of their names.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Value)> {
        self.0.iter().map(|(name, value)| (name.as_ref(), value))
    }

    fn find(&self, name: &str) -> Result<usize, usize> {
        self.0.binary_search_by(|(own, _)| own.as_ref().cmp(name))
    }
}

impl<N: Into<Cow<'static, str>>> FromIterator<(N, Value)> for Fields {
    fn from_iter<I: IntoIterator<Item = (N, Value)>>(fields: I) -> Self {
        let mut out = Self::new();
        for (name, value) in fields {
            out.put(name, value);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// A piece of JSON becomes a value, and what is written of it is this.
    fn check(input: Json, expected: Option<Json>) {
        let value = Value::from_json(&input);
        assert_eq!(value.as_ref().ok().map(Value::to_json), expected, "{input}");
        if let Ok(value) = value {
            assert!(value.equals_json(&input), "{input}");
        }
    }

    #[test]
    fn json_goes_through_a_value() {
        check(json!(null), Some(json!(null)));
        check(json!(true), Some(json!(true)));
        check(json!("on"), Some(json!("on")));
        check(json!(21.5), Some(json!(21.5)));
        check(json!(21.0), Some(json!(21)));
        check(json!(-0.0), Some(json!(0)));
        check(json!(1e300), Some(json!(1e300)));
        check(json!(9_007_199_254_740_993_i64), Some(json!(9_007_199_254_740_992_i64)));
        check(json!({ "b": 1, "a": { "c": null } }), Some(json!({ "a": { "c": null }, "b": 1 })));
        check(json!([1]), None);
        check(json!({ "a": [] }), None);
    }

    #[test]
    fn fields_are_kept_once_each_and_in_order() {
        let mut fields: Fields = [("b", Value::Bool(true)), ("a", Value::Null)].into_iter().collect();
        fields.put("b", Value::Number(2.0));
        fields.put("c".to_owned(), Value::Null);
        let names: Vec<&str> = fields.iter().map(|(name, _)| name).collect();
        assert_eq!(names, ["a", "b", "c"]);
        assert_eq!(fields.get("b"), Some(&Value::Number(2.0)));
        assert_eq!(fields.take("b"), Some(Value::Number(2.0)));
        assert_eq!((fields.get("b"), fields.len()), (None, 2));
    }
}
