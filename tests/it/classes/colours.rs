//! What comes out of the conversions of coloured lamps, on the standards' own numbers.
//!
//! Expected values: Matter Application Cluster Specification 1.6 §3.2.7 and KNX 3/7/2 §6.6, §6.9, §6.18.

use super::gateway::{Gateway, appliance};
use super::one_colour::on_the_bus;
use super::scalings::{only, run, same, shown};
use housewright::classes::Direction;
use serde_json::{Value as Json, json};

#[test]
fn colours_are_those_of_the_lamp() {
    let red = json!({"red": 255, "green": 0, "blue": 0});
    shown("colour-light", "colour", "ColorControl.CurrentHue", red.clone(), json!(0));
    shown("colour-light", "colour", "ColorControl.CurrentSaturation", red.clone(), json!(254));
    // sRGB red: x 0.64, y 0.33.
    shown("colour-light", "colour", "ColorControl.CurrentX", red.clone(), json!(41943));
    shown("colour-light", "colour", "ColorControl.CurrentY", red, json!(21627));
    let fields = json!({"Hue": 85, "Saturation": 254});
    let got = run(
        "colour-light",
        same,
        Direction::ToBus,
        "colour",
        "ColorControl.MoveToHueAndSaturation",
        &fields,
        &[],
    );
    assert_eq!(got[0]["green"], json!(255));
}

/// KNX 3/7/2 §6.9: a telegram marks what of colour and brightness it holds, and nothing else of the lamp changes.
#[test]
fn by_coordinates_colour_and_brightness_go_apart() {
    let lamp = || only("colour-light", &[("colour", "242.600")]);
    let go = |target: &str, fields: Json, now: &[(&str, Json)]| {
        run("colour-light", lamp(), Direction::ToBus, "colour", target, &fields, now)
    };
    let (level, on) = ("LevelControl.CurrentLevel", "OnOff.OnOff");
    assert_eq!(go("OnOff.Off", json!({}), &[]), [json!({"brightness": 0})]);
    let half = [(level, json!(127)), (on, json!(true))];
    assert_eq!(go("OnOff.On", json!({}), &half), [json!({"brightness": 127.5})]);
    assert_eq!(go("OnOff.Toggle", json!({}), &half), [json!({"brightness": 0})]);
    assert_eq!(go("LevelControl.MoveToLevel", json!({"Level": 254}), &[]), [json!({"brightness": 255})]);
    let with_off = "LevelControl.MoveToLevelWithOnOff";
    assert_eq!(go(with_off, json!({"Level": 1}), &[]), [json!({"brightness": 0})]);
    // The colour that is asked for, not the nearest one that a screen has.
    let colour = go("ColorControl.MoveToColor", json!({"ColorX": 16384, "ColorY": 32768}), &[]);
    assert_eq!(colour, [json!({"x": 0.25, "y": 0.5})]);
    let hue = go("ColorControl.MoveToHueAndSaturation", json!({"Hue": 0, "Saturation": 254}), &[]);
    let [x, y] = ["x", "y"].map(|name| hue[0][name].as_f64().expect("a number"));
    assert!((x - 0.64).abs() < 1e-6 && (y - 0.33).abs() < 1e-6, "{hue:?}");
    assert!(hue[0].get("brightness").is_none(), "{hue:?}");
    let tell = |target: &str, telegram: Json| {
        run("colour-light", lamp(), Direction::FromBus, "colour", target, &telegram, &[])
    };
    let off = json!({"x": 0.64, "y": 0.33, "brightness": 0});
    assert_eq!(tell(on, off.clone()), [json!(false)]);
    assert_eq!(tell(level, off.clone()), [] as [Json; 0]);
    assert_eq!(tell("ColorControl.CurrentX", off), [json!(41943)]);
    let dim = json!({"x": null, "y": null, "brightness": 20});
    assert_eq!(tell(on, dim.clone()), [json!(true)]);
    assert_eq!(tell(level, dim.clone()), [json!(20)]);
    assert_eq!(tell("ColorControl.CurrentX", dim.clone()), [] as [Json; 0]);
    assert_eq!(tell("ColorControl.CurrentHue", dim), [] as [Json; 0]);
}

#[test]
fn by_coordinates_a_brightness_object_has_the_level_alone() {
    let points = [("colour", "242.600"), ("brightness", "5.001")];
    let lamp = || only("colour-light", &points);
    let level = "LevelControl.MoveToLevel";
    let sent =
        run("colour-light", lamp(), Direction::ToBus, "brightness", level, &json!({"Level": 127}), &[]);
    assert_eq!(sent, [json!(50)]);
    let fields = json!({"ColorTemperatureMireds": 250});
    let white = "ColorControl.MoveToColorTemperature";
    let sent = run("colour-light", lamp(), Direction::ToBus, "colour", white, &fields, &[]);
    assert!(sent[0].get("x").is_some() && sent[0].get("brightness").is_none(), "{sent:?}");
}

/// What is sent to a point, or to several of one value, rounded as it is on the bus.
fn sent(lamp: &mut Gateway, command: &str, fields: Json) -> Vec<Json> {
    let cluster = if command.starts_with("MoveToLevel") { "LevelControl" } else { "ColorControl" };
    let telegrams = lamp.commanded(&format!("{cluster}.{command}"), fields);
    telegrams.iter().filter(|(point, _)| point != "switching").map(|(_, value)| on_the_bus(value)).collect()
}

fn is_near(found: &Json, wanted: f64) -> bool {
    found.as_f64().is_some_and(|found| (found - wanted).abs() <= 1.0)
}

/// cluster§3.2.7.10: the mode says which attributes are the colour, and a change of level keeps it.
#[test]
fn channels_are_dimmed_in_the_colour_they_have() {
    let ends = ["switching", "red", "green", "blue"];
    let lamp = || {
        let mut lamp = appliance("colour-light-channels", &ends, &[]);
        lamp.place("OnOff.OnOff", json!(true));
        lamp
    };
    let half = || json!({"Level": 127});
    let mut one = lamp();
    let red = json!({"ColorX": 41943, "ColorY": 21627});
    assert_eq!(sent(&mut one, "MoveToColor", red), [json!(100.0), json!(0.0), json!(0.0)]);
    assert_eq!(sent(&mut one, "MoveToLevel", half()), [json!(50.0), json!(0.0), json!(0.0)]);
    one.wait();
    assert_eq!(sent(&mut one, "MoveToLevel", half()), [json!(50.0), json!(0.0), json!(0.0)]);
    // Half of the saturation of that red, and not of what was set by hue before.
    let pale = sent(&mut one, "MoveToSaturation", json!({"Saturation": 127}));
    assert_eq!(pale, [json!(50.0), json!(25.0), json!(25.0)]);

    let mut other = lamp();
    sent(&mut other, "MoveToHueAndSaturation", json!({"Hue": 0, "Saturation": 254}));
    let white = sent(&mut other, "MoveToColorTemperature", json!({"ColorTemperatureMireds": 370}));
    let dimmed = sent(&mut other, "MoveToLevelWithOnOff", half());
    for (full, half) in white.iter().zip(&dimmed) {
        assert!(is_near(half, full.as_f64().expect("a number") / 2.0), "{white:?} {dimmed:?}");
    }
}

/// A white that another object was sent is dimmed as a white, also when the colour object never told of it.
#[test]
fn a_white_of_its_own_object_is_dimmed_as_a_white() {
    for ends in [
        &["switching", "colour", "colour-temperature"][..],
        &["colour 251.600", "colour-temperature.command"],
    ] {
        let mut lamp = appliance("colour-light", ends, &[]);
        lamp.place("OnOff.OnOff", json!(true));
        let red = sent(&mut lamp, "MoveToHueAndSaturation", json!({"Hue": 0, "Saturation": 254}));
        lamp.told("colour", red[0].clone());
        lamp.wait();
        let white = sent(&mut lamp, "MoveToColorTemperature", json!({"ColorTemperatureMireds": 370}));
        assert!(is_near(&white[0], 2703.0), "{white:?}");
        if lamp.hears("colour-temperature") {
            lamp.told("colour-temperature", json!(2703));
        }
        lamp.wait();
        let sent = sent(&mut lamp, "MoveToLevel", json!({"Level": 127}));
        assert!(sent[0]["red"] != 0.0 || sent[0]["white"].as_f64() > Some(40.0), "{ends:?} {sent:?}");
        assert!(sent[0]["white"].is_number() || sent[0]["green"].as_f64() > Some(80.0), "{ends:?} {sent:?}");
    }
}

/// A white from the wall counts from then on, and so does a colour.
#[test]
fn a_white_from_the_wall_is_dimmed_as_a_white() {
    let mut lamp = appliance("colour-light", &["switching", "colour", "colour-temperature"], &[]);
    lamp.told("colour", json!({"red": 255, "green": 0, "blue": 0}));
    lamp.told("colour-temperature", json!(3000));
    let white = sent(&mut lamp, "MoveToLevel", json!({"Level": 254}));
    assert!(white[0]["green"].as_f64() > Some(150.0), "{white:?}");
    // Told again while the lamp is red, it is none.
    lamp.told("colour", json!({"red": 255, "green": 0, "blue": 0}));
    lamp.told("colour-temperature", json!(3000));
    let red = sent(&mut lamp, "MoveToLevel", json!({"Level": 254}));
    assert_eq!(red[0]["green"], json!(0.0), "{red:?}");
}

/// A colour of few steps tells no hue: what was sent comes back as what was asked for.
#[test]
fn a_colour_dimmed_low_comes_back() {
    let mut lamp = appliance("colour-light", &["colour"], &[]);
    let full = sent(&mut lamp, "MoveToHueAndSaturation", json!({"Hue": 15, "Saturation": 180}));
    lamp.told("colour", full[0].clone());
    lamp.wait();
    let low = sent(&mut lamp, "MoveToLevel", json!({"Level": 1}));
    assert_eq!(low, [json!({"red": 1.0, "green": 1.0, "blue": 0.0})]);
    lamp.told("colour", low[0].clone());
    lamp.wait();
    assert_eq!([lamp.shows("ColorControl.CurrentHue"), lamp.shows("LevelControl.CurrentLevel")], [15, 1]);
    // A colour from the wall in between, and back.
    lamp.told("colour", json!({"red": 0, "green": 0, "blue": 255}));
    assert_eq!(lamp.shows("ColorControl.CurrentHue"), 169);
    lamp.told("colour", low[0].clone());
    assert_eq!(sent(&mut lamp, "MoveToLevel", json!({"Level": 254})), full);
}
