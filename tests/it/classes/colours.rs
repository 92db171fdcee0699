//! What comes out of the conversions of coloured lamps, on the standards' own numbers.
//!
//! Expected values: Matter Application Cluster Specification 1.6 §3.2.7 and KNX 3/7/2 §6.6, §6.9, §6.18.

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
