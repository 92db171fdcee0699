//! What comes out of the classes' conversions for what is measured, told and set, on the standards' own numbers.
//!
//! Expected values: Matter Application Cluster Specification 1.6 and KNX 3/7/2.

use super::scalings::{run, same, sent, shown};
use housewright::classes::{Chosen, ChosenPoint, ClassLibrary, Direction, SettingValue};
use serde_json::{Value as Json, json};
#[test]
fn measurements_count_as_the_data_model_does() {
    shown(
        "temperature-sensor",
        "temperature",
        "TemperatureMeasurement.MeasuredValue",
        json!(21.5),
        json!(2150),
    );
    shown(
        "temperature-sensor",
        "temperature",
        "TemperatureMeasurement.MeasuredValue",
        json!(-5),
        json!(-500),
    );
    shown(
        "humidity-sensor",
        "humidity",
        "RelativeHumidityMeasurement.MeasuredValue",
        json!(45.5),
        json!(4550),
    );
    let lux = "IlluminanceMeasurement.MeasuredValue";
    shown("light-sensor", "illuminance", lux, json!(1), json!(1));
    shown("light-sensor", "illuminance", lux, json!(100), json!(20001));
    shown("light-sensor", "illuminance", lux, json!(0), json!(0));
    shown("pressure-sensor", "pressure", "PressureMeasurement.MeasuredValue", json!(101_325), json!(1013));
    shown("flow-sensor", "flow", "FlowMeasurement.MeasuredValue", json!(1500), json!(15));
    shown(
        "electricity-meter",
        "power",
        "ElectricalPowerMeasurement.ActivePower",
        json!(2300),
        json!(2_300_000),
    );
    let energy = json!({"Energy": 1_500_000});
    shown(
        "electricity-meter",
        "energy",
        "ElectricalEnergyMeasurement.CumulativeEnergyImported",
        json!(1500),
        energy,
    );
    // What the sun gives counts below zero.
    shown("solar-power", "power", "ElectricalPowerMeasurement.ActivePower", json!(2300), json!(-2_300_000));
}

#[test]
fn states_have_the_sense_of_the_data_model() {
    // 1.019: 1 is open; in Matter true is closed.
    shown("contact-sensor", "contact", "BooleanState.StateValue", json!(true), json!(false));
    shown("occupancy-sensor", "occupancy", "OccupancySensing.Occupancy", json!(true), json!(1));
    shown("leak-sensor", "leak", "BooleanState.StateValue", json!(true), json!(true));
    shown("door-lock", "lock", "DoorLock.LockState", json!(true), json!(1));
    shown("door-lock", "lock", "DoorLock.LockState", json!(false), json!(2));
    sent("door-lock", "lock", "DoorLock.LockDoor", json!({}), &[], &[json!(true)]);
    shown(
        "garage-door",
        "position",
        "ClosureControl.OverallCurrentState",
        json!(100),
        json!({"Position": 0, "SecureState": true}),
    );
    sent(
        "garage-door",
        "move",
        "ClosureControl.MoveTo",
        json!({"Position": 0, "Latch": null, "Speed": null}),
        &[],
        &[json!(true)],
    );
}

#[test]
fn an_event_is_told_where_the_state_changes() {
    let event = |now: bool, before: bool| {
        let around = [("BooleanState.StateValue", json!(before))];
        run("leak-sensor", same, Direction::FromBus, "leak", "BooleanState.StateChange", &json!(now), &around)
    };
    assert_eq!(event(true, false), [json!({"StateValue": true})]);
    assert_eq!(event(false, true), [json!({"StateValue": false})]);
    assert_eq!(event(true, true), [] as [Json; 0]);
}

/// KNX 3/7/2 §3.18, §3.19: raw 0 is scene 1, and bit 7 of 18.001 would store.
#[test]
fn scenes_count_from_1() {
    use housewright::classes::Number;
    let fifth = |dpt: &'static str| {
        move |chosen: &mut Chosen| {
            let dpt = Some(dpt.parse().expect("a type"));
            chosen.points = vec![ChosenPoint { command: dpt, listens: dpt, ..chosen.points[0].clone() }];
            chosen.settings =
                Number::new(5.0).map(|number| (0, SettingValue::Number(number))).into_iter().collect();
        }
    };
    let on = |dpt| run("scene", fifth(dpt), Direction::ToBus, "scene", "OnOff.On", &json!({}), &[]);
    assert_eq!(on("17.001"), [json!(4)]);
    assert_eq!(on("18.001"), [json!({"learn": false, "scene": 4})]);
    let told = |dpt, value| run("scene", fifth(dpt), Direction::FromBus, "scene", "OnOff.OnOff", &value, &[]);
    assert_eq!(told("17.001", json!(4)), [json!(true)]);
    assert_eq!(told("17.001", json!(5)), [json!(false)]);
    assert_eq!(told("18.001", json!({"learn": false, "scene": 4})), [json!(true)]);
    // Somebody stores a scene: nothing was recalled.
    assert_eq!(told("18.001", json!({"learn": true, "scene": 4})), [] as [Json; 0]);
}

/// Shift by 6.010 in steps of 0.5 K from 21 °C, and by 9.002 in kelvin.
#[test]
fn a_setpoint_becomes_a_shift() {
    let by = |dpt: &'static str| {
        move |chosen: &mut Chosen| {
            let dpt = Some(dpt.parse().expect("a type"));
            let class = ClassLibrary::built_in().get("room-thermostat").expect("there");
            let (shift, _) = class.point("setpoint-shift").expect("there");
            let point = ChosenPoint {
                point: shift,
                command: dpt,
                feedback: dpt,
                listens: None,
                reversed: false,
                range: None,
            };
            chosen.points = vec![point];
        }
    };
    let setpoint = "Thermostat.OccupiedHeatingSetpoint";
    let write = |dpt, value: i32| {
        run("room-thermostat", by(dpt), Direction::ToBus, "setpoint-shift", setpoint, &json!(value), &[])
    };
    assert_eq!(write("6.010", 2250), [json!(3)]);
    assert_eq!(write("9.002", 1950), [json!(-1.5)]);
    let read = |dpt, value: Json| {
        run("room-thermostat", by(dpt), Direction::FromBus, "setpoint-shift", setpoint, &value, &[])
    };
    assert_eq!(read("6.010", json!(-4)), [json!(1900)]);
    assert_eq!(read("9.002", json!(1.5)), [json!(2250)]);
}

/// Whatever limits a house writes, in order: the first setpoint lies between them.
#[test]
fn limits_in_order_always_go_together() {
    use housewright::classes::{Number, SettingKind};
    let text = |word: &str| SettingValue::Text(word.to_owned());
    for (name, words) in [
        ("room-thermostat", &["heating", "cooling", "both"][..]),
        ("room-air-conditioner", &["cooling", "both"]),
        ("water-heater", &["element"]),
        ("heat-pump", &[]),
    ] {
        let class = ClassLibrary::built_in().get(name).expect(name);
        let chosen = housewright::classes::choices(&class, 1).into_iter().next().expect("a choice");
        let index = |setting: &str| class.setting(setting).expect(setting).0;
        let (low, high) = (index("lowest-setpoint"), index("highest-setpoint"));
        let SettingKind::Number { range: [least, most], .. } = class.settings[usize::from(low)].kind else {
            panic!("{name} has no range of setpoints")
        };
        let steps = || (0..=17).map(|step| least + (most - least) * f64::from(step) / 17.0);
        for (lowest, highest) in steps().flat_map(|low| steps().map(move |high| (low, high))) {
            if lowest > highest {
                continue;
            }
            let limits = [(low, lowest), (high, highest)];
            let mut settings: Vec<_> = limits
                .map(|(at, limit)| (at, SettingValue::Number(Number::new(limit).expect("a number"))))
                .into();
            for word in words.iter().map(|word| Some(*word)).chain(words.is_empty().then_some(None)) {
                settings.retain(|(at, _)| *at == low || *at == high);
                let choice = word.map(|word| {
                    (index(if name == "water-heater" { "heats-with" } else { "function" }), text(word))
                });
                settings.extend(choice);
                settings.sort_by_key(|(at, _)| *at);
                let made = class.shape(&Chosen { settings: settings.clone(), ..chosen.clone() });
                assert!(made.is_ok(), "{name} {word:?} {lowest}..{highest}: {made:?}");
            }
        }
    }
}
