//! Two opinions on a house description: the typed reader's, and that of its JSON Schema in a validator of other hands.
//!
//! A sound house is changed at random places (a key less, another name, another value, a key more), and both must say
//! the same. They may differ in what a schema of one file cannot know, and [`told_by_reader`] leaves it out:
//! that `housewright` and `house` are missing or stand in an included file, that a key stands in two files or rooms, and
//! whatever is looked up (bus, bridge, rule, class, address, datapoint type). Points, settings and the values of settings
//! of a built-in class are looked up by both. Beyond YAML's own types the reader takes numbers and truth values in quotes for text only,
//! as the schema does; `notation: { three-level: }` and a version written `1.0` are not tried.

use super::{faults, validator};
use housewright::classes::ClassLibrary;
use housewright::house::{self, ProblemKind};
use housewright::resolve;
use housewright::source::{Limits, Sources};
use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::{Map, Value, json};

/// A house in which every key of the format stands.
fn house() -> Value {
    json!({
        "housewright": 1,
        "house": { "id": "quill-lodge", "name": "Quill Lodge", "notation": "three-level" },
        "buses": { "main": { "table": "bus/addresses.csv", "columns": { "address": "Nr", "name": "What", "dpt": "Type",
            "description": "More", "flags": "Flags", "room": "Room" } } },
        "bridges": { "lodge": { "name": "Quill Lodge", "capacity": 40 } },
        "include": ["rooms/*.yaml"],
        "allow": { "unused-rows": "the garden follows next year" },
        "rooms": {
            "hall": {
                "name": "Hall", "floor": "ground", "bus": "main", "bridge": "lodge",
                "allow": { "room-in-name": "as the family says it" },
                "appliances": {
                    "hall-lamp": {
                        "name": "Hall lamp", "class": "tunable-white-light", "bus": "main", "bridge": "lodge",
                        "points": {
                            "switching": { "command": "1/1/1", "feedback": "1/4/1", "listens": ["1/7/1", "1/7/2"] },
                            "brightness": { "command": "1/2/1", "feedback": "1/5/1", "dpt": 5.001, "reversed": false, "range": [0, 80] },
                        },
                        "settings": { "warmest": 2200 },
                        "formerly": "porch-lamp", "bridged": true, "note": "on the old circuit",
                        "allow": { "missing-feedback": "no status object" },
                    },
                },
            },
            "den": {
                "name": "Den",
                "appliances": {
                    "den-shutter": {
                        "name": "Shutter", "class": "roller-shutter",
                        "points": { "move": { "command": "2/1/1", "listens": "2/7/1" }, "position": { "command": "2/2/1", "feedback": "2/3/1" } },
                        "confirmed": { "by": "R. Vale", "checked": "end stops", "on": "2026-05-31" },
                    },
                },
            },
        },
    })
}

/// What is wrong in the reader's opinion, without what a schema of one file cannot know.
fn told_by_reader(text: &str) -> Vec<String> {
    let (sources, documents, problems) = Sources::from_texts(&[("house.yaml", text)]);
    assert!(documents[0].tree.is_some(), "{problems:?}\n{text}");
    let (house, of_types, of_house) = house::read(&sources, documents);
    let of_house = of_house.into_iter().map(|problem| problem.kind).filter(|kind| {
        !matches!(
            kind,
            ProblemKind::NoVersion
                | ProblemKind::MissingInHouse { key: "house" }
                | ProblemKind::KeyTwice { .. }
        )
    });
    let mut told: Vec<String> = of_types.iter().map(|problem| format!("{problem:?}")).collect();
    told.extend(of_house.map(|kind| format!("{kind:?}")));
    let (_, looked_up, _) = resolve::resolve(house, &sources, &Limits::default(), &ClassLibrary::built_in());
    told.extend(looked_up.iter().filter_map(|problem| match &problem.kind {
        kind @ (resolve::ProblemKind::UnknownPoint { .. }
        | resolve::ProblemKind::UnknownSetting { .. }
        | resolve::ProblemKind::UnfitSetting { .. }) => Some(format!("{kind:?}")),
        _ => None,
    }));
    told
}

/// Both opinions on a document, written as JSON and as YAML.
fn check(document: &Value, schema: &jsonschema::Validator) -> Result<bool, String> {
    let of_schema = faults(schema, document);
    for text in [document.to_string(), serde_yaml::to_string(document).unwrap()] {
        let of_reader = told_by_reader(&text);
        if of_reader.is_empty() != of_schema.is_empty() {
            return Err(format!(
                "the reader says {of_reader:#?}\nthe schema says {of_schema:#?}\nof\n{text}"
            ));
        }
    }
    Ok(of_schema.is_empty())
}

#[test]
fn the_house_that_is_changed_is_sound() {
    assert_eq!(check(&house(), &validator("house")), Ok(true));
}

/// A change at one place.
#[derive(Clone, Debug)]
enum Change {
    Leave,
    Rename(&'static str),
    Replace(Value),
    Add(&'static str, Value),
    Copy(Index),
}

/// Keys to rename to and to add: those of the format, names of points, and some that cannot be.
const KEYS: [&str; 29] = [
    "housewright",
    "house",
    "buses",
    "bridges",
    "include",
    "rooms",
    "allow",
    "id",
    "name",
    "notation",
    "table",
    "columns",
    "capacity",
    "floor",
    "appliances",
    "class",
    "points",
    "settings",
    "confirmed",
    "command",
    "listens",
    "dpt",
    "range",
    "switching",
    "position",
    "warmest",
    "nonsense",
    "Not A Key",
    "a--b",
];

fn value() -> impl Strategy<Value = Value> {
    let fixed = [
        json!(null),
        json!(true),
        json!(0),
        json!(7),
        json!(-3),
        json!(5.001),
        json!(1e9),
        json!(""),
        json!("  "),
        json!("text"),
        json!("7"),
        json!("true"),
        json!("1/1/9"),
        json!("dimmable-light"),
        json!("two-level"),
        json!([]),
        json!(["1/1/9"]),
        json!([1, 2]),
        json!([1, 2, 3]),
        json!(["1", 2]),
        json!([null]),
        json!({}),
        json!({ "a": 1 }),
        json!({ "name": "Text" }),
        json!({ "switching": { "command": "1/1/9" } }),
    ];
    prop::sample::select(fixed.to_vec())
}

fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        1 => Just(Change::Leave),
        2 => prop::sample::select(KEYS.to_vec()).prop_map(Change::Rename),
        4 => value().prop_map(Change::Replace),
        2 => (prop::sample::select(KEYS.to_vec()), value()).prop_map(|(key, value)| Change::Add(key, value)),
        2 => any::<Index>().prop_map(Change::Copy),
    ]
}

/// Pointers to every value of a document but the whole.
fn pointers(value: &Value, at: &str, found: &mut Vec<String>) {
    let mut go = |key: String, value: &Value| {
        let below = format!("{at}/{}", key.replace('~', "~0").replace('/', "~1"));
        found.push(below.clone());
        pointers(value, &below, found);
    };
    match value {
        Value::Object(object) => object.iter().for_each(|(key, value)| go(key.clone(), value)),
        Value::Array(items) => items.iter().enumerate().for_each(|(at, value)| go(at.to_string(), value)),
        _ => {}
    }
}

fn apply(document: &mut Value, place: Index, change: &Change) {
    let mut all = Vec::new();
    pointers(document, "", &mut all);
    if all.is_empty() {
        return;
    }
    let pointer = place.get(&all).clone();
    let (parent, key) = pointer.rsplit_once('/').unwrap();
    match change {
        Change::Replace(value) => *document.pointer_mut(&pointer).unwrap() = value.clone(),
        Change::Copy(other) => {
            let copied = document.pointer(other.get(&all).as_str()).unwrap().clone();
            *document.pointer_mut(&pointer).unwrap() = copied;
        }
        Change::Add(key, value) => {
            if let Some(Value::Object(object)) = document.pointer_mut(&pointer) {
                object.insert((*key).to_owned(), value.clone());
            }
        }
        Change::Leave | Change::Rename(_) => {
            let Some(Value::Object(object)) = document.pointer_mut(parent) else { return };
            let renamed = |(name, value): (String, Value)| match change {
                Change::Rename(new) if name == key => Some(((*new).to_owned(), value)),
                _ => (name != key).then_some((name, value)),
            };
            *object = std::mem::take(object).into_iter().filter_map(renamed).collect::<Map<_, _>>();
        }
    }
}

/// Whether a setting is a number in quotes: the reader takes it for the number, whose range a schema cannot tell in a text.
fn has_quoted_number(document: &Value) -> bool {
    let mut all = Vec::new();
    pointers(document, "", &mut all);
    let settings = all.iter().filter(|pointer| pointer.contains("/settings/"));
    let mut texts = settings.filter_map(|pointer| document.pointer(pointer)?.as_str());
    texts.any(|text| text.trim().parse::<f64>().is_ok())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    /// The reader and the schema accept and refuse the same documents.
    #[test]
    fn reader_and_schema_are_of_one_opinion(changes in prop::collection::vec((any::<Index>(), change()), 1..4)) {
        static SCHEMA: std::sync::OnceLock<jsonschema::Validator> = std::sync::OnceLock::new();
        let schema = SCHEMA.get_or_init(|| validator("house"));
        let mut document = house();
        for (place, change) in &changes {
            apply(&mut document, *place, change);
        }
        if document.is_object() && !has_quoted_number(&document) {
            let verdict = check(&document, schema);
            prop_assert!(verdict.is_ok(), "{}", verdict.unwrap_err());
        }
    }
}

#[test]
fn what_both_refuse_and_what_both_take_by_example() {
    let schema = validator("house");
    let told = |pointer: &str, value: Value| {
        let mut document = house();
        *document.pointer_mut(pointer).unwrap() = value;
        check(&document, &schema).unwrap()
    };
    let lamp = "/rooms/hall/appliances/hall-lamp";
    for (pointer, value, sound) in [
        ("/housewright", json!(2), false),
        ("/bridges/lodge/capacity", json!("40"), false),
        ("/bridges/lodge/capacity", json!(5_000_000_000_u64), false),
        (&format!("{lamp}/settings/warmest"), json!("20 s"), false),
        (&format!("{lamp}/settings/warmest"), json!(100), false),
        (&format!("{lamp}/settings/warmest"), json!("2200"), true),
        (&format!("{lamp}/settings/warmest"), json!(true), false),
        ("/house/notation", json!("four-level"), false),
        ("/allow/unused-rows", json!(" "), false),
        ("/include", json!("rooms/*.yaml"), true),
        (&format!("{lamp}/points/switching/listens"), json!(2563), true),
        (&format!("{lamp}/points/brightness/dpt"), json!("DPT 5.001"), true),
        (&format!("{lamp}/points/brightness/range"), json!([0]), false),
        (&format!("{lamp}/points"), json!({ "slat": {} }), false),
        (&format!("{lamp}/class"), json!("on-off-light"), false),
        (&format!("{lamp}/class"), json!("class-of-our-own"), true),
    ] {
        assert_eq!(told(pointer, value.clone()), sound, "{pointer}: {value}");
    }
}
