//! Values and steps of a class file: settings in them, names of enumeration members and bits.

use super::Compiler;
use crate::classes::blueprint::{Steps, ValueRule};
use crate::classes::problem::Problem;
use crate::classes::shape::{ENDPOINT_ABOVE, THIS_ENDPOINT};
use crate::convert::{Chain, Step, TooManyValues, VALUES_MAX, values_in};
use crate::matter::{Cluster, Kind, kind};
use crate::source::Place;
use serde_json::{Map, Value};

impl Compiler {
    /// A first value of an attribute or field of this type.
    pub(super) fn value(
        &mut self,
        cluster: &Cluster,
        datatype: &str,
        value: &Value,
        place: Place,
    ) -> ValueRule {
        let value = numbered(cluster, datatype, value);
        let settings = self.settings_in(&value, place);
        ValueRule { value, settings, place }
    }

    /// A value without a type: a time parameter.
    pub(super) fn plain_value(&mut self, value: &Value, place: Place) -> ValueRule {
        ValueRule { value: value.clone(), settings: self.settings_in(value, place), place }
    }

    /// Steps, read at once where no setting is in them. `places` are theirs, where each has one.
    pub(super) fn steps(&mut self, steps: &[Value], places: &[Place], place: Place) -> Steps {
        let mut settings = Vec::new();
        let mut chain = Chain::default();
        let mut is_fixed = true;
        let mut values = 0;
        for (index, step) in steps.iter().enumerate() {
            let place = places.get(index).copied().unwrap_or(place);
            let read = serde_json::from_value::<Step>(step.clone());
            // Of a step with settings in it the values as they are written.
            values += read.as_ref().map_or_else(|_| values_in(step), Step::values);
            if values > VALUES_MAX {
                // What is not looked at takes no time: nothing else is told of such steps.
                self.problems.push(Problem::Parameter { place, detail: TooManyValues.to_string() });
                return Steps::Fixed(Chain::default());
            }
            if speaks_of_settings(step) {
                is_fixed = false;
                settings.extend(self.settings_in(step, place));
                continue;
            }
            match read {
                Ok(step) => {
                    if let Err(fault) = step.parameters() {
                        self.problems.push(Problem::Parameter { place, detail: fault.to_string() });
                    }
                    chain.steps.push(step);
                }
                Err(fault) => self.problems.push(Problem::Step { place, detail: fault.to_string() }),
            }
        }
        if is_fixed { Steps::Fixed(chain) } else { Steps::Made { steps: steps.to_vec(), settings } }
    }

    /// The settings that a value speaks of, each told if there is none.
    fn settings_in(&mut self, value: &Value, place: Place) -> Vec<u16> {
        let mut names = Vec::new();
        collect(value, &mut names);
        names.sort_unstable();
        names.dedup();
        names.into_iter().filter_map(|name| self.setting_index(name, place)).collect()
    }
}

fn speaks_of_settings(value: &Value) -> bool {
    let mut names = Vec::new();
    collect(value, &mut names);
    !names.is_empty()
}

fn collect<'a>(value: &'a Value, names: &mut Vec<&'a str>) {
    match value {
        Value::Object(fields) => {
            names.extend(fields.get("setting").and_then(Value::as_str));
            fields.values().for_each(|field| collect(field, names));
        }
        Value::Array(entries) => entries.iter().for_each(|entry| collect(entry, names)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// The value with the names of enumeration members, bits and endpoints (`this`, `above`) replaced by their numbers. What has no number stays, and is
/// found when the value is checked.
fn numbered(cluster: &Cluster, datatype: &str, value: &Value) -> Value {
    if value.get("setting").is_some() {
        return value.clone();
    }
    match (datatype, value.as_str()) {
        ("endpoint-no", Some("this")) => return THIS_ENDPOINT.into(),
        ("endpoint-no", Some("above")) => return ENDPOINT_ABOVE.into(),
        _ => {}
    }
    match (kind(cluster, datatype), value) {
        (Some(Kind::Enumeration(Some(members))), Value::String(name)) => {
            let member = members.values.iter().find(|member| member.name == *name);
            member.map_or_else(|| value.clone(), |member| member.value.into())
        }
        (Some(Kind::Bitmap(_, Some(bitmap))), Value::Array(names)) => {
            let bits: Option<Vec<u64>> = names
                .iter()
                .map(|name| {
                    let bit = bitmap.bits.iter().find(|bit| Some(bit.name.as_str()) == name.as_str())?;
                    1_u64.checked_shl(u32::try_from(bit.bit.as_u64()?).ok()?)
                })
                .collect();
            bits.map_or_else(|| value.clone(), |bits| bits.into_iter().fold(0, |sum, bit| sum | bit).into())
        }
        (Some(Kind::List(entry)), Value::Array(entries)) => {
            entries.iter().map(|one| numbered(cluster, entry, one)).collect::<Vec<_>>().into()
        }
        (Some(Kind::Structure(structure)), Value::Object(fields)) => {
            let mut out = Map::new();
            for (name, field) in fields {
                let known = structure.fields.iter().find(|known| known.name == *name);
                out.insert(
                    name.clone(),
                    known.map_or_else(|| field.clone(), |known| numbered(cluster, &known.datatype, field)),
                );
            }
            Value::Object(out)
        }
        _ => value.clone(),
    }
}
