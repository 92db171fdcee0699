//! Lamps, pumps and batteries: what a command sends from the state that is shown, and what is shown of it.

use super::gateway::{Gateway, appliance};
use serde_json::{Value as Json, json};

fn sent(point: &str, value: Json) -> Vec<(String, Json)> {
    vec![(point.to_owned(), value)]
}

/// 0 % tells no level: what is off at the first start is switched on all the same.
#[test]
fn a_lamp_without_switching_that_is_off_at_the_first_start_can_be_switched_on() {
    let ends = ["brightness.command", "brightness.feedback"];
    for (class, more) in [
        ("dimmable-light", &[][..]),
        ("dimmable-outlet", &[]),
        ("tunable-white-light", &["colour-temperature.command"]),
        ("colour-light", &["colour.command"]),
        ("colour-light-hsv", &["hue.command", "saturation.command"]),
    ] {
        let mut lamp = appliance(class, &[&ends, more].concat(), &[]);
        lamp.told("brightness", json!(0));
        let timed = json!({"OnOffControl": 0, "OnTime": 100, "OffWaitTime": 0});
        for (command, fields) in [
            ("OnOff.On", json!({})),
            ("OnOff.Toggle", json!({})),
            ("OnOff.OnWithTimedOff", timed),
            ("LevelControl.StepWithOnOff", json!({"StepMode": 0, "StepSize": 50})),
        ] {
            assert_eq!(lamp.asked(command, fields), sent("brightness", json!(100)), "{class} {command}");
        }
    }
}

/// cluster§1.6.4.1: with on/off a step to the lowest level switches off, and a step alone stays above it.
#[test]
fn a_step_down_to_the_lowest_level_switches_off() {
    let ends = ["switching.command", "brightness.command", "brightness.feedback"];
    let mut lamp = appliance("dimmable-light", &ends, &[]);
    lamp.told("brightness", json!(50));
    let percent = |level: f64| sent("brightness", json!(level * 100.0 / 254.0));
    for (size, level, lowest) in [(125, percent(2.0), 2.0), (126, sent("brightness", json!(0)), 1.0)] {
        let down = json!({"StepMode": 1, "StepSize": size});
        assert_eq!(lamp.asked("LevelControl.StepWithOnOff", down.clone()), level, "{size}");
        assert_eq!(lamp.asked("LevelControl.Step", down), percent(lowest), "{size}");
    }
    assert_eq!(
        lamp.asked("LevelControl.StepWithOnOff", json!({"StepMode": 1, "StepSize": 254})),
        sent("brightness", json!(0))
    );
}

/// cluster§4.2.7.14: running is what `OnOff` says. A level with on/off switches; off keeps the speed.
#[test]
fn a_pump_is_switched_by_a_level_with_on_off_and_tells_that_it_runs() {
    let ends = ["switching.command", "switching.feedback", "speed.command", "fault.feedback"];
    let mut pump = appliance("pump", &ends, &[]);
    let level = |pump: &Gateway, command: &str, level: u8| pump.asked(command, json!({ "Level": level }));
    let on = [sent("switching", json!(true)), sent("speed", json!(50))].concat();
    assert_eq!(level(&pump, "LevelControl.MoveToLevelWithOnOff", 100), on);
    assert_eq!(level(&pump, "LevelControl.MoveToLevelWithOnOff", 0), sent("switching", json!(false)));
    assert_eq!(level(&pump, "LevelControl.MoveToLevel", 100), sent("speed", json!(50)));
    let (fault, running) = (1, 32);
    for (point, told, shown) in [
        ("switching", true, running),
        ("fault", true, running + fault),
        ("switching", false, fault),
        ("fault", false, 0),
    ] {
        pump.told(point, json!(told));
        assert_eq!(pump.shows("PumpConfigurationAndControl.PumpStatus"), json!(shown), "{point}");
    }
}

/// core§11.7.7.15: an empty battery is not well.
#[test]
fn an_empty_battery_says_so() {
    let mut battery = appliance("battery-storage", &["charge.feedback"], &[]);
    for (charge, level) in [(0, 2), (4, 2), (5, 1), (10, 0), (100, 0)] {
        battery.told("charge", json!(charge));
        assert_eq!(battery.shows("PowerSource.BatChargeLevel"), json!(level), "{charge} %");
    }
}

/// cluster§1.6.4.1: with on/off a level lights a lamp that is off, and the lowest one switches it off.
#[test]
fn a_level_in_relative_steps_switches_the_lamp_too() {
    let brighter = |step: u8| sent("dimming", json!({"control": true, "step": step}));
    let darker = |step: u8| sent("dimming", json!({"control": false, "step": step}));
    let (on, off) = (sent("switching", json!(true)), sent("switching", json!(false)));
    let ends = ["switching.command", "switching.feedback", "dimming.command", "brightness.feedback"];
    for class in ["dimmable-light", "dimmable-load", "tunable-white-light"] {
        let more = if class == "tunable-white-light" { &["colour-temperature.command"][..] } else { &[] };
        let mut lamp = appliance(class, &[&ends, more].concat(), &[]);
        lamp.told("brightness", json!(50));
        for (lit, level, telegrams) in [
            (false, 20, [on.clone(), darker(2)].concat()),
            (false, 127, on.clone()),
            (false, 254, [on.clone(), brighter(2)].concat()),
            (false, 1, off.clone()),
            (true, 254, brighter(2)),
            (true, 127, Vec::new()),
            (true, 1, off.clone()),
        ] {
            lamp.told("switching", json!(lit));
            let got = lamp.asked("LevelControl.MoveToLevelWithOnOff", json!({ "Level": level }));
            assert_eq!(got, telegrams, "{class}, on {lit}, level {level}");
        }
        assert_eq!(lamp.asked("LevelControl.MoveToLevel", json!({"Level": 1})), darker(2), "{class}");
    }
}

/// cluster§1.6.4.1: what relative dimming does at its end is the actuator's own.
#[test]
fn a_step_to_the_lowest_level_switches_off_beside_relative_dimming() {
    let step = |size: u8| json!({"StepMode": 1, "StepSize": size});
    let darker = sent("dimming", json!({"control": false, "step": 1}));
    for (more, off) in [
        ("switching.command", sent("switching", json!(false))),
        ("brightness.command", sent("brightness", json!(0))),
    ] {
        let ends = ["dimming.command", "brightness.command", "brightness.feedback", more];
        let mut lamp = appliance("dimmable-light", &ends, &[]);
        lamp.told("brightness", json!(100));
        assert_eq!(lamp.asked("LevelControl.StepWithOnOff", step(252)), darker, "{more}");
        let down = [off, darker.clone()].concat();
        assert_eq!(lamp.asked("LevelControl.StepWithOnOff", step(253)), down, "{more}");
        assert_eq!(lamp.asked("LevelControl.Step", step(253)), darker, "{more}");
    }
}

/// KNX 3/7/2 §6.16: one telegram carries the level, and no step goes beside it.
#[test]
fn a_level_that_is_sent_as_such_is_not_sent_in_steps_too() {
    let ends = ["switching", "dimming.command", "colour-temperature 249.600"];
    let lamp = appliance("tunable-white-light", &ends, &[]);
    let sent = lamp.asked("LevelControl.MoveToLevel", json!({"Level": 127}));
    let points: Vec<&str> = sent.iter().map(|(point, _)| point.as_str()).collect();
    assert_eq!(points, ["colour-temperature"]);
}

/// core§11.7.7.12, .25, .26, .30: volts, ampere hours and what charges it. `BatChargeStateEnum`: 0 unknown, 1 charging, 3 not.
#[test]
fn a_battery_tells_its_voltage_and_whether_it_is_charged() {
    let ends = ["charge.feedback", "power.feedback", "voltage.feedback", "current.feedback"];
    let settings = [("capacity", json!(10.0)), ("nominal-voltage", json!(51.2))];
    let mut battery = appliance("battery-storage", &ends, &settings);
    let shows = |battery: &Gateway, name: &str| battery.shows(&format!("PowerSource.{name}"));
    assert_eq!(shows(&battery, "BatCapacity"), json!(195_312));
    assert_eq!(shows(&appliance("battery-storage", &ends, &settings[..1]), "BatCapacity"), json!(25_000));
    assert_eq!(shows(&battery, "BatChargeState"), json!(0));
    battery.told("voltage", json!(51.2));
    assert_eq!(shows(&battery, "BatVoltage"), json!(51_200));
    for (power, current, state, charging) in [(2000, 39, 1, 39_000), (-2000, -39, 3, 0), (20, 0, 3, 0)] {
        battery.told("power", json!(power));
        battery.told("current", json!(current));
        assert_eq!(shows(&battery, "BatChargeState"), json!(state), "{power} W");
        assert_eq!(shows(&battery, "BatChargingCurrent"), json!(charging), "{power} W");
    }
}
