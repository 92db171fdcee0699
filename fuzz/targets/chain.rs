//! A conversion chain with an input and the endpoint's attributes, in the form of tests/outside/conversion-steps.json.
#![no_main]

use housewright::convert::{Chain, Fields, Kind, Value};
use housewright_fuzz::json;
use libfuzzer_sys::{fuzz_mutator, fuzz_target, fuzzer_mutate};
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// Whether a value is of a kind; null is of each.
fn fits(value: &Value, kind: &Kind) -> bool {
    match (value, kind) {
        (Value::Null, _) => true,
        (Value::Structure(fields), Kind::Structure(kinds)) => {
            let fits = |(name, value)| kinds.get(name).is_some_and(|kind| fits(value, kind));
            fields.len() == kinds.len() && fields.iter().all(fits)
        }
        (value, kind) => Kind::of(value).fits(kind).is_ok(),
    }
}

fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    json::mutate(data, size, max_size, seed, fuzzer_mutate)
});

fuzz_target!(|bytes: &[u8]| {
    let Ok(sample) = serde_json::from_slice::<Json>(bytes) else { return };
    let Ok(chain) = serde_json::from_value::<Chain>(sample["steps"].clone()) else { return };
    let Ok(input) = Value::from_json(&sample["input"]) else { return };
    let attributes: BTreeMap<String, Json> =
        serde_json::from_value(sample["attributes"].clone()).unwrap_or_default();
    let written = serde_json::to_string(&chain).expect("a chain that was read can be written");
    let again: Result<Chain, _> = serde_json::from_str(&written);
    assert!(again.as_ref().is_ok_and(|again| *again == chain), "{written} reads as {again:?}");
    let kinds: BTreeMap<String, Kind> = attributes
        .iter()
        .filter_map(|(name, json)| Some((name.clone(), Kind::of(&Value::from_json(json).ok()?))))
        .collect();
    let mut surroundings = Fields::new();
    for (name, json) in attributes {
        if let Ok(value) = Value::from_json(&json) {
            surroundings.put(name, value);
        }
    }
    let checked = chain.check(Kind::of(&input), &kinds);
    if let (Ok(kind), Ok(result)) = (checked, chain.run(&input, &surroundings)) {
        assert!(fits(&result, &kind), "{written} on {input:?} gives {result:?}, which was to be {kind:?}");
    }
    if let Ok(inverse) = chain.inverse() {
        let _ = inverse.run(&input, &surroundings);
    }
});
