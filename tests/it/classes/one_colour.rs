//! A colour in its three ways, as the head of the bridge JSON's schema has it followed from one to the others.

use housewright::convert::{Chain, Fields, Value};
use serde_json::{Value as Json, json};

/// The attributes of a colour, those first that weigh more when a telegram changes several.
pub(super) const ALL: [&str; 5] = [
    "ColorControl.ColorTemperatureMireds",
    "ColorControl.CurrentHue",
    "ColorControl.CurrentSaturation",
    "ColorControl.CurrentX",
    "ColorControl.CurrentY",
];
/// Those that a telegram of just what was sent sets to what it was sent for.
pub(super) const HUES: [&str; 4] = [ALL[1], ALL[2], ALL[3], ALL[4]];

/// The colour mode of an attribute or of a command.
pub(super) fn mode_of(name: &str) -> u8 {
    if name.ends_with("Mireds") || name.ends_with("ColorTemperature") {
        2
    } else if name.ends_with("Hue") || name.ends_with("Saturation") {
        0
    } else {
        1
    }
}

/// What a colour of a mode is in the other ways, by attribute; never a temperature.
pub(super) fn in_other_ways(mode: u8, now: &Fields) -> Vec<(String, Value)> {
    let mut seen = now.clone();
    let mut found = Vec::new();
    let mut follow = |name: &str, steps: Json| {
        let chain: Chain = serde_json::from_value(steps).expect("steps");
        let value = chain.run(&Value::Bool(true), &seen).expect("converts");
        if value != Value::Null {
            seen.put(name.to_owned(), value.clone());
            found.push((name.to_owned(), value));
        }
    };
    let parts_of_65536 = json!({"step": "scale", "from": [0, 1], "to": [0, 65536]});
    let whole = json!({"step": "round", "to": 1});
    if mode != 1 {
        let from_white = json!([
            {"step": "attribute", "of": ALL[0]},
            {"step": "reciprocal", "numerator": 1_000_000},
            {"step": "kelvin-to-xy"},
        ]);
        let from_hue = json!([
            {"step": "gather", "fields": {
                "hue": {"attribute": ALL[1]}, "saturation": {"attribute": ALL[2]}, "value": {"constant": 1},
            }},
            {"step": "scale-fields", "of": ["hue"], "from": [0, 254], "to": [0, 360]},
            {"step": "scale-fields", "of": ["saturation"], "from": [0, 254], "to": [0, 1]},
            {"step": "hsv-to-rgb"},
            {"step": "rgb-to-xyy"},
        ]);
        let from = if mode == 2 { from_white } else { from_hue };
        for (name, field) in [(ALL[3], "x"), (ALL[4], "y")] {
            let end = [json!({"step": "field", "name": field}), parts_of_65536.clone(), whole.clone()];
            follow(name, from.as_array().expect("steps").iter().cloned().chain(end).collect());
        }
    }
    if mode != 0 {
        for (name, field, turn) in [(ALL[1], "hue", 360), (ALL[2], "saturation", 1)] {
            follow(
                name,
                json!([
                    {"step": "gather", "fields": {
                        "x": {"attribute": ALL[3]}, "y": {"attribute": ALL[4]}, "Y": {"constant": 1},
                    }},
                    {"step": "scale-fields", "of": ["x", "y"], "from": [0, 65536], "to": [0, 1]},
                    {"step": "xyy-to-rgb"},
                    {"step": "rgb-to-hsv"},
                    {"step": "field", "name": field},
                    {"step": "scale", "from": [0, turn], "to": [0, 254]},
                    whole,
                ]),
            );
        }
    }
    found
}

/// A value of whole numbers as a telegram carries it.
pub(super) fn on_the_bus(value: &Json) -> Json {
    match value {
        Json::Object(fields) => {
            fields.iter().map(|(name, value)| (name.clone(), on_the_bus(value))).collect()
        }
        Json::Number(number) => number.as_f64().map(|number| json!(number.round_ties_even())).into(),
        other => other.clone(),
    }
}
