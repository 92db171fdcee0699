//! Conversions: the samples that every interpreter must pass, and the scalings of the Matter standard.

use housewright::convert::{Chain, Fields, Kind, Range, Step, Value};
use proptest::prelude::*;
use serde::Deserialize;
use serde_json::{Map, Value as Json};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Samples {
    #[serde(rename = "about")]
    _about: Vec<String>,
    tolerance: f64,
    samples: Vec<Sample>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sample {
    name: String,
    steps: Chain,
    input: Json,
    #[serde(default)]
    attributes: Map<String, Json>,
    #[serde(default)]
    output: Json,
    error: Option<Failure>,
}

#[derive(Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Failure {
    code: String,
    step: String,
}

fn samples() -> Samples {
    serde_json::from_str(include_str!("../outside/conversion-steps.json")).unwrap()
}

fn near(a: &Value, b: &Value, tolerance: f64) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => (a - b).abs() <= tolerance * b.abs().max(1.0),
        (Value::Structure(a), Value::Structure(b)) => {
            a.len() == b.len()
                && a.iter().zip(b.iter()).all(|((m, a), (n, b))| m == n && near(a, b, tolerance))
        }
        _ => a == b,
    }
}

#[test]
fn every_sample_converts_as_written() {
    let Samples { tolerance, samples, .. } = samples();
    for Sample { name, steps, input, attributes, output, error } in samples {
        let surroundings: Fields =
            attributes.iter().map(|(of, json)| (of.clone(), Value::from_json(json).unwrap())).collect();
        let result = steps.run(&Value::from_json(&input).unwrap(), &surroundings);
        match (result, error) {
            (Ok(value), None) => {
                let expected = Value::from_json(&output).unwrap();
                assert!(near(&value, &expected, tolerance), "{name}: got {value:?}, not {expected:?}");
            }
            (Err(got), Some(expected)) => {
                let got = Failure { code: got.fault.code().to_owned(), step: got.step.to_string() };
                assert_eq!(got, expected, "{name}");
            }
            (result, error) => panic!("{name}: got {result:?}, expected {output} or {error:?}"),
        }
    }
}

#[test]
fn every_sample_is_written_back_as_it_was_read() {
    let file: Json = serde_json::from_str(include_str!("../outside/conversion-steps.json")).unwrap();
    for sample in file["samples"].as_array().unwrap() {
        let chain: Chain = serde_json::from_value(sample["steps"].clone()).unwrap();
        assert_eq!(serde_json::to_value(&chain).unwrap(), sample["steps"], "{}", sample["name"]);
    }
}

#[test]
fn every_step_has_a_sample() {
    let mut seen: Vec<String> = Vec::new();
    for sample in samples().samples {
        for step in serde_json::to_value(&sample.steps).unwrap().as_array().unwrap() {
            seen.push(step["step"].as_str().unwrap().to_owned());
        }
    }
    // The schema names every step there is.
    let schema = serde_json::to_value(schemars::schema_for!(Step)).unwrap();
    for step in schema["oneOf"].as_array().unwrap() {
        let name = step["properties"]["step"]["const"].as_str().unwrap();
        assert!(
            seen.iter().any(|seen| seen == name),
            "`{name}` has no sample in tests/outside/conversion-steps.json"
        );
    }
}

/// The scalings of the Matter standard: section of the Application Cluster Specification 1.6, steps, input, output.
const SCALINGS: &[(&str, &str, f64, f64)] = &[
    // Illuminance: 10000 * log10(lux) + 1; 1 lx is 1, 3.576 Mlx is 65534, less than 1 lx is 0.
    ("cluster§2.2.5.1", ILLUMINANCE, 1.0, 1.0),
    ("cluster§2.2.5.1", ILLUMINANCE, 10.0, 10_001.0),
    ("cluster§2.2.5.1", ILLUMINANCE, 500.0, 26_991.0),
    ("cluster§2.2.5.1", ILLUMINANCE, 3_576_000.0, 65_534.0),
    ("cluster§2.2.5.1", ILLUMINANCE, 0.5, 0.0),
    // Colour temperature: 1 000 000 / kelvin.
    ("cluster§3.2.7.9", MIREDS, 2_700.0, 370.0),
    ("cluster§3.2.7.9", MIREDS, 6_500.0, 154.0),
    ("cluster§3.2.7.9", MIREDS, 1_000_000.0, 1.0),
    // percent100ths: 0 is open, 10000 closed, hundredths of a per cent.
    ("core§7.19.2", HUNDREDTHS, 0.0, 0.0),
    ("core§7.19.2", HUNDREDTHS, 37.5, 3_750.0),
    ("core§7.19.2", HUNDREDTHS, 99.999, 10_000.0),
    // Level with the lighting feature: 1 the lowest, 254 the highest; per cent are ours.
    ("cluster§1.6.4.2", LEVEL, 100.0, 254.0),
    ("cluster§1.6.4.2", LEVEL, 50.0, 127.0),
    ("cluster§1.6.4.2", LEVEL, 0.1, 1.0),
    // Temperature and humidity: hundredths.
    ("cluster§2.3.4.1", HUNDREDTHS, 21.5, 2_150.0),
    ("cluster§2.6.4.1", HUNDREDTHS, 45.37, 4_537.0),
    // Hue: 254 steps a turn; saturation and x, y: 254ths and 65536ths.
    (
        "cluster§3.2.7.2",
        r#"[{"step":"scale","from":[0,360],"to":[0,254]},{"step":"round","to":1}]"#,
        180.0,
        127.0,
    ),
    (
        "cluster§3.2.7.3",
        r#"[{"step":"scale","from":[0,1],"to":[0,254]},{"step":"round","to":1}]"#,
        0.5,
        127.0,
    ),
    (
        "cluster§3.2.7.5",
        r#"[{"step":"scale","from":[0,1],"to":[0,65536]},{"step":"round","to":1}]"#,
        0.3127,
        20_493.0,
    ),
    (
        "cluster§3.2.7.6",
        r#"[{"step":"scale","from":[0,1],"to":[0,65536]},{"step":"round","to":1}]"#,
        0.329,
        21_561.0,
    ),
    // Pressure: tenths of a kilopascal; flow: tenths of a cubic metre an hour; both from the bus's unit.
    (
        "cluster§2.4.5.1",
        r#"[{"step":"scale","from":[0,1000],"to":[0,10]},{"step":"round","to":1}]"#,
        101_325.0,
        1_013.0,
    ),
    ("cluster§2.5.4.1", r#"[{"step":"scale","from":[0,1],"to":[0,10]},{"step":"round","to":1}]"#, 1.25, 12.0),
];

const ILLUMINANCE: &str = r#"[{"step":"log10","factor":10000,"offset":1,"smallest":1,"below":0},
    {"step":"round","to":1},{"step":"clamp","min":0,"max":65534}]"#;
const MIREDS: &str = r#"[{"step":"reciprocal","numerator":1000000},{"step":"round","to":1}]"#;
const HUNDREDTHS: &str = r#"[{"step":"scale","from":[0,1],"to":[0,100]},{"step":"round","to":1}]"#;
const LEVEL: &str = r#"[{"step":"scale","from":[0,100],"to":[0,254]},{"step":"round","to":1},
    {"step":"clamp","min":1,"max":254}]"#;

#[test]
fn the_standards_scalings_come_out() {
    for (section, steps, input, output) in SCALINGS {
        let chain: Chain = serde_json::from_str(steps).unwrap();
        let result = chain.run(&Value::Number(*input), &()).unwrap();
        assert_eq!(result, Value::Number(*output), "{section}: {input}");
    }
}

/// A step with a way back, of those that chains of numbers are made of.
fn step() -> impl Strategy<Value = Step> {
    // Lines that begin a few widths from zero: further off they only count how many places a double has.
    let width = || prop_oneof![0.01..10.0_f64, 10.0..5_000.0_f64, -500.0..-0.1_f64];
    let points =
        || (width(), -2.0..2.0_f64).prop_map(|(width, start)| [start * width, start * width + width]);
    let line = (points(), points());
    prop_oneof![
        4 => line.prop_map(|(from, to)| Step::Scale { from, to }),
        2 => (1..200_i32).prop_map(|slope| Step::Scale { from: [0.0, 1.0], to: [0.0, f64::from(slope)] }),
        3 => prop_oneof![Just(0.01), Just(0.1), Just(0.5), Just(1.0), Just(10.0)].prop_map(|to| Step::Round { to }),
        2 => (-500.0..500.0_f64, 1.0..5_000.0_f64).prop_map(|(min, width)| Step::Clamp { min, max: min + width }),
        2 => prop_oneof![Just(1.0), Just(1e6)].prop_map(|numerator| Step::Reciprocal { numerator }),
        1 => (1.0..10_000.0_f64, -5.0..5.0_f64).prop_map(|(factor, offset)| {
            Step::Log10 { factor, offset, smallest: 1.0, below: Some(0.0) }
        }),
        1 => (10.0..10_000.0_f64, -5.0..5.0_f64).prop_map(|(factor, offset)| Step::Power10 { factor, offset }),
        1 => Just(Step::Same),
    ]
}

fn chain() -> impl Strategy<Value = Chain> {
    prop::collection::vec(step(), 0..6).prop_map(|steps| Chain { steps })
}

/// Whether a clamp cuts something off on the way of this value.
fn is_cut(chain: &Chain, value: f64) -> bool {
    let before = |index: usize| Chain { steps: chain.steps.iter().take(index).cloned().collect() };
    chain.steps.iter().enumerate().any(|(index, step)| {
        let Step::Clamp { min, max } = step else { return false };
        let there = before(index).run(&Value::Number(value), &());
        there.is_ok_and(|there| there.number().is_some_and(|there| there < *min || there > *max))
    })
}

/// What the last places of a double are worth on the way of this value: at each step they are changed, and brought back.
fn last_places(chain: &Chain, value: f64) -> f64 {
    let upto = |count: usize| Chain { steps: chain.steps.iter().take(count).cloned().collect() };
    let worth = |count: usize| {
        let there = upto(count).run(&Value::Number(value), &()).ok()?.number()?;
        let inverse = upto(count).inverse().ok()?;
        // A line that ends near nothing has the last places of its constants.
        let ends = match count.checked_sub(1).and_then(|last| chain.steps.get(last)) {
            Some(Step::Scale { to: [one, other], .. }) => one.abs().max(other.abs()),
            _ => 0.0,
        };
        let little = 1e-13 * there.abs() + 1e-15 * ends;
        let back = |by: f64| inverse.run(&Value::Number(there + by * little), &()).ok()?.number();
        // On the two sides of a pole what comes back may be alike, and is not what comes back between them.
        let [less, same, more] = [back(-1.0)?, back(0.0)?, back(1.0)?];
        Some((less - same).abs() + (more - same).abs())
    };
    // Where a pole is so near that nothing comes back, nothing is stated.
    (0..=chain.steps.len()).map(|count| worth(count).unwrap_or(f64::INFINITY)).sum()
}

#[test]
fn the_last_places_beside_a_pole_are_worth_more_than_those_on_both_sides_of_it() {
    let chain = r#"[{"step":"log10","factor":9039.664064393928,"offset":0,"smallest":1,"below":0},
        {"step":"scale","from":[0,0.01],"to":[0,3464.633181934531]},{"step":"reciprocal","numerator":1},
        {"step":"scale","from":[-3732.2820968937326,-253.15976322506094],"to":[0.006871168821544687,0.016871168821544685]}]"#;
    let chain: Chain = serde_json::from_str(chain).unwrap();
    let value = 2_916.424_469_734_908_6;
    assert!(last_places(&chain, value) > 1e-3 * value, "{}", last_places(&chain, value));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_comes_back_is_within_the_loss_that_is_stated(
        chain in chain(),
        min in 1.0..2_000.0_f64,
        width in 0.0..5_000.0_f64,
        shares in prop::collection::vec(0.0..=1.0_f64, 8),
    ) {
        let loss = chain.loss(Range { min, max: min + width }).unwrap();
        prop_assume!(loss.is_finite());
        let inverse = chain.inverse().unwrap();
        for share in shares {
            let value = min + share * width;
            let Ok(there) = chain.run(&Value::Number(value), &()) else { continue };
            if is_cut(&chain, value) {
                continue;
            }
            // On the way back an error may carry a value to a pole; then nothing comes back, which is no wrong value.
            let Ok(Value::Number(back)) = inverse.run(&there, &()) else { continue };
            let last_places = last_places(&chain, value);
            if last_places > 1e-3 * value.abs() {
                continue;
            }
            let slack = 1e-8 * value.abs() + 10.0 * last_places;
            prop_assert!((back - value).abs() <= loss + slack, "{value} came back as {back}, {loss} is stated: {chain:?}");
        }
    }

    #[test]
    fn what_the_check_allows_is_all_that_a_run_gives(
        chain in chain(),
        min in -2_000.0..2_000.0_f64,
        width in 0.0..5_000.0_f64,
        resolution in prop_oneof![Just(0.0), Just(0.01), Just(0.1), Just(1.0)],
        shares in prop::collection::vec(0.0..=1.0_f64, 8),
    ) {
        let round = |value: f64| if resolution > 0.0 { (value / resolution).round() * resolution } else { value };
        let (min, max) = (round(min), round(min + width));
        let Ok(kind) = chain.check(Kind::number(min, max, resolution), &()) else { return Ok(()) };
        for share in shares {
            let value = round(min + share * (max - min));
            match chain.run(&Value::Number(value), &()) {
                Ok(Value::Null) => {}
                Ok(result) => {
                    let fits = Kind::of(&result).fits(&tolerant(&kind));
                    prop_assert!(fits.is_ok(), "{value} gave {result:?}, {kind} was promised: {chain:?}");
                    let whole = matches!(&kind, Kind::Number(quantity) if quantity.resolution >= 1.0);
                    let fraction = result.number().unwrap_or_default().fract();
                    prop_assert!(!whole || fraction == 0.0, "{value} gave {result:?}: {chain:?}");
                }
                // Numbers beyond a double are the one thing that the check cannot see.
                Err(error) => prop_assert_eq!(error.fault.code(), "not-finite"),
            }
        }
    }

    #[test]
    fn colours_come_back_through_their_inverse(rgb in prop::array::uniform3(0.0..=1.0_f64)) {
        let names = ["red", "green", "blue"];
        let colour = Value::Structure(names.into_iter().zip(rgb.map(Value::Number)).collect());
        for (step, tolerance) in [(Step::RgbToHsv, 1e-12), (Step::RgbToXyy, 1e-7), (Step::RgbToRgbw, 1e-15)] {
            let chain = Chain { steps: vec![step] };
            let there = chain.run(&colour, &()).unwrap();
            let back = chain.inverse().unwrap().run(&there, &()).unwrap();
            prop_assert!(near(&back, &colour, tolerance), "{colour:?} came back as {back:?}");
        }
    }
}

/// The kind, a little wider: values at the ends of a range may be off in the last places.
fn tolerant(kind: &Kind) -> Kind {
    let Kind::Number(quantity) = kind else { return kind.clone() };
    let range = quantity.range;
    let slack = 1e-6 * range.min.abs().min(1e9).max(range.max.abs().min(1e9)).max(1.0);
    Kind::number(range.min - slack, range.max + slack, 0.0)
}

#[test]
fn mccamys_cubic_is_as_near_as_is_stated() {
    let chain = Chain { steps: vec![Step::KelvinToXy] };
    let inverse = chain.inverse().unwrap();
    for kelvin in 1_667..=25_000 {
        let kelvin = f64::from(kelvin);
        let there = chain.run(&Value::Number(kelvin), &()).unwrap();
        let Value::Number(back) = inverse.run(&there, &()).unwrap() else { panic!("{kelvin}") };
        let stated = chain.loss(Range { min: kelvin, max: kelvin }).unwrap();
        assert!((back - kelvin).abs() <= stated, "{kelvin}: {back}, within {stated}");
    }
}
