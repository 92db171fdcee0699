//! What attributes are called in a house. Written by hand; an attribute without a row keeps the data model's name.
//!
//! Two attributes with the same words are one thing to people: a limit of the device and the same limit as it is set.

use crate::matter;

/// Attributes, and what people call them.
const WORDS: &[(&str, &str)] = &[
    ("ColorControl.ColorTempPhysicalMaxMireds", "the warmest white"),
    ("ColorControl.ColorTempPhysicalMinMireds", "the coldest white"),
    ("ColorControl.CoupleColorTempToLevelMinMireds", "the coldest white"),
    ("FanControl.FanMode", "the mode"),
    ("LevelControl.CurrentLevel", "the level"),
    ("LevelControl.MaxLevel", "the highest level"),
    ("LevelControl.MinLevel", "the lowest level"),
    ("Thermostat.AbsMaxCoolSetpointLimit", "the highest setpoint for cooling"),
    ("Thermostat.AbsMaxHeatSetpointLimit", "the highest setpoint for heating"),
    ("Thermostat.AbsMinCoolSetpointLimit", "the lowest setpoint for cooling"),
    ("Thermostat.AbsMinHeatSetpointLimit", "the lowest setpoint for heating"),
    ("Thermostat.ControlSequenceOfOperation", "what it can do"),
    ("Thermostat.MaxCoolSetpointLimit", "the highest setpoint for cooling"),
    ("Thermostat.MaxHeatSetpointLimit", "the highest setpoint for heating"),
    ("Thermostat.MinCoolSetpointLimit", "the lowest setpoint for cooling"),
    ("Thermostat.MinHeatSetpointLimit", "the lowest setpoint for heating"),
    ("Thermostat.OccupiedCoolingSetpoint", "the setpoint for cooling"),
    ("Thermostat.OccupiedHeatingSetpoint", "the setpoint for heating"),
    ("Thermostat.SystemMode", "the mode"),
    ("WindowCovering.CurrentPositionLiftPercent100ths", "the position"),
    ("WindowCovering.CurrentPositionTiltPercent100ths", "the position of its slats"),
    ("WindowCovering.TargetPositionLiftPercent100ths", "the position"),
    ("WindowCovering.TargetPositionTiltPercent100ths", "the position of its slats"),
];

/// Attributes that only follow from others: they are told where nothing else is.
const FOLLOW: [&str; 2] = ["WindowCovering.ConfigStatus", "Thermostat.ControlSequenceOfOperation"];

/// What people call the attribute, if they have a word for it.
pub(super) fn words(cluster: &str, attribute: &str) -> Option<&'static str> {
    let name = format!("{cluster}.{attribute}");
    let at = WORDS.binary_search_by(|(one, _)| (*one).cmp(name.as_str())).ok()?;
    WORDS.get(at).map(|(_, words)| *words)
}

/// Whether the attribute only follows from others.
pub(super) fn follows(cluster: &str, attribute: &str) -> bool {
    FOLLOW.iter().any(|one| one.split_once('.') == Some((cluster, attribute)))
}

/// A feature by its name and code: "`PositionAwareLift` (`PA_LF` of `WindowCovering`)", without the marks.
pub(super) fn feature(cluster: &str, code: &str) -> String {
    let facts = matter::cluster(cluster);
    let known = facts.and_then(|facts| facts.features.iter().find(|one| one.code == code));
    match known {
        Some(feature) => format!("{} ({code} of {cluster})", feature.name),
        None => format!("{code} of {cluster}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn attributes_are_sorted_and_in_the_data_model() {
        assert!(WORDS.is_sorted_by_key(|(name, _)| *name));
        for name in WORDS.iter().map(|(name, _)| *name).chain(FOLLOW) {
            let (cluster, attribute) = name.split_once('.').expect("Cluster.Attribute");
            let known = matter::cluster(cluster).and_then(|cluster| cluster.attribute(attribute));
            assert!(known.is_some(), "{name}");
        }
        assert_eq!(words("Thermostat", "SystemMode"), Some("the mode"));
        assert_eq!(words("Thermostat", "LocalTemperature"), None);
        assert_eq!(feature("Thermostat", "HEAT"), "Heating (HEAT of Thermostat)");
    }
}
