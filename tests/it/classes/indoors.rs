//! What controllers see after several telegrams, one after the other, and what is sent from there.
//!
//! Expected values: Matter Application Cluster Specification 1.6 and KNX 3/7/2.

use super::gateway::{Gateway, appliance};
use serde_json::{Value as Json, json};

/// `SystemMode`: 0 off, 3 cooling, 4 heating. `ThermostatRunningState`: 1 heats, 2 cools.
#[test]
fn a_changeover_and_a_mode_are_known_together() {
    let (off, on) = (("mode", json!(4)), ("mode", json!(1)));
    let (cool, heat) = (("changeover", json!(false)), ("changeover", json!(true)));
    let valve = |percent: u8| ("valve", json!(percent));
    for changeover in ["changeover", "changeover.feedback"] {
        let see = |telegrams: &[&(&str, Json)]| {
            let points = ["mode 20.102", &format!("{changeover} 1.100"), "valve 5.001"];
            let mut room = appliance("room-thermostat", &points, &[("function", json!("both"))]);
            telegrams.iter().for_each(|(point, telegram)| room.told(point, telegram.clone()));
            ["SystemMode", "ThermostatRunningState"].map(|name| room.shows(&format!("Thermostat.{name}")))
        };
        // A start in protection: off, whatever the change-over says.
        assert_eq!(see(&[&off, &cool]), [0, 0]);
        assert_eq!(see(&[&cool, &off]), [0, 0]);
        // On again: what the change-over told before or meanwhile.
        assert_eq!(see(&[&cool, &off, &on]), [3, 0]);
        assert_eq!(see(&[&off, &cool, &on]), [3, 0]);
        assert_eq!(see(&[&cool, &off, &heat, &on]), [4, 0]);
        assert_eq!(see(&[&on, &cool]), [3, 0]);
        // The valve serves what is going on.
        assert_eq!(see(&[&cool, &valve(40)]), [3, 2]);
        assert_eq!(see(&[&cool, &valve(40), &heat]), [4, 1]);
        assert_eq!(see(&[&cool, &valve(40), &heat, &valve(0)]), [4, 0]);
        // Also in building protection.
        assert_eq!(see(&[&cool, &off, &valve(40)]), [0, 2]);
        assert_eq!(see(&[&heat, &off, &valve(40)]), [0, 1]);
    }
}

/// Where the change-over is only reported, controllers offer what the plant does.
#[test]
fn a_plant_that_cools_offers_no_heating() {
    let points = ["mode 20.102", "changeover.feedback 1.100"];
    let mut room = appliance("room-thermostat", &points, &[("function", json!("both"))]);
    let sequence = "Thermostat.ControlSequenceOfOperation";
    assert_eq!(room.shows(sequence), 4);
    room.told("changeover", json!(false));
    assert_eq!(room.shows(sequence), 0);
    room.told("changeover", json!(true));
    assert_eq!(room.shows(sequence), 2);
}

/// The current is limited before it may flow.
#[test]
fn a_limit_is_sent_before_the_release() {
    let points = ["charging 1.001", "current-limit 7.012"];
    let point = appliance("vehicle-charger", &points, &[]);
    let sent = point.asked("EnergyEvse.EnableCharging", json!({"MaximumChargeCurrent": 16_000}));
    let order: Vec<&str> = sent.iter().map(|(point, _)| point.as_str()).collect();
    assert_eq!(order, ["current-limit", "charging"]);
}

/// `FanModeEnum`: 0 off, 1 low, 2 medium, 3 high, 5 automatic.
#[test]
fn a_mode_of_a_fan_comes_back_from_any_number_of_stages() {
    for stages in 1..=100_u32 {
        let mut fan = appliance("fan", &["speed 5.010"], &[("stages", json!(stages))]);
        let modes: &[u32] = match fan.shows("FanControl.FanModeSequence").as_u64() {
            Some(5) => &[0, 3],
            Some(1) => &[0, 1, 3],
            _ => &[0, 1, 2, 3],
        };
        assert_eq!(modes.len(), stages.min(3) as usize + 1);
        // With automatic the same ones and that.
        let also = appliance("fan", &["speed 5.010", "automatic"], &[("stages", json!(stages))]);
        let sequence = match modes.len() {
            2 => 4,
            3 => 3,
            _ => 2,
        };
        assert_eq!(also.shows("FanControl.FanModeSequence"), json!(sequence), "{stages} stages");
        for mode in modes {
            let sent = fan.written("FanControl.FanMode", json!(mode));
            let [(_, stage)] = sent.as_slice() else { panic!("{stages} stages: {sent:?}") };
            fan.told("speed", json!(stage.as_f64().expect("a number").round()));
            assert_eq!(fan.shows("FanControl.FanMode"), json!(mode), "{stages} stages send {stage}");
        }
    }
}

/// cluster§4.4.6.3: 0 alone means off.
#[test]
fn a_fan_that_is_to_run_slowly_never_stops() {
    let types = [("5.001", 3), ("5.010", 1), ("5.010", 3), ("5.100", 3), ("5.100", 100)];
    let classes = [("fan", &[][..]), ("room-air-conditioner", &["switching"])];
    for ((class, others), (dpt, stages)) in classes.iter().flat_map(|class| types.map(|dpt| (class, dpt))) {
        let speed = format!("speed {dpt}");
        let fan = appliance(class, &[others, &[speed.as_str()][..]].concat(), &[("stages", json!(stages))]);
        for percent in 0..=100 {
            let sent = fan.written("FanControl.PercentSetting", json!(percent));
            let [(_, sent)] = sent.as_slice() else { panic!("{class}: {percent} sends {sent:?}") };
            let sent = sent.as_f64().expect("a number").round();
            assert_eq!(
                sent > 0.0,
                percent > 0,
                "{class}: {percent} % of {stages} stages sends {sent} as {dpt}"
            );
        }
    }
}

/// The lowest value of a percentage on the bus is no whole percent, and yet above 0.
#[test]
fn a_fan_at_the_lowest_speed_is_not_shown_as_off() {
    for (class, points) in
        [("fan", &["speed 5.001"][..]), ("room-air-conditioner", &["switching", "speed 5.001"])]
    {
        let mut fan = appliance(class, points, &[]);
        for (heard, shown) in
            [(json!(100.0 / 255.0), [1, 1, 1]), (json!(0), [0, 0, 0]), (json!(100), [3, 100, 100])]
        {
            fan.told("speed", heard);
            let names = ["FanMode", "PercentSetting", "PercentCurrent"];
            assert_eq!(names.map(|name| fan.shows(&format!("FanControl.{name}"))), shown, "{class}");
        }
    }
}

#[test]
fn a_fan_that_is_switched_off_at_the_wall_is_off() {
    let mut fan = appliance("fan", &["speed 5.001", "switching 1.001"], &[]);
    let shows = |fan: &Gateway| {
        ["FanMode", "PercentSetting", "PercentCurrent"].map(|name| fan.shows(&format!("FanControl.{name}")))
    };
    fan.told("speed", json!(60));
    fan.told("switching", json!(true));
    assert_eq!(shows(&fan), [2, 60, 60]);
    fan.told("switching", json!(false));
    assert_eq!(shows(&fan), [0, 0, 0]);
    fan.told("switching", json!(true));
    assert_eq!(shows(&fan), [3, 100, 100]);
    fan.told("speed", json!(60));
    assert_eq!(shows(&fan), [2, 60, 60]);
}

/// In automatic the percentage is null, which the gateway sees to (cluster§4.4.6.3): no telegram sets it.
#[test]
fn a_fan_that_controls_itself_has_no_percentage_set() {
    let mut fan = appliance("fan", &["speed 5.001", "automatic 1.001"], &[]);
    fan.told("automatic", json!(true));
    fan.place("FanControl.PercentSetting", Json::Null);
    fan.told("speed", json!(40));
    let shows = ["FanMode", "PercentSetting", "PercentCurrent"];
    assert_eq!(shows.map(|name| fan.shows(&format!("FanControl.{name}"))), [json!(5), Json::Null, json!(40)]);
    fan.told("automatic", json!(false));
    assert_eq!(shows.map(|name| fan.shows(&format!("FanControl.{name}"))), [1, 40, 40]);
}

/// Its feedbacks come in any order, and it starts and stops by itself.
#[test]
fn a_fan_that_controls_itself_is_shown_so_whatever_its_switching_tells() {
    for points in [&["switching", "automatic"][..], &["speed 5.001", "switching", "automatic"]] {
        let mut fan = appliance("fan", points, &[]);
        fan.told("automatic", json!(true));
        fan.place("FanControl.PercentSetting", Json::Null);
        let shows = ["FanMode", "PercentSetting", "PercentCurrent"];
        let shows = |fan: &Gateway| shows.map(|name| fan.shows(&format!("FanControl.{name}")));
        for (runs, current) in [(true, 100), (false, 0), (true, 100)] {
            fan.told("switching", json!(runs));
            assert_eq!(shows(&fan), [json!(5), Json::Null, json!(current)], "{points:?} {runs}");
        }
        fan.told("automatic", json!(false));
        assert_eq!(shows(&fan), [3, 100, 100], "{points:?}");
        fan.told("switching", json!(false));
        assert_eq!(shows(&fan), [0, 0, 0], "{points:?}");
    }
}

/// Setting a speed ends the automatic mode (cluster§4.4.6.3), and is sent before what ends it.
#[test]
fn a_percentage_from_a_controller_ends_the_automatic_mode() {
    for (drive, speed) in [("speed 5.001", json!(40)), ("switching", json!(true))] {
        let mut fan = appliance("fan", &[drive, "automatic"], &[]);
        let point = drive.split(' ').next().unwrap_or_default().to_owned();
        let [plain, ended] = [false, true].map(|automatic| {
            fan.told("automatic", json!(automatic));
            fan.written("FanControl.PercentSetting", json!(40))
        });
        assert_eq!(plain, [(point.clone(), speed.clone())]);
        assert_eq!(ended, [(point, speed), ("automatic".to_owned(), json!(false))]);
    }
}

/// A value of 20.102 without a name leaves the choice as it is.
#[test]
fn a_mode_that_has_no_name_is_not_shown() {
    let mut modes = appliance("mode-selector", &["mode 20.102"], &[("mode-4", json!("Night"))]);
    for (told, shown) in [(1, 2), (2, 2), (3, 4), (4, 4), (0, 1)] {
        modes.told("mode", json!(told));
        assert_eq!(modes.shows("ModeSelect.CurrentMode"), shown, "{told}");
    }
}

/// KNX 3/7/2 §6.16: brightness and colour temperature, each only where the telegram marks it.
#[test]
fn one_object_has_brightness_and_white() {
    let mut lamp = appliance("tunable-white-light", &["colour-temperature 249.600"], &[]);
    lamp.told("colour-temperature", json!({"time": 1.5, "temperature": 4000, "brightness": null}));
    assert_eq!(lamp.shows("ColorControl.ColorTemperatureMireds"), 250);
    assert_eq!(lamp.shows("LevelControl.CurrentLevel"), 254);
    lamp.told("colour-temperature", json!({"time": null, "temperature": null, "brightness": 128}));
    assert_eq!(lamp.shows("ColorControl.ColorTemperatureMireds"), 250);
    assert_eq!(
        [lamp.shows("LevelControl.CurrentLevel"), lamp.shows("OnOff.OnOff")],
        [json!(127), json!(true)]
    );
    let sends = |command: &str, fields: Json| -> Vec<Json> {
        lamp.asked(command, fields).into_iter().map(|(_, value)| value).collect()
    };
    let white = sends("ColorControl.MoveToColorTemperature", json!({"ColorTemperatureMireds": 250}));
    assert_eq!(white, [json!({"temperature": 4000})]);
    assert_eq!(sends("LevelControl.MoveToLevel", json!({"Level": 254})), [json!({"brightness": 255})]);
    assert_eq!(sends("OnOff.Off", json!({})), [json!({"brightness": 0})]);
}

/// cluster§1.9.6.3: what is offered can be chosen. 20.102 has values for five.
#[test]
fn modes_that_the_bus_has_no_value_for_are_not_offered() {
    let names = [("mode-5", json!("Night")), ("mode-6", json!("Sauna"))];
    for (dpt, offered) in [("20.102", vec![1, 2, 5]), ("5.010", vec![1, 2, 5, 6])] {
        let modes = appliance("mode-selector", &[&format!("mode {dpt}")], &names);
        let list = modes.built("ModeSelect.SupportedModes");
        let list = list.as_array().expect("a list").iter().filter_map(|mode| mode["Mode"].as_i64());
        assert_eq!(list.collect::<Vec<_>>(), offered, "{dpt}");
    }
}

/// cluster§4.4.6.2: the modes of the sequence can all be set. 5 is off and high, 4 with automatic too.
#[test]
fn a_fan_whose_speed_is_only_told_offers_no_speeds() {
    let sequence = "FanControl.FanModeSequence";
    for (more, offered) in [(&[][..], 5), (&["automatic"], 4)] {
        let ends = ["speed.feedback", "switching"];
        let mut fan = appliance("fan", &[&ends, more].concat(), &[]);
        assert_eq!(fan.shows(sequence), json!(offered));
        for (told, mode) in [(10, 3), (60, 3), (0, 0)] {
            fan.told("speed", json!(told));
            assert_eq!(fan.shows("FanControl.FanMode"), json!(mode), "{told} %");
            assert_eq!(fan.shows("FanControl.PercentCurrent"), json!(told));
        }
    }
}
