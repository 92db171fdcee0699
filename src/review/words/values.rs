//! The value of an attribute as people read it: `21 °C` for 2100, `TiltBlindLift` for 8.

use super::phrases::text;
use crate::convert::{Value, attribute::person};
use crate::matter::{self, Kind};
use serde_json::Value as Json;

/// Everything that is in mireds is read as the colour temperature is.
const MIREDS: (&str, &str) = ("Mireds", "ColorTemperatureMireds");

/// The value as people read it; as it stands where nobody has a unit or a name for it.
pub(super) fn value(cluster: &str, attribute: &str, value: &Json) -> String {
    read(cluster, attribute, value).unwrap_or_else(|| text(value))
}

fn read(cluster: &str, attribute: &str, value: &Json) -> Option<String> {
    let cluster = matter::cluster(cluster)?;
    let number = value.as_f64()?;
    let like = if attribute.ends_with(MIREDS.0) { MIREDS.1 } else { attribute };
    let attribute = cluster.attribute(like)?;
    if let Some(Kind::Enumeration(Some(members))) = matter::kind(cluster, &attribute.datatype) {
        let member = members.values.iter().find(|member| Some(u64::from(member.value)) == value.as_u64())?;
        return Some(member.name.clone());
    }
    let person = person(cluster, attribute);
    if person.unit.is_empty() {
        return None;
    }
    let Value::Number(seen) = person.steps.run(&Value::Number(number), &()).ok()? else { return None };
    let rounded = (seen * 100.0).round() / 100.0;
    Some(format!("{rounded} {}", person.unit))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn check(attribute: &str, stands: Json, expected: &str) {
        let (cluster, attribute) = attribute.split_once('.').expect("Cluster.Attribute");
        assert_eq!(value(cluster, attribute, &stands), expected);
    }

    #[test]
    fn values_have_the_units_and_names_of_people() {
        check("Thermostat.MaxHeatSetpointLimit", json!(2650), "26.5 °C");
        check("ColorControl.ColorTempPhysicalMinMireds", json!(370), "2702.7 K");
        check("WindowCovering.Type", json!(6), "Shutter");
        check("LevelControl.CurrentLevel", json!(127), "50 %");
    }

    #[test]
    fn what_nobody_has_a_unit_for_stands_as_it_is() {
        check("LevelControl.MinLevel", json!(3), "3");
        check("Thermostat.LocalTemperature", json!(null), "null");
        check("OnOff.OnOff", json!(true), "true");
        check("Own.Thing", json!("x"), "x");
    }
}
