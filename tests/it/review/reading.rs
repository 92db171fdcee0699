//! A review reads of a definition only what it needs, and yet takes no definition that is not sound.

use super::house::House;
use housewright::bridge::definition::{BridgeDefinition, BridgeRef};
use housewright::review::{Build, BuildFile, Outline, Side, read_both, read_bridge_json, review};
use serde_json::{Value, json};

/// Everything that is the value with one thing in it gone, added, there twice or another.
fn spoilt(value: &Value) -> Vec<Value> {
    let others =
        [json!(null), json!(true), json!(-1), json!(1.5), json!(70_000), json!("x"), json!([]), json!({})];
    let mut all: Vec<Value> = others.into_iter().filter(|other| other != value).collect();
    match value {
        Value::Object(fields) => {
            let with = |change: &dyn Fn(&mut serde_json::Map<String, Value>)| {
                let mut fields = fields.clone();
                change(&mut fields);
                Value::Object(fields)
            };
            all.push(with(&|fields| drop(fields.insert("unknown".to_owned(), json!(1)))));
            for (key, inner) in fields {
                all.push(with(&|fields| drop(fields.shift_remove(key))));
                all.extend(
                    spoilt(inner)
                        .iter()
                        .map(|other| with(&|fields| drop(fields.insert(key.clone(), other.clone())))),
                );
            }
        }
        Value::Array(entries) => {
            for (at, inner) in entries.iter().enumerate() {
                let with = |change: &dyn Fn(&mut Vec<Value>)| {
                    let mut entries = entries.clone();
                    change(&mut entries);
                    Value::Array(entries)
                };
                all.push(with(&|entries| drop(entries.remove(at))));
                all.push(with(&|entries| entries.push(inner.clone())));
                all.extend(spoilt(inner).iter().map(|other| with(&|entries| entries[at] = other.clone())));
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
    all
}

/// The bridge JSON of these endpoints, as a build writes it or indented.
fn text(head: &BridgeDefinition, endpoints: &[Value], lines: bool) -> Vec<u8> {
    let head = serde_json::to_value(BridgeDefinition { endpoints: Vec::new(), ..head.clone() }).unwrap();
    if !lines {
        let mut whole = head;
        whole["endpoints"] = json!(endpoints);
        return serde_json::to_vec_pretty(&whole).unwrap();
    }
    let endpoints: Vec<String> = endpoints.iter().map(Value::to_string).collect();
    let head = head.to_string();
    format!("{}\n{}\n]}}\n", head.strip_suffix("]}").unwrap(), endpoints.join(",\n")).into_bytes()
}

fn file(text: &[u8]) -> Vec<BuildFile<'static>> {
    vec![BuildFile::of("wharf.bridge.json", text.to_vec())]
}

/// Holds what a review takes of a definition against what reading all of it takes.
fn check(head: &BridgeDefinition, sound: &[Value], other: &Value, lines: bool) -> bool {
    let whole = text(head, &[sound, std::slice::from_ref(other)].concat(), lines);
    let (build, nothing) = (Build::read(file(&whole)), Build::default());
    let unread = review(&nothing, &build).unread;
    let (before, after) = read_both(file(&text(head, sound, lines)), file(&whole));
    let told = review(&before, &after);
    match read_bridge_json(&whole) {
        Ok(definition) => {
            assert!(unread.is_empty(), "{unread:?}: {other}");
            let definitions = [definition];
            assert_eq!(build.definitions(), definitions, "{other}");
            let sound = read_bridge_json(&text(head, sound, lines)).unwrap();
            assert_eq!(told, review(&Build::of(&[sound]), &Build::of(&definitions)), "{other}");
            true
        }
        Err(error) => {
            for told in [&unread, &told.unread] {
                assert!(told.iter().any(|(side, _)| *side == Side::New), "{error}: {other}");
            }
            false
        }
    }
}

#[test]
fn a_review_takes_exactly_the_definitions_that_are_sound() {
    let head = &House::new().0[0];
    let sound: Vec<Value> = head.endpoints.iter().map(|one| serde_json::to_value(one).unwrap()).collect();
    let (mut taken, mut refused) = (0, 0);
    // Each of them is read after others that are like it, so that what was read already is not read again.
    for device_type in ["DimmableLight", "Thermostat", "WindowCovering"] {
        let is_one = |one: &&Value| one["deviceTypes"][1]["name"] == device_type;
        let endpoint = sound.iter().find(is_one).expect("the house has one");
        let mut again = endpoint.clone();
        again["number"] = json!(again["number"].as_u64().unwrap() + 100);
        again["uniqueId"] = json!("another");
        assert!(check(head, &sound, &again, true));
        for (at, other) in spoilt(&again).iter().enumerate() {
            match check(head, &sound, other, at % 4 > 0) {
                true => taken += 1,
                false => refused += 1,
            }
        }
    }
    assert!(taken > 300 && refused > 300, "{taken} taken, {refused} refused: too few of either");
}

#[test]
fn an_outline_is_written_as_its_endpoint_is() {
    for endpoint in House::new().0.iter().flat_map(|bridge| &bridge.endpoints) {
        let outline = Outline::from(endpoint);
        assert_eq!(serde_json::to_string(&outline).unwrap(), serde_json::to_string(endpoint).unwrap());
        assert_eq!(outline.endpoint(), *endpoint);
    }
}

/// A file that was renamed, or a bridge that has another key: what is there on the other side only is not new.
#[test]
fn what_could_not_be_read_is_no_bridge_that_came_or_went() {
    let wharf = House::new().0.remove(0);
    let quay = BridgeDefinition {
        bridge: BridgeRef { key: "quay".to_owned(), ..wharf.bridge.clone() },
        ..wharf.clone()
    };
    let sound = |one: &BridgeDefinition| {
        BuildFile::of(&format!("{}.bridge.json", one.bridge.key), serde_json::to_vec(one).unwrap())
    };
    let cut = |name: &str| BuildFile::of(name, b"{\"format\": ".to_vec());
    let told = |old, new| {
        let told = review(&Build::read(old), &Build::read(new));
        let unread: Vec<_> = told.unread.iter().map(|(side, one)| (*side, one.name.as_str())).collect();
        assert_eq!(told.changes, []);
        unread.iter().map(|(side, name)| format!("{side:?} {name}")).collect::<Vec<_>>()
    };
    assert_eq!(told(vec![cut("last-year.bridge.json")], vec![sound(&wharf)]), ["Old last-year.bridge.json"]);
    assert_eq!(told(vec![sound(&wharf)], vec![cut("last-year.bridge.json")]), ["New last-year.bridge.json"]);
    let (old, new) = (vec![sound(&wharf), cut("mill.bridge.json")], vec![sound(&wharf), sound(&quay)]);
    assert_eq!(told(old, new), ["Old mill.bridge.json", "New quay.bridge.json"]);
    let (old, new) = (vec![sound(&wharf), cut("quay.bridge.json")], vec![sound(&wharf), sound(&quay)]);
    assert_eq!(told(old, new), ["Old quay.bridge.json"]);
}
