//! The value of an attribute as people read it: `21 °C` for 2100, `TiltBlindLift` for 8.

use super::phrases::text;
use crate::convert::{Chain, Value, attribute::person};
use crate::matter::{self, Cluster, Datatype, Kind};
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
    if (cluster, attribute) == super::cautions::TAGS {
        return tags(value);
    }
    if attribute == "CurrentMode" {
        return Some(format!("mode {}", value.as_u64()?));
    }
    if let Some(set) = bits(cluster, attribute, value) {
        return match (set.as_slice(), value.as_u64()) {
            ([], Some(0)) => Some("nothing".to_owned()),
            ([], _) => None,
            (set, _) => Some(super::list(set)),
        };
    }
    let cluster = matter::cluster(cluster)?;
    let like = if attribute.ends_with(MIREDS.0) { MIREDS.1 } else { attribute };
    let attribute = cluster.attribute(like)?;
    if let Some(Kind::Enumeration(Some(members))) = matter::kind(cluster, &attribute.datatype) {
        return Some(named(members, value)?.to_owned());
    }
    let person = person(cluster, attribute);
    if person.unit.is_empty() {
        return structure(cluster, &attribute.datatype, value);
    }
    let stands = Value::from_json(value).ok()?;
    let seen = person.steps.run(&stands, &()).ok()?.number()?;
    Some(format!("{} {}", shortest(seen, &stands, &person.steps), person.unit))
}

/// Semantic tags by their names: `garage door`. None where one has none.
fn tags(value: &Json) -> Option<String> {
    let name = |tag: &Json| {
        let of = |field| tag.get(field).and_then(Json::as_u64);
        let is_standard = tag.get("MfgCode").is_none_or(Json::is_null);
        matter::tag_name(of("NamespaceId")?, of("Tag")?).filter(|_| is_standard).map(spaced)
    };
    let names = value.as_array()?.iter().map(name).collect::<Option<Vec<_>>>()?;
    (!names.is_empty()).then(|| names.join(", "))
}

/// A structure by the names of its values: `partially opened, not secure`. None where a value has no name.
fn structure(cluster: &Cluster, datatype: &str, value: &Json) -> Option<String> {
    let Some(Kind::Structure(structure)) = matter::kind(cluster, datatype) else { return None };
    let fields = value.as_object().filter(|fields| !fields.is_empty())?;
    let told = fields.iter().filter(|(_, value)| !value.is_null()).map(|(name, value)| {
        let field = structure.fields.iter().find(|field| field.name == *name)?;
        match matter::kind(cluster, &field.datatype) {
            Some(Kind::Bool) => {
                let is = spaced(name.strip_suffix("State").unwrap_or(name));
                Some(if value.as_bool()? { is } else { format!("not {is}") })
            }
            Some(Kind::Enumeration(Some(members))) => Some(spaced(named(members, value)?)),
            _ => None,
        }
    });
    Some(told.collect::<Option<Vec<_>>>()?.join(", "))
}

fn named<'m>(members: &'m Datatype, value: &Json) -> Option<&'m str> {
    let member = members.values.iter().find(|member| Some(u64::from(member.value)) == value.as_u64())?;
    Some(&member.name)
}

/// The name of a value as words: `partially opened` for `PartiallyOpened`.
fn spaced(name: &str) -> String {
    let mut words = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(letter.to_lowercase());
    }
    words
}

/// The name of what the field of a command asks for, where it has one.
pub(super) fn member((cluster, command): (&str, &str), field: &str, value: &Value) -> Option<&'static str> {
    let cluster = matter::cluster(cluster)?;
    let command = cluster.commands.iter().find(|one| one.name == command)?;
    let field = command.fields.iter().find(|one| one.name == field)?;
    match matter::kind(cluster, &field.datatype) {
        Some(Kind::Enumeration(Some(members))) => named(members, &value.to_json()),
        _ => None,
    }
}

/// The bits of a bitmap by their names; none where one has none.
pub(super) fn bits(cluster: &str, attribute: &str, value: &Json) -> Option<Vec<&'static str>> {
    let cluster = matter::cluster(cluster)?;
    let Some(Kind::Bitmap(_, Some(datatype))) =
        matter::kind(cluster, &cluster.attribute(attribute)?.datatype)
    else {
        return None;
    };
    let set = value.as_u64()?;
    let is_set = |number: u64| {
        u32::try_from(number).ok().and_then(|by| set.checked_shr(by)).is_some_and(|rest| rest & 1 == 1)
    };
    Some(
        datatype
            .bits
            .iter()
            .filter(|bit| bit.bit.as_u64().is_some_and(is_set))
            .map(|bit| bit.name.as_str())
            .collect(),
    )
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
        let tag = |namespace, tag| json!({ "MfgCode": null, "NamespaceId": namespace, "Tag": tag });
        check("Descriptor.TagList", json!([tag(68, 4)]), "gate");
        check("Descriptor.TagList", json!([tag(68, 5), tag(7, 2)]), "garage door, two");
        check(
            "Descriptor.TagList",
            json!([{ "MfgCode": 1, "NamespaceId": 9, "Tag": 4 }]),
            r#"[{"MfgCode":1,"NamespaceId":9,"Tag":4}]"#,
        );
        check("ColorControl.ColorTempPhysicalMinMireds", json!(154), "6500 K");
        check(
            "ElectricalEnergyMeasurement.CumulativeEnergyImported",
            json!({"Energy": 1_500_000}),
            "1.5 kWh",
        );
        check("OnOff.OnOff", json!(true), "on");
        check("Thermostat.ThermostatRunningState", json!(1), "Heat");
        check("WindowCovering.SafetyStatus", json!(0), "nothing");
        check("WindowCovering.ConfigStatus", json!(9), "Operational and LiftPositionAware");
        let state = json!({"Position": 2, "SecureState": false});
        check("ClosureControl.OverallCurrentState", state, "partially opened, not secure");
    }

    #[test]
    fn what_nobody_has_a_unit_for_stands_as_it_is() {
        check("LevelControl.MinLevel", json!(3), "3");
        check("Thermostat.LocalTemperature", json!(null), "unknown");
        check("BooleanState.StateValue", json!(true), "true");
        check("Own.Thing", json!("x"), "x");
    }
}
