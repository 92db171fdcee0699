//! What device types are called in a house. Written by hand; one without a row keeps the data model's name alone.

use super::article;

/// Device types, and what people call them.
const WORDS: &[(&str, &str)] = &[
    ("AirPurifier", "air purifier"),
    ("AirQualitySensor", "air quality sensor"),
    ("BatteryStorage", "battery"),
    ("Closure", "door, gate or window with a drive"),
    ("ClosurePanel", "panel of a door, gate or window"),
    ("ColorTemperatureLight", "light from warm to cold white"),
    ("ContactSensor", "contact sensor"),
    ("DeviceEnergyManagement", "energy manager"),
    ("DimmableLight", "dimmable light"),
    ("DimmablePlugInUnit", "dimmable socket"),
    ("DoorLock", "door lock"),
    ("ElectricalMeter", "electricity meter"),
    ("ElectricalSensor", "electricity meter"),
    ("EnergyEvse", "charging point"),
    ("ExtendedColorLight", "colour light"),
    ("ExtractorHood", "extractor hood"),
    ("Fan", "fan"),
    ("FlowSensor", "flow sensor"),
    ("GenericSwitch", "push-button"),
    ("HeatPump", "heat pump"),
    ("HumiditySensor", "humidity sensor"),
    ("LightSensor", "light sensor"),
    ("ModeSelect", "choice of modes"),
    ("MountedDimmableLoadControl", "dimmable load that is wired in"),
    ("MountedOnOffControl", "switched load that is wired in"),
    ("OccupancySensor", "presence sensor"),
    ("OnOffLight", "switched light"),
    ("OnOffPlugInUnit", "socket"),
    ("PowerSource", "power supply"),
    ("PressureSensor", "pressure sensor"),
    ("Pump", "pump"),
    ("RainSensor", "rain sensor"),
    ("RoomAirConditioner", "air conditioner"),
    ("SmokeCoAlarm", "smoke or carbon monoxide alarm"),
    ("SoilSensor", "soil moisture sensor"),
    ("SolarPower", "solar power plant"),
    ("TemperatureSensor", "temperature sensor"),
    ("Thermostat", "thermostat"),
    ("WaterFreezeDetector", "frost detector"),
    ("WaterHeater", "water heater"),
    ("WaterLeakDetector", "leak detector"),
    ("WaterValve", "water valve"),
    ("WindowCovering", "shutter, blind or awning"),
];

/// A device type in a sentence, with its name in the standard: "a socket (`OnOffPlugInUnit`)", without the
/// marks.
pub(super) fn told(name: &str) -> String {
    let known = WORDS.binary_search_by(|(one, _)| (*one).cmp(name)).ok().and_then(|at| WORDS.get(at));
    match known {
        Some((_, word)) => format!("{} {word} ({name})", article(word)),
        None => format!("{} {name}", article(name)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matter;

    #[test]
    fn every_device_type_that_a_house_has_has_a_word() {
        assert!(WORDS.is_sorted_by_key(|(name, _)| *name));
        // These two are the bridge's own.
        let own = ["Aggregator", "BridgedNode"];
        let types: Vec<&str> = matter::device_type_names().filter(|name| !own.contains(name)).collect();
        let words: Vec<&str> = WORDS.iter().map(|(name, _)| *name).collect();
        assert_eq!(types, words);
    }

    #[test]
    fn the_name_of_the_standard_stands_beside_the_word() {
        assert_eq!(told("OnOffPlugInUnit"), "a socket (OnOffPlugInUnit)");
        assert_eq!(told("EnergyEvse"), "a charging point (EnergyEvse)");
        assert_eq!(told("OvenHood"), "an OvenHood");
    }
}
