//! Values that settings stand in.

use crate::classes::class::Class;
use crate::classes::setting::SettingValue;
use crate::classes::shape::Chosen;
use crate::convert::{Chain, Step, Value as Converted};
use serde_json::{Map, Value};

/// A setting whose steps give nothing, or are none.
#[derive(Debug)]
pub(super) struct NoResult;

/// The value with every `{ setting: NAME }` and `{ setting: NAME, convert: [...] }` in it replaced; `None` where a setting
/// has no value. A structure or row that needs such a setting is left out of the list around it.
pub(super) fn value(class: &Class, chosen: &Chosen, written: &Value) -> Result<Option<Value>, NoResult> {
    match written {
        Value::Object(fields) if fields.contains_key("setting") => setting(class, chosen, fields),
        Value::Object(fields) => {
            let mut out = Map::new();
            for (name, field) in fields {
                let Some(made) = value(class, chosen, field)? else { return Ok(None) };
                out.insert(name.clone(), made);
            }
            Ok(Some(Value::Object(out)))
        }
        Value::Array(entries) => {
            let mut all = Vec::with_capacity(entries.len());
            for entry in entries {
                match value(class, chosen, entry)? {
                    Some(made) => all.push(made),
                    // A pair or another fixed row is whole or not at all.
                    None if entry.get("setting").is_some() => return Ok(None),
                    None => {}
                }
            }
            Ok(Some(Value::Array(all)))
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => Ok(Some(written.clone())),
    }
}

fn setting(class: &Class, chosen: &Chosen, fields: &Map<String, Value>) -> Result<Option<Value>, NoResult> {
    let name = fields.get("setting").and_then(Value::as_str).ok_or(NoResult)?;
    let Some((index, _)) = class.setting(name) else { return Err(NoResult) };
    let Some(given) = chosen.setting(class, index) else { return Ok(None) };
    let given = match given {
        SettingValue::Number(number) => Converted::Number(number.get()),
        SettingValue::Text(text) => Converted::Text(text.clone()),
        SettingValue::Flag(flag) => Converted::Bool(*flag),
    };
    let steps = fields.get("convert").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let Some(chain) = chain(class, chosen, steps)? else { return Ok(None) };
    match chain.run(&given, &()) {
        Ok(Converted::Null) | Err(_) => Err(NoResult),
        Ok(made) => Ok(Some(made.to_json())),
    }
}

/// Steps with the settings in them replaced; `None` where a setting has no value.
pub(super) fn chain(class: &Class, chosen: &Chosen, steps: &[Value]) -> Result<Option<Chain>, NoResult> {
    let mut out = Chain::default();
    for step in steps {
        let Some(made) = value(class, chosen, step)? else { return Ok(None) };
        let step = serde_json::from_value::<Step>(made).map_err(|_| NoResult)?;
        step.parameters().map_err(|_| NoResult)?;
        out.steps.push(step);
    }
    Ok(Some(out))
}
