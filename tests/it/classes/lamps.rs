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
