//! What an endpoint shows after several telegrams, and what it then sends: states that more than one address has a part in.

use super::gateway::{Gateway, appliance};
use housewright::classes::{Direction, End, choices};
use serde_json::{Value as Json, json};

const NOTHING: [(String, Json); 0] = [];

/// A controller that shows off what goes on is worse than one that cannot switch it.
#[test]
fn an_air_conditioner_without_a_mode_is_off_where_it_is_switched_off() {
    let mode = "Thermostat.SystemMode";
    let (off, dry, cool) = (json!(0), json!(8), json!(3));
    let mut unit = appliance("room-air-conditioner", &["switching"], &[]);
    unit.told("switching", json!(false));
    assert_eq!(unit.shows(mode), off);
    unit.told("switching", json!(true));
    assert_eq!(unit.shows(mode), cool);
    unit.place(mode, dry.clone());
    unit.told("switching", json!(true));
    assert_eq!(unit.shows(mode), dry, "the switch does not tell which");
    assert_eq!(unit.written(mode, off.clone()), telegram("switching", false));
    assert_eq!(unit.written(mode, cool.clone()), telegram("switching", true));
    let watched = appliance("room-air-conditioner", &["switching", "mode.feedback"], &[]);
    assert_eq!(watched.written(mode, off.clone()), telegram("switching", false));
    let both = appliance("room-air-conditioner", &["switching", "mode"], &[]);
    assert_eq!(both.written(mode, off), [("mode".to_owned(), json!(6))]);
}

/// cluster§5.3.5: one bit a reason. A reason that is over takes away its own alone.
#[test]
fn a_shutter_stays_protected_until_all_that_holds_it_is_over() {
    let ends = ["move.command", "lock.feedback", "wind-alarm.feedback", "rain-alarm.feedback"];
    let mut shutter = appliance("roller-shutter", &ends, &[]);
    let (locked, protected) = (1, 2048);
    for (point, now, shown) in [
        ("wind-alarm", true, protected),
        ("lock", false, protected),
        ("rain-alarm", false, protected),
        ("lock", true, locked + protected),
        ("rain-alarm", true, locked + protected),
        ("wind-alarm", false, locked + protected),
        ("rain-alarm", false, locked),
        ("lock", false, 0),
    ] {
        shutter.told(point, json!(now));
        assert_eq!(shutter.shows("WindowCovering.SafetyStatus"), json!(shown), "{point} {now}");
    }
}

/// cluster§5.4.6.3: an error before protection, protection before movement, movement before standstill.
#[test]
fn a_window_shows_the_state_that_weighs_most() {
    let ends =
        ["move.command", "moving.feedback", "fault.feedback", "wind-alarm.feedback", "rain-alarm.feedback"];
    let mut window = appliance("roof-window", &ends, &[]);
    let (stopped, moving, error, protected) = (0, 1, 3, 5);
    for (point, now, shown) in [
        ("rain-alarm", false, stopped),
        ("wind-alarm", true, protected),
        ("moving", true, protected),
        ("moving", false, protected),
        ("fault", true, error),
        ("wind-alarm", false, error),
        ("rain-alarm", true, error),
        ("fault", false, protected),
        ("moving", true, protected),
        ("rain-alarm", false, moving),
        ("moving", false, stopped),
    ] {
        window.told(point, json!(now));
        assert_eq!(window.shows("ClosureControl.MainState"), json!(shown), "{point} {now}");
    }
    for class in ["garage-door", "gate"] {
        let mut door = appliance(class, &["move.command", "moving.feedback", "fault.feedback"], &[]);
        door.told("fault", json!(true));
        door.told("moving", json!(false));
        assert_eq!(door.shows("ClosureControl.MainState"), json!(error), "{class}");
    }
}

const LIFT: &str = "WindowCovering.GoToLiftPercentage";

fn lift(hundredths: u16) -> Json {
    json!({"LiftPercent100thsValue": hundredths})
}

fn telegram(point: &str, value: bool) -> Vec<(String, Json)> {
    vec![(point.to_owned(), json!(value))]
}

/// cluster§5.3.7.4: what cannot be sent to a position opens for 0 and closes for anything else.
#[test]
fn a_shutter_whose_position_is_only_told_opens_and_closes() {
    for settings in [&[][..], &[("travel-time", json!(30))]] {
        let shutter = appliance(
            "roller-shutter",
            &["move.command", "step-stop.command", "position.feedback"],
            settings,
        );
        for (wanted, down) in [(0, false), (5000, true), (10000, true)] {
            assert_eq!(
                shutter.asked(LIFT, lift(wanted)),
                telegram("move", down),
                "{wanted} with {settings:?}"
            );
        }
    }
    let both = appliance("roller-shutter", &["move.command", "position.command", "position.feedback"], &[]);
    assert_eq!(both.asked(LIFT, lift(5000)), [("position".to_owned(), json!(50))]);
}

/// Where nothing reports the position, up and down are asked for like any other.
#[test]
fn a_shutter_without_feedback_shows_that_it_was_sent_to_its_end() {
    let mut shutter = appliance("roller-shutter", &["move.command", "position.command"], &[]);
    let shown = |shutter: &Gateway| {
        ["Current", "Target"]
            .map(|which| shutter.shows(&format!("WindowCovering.{which}PositionLiftPercent100ths")))
    };
    for (point, value, at) in [
        ("position", json!(40), 4000),
        ("move", json!(true), 10000),
        ("move", json!(false), 0),
        ("position", json!(60), 6000),
    ] {
        shutter.told(point, value);
        assert_eq!(shown(&shutter), [at, at], "{point}");
    }
    let mut told =
        appliance("roller-shutter", &["move.command", "position.command", "position.feedback"], &[]);
    told.told("position", json!(40));
    told.told("move", json!(true));
    assert_eq!(shown(&told), [4000, 4000], "what is reported is shown alone");
}

/// The ends need no estimate; the stop follows only where a movement was sent.
#[test]
fn a_shutter_of_unknown_position_goes_to_its_ends_and_never_takes_a_stray_step() {
    for stop in ["step-stop", "stop"] {
        let ends = ["move.command".to_owned(), format!("{stop}.command")];
        let ends: Vec<&str> = ends.iter().map(String::as_str).collect();
        let mut shutter = appliance("roller-shutter", &ends, &[("travel-time", json!(30))]);
        assert_eq!(shutter.asked(LIFT, lift(5000)), NOTHING, "nothing is known of it");
        assert_eq!(shutter.asked(LIFT, lift(0)), telegram("move", false));
        assert_eq!(shutter.asked(LIFT, lift(10000)), telegram("move", true));
        shutter.told("move", json!(true));
        assert_eq!(shutter.shows("WindowCovering.CurrentPositionLiftPercent100ths"), json!(10000));
        assert_eq!(shutter.asked(LIFT, lift(10000)), telegram("move", true), "the drive knows its end best");
        let up = [telegram("move", false), telegram(stop, false)].concat();
        assert_eq!(shutter.asked(LIFT, lift(4000)), up, "{stop}");
    }
    let mut shutter =
        appliance("roller-shutter", &["move.command", "stop.command"], &[("travel-time", json!(30))]);
    shutter.place("WindowCovering.CurrentPositionLiftPercent100ths", json!(4000));
    assert_eq!(shutter.asked(LIFT, lift(4000)), NOTHING, "it is there");
}

/// What nothing can halt on its way would run on to its end, and be shown where it was asked to be.
#[test]
fn a_shutter_that_cannot_be_stopped_is_sent_to_its_ends_alone() {
    let mut shutter = appliance("roller-shutter", &["move.command"], &[("travel-time", json!(30))]);
    shutter.told("move", json!(true));
    assert_eq!(shutter.asked(LIFT, lift(4000)), NOTHING);
    assert_eq!(shutter.asked(LIFT, lift(0)), telegram("move", false));
    assert_eq!(shutter.asked(LIFT, lift(10000)), telegram("move", true));
}

/// KNX 3/7/2 §3.1: both values of 1.017 trigger.
#[test]
fn nothing_that_only_triggers_can_end_a_boost() {
    let cancel = |dpt: &str| {
        let ends = ["switching.command".to_owned(), format!("boost.command {dpt}")];
        let ends: Vec<&str> = ends.iter().map(String::as_str).collect();
        let mut heater = appliance("water-heater", &ends, &[]);
        heater.told("boost", json!(false));
        let boosts = heater.shows("WaterHeaterManagement.BoostState");
        (heater.asked("WaterHeaterManagement.CancelBoost", json!({})), boosts)
    };
    assert_eq!(cancel("1.017"), (vec![], json!(1)));
    assert_eq!(cancel("1.010"), (telegram("boost", false), json!(0)));
}

/// A button that sends 1 and 0 for one press tells one press.
#[test]
fn a_press_and_its_release_are_one_press() {
    let mut button = appliance("push-button", &["press.feedback 1.001"], &[]);
    assert_eq!(button.events("press", json!(true)).len(), 2);
    button.choose("press-sends", "press-and-release");
    assert_eq!(button.events("press", json!(true)), [("InitialPress".to_owned(), json!({"NewPosition": 1}))]);
    assert_eq!(
        button.events("press", json!(false)),
        [("ShortRelease".to_owned(), json!({"PreviousPosition": 1}))]
    );
}

/// A controller sets level, hue and saturation one after the other, before the lamp reports any of it.
#[test]
fn commands_in_a_row_add_up_before_the_feedback_comes() {
    let mut lamp = appliance("colour-light", &["colour.command", "colour.feedback"], &[]);
    lamp.told("colour", json!({"red": 255, "green": 0, "blue": 0}));
    let level = lamp.commanded("LevelControl.MoveToLevelWithOnOff", json!({"Level": 127}));
    assert_eq!(level, [("colour".to_owned(), json!({"red": 127.5, "green": 0, "blue": 0}))]);
    // A hue of 127 is 180 degrees, cyan.
    lamp.commanded("ColorControl.MoveToHue", json!({"Hue": 127}));
    let pale = lamp.commanded("ColorControl.MoveToSaturation", json!({"Saturation": 127}));
    assert_eq!(pale, [("colour".to_owned(), json!({"red": 63.75, "green": 127.5, "blue": 127.5}))]);
    // What the bus reports meanwhile is the truth.
    lamp.told("colour", json!({"red": 255, "green": 0, "blue": 0}));
    let bright = lamp.commanded("LevelControl.MoveToLevel", json!({"Level": 254}));
    assert_eq!(bright, [("colour".to_owned(), json!({"red": 255, "green": 0, "blue": 0}))]);
}

/// cluster§2.11.8.11: all is clear when the state that is expressed is normal again, and not before.
#[test]
fn an_alarm_is_all_clear_when_no_fault_stands_either() {
    for (class, point) in [("smoke-alarm", "smoke"), ("carbon-monoxide-alarm", "carbon-monoxide")] {
        let mut detector = appliance(class, &[&format!("{point}.feedback"), "fault.feedback"], &[]);
        for (point, now, clear) in [
            ("fault", false, false),
            (point, true, false),
            ("fault", true, false),
            (point, false, false),
            ("fault", false, true),
            ("fault", false, false),
            (point, true, false),
            (point, false, true),
            ("fault", true, false),
            (point, true, false),
            ("fault", false, false),
            (point, false, true),
        ] {
            let events = detector.events(point, json!(now));
            assert_eq!(events.iter().any(|(name, _)| name == "AllClear"), clear, "{class} {point} {now}");
            detector.told(point, json!(now));
            let normal = detector.shows("SmokeCoAlarm.ExpressedState") == json!(0);
            assert!(normal || !clear, "{class} {point} {now}");
        }
    }
}

/// cluster§1.13.6.4: no short release after a long press.
#[test]
fn a_button_that_tells_every_release_takes_no_long_press() {
    for (points, met) in
        [(&["press.feedback"][..], true), (&["press.feedback", "long-press.feedback"], false)]
    {
        let mut button = appliance("push-button", points, &[]);
        assert_eq!(button.unmet(), [""; 0], "{points:?}");
        button.choose("press-sends", "press-and-release");
        assert_eq!(button.unmet().is_empty(), met, "{points:?}");
    }
}

/// A central function moves what the own address moves: position and target alike.
#[test]
fn a_further_address_tells_what_the_own_one_tells() {
    let mut looked_at = 0;
    for class in super::bridged() {
        for mut chosen in choices(&class, 200) {
            for point in &mut chosen.points {
                let listens = class.points[usize::from(point.point)].listens;
                point.listens = point.command.filter(|_| listens);
            }
            let Ok(shape) = class.shape(&chosen) else { continue };
            for point in chosen.points.iter().filter(|point| point.listens.is_some()) {
                let told = |end: End| -> Vec<String> {
                    let links = shape.parts.iter().flat_map(|part| &part.links).filter(|link| {
                        link.point == point.point && link.end == end && link.direction == Direction::FromBus
                    });
                    links
                        .map(|link| format!("{}.{} {:?}", link.cluster, link.target.name(), link.conversion))
                        .collect()
                };
                looked_at += told(End::Listens).len();
                assert_eq!(told(End::Listens), told(End::Command), "{} {:?}", class.name, point);
            }
        }
    }
    assert!(looked_at > 1000, "only {looked_at} wires");
}

/// cluster§5.3.7.1, §5.3.7.2: open and closed are the ends of lift and tilt.
#[test]
fn a_blind_without_a_long_press_turns_its_slats_to_the_end_too() {
    let blind = appliance("venetian-blind", &["position", "slat", "stop.command"], &[]);
    for (command, end) in [("UpOrOpen", 0), ("DownOrClose", 100)] {
        let sent = blind.asked(&format!("WindowCovering.{command}"), json!({}));
        assert_eq!(sent, ["position", "slat"].map(|point| (point.to_owned(), json!(end))));
    }
    let pressed = appliance("venetian-blind", &["move.command", "position", "slat"], &[]);
    assert_eq!(pressed.asked("WindowCovering.DownOrClose", json!({})), telegram("move", true));
}
