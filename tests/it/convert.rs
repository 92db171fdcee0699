//! Conversions: the samples that every interpreter must pass, and the scalings of the Matter standard.

use housewright::convert::{Chain, Fields, Value};
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
