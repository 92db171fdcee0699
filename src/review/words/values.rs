//! The value of an attribute as people read it: `21 °C` for 2100, `TiltBlindLift` for 8.

use super::phrases::text;
use crate::convert::{Chain, Value, attribute::person};
use crate::matter::{self, Kind};
use serde_json::Value as Json;

/// Everything that is in mireds is read as the colour temperature is.
const MIREDS: (&str, &str) = ("Mireds", "ColorTemperatureMireds");

/// The value as people read it; as it stands where nobody has a unit or a name for it.
pub(super) fn value(cluster: &str, attribute: &str, value: &Json) -> String {
    match value {
        Json::Null => "unknown".to_owned(),
        _ => read(cluster, attribute, value).unwrap_or_else(|| text(value)),
    }
}

fn read(cluster: &str, attribute: &str, value: &Json) -> Option<String> {
    if let (("OnOff", "OnOff"), Some(on)) = ((cluster, attribute), value.as_bool()) {
        return Some(if on { "on" } else { "off" }.to_owned());
    }
    if attribute == "CurrentMode" {
        return Some(format!("mode {}", value.as_u64()?));
    }
    let cluster = matter::cluster(cluster)?;
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
    let stands = Value::from_json(value).ok()?;
    let seen = person.steps.run(&stands, &()).ok()?.number()?;
    Some(format!("{} {}", shortest(seen, &stands, &person.steps), person.unit))
}

/// The shortest number that stands for the same value: 6500 for 154 mireds, which are 6493.51 K; else two decimals.
fn shortest(seen: f64, stands: &Value, steps: &Chain) -> f64 {
    const FIGURES: [f64; 5] = [1000.0, 100.0, 10.0, 1.0, 0.1];
    let back = steps.inverse().ok();
    let same = |short: f64| {
        let back = back.as_ref().and_then(|back| back.run(&Value::Number(short), &()).ok());
        back.and_then(|back| back.number()).map(|back| Value::Number(back.round())).as_ref() == Some(stands)
    };
    let mut short = FIGURES.iter().map(|figure| (seen / figure).round() * figure);
    let hundredths = (seen * 100.0).round() / 100.0;
    short.find(|short| same(*short)).map_or(hundredths, |short| (short * 100.0).round() / 100.0)
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
        check("ColorControl.ColorTempPhysicalMinMireds", json!(370), "2700 K");
        check("WindowCovering.Type", json!(6), "Shutter");
        check("LevelControl.CurrentLevel", json!(127), "50 %");
        check("ColorControl.ColorTempPhysicalMinMireds", json!(154), "6500 K");
        check(
            "ElectricalEnergyMeasurement.CumulativeEnergyImported",
            json!({"Energy": 1_500_000}),
            "1.5 kWh",
        );
        check("OnOff.OnOff", json!(true), "on");
    }

    #[test]
    fn what_nobody_has_a_unit_for_stands_as_it_is() {
        check("LevelControl.MinLevel", json!(3), "3");
        check("Thermostat.LocalTemperature", json!(null), "unknown");
        check("BooleanState.StateValue", json!(true), "true");
        check("Own.Thing", json!("x"), "x");
    }
}
