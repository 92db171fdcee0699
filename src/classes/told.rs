//! Rules that the data model tells in prose only, so that no conformance or constraint holds them.

use super::shape::ShapedCluster;
use serde_json::Value;

/// An attribute, the section that tells a rule about it, and whether a cluster keeps to it.
type Rule = (&'static str, &'static str, fn(&ShapedCluster) -> bool);

/// The attributes of a cluster that break such a rule, each with the section that tells it.
pub(super) fn told(cluster: &ShapedCluster) -> Vec<(&'static str, &'static str)> {
    let rules: &[Rule] = match cluster.name.as_str() {
        "LevelControl" => &[("CurrentLevel", "cluster§1.6.6.2", lamp_level)],
        "ColorControl" => &[
            ("ColorCapabilities", "cluster§3.2.7.19", capabilities),
            ("ColorMode", "cluster§3.2.7.10", colour_mode),
            ("EnhancedColorMode", "cluster§3.2.7.13", colour_mode),
        ],
        "WindowCovering" => &[
            ("ConfigStatus", "cluster§5.3.6.5", config_status),
            ("Type", "cluster§5.3.6.2", covering_type),
            ("TargetPositionLiftPercent100ths", "cluster§5.3.6.10", lift_target),
            ("TargetPositionTiltPercent100ths", "cluster§5.3.6.11", tilt_target),
        ],
        "Thermostat" => &[
            ("OccupiedHeatingSetpoint", "cluster§4.3.11.12", heating_limits),
            ("OccupiedCoolingSetpoint", "cluster§4.3.11.11", cooling_limits),
            ("MinSetpointDeadBand", "cluster§4.3.11.19", dead_band),
            ("ControlSequenceOfOperation", "cluster§4.3.11.21", sequence),
        ],
        "FanControl" => &[
            ("FanModeSequence", "cluster§4.4.6.2", fan_sequence),
            ("PercentSetting", "cluster§4.4.6.3", fan_percent),
        ],
        "OccupancySensing" => &[
            ("OccupancySensorType", "cluster§2.7.6", sensor_type),
            ("OccupancySensorTypeBitmap", "cluster§2.7.6", sensor_bitmap),
        ],
        "ElectricalPowerMeasurement" => &[
            ("NumberOfMeasurementTypes", "cluster§2.13.6.2", measurement_types),
            ("Accuracy", "cluster§2.13.6.3", each_measured),
        ],
        "DoorLock" => &[("SupportedOperatingModes", "cluster§5.2.9.25", operating_modes)],
        "SmokeCoAlarm" => &[("ExpressedState", "cluster§2.11.6.1", expressed_state)],
        "ModeSelect" | "WaterHeaterMode" | "EnergyEvseMode" => &[
            ("CurrentMode", "cluster§1.9.6.4", current_mode),
            ("SupportedModes", "cluster§1.9.6.3", modes_differ),
        ],
        "Switch" => &[("MultiPressMax", "cluster§1.13.5.3", multi_press)],
        "FixedLabel" | "UserLabel" => &[("LabelList", "core§9.8.4", labels)],
        _ => &[],
    };
    rules.iter().filter(|(_, _, kept)| !kept(cluster)).map(|(name, section, _)| (*name, *section)).collect()
}

fn on(cluster: &ShapedCluster, code: &str) -> bool {
    cluster.features.iter().any(|feature| feature == code)
}

fn number(cluster: &ShapedCluster, name: &str) -> Option<i64> {
    cluster.attributes.get(name)?.as_i64()
}

fn mask(cluster: &ShapedCluster, codes: &[&str]) -> i64 {
    codes.iter().rev().fold(0, |sum, code| sum * 2 + i64::from(on(cluster, code)))
}

/// A lamp's level is never 0, and its range is 1 to 254.
fn lamp_level(cluster: &ShapedCluster) -> bool {
    !on(cluster, "LT")
        || number(cluster, "CurrentLevel") != Some(0)
            && number(cluster, "MinLevel") == Some(1)
            && number(cluster, "MaxLevel") == Some(254)
}

/// `ColorCapabilities` repeats the feature map.
fn capabilities(cluster: &ShapedCluster) -> bool {
    number(cluster, "ColorCapabilities") == Some(mask(cluster, &["HS", "EHUE", "CL", "XY", "CT"]))
}

/// The colour mode is one whose feature is on.
fn colour_mode(cluster: &ShapedCluster) -> bool {
    ["ColorMode", "EnhancedColorMode"].iter().all(|name| match number(cluster, name) {
        Some(0) => on(cluster, "HS"),
        Some(1) => on(cluster, "XY"),
        Some(2) => on(cluster, "CT"),
        Some(3) => on(cluster, "EHUE"),
        _ => false,
    })
}

/// Bits 3 and 4 follow `PA_LF` and `PA_TL`, and bit 0 says operational.
fn config_status(cluster: &ShapedCluster) -> bool {
    let status = number(cluster, "ConfigStatus").unwrap_or(0);
    let bit = |number: u32| status >> number & 1 == 1;
    bit(3) == on(cluster, "PA_LF") && bit(4) == on(cluster, "PA_TL") && bit(0)
}

/// Each type goes with the features that its name speaks of.
fn covering_type(cluster: &ShapedCluster) -> bool {
    let (lift, tilt) = (on(cluster, "LF"), on(cluster, "TL"));
    match number(cluster, "Type") {
        Some(0..=5 | 9) => lift && !tilt,
        Some(6) => lift || tilt,
        Some(7) => tilt && !lift,
        Some(8) => lift && tilt,
        Some(255) => true,
        _ => false,
    }
}

/// Position and target are both known or both not.
fn both_known(cluster: &ShapedCluster, which: &str) -> bool {
    let known = |name: String| cluster.attributes.get(&name).map(Value::is_null);
    let current = known(format!("CurrentPosition{which}Percent100ths"));
    current == known(format!("TargetPosition{which}Percent100ths"))
}

fn lift_target(cluster: &ShapedCluster) -> bool {
    both_known(cluster, "Lift")
}

fn tilt_target(cluster: &ShapedCluster) -> bool {
    both_known(cluster, "Tilt")
}

/// Limits are in order, and the setpoint between them.
fn limits(cluster: &ShapedCluster, code: &str, kind: &str, setpoint: &str, default: [i64; 2]) -> bool {
    if !on(cluster, code) {
        return true;
    }
    let limit = |name: String, otherwise: i64| number(cluster, &name).unwrap_or(otherwise);
    let lowest = limit(format!("AbsMin{kind}SetpointLimit"), default[0]);
    let highest = limit(format!("AbsMax{kind}SetpointLimit"), default[1]);
    let low = limit(format!("Min{kind}SetpointLimit"), lowest);
    let high = limit(format!("Max{kind}SetpointLimit"), highest);
    let value = number(cluster, setpoint);
    lowest <= low && low <= high && high <= highest && value.is_none_or(|value| (low..=high).contains(&value))
}

fn heating_limits(cluster: &ShapedCluster) -> bool {
    limits(cluster, "HEAT", "Heat", "OccupiedHeatingSetpoint", [700, 3000])
}

fn cooling_limits(cluster: &ShapedCluster) -> bool {
    limits(cluster, "COOL", "Cool", "OccupiedCoolingSetpoint", [1600, 3200])
}

/// With AUTO, heating and cooling setpoints and limits keep the dead band (tenths of a degree) between them.
fn dead_band(cluster: &ShapedCluster) -> bool {
    if !on(cluster, "AUTO") {
        return true;
    }
    let Some(band) = number(cluster, "MinSetpointDeadBand").map(|tenths| tenths * 10) else { return false };
    [
        ("OccupiedHeatingSetpoint", "OccupiedCoolingSetpoint"),
        ("MinHeatSetpointLimit", "MinCoolSetpointLimit"),
        ("MaxHeatSetpointLimit", "MaxCoolSetpointLimit"),
    ]
    .iter()
    .all(|(heat, cool)| match (number(cluster, heat), number(cluster, cool)) {
        (Some(heat), Some(cool)) => heat <= cool - band,
        _ => true,
    })
}

/// What the device can do is what its features say, and the system mode is one of that.
fn sequence(cluster: &ShapedCluster) -> bool {
    let fits = match number(cluster, "ControlSequenceOfOperation") {
        Some(0 | 1) => on(cluster, "COOL"),
        Some(2 | 3) => on(cluster, "HEAT"),
        Some(4 | 5) => on(cluster, "HEAT") && on(cluster, "COOL"),
        _ => false,
    };
    let both = on(cluster, "HEAT") && on(cluster, "COOL");
    fits && both == matches!(number(cluster, "ControlSequenceOfOperation"), Some(4 | 5))
}

/// Sequences with an automatic mode go with AUT, those without only without; the mode is one of the sequence.
fn fan_sequence(cluster: &ShapedCluster) -> bool {
    let sequence = number(cluster, "FanModeSequence");
    let automatic = match sequence {
        Some(0 | 1 | 5) => false,
        Some(2..=4) => true,
        _ => return false,
    };
    let mode = number(cluster, "FanMode");
    let offered = match mode {
        Some(1) => matches!(sequence, Some(0..=3)),
        Some(2) => matches!(sequence, Some(0 | 2)),
        // A mode that is not there is told of by itself.
        None | Some(0 | 3 | 5) => true,
        Some(_) => false,
    };
    automatic == on(cluster, "AUT") && offered
}

/// Off is 0 % and 0 % is off; the percentage is null in automatic mode.
fn fan_percent(cluster: &ShapedCluster) -> bool {
    let (mode, percent) = (number(cluster, "FanMode"), number(cluster, "PercentSetting"));
    mode.is_none() || (mode == Some(0)) == (percent == Some(0)) && (mode == Some(5)) == percent.is_none()
}

/// 0 PIR, 1 ultrasonic, 2 both, 3 physical contact; PIR where none of these fits.
fn sensor_type(cluster: &ShapedCluster) -> bool {
    let wanted = match mask(cluster, &["PIR", "US", "PHY"]) {
        0 | 1 => Some(0),
        2 => Some(1),
        3 => Some(2),
        4 => Some(3),
        _ => None,
    };
    wanted.is_none() || wanted == number(cluster, "OccupancySensorType")
}

/// The bitmap repeats the features; where none of them fits it says PIR, as the type does.
fn sensor_bitmap(cluster: &ShapedCluster) -> bool {
    let bits = mask(cluster, &["PIR", "US", "PHY"]);
    number(cluster, "OccupancySensorTypeBitmap") == Some(if bits == 0 { 1 } else { bits })
}

fn accuracies(cluster: &ShapedCluster) -> &[Value] {
    cluster.attributes.get("Accuracy").and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn measurement_types(cluster: &ShapedCluster) -> bool {
    let count = i64::try_from(accuracies(cluster).len()).ok();
    count == number(cluster, "NumberOfMeasurementTypes")
}

/// What is measured, each with its measurement type; the fifth always is.
const MEASURED: [(&str, i64); 12] = [
    ("ActivePower", 5),
    ("Voltage", 1),
    ("ActiveCurrent", 2),
    ("ReactiveCurrent", 3),
    ("ApparentCurrent", 4),
    ("ReactivePower", 6),
    ("ApparentPower", 7),
    ("RmsVoltage", 8),
    ("RmsCurrent", 9),
    ("RmsPower", 10),
    ("Frequency", 11),
    ("PowerFactor", 12),
];

/// There is an accuracy of active power and of whatever else is measured.
fn each_measured(cluster: &ShapedCluster) -> bool {
    let told = |kind: i64| {
        accuracies(cluster)
            .iter()
            .any(|entry| entry.get("MeasurementType").and_then(Value::as_i64) == Some(kind))
    };
    let measured = |name: &str| name == "ActivePower" || cluster.attributes.contains_key(name);
    MEASURED.iter().all(|&(name, kind)| !measured(name) || told(kind))
}

/// Inverted: a bit of 0 says supported, unused bits are 1; Normal and `NoRemoteLockUnlock` are always supported.
fn operating_modes(cluster: &ShapedCluster) -> bool {
    let modes = number(cluster, "SupportedOperatingModes").unwrap_or(0);
    let mode = number(cluster, "OperatingMode").unwrap_or(0);
    modes & 0xFFE0 == 0xFFE0 && modes & 0b1001 == 0 && modes >> mode.clamp(0, 15) & 1 == 0
}

/// What is expressed is the case, and something is expressed if anything is.
fn expressed_state(cluster: &ShapedCluster) -> bool {
    let told = [
        ("SmokeState", 1),
        ("CoState", 2),
        ("BatteryAlert", 3),
        ("TestInProgress", 4),
        ("HardwareFaultAlert", 5),
        ("EndOfServiceAlert", 6),
    ];
    let active = |name: &str| match cluster.attributes.get(name) {
        Some(Value::Bool(truth)) => *truth,
        Some(value) => value.as_i64().unwrap_or(0) != 0,
        None => false,
    };
    match number(cluster, "ExpressedState") {
        Some(0) => !told.iter().any(|(name, _)| active(name)),
        Some(expressed) => told.iter().all(|(name, state)| *state != expressed || active(name)),
        None => false,
    }
}

fn modes(cluster: &ShapedCluster) -> Vec<(Option<i64>, Option<&str>)> {
    let list =
        cluster.attributes.get("SupportedModes").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let one = |mode: &Value| mode.get("Mode").and_then(Value::as_i64);
    list.iter().map(|mode| (one(mode), mode.get("Label").and_then(Value::as_str))).collect()
}

fn current_mode(cluster: &ShapedCluster) -> bool {
    modes(cluster).iter().any(|(mode, _)| mode.is_some() && *mode == number(cluster, "CurrentMode"))
}

/// No mode number and no label stands twice.
fn modes_differ(cluster: &ShapedCluster) -> bool {
    let modes = modes(cluster);
    modes.iter().enumerate().all(|(index, (mode, label))| {
        !modes.iter().skip(index + 1).any(|(other, name)| other == mode || name == label)
    })
}

/// As many presses as the class tells apart: at least two.
fn multi_press(cluster: &ShapedCluster) -> bool {
    !on(cluster, "MSM") || number(cluster, "MultiPressMax").is_some_and(|most| most >= 2)
}

/// Label and value have at most 16 bytes each.
fn labels(cluster: &ShapedCluster) -> bool {
    let list = cluster.attributes.get("LabelList").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let fits = |text: Option<&Value>| text.and_then(Value::as_str).is_some_and(|text| text.len() <= 16);
    list.iter().all(|entry| fits(entry.get("Label")) && fits(entry.get("Value")))
}
