//! What comes out of the classes' conversions, on the standards' own numbers.
//!
//! Expected values: Matter Application Cluster Specification 1.6 (levels, positions, mireds, illuminance, hundredths), KNX
//! 3/7/2 (which value is open, up, on); percent to level: 50 % is 127, 0.4 % is 1.

use housewright::classes::{Chosen, ChosenPoint, ClassLibrary, Direction, SettingValue, choices};
use housewright::convert::{Fields, Value};
use serde_json::{Value as Json, json};

/// The fullest appliance of a class, changed.
fn chosen(
    class: &str,
    change: impl Fn(&mut Chosen),
) -> (std::sync::Arc<housewright::classes::Class>, Chosen) {
    let class = ClassLibrary::built_in().get(class).expect(class);
    let mut chosen = choices(&class, 1).into_iter().next().expect("a choice");
    change(&mut chosen);
    (class, chosen)
}

/// What the wires between a point and an attribute, command or event make of a value; nothing passed on is left out.
pub(super) fn run(
    class: &str,
    change: impl Fn(&mut Chosen),
    direction: Direction,
    point: &str,
    target: &str,
    input: &Json,
    attributes: &[(&str, Json)],
) -> Vec<Json> {
    let (class, chosen) = chosen(class, change);
    let shape = class.shape(&chosen).expect("a shape");
    let (index, _) = class.point(point).expect(point);
    let mut around = Fields::new();
    for (name, value) in attributes {
        around.put((*name).to_owned(), Value::from_json(value).expect("a value"));
    }
    let links = shape.parts.iter().flat_map(|part| &part.links).filter(|link| {
        link.point == index
            && link.direction == direction
            && format!("{}.{}", link.cluster, link.target.name()) == target
    });
    let input = Value::from_json(input).expect("a value");
    let mut seen = Vec::new();
    let mut results = Vec::new();
    for link in links {
        // Command and further addresses have the same wire.
        if seen.contains(&&link.conversion) {
            continue;
        }
        seen.push(&link.conversion);
        let result = link.conversion.run(&input, &around).expect("converts");
        results.extend((result != Value::Null).then(|| result.to_json()));
    }
    assert!(!seen.is_empty(), "no wire between {point} and {target}");
    results
}

pub(super) fn same(_: &mut Chosen) {}

/// An appliance with these points alone, each commanded and reported by the datapoint type where the class has the end.
pub(super) fn only<'a>(class: &'a str, points: &'a [(&'a str, &'a str)]) -> impl Fn(&mut Chosen) + 'a {
    move |chosen| {
        let class = ClassLibrary::built_in().get(class).expect(class);
        let mut made = points.iter().map(|(name, dpt)| {
            let (point, spec) = class.point(name).expect(name);
            let dpt = Some(dpt.parse().expect("a type"));
            ChosenPoint {
                point,
                command: dpt.filter(|_| spec.command.is_some()),
                feedback: dpt.filter(|_| spec.feedback.is_some()),
                listens: None,
                reversed: false,
                range: None,
            }
        });
        chosen.points = made.by_ref().collect();
        chosen.points.sort_by_key(|point| point.point);
    }
}

pub(super) fn shown(class: &str, point: &str, target: &str, bus: Json, expected: Json) {
    let got = run(class, same, Direction::FromBus, point, target, &bus, &[]);
    assert_eq!(got, [expected], "{class}: {point} {bus} to {target}");
}

pub(super) fn sent(
    class: &str,
    point: &str,
    target: &str,
    fields: Json,
    attributes: &[(&str, Json)],
    expected: &[Json],
) {
    let got = run(class, same, Direction::ToBus, point, target, &fields, attributes);
    assert_eq!(got.len(), expected.len(), "{class}: {target} {fields} gives {got:?}");
    for (got, expected) in got.iter().zip(expected) {
        let near = match (got.as_f64(), expected.as_f64()) {
            (Some(got), Some(expected)) => (got - expected).abs() < 1e-9,
            _ => got == expected,
        };
        assert!(near, "{class}: {target} {fields} gives {got}, not {expected}");
    }
}

#[test]
fn levels_are_254ths_and_never_0() {
    let level = "LevelControl.CurrentLevel";
    shown("dimmable-light", "brightness", level, json!(100), json!(254));
    shown("dimmable-light", "brightness", level, json!(50), json!(127));
    shown("dimmable-light", "brightness", level, json!(0.4), json!(1));
    shown("dimmable-light", "brightness", level, json!(0.1), json!(1));
    assert!(run("dimmable-light", same, Direction::FromBus, "brightness", level, &json!(0), &[]).is_empty());
    sent(
        "dimmable-light",
        "brightness",
        "LevelControl.MoveToLevel",
        json!({"Level": 127}),
        &[],
        &[json!(50)],
    );
    sent(
        "dimmable-light",
        "brightness",
        "LevelControl.MoveToLevelWithOnOff",
        json!({"Level": 1}),
        &[],
        &[json!(0)],
    );
    sent(
        "dimmable-light",
        "brightness",
        "LevelControl.MoveToLevelWithOnOff",
        json!({"Level": 254}),
        &[],
        &[json!(100)],
    );
}

/// KNX 3/7/2 §3.3: step code n is 100 % / 2^(n-1), control true is brighter, step 0 stops.
#[test]
fn relative_dimming_takes_the_nearest_step() {
    let step = |mode: u8, size: u8| json!({"StepMode": mode, "StepSize": size});
    let code = |control: bool, step: u8| json!({"control": control, "step": step});
    for (mode, size, expected) in
        [(0, 254, code(true, 1)), (0, 127, code(true, 2)), (1, 64, code(false, 3)), (1, 4, code(false, 7))]
    {
        sent("dimmable-light", "dimming", "LevelControl.Step", step(mode, size), &[], &[expected]);
    }
    sent(
        "dimmable-light",
        "dimming",
        "LevelControl.Move",
        json!({"MoveMode": 1, "Rate": 50}),
        &[],
        &[code(false, 1)],
    );
    sent("dimmable-light", "dimming", "LevelControl.Stop", json!({}), &[], &[code(false, 0)]);
}

/// Without a brightness object the level asked for is reached in relative steps.
#[test]
fn an_absolute_level_becomes_relative_steps() {
    let without = |chosen: &mut Chosen| chosen.points.retain(|point| point.point != 1);
    for (wanted, now, expected) in [
        (254, 1, Some(json!({"control": true, "step": 1}))),
        (127, 254, Some(json!({"control": false, "step": 2}))),
        (100, 100, None),
        (101, 100, Some(json!({"control": true, "step": 7}))),
    ] {
        let now = [("LevelControl.CurrentLevel", json!(now))];
        let fields = json!({"Level": wanted});
        let target = "LevelControl.MoveToLevel";
        let got = run("dimmable-light", without, Direction::ToBus, "dimming", target, &fields, &now);
        assert_eq!(got, expected.into_iter().collect::<Vec<_>>(), "{wanted} from {now:?}");
    }
}

#[test]
fn positions_are_hundredths_with_0_open() {
    let position = "WindowCovering.CurrentPositionLiftPercent100ths";
    shown("roller-shutter", "position", position, json!(0), json!(0));
    shown("roller-shutter", "position", position, json!(33.33), json!(3333));
    shown("roller-shutter", "position", position, json!(100), json!(10000));
    sent(
        "roller-shutter",
        "position",
        "WindowCovering.GoToLiftPercentage",
        json!({"LiftPercent100thsValue": 2500}),
        &[],
        &[json!(25)],
    );
    // 1.008: 0 is up.
    sent("roller-shutter", "move", "WindowCovering.UpOrOpen", json!({}), &[], &[json!(false)]);
    sent("roller-shutter", "move", "WindowCovering.DownOrClose", json!({}), &[], &[json!(true)]);
    // 1.010: 0 stops.
    sent("roller-shutter", "stop", "WindowCovering.StopMotion", json!({}), &[], &[json!(false)]);
}

#[test]
fn a_reversed_position_counts_down_both_ways() {
    let reversed = |chosen: &mut Chosen| chosen.points.iter_mut().for_each(|point| point.reversed = true);
    let position = "WindowCovering.CurrentPositionLiftPercent100ths";
    let got = run("roller-shutter", reversed, Direction::FromBus, "position", position, &json!(25), &[]);
    assert_eq!(got, [json!(7500)]);
    let command = "WindowCovering.GoToLiftPercentage";
    let fields = json!({"LiftPercent100thsValue": 7500});
    assert_eq!(
        run("roller-shutter", reversed, Direction::ToBus, "position", command, &fields, &[]),
        [json!(25)]
    );
    let up =
        run("roller-shutter", reversed, Direction::ToBus, "move", "WindowCovering.UpOrOpen", &json!({}), &[]);
    assert_eq!(up, [json!(true)]);
}

/// A stop that is turned round would start.
#[test]
fn what_takes_no_reversal_is_left_as_it_is() {
    let reversed = |chosen: &mut Chosen| chosen.points.iter_mut().for_each(|point| point.reversed = true);
    let stop = "WindowCovering.StopMotion";
    let got = run("roller-shutter", reversed, Direction::ToBus, "stop", stop, &json!({}), &[]);
    assert_eq!(got, [json!(false)]);
    let measured = "TemperatureMeasurement.MeasuredValue";
    let got =
        run("temperature-sensor", reversed, Direction::FromBus, "temperature", measured, &json!(21), &[]);
    assert_eq!(got, [json!(2100)]);
    let state = "ClosureControl.MainState";
    let got = run("garage-door", reversed, Direction::FromBus, "moving", state, &json!(true), &[]);
    assert_eq!(got, [json!(1)]);
}

#[test]
fn a_range_is_spread_over_the_whole() {
    use housewright::classes::Number;
    let range = Number::new(20.0).zip(Number::new(80.0)).map(|(low, high)| [low, high]);
    let used = |chosen: &mut Chosen| chosen.points.iter_mut().for_each(|point| point.range = range);
    let level = "LevelControl.CurrentLevel";
    assert_eq!(
        run("dimmable-light", used, Direction::FromBus, "brightness", level, &json!(50), &[]),
        [json!(127)]
    );
    assert_eq!(
        run("dimmable-light", used, Direction::FromBus, "brightness", level, &json!(90), &[]),
        [json!(254)]
    );
    let to = run(
        "dimmable-light",
        used,
        Direction::ToBus,
        "brightness",
        "LevelControl.MoveToLevel",
        &json!({"Level": 254}),
        &[],
    );
    assert_eq!(to, [json!(80)]);
}

/// The ends of a range as the bus tells them, turned round too, and what lies beyond: 128 of 255 of 5.001 is not quite 50.
#[test]
fn a_closure_beyond_its_range_is_at_its_end() {
    use housewright::classes::Number;
    let state = "ClosureControl.OverallCurrentState";
    let open = json!({"Position": 1, "SecureState": false});
    let closed = json!({"Position": 0, "SecureState": true});
    for class in ["gate", "garage-door", "roof-window"] {
        for (reversed, [below, low, high, above]) in
            [(false, [&open, &open, &closed, &closed]), (true, [&closed, &closed, &open, &open])]
        {
            let used = |chosen: &mut Chosen| {
                let range = Number::new(20.0).zip(Number::new(50.0)).map(|(low, high)| [low, high]);
                chosen.points.iter_mut().filter(|point| point.point == 0).for_each(|point| {
                    (point.range, point.reversed) = (range, reversed);
                });
            };
            for (raw, shown) in [(25, below), (51, low), (128, high), (204, above)] {
                let told = json!(f64::from(raw) * 100.0 / 255.0);
                let got = run(class, used, Direction::FromBus, "position", state, &told, &[]);
                assert_eq!(got.iter().collect::<Vec<_>>(), [shown], "{class} {reversed} {raw}");
            }
        }
    }
}

/// The estimate of a shutter without a position: towards the end that was asked for, and a stop after the way.
#[test]
fn a_position_is_estimated_from_the_travel_time() {
    use housewright::classes::Number;
    let timed = |chosen: &mut Chosen| {
        chosen.points.retain(|point| matches!(point.point, 0 | 1));
        chosen.settings =
            Number::new(30.0).map(|seconds| (0, SettingValue::Number(seconds))).into_iter().collect();
    };
    let now = [("WindowCovering.CurrentPositionLiftPercent100ths", json!(4000))];
    let target = "WindowCovering.GoToLiftPercentage";
    let go = |wanted: u16, point: &str| {
        let fields = json!({"LiftPercent100thsValue": wanted});
        run("roller-shutter", timed, Direction::ToBus, point, target, &fields, &now)
    };
    assert_eq!(go(6000, "move"), [json!(true)]);
    assert_eq!(go(1000, "move"), [json!(false)]);
    assert_eq!(go(4000, "move"), [] as [Json; 0]);
    // 1.010 stops with 0; at an end the drive stops by itself.
    assert_eq!(go(6000, "stop"), [json!(false)]);
    assert_eq!(go(10000, "stop"), [] as [Json; 0]);
    let (class, chosen) = chosen("roller-shutter", timed);
    let shape = class.shape(&chosen).expect("a shape");
    let timing: Vec<_> = shape.parts[0].links.iter().flat_map(|link| &link.timing).collect();
    assert!(timing.contains(&(&"fullTravel".to_owned(), &json!(30_000))), "{timing:?}");
    assert!(timing.contains(&(&"afterTravel".to_owned(), &json!(30_000))), "{timing:?}");
}

#[test]
fn kelvin_become_mireds() {
    let mireds = "ColorControl.ColorTemperatureMireds";
    shown("tunable-white-light", "colour-temperature", mireds, json!(4000), json!(250));
    shown("tunable-white-light", "colour-temperature", mireds, json!(2700), json!(370));
    // Beyond the lamp's limits: cut off.
    shown("tunable-white-light", "colour-temperature", mireds, json!(10000), json!(154));
    let command = "ColorControl.MoveToColorTemperature";
    sent(
        "tunable-white-light",
        "colour-temperature",
        command,
        json!({"ColorTemperatureMireds": 250}),
        &[],
        &[json!(4000)],
    );
    let share = |chosen: &mut Chosen| {
        let dpt = Some("5.001".parse().expect("a type"));
        let point = chosen.points.iter_mut().find(|point| point.point == 3).expect("there");
        *point = ChosenPoint { command: dpt, feedback: dpt, listens: dpt, ..point.clone() };
    };
    assert_eq!(
        run("tunable-white-light", share, Direction::FromBus, "colour-temperature", mireds, &json!(0), &[]),
        [json!(370)]
    );
    assert_eq!(
        run("tunable-white-light", share, Direction::FromBus, "colour-temperature", mireds, &json!(100), &[]),
        [json!(154)]
    );
}

/// Power drawn counts above zero (Matter application clusters, section 2.13: Electrical Power Measurement).
#[test]
fn reversed_power_has_the_other_sign() {
    let reversed = |chosen: &mut Chosen| chosen.points.iter_mut().for_each(|point| point.reversed = true);
    let power = "ElectricalPowerMeasurement.ActivePower";
    for (class, asked, expected) in
        [("electricity-meter", json!(250), json!(-250_000)), ("solar-power", json!(-250), json!(-250_000))]
    {
        let got = run(class, reversed, Direction::FromBus, "power", power, &asked, &[]);
        assert_eq!(got, [expected], "{class}");
    }
}

/// Current flows the way that power does; one that is told without a sign keeps its unit.
#[test]
fn reversed_current_has_the_other_sign() {
    let current = "ElectricalPowerMeasurement.ActiveCurrent";
    for (class, expected) in [("electricity-meter", -4000), ("battery-storage", -4000), ("solar-power", 4000)]
    {
        for (dpt, told) in [("14.019", 4), ("9.021", 4000), ("7.012", 4000)] {
            let reversed = |chosen: &mut Chosen| {
                only(class, &[("current", dpt)])(chosen);
                chosen.points.iter_mut().for_each(|point| point.reversed = true);
            };
            let got = run(class, reversed, Direction::FromBus, "current", current, &json!(told), &[]);
            assert_eq!(got, [json!(expected)], "{class} {dpt}");
        }
    }
}

/// Closed is 10000 and open is 0 (cluster§5.3.7.1, §5.3.7.2), whatever part of the range the drive uses.
#[test]
fn the_ends_of_a_range_come_back_as_the_ends() {
    use housewright::classes::Number;
    use housewright::knx::{codec, dpt};
    let percent = dpt::lookup("5.001").expect("there");
    for (low, high) in (0..10).flat_map(|low| (90..=100).map(move |high| (low, high))) {
        let range = Number::new(f64::from(low)).zip(Number::new(f64::from(high)));
        let used = |chosen: &mut Chosen| {
            chosen.points.iter_mut().for_each(|point| point.range = range.map(|(low, high)| [low, high]))
        };
        for end in [0, 10000] {
            let command = "WindowCovering.GoToLiftPercentage";
            let asked = json!({"LiftPercent100thsValue": end});
            let sent = run("roller-shutter", used, Direction::ToBus, "position", command, &asked, &[]);
            let sent = sent.first().and_then(Json::as_f64).expect("a number");
            let payload = codec::encode_number(percent, sent).expect("fits");
            let told = json!(codec::decode_number(percent, &payload).expect("a number"));
            let position = "WindowCovering.CurrentPositionLiftPercent100ths";
            let got = run("roller-shutter", used, Direction::FromBus, "position", position, &told, &[]);
            assert_eq!(got, [json!(end)], "{low} to {high}");
        }
    }
}
