//! Random builds out of small pools, so that two of them have much in common.
//!
//! A definition here keeps to the format and to nothing else: a review has to be right about any of them.

use housewright::bridge::definition::{BridgeDefinition, Endpoint};
use proptest::collection::{btree_map, vec};
use proptest::prelude::*;
use proptest::sample::{select, subsequence};
use serde_json::{Value, json};

/// A build of up to two bridges.
pub(crate) fn build() -> impl Strategy<Value = Vec<BridgeDefinition>> {
    let head = (select(vec!["Heron Wharf", "Heron House"]), select(vec!["Wharf", "Quay"]), 20u16..22);
    btree_map(select(vec!["wharf", "yard"]), (head, endpoints(8)), 0..=2).prop_map(|bridges| {
        bridges
            .into_iter()
            .map(|(key, ((house, name, revision), endpoints))| {
                let head = json!({
                    "format": "housewright-bridge", "version": 1,
                    "house": {"id": "heron", "name": house},
                    "bridge": {"key": key, "name": name},
                    "matter": {"specification": "1.6.0", "dataModelRevision": revision},
                    "endpoints": []});
                BridgeDefinition { endpoints, ..read(head) }
            })
            .collect()
    })
}

/// A build and one made from it by few changes.
pub(crate) fn pair() -> impl Strategy<Value = (Vec<BridgeDefinition>, Vec<BridgeDefinition>)> {
    let near = build().prop_flat_map(|old| {
        let changes = vec((any::<prop::sample::Index>(), endpoints(3)), 0..4);
        (Just(old), changes).prop_map(|(old, changes)| {
            let mut new = old.clone();
            for (which, fresh) in changes {
                change(&mut new, which, fresh);
            }
            (old, new)
        })
    });
    prop_oneof![near, (build(), build())]
}

/// Takes endpoints away, replaces them or adds some.
fn change(build: &mut [BridgeDefinition], which: prop::sample::Index, fresh: Vec<Endpoint>) {
    if build.is_empty() {
        return;
    }
    let bridge = which.get(build).bridge.key.clone();
    for bridge in build.iter_mut().filter(|one| one.bridge.key == bridge) {
        if fresh.is_empty() && !bridge.endpoints.is_empty() {
            let gone = which.index(bridge.endpoints.len());
            bridge.endpoints.remove(gone);
        }
        for endpoint in &fresh {
            bridge.endpoints.retain(|other| other.number != endpoint.number);
            bridge.endpoints.push(endpoint.clone());
        }
        bridge.endpoints.sort_by_key(|endpoint| endpoint.number);
    }
}

fn read<T: serde::de::DeserializeOwned>(value: Value) -> T {
    serde_json::from_value(value).expect("the pools keep to the format")
}

fn endpoints(most: usize) -> impl Strategy<Value = Vec<Endpoint>> {
    btree_map(2u16..14, endpoint(), 0..=most)
        .prop_map(|all| all.into_iter().map(|(number, endpoint)| Endpoint { number, ..endpoint }).collect())
}

fn endpoint() -> impl Strategy<Value = Endpoint> {
    let name = (
        select(vec!["lamp", "lamp/meter", "blind", "socket", "socket/meter", "stove", "fan", "hatch"]),
        select(vec!["u1", "u2", "u3", "u4", "u5", "u6", "u7", "u8"]),
        select(vec!["Lamp", "Blind", "Socket", "Stove", "Lämp <b>`x"]),
        select(vec!["Kitchen", "Workshop", ""]),
        proptest::option::of(select(vec!["ground", "first"])),
        1u16..4,
    );
    (name, device_types(), clusters(), links()).prop_map(
        |((key, unique_id, label, room, floor, parent), device_types, clusters, links)| {
            let mut endpoint = json!({
                "number": 2, "parent": parent, "key": key, "uniqueId": unique_id, "nodeLabel": label, "room": room,
                "deviceTypes": device_types, "clusters": clusters, "links": links});
            if let Some(floor) = floor {
                endpoint["floor"] = json!(floor);
            }
            read(endpoint)
        },
    )
}

fn device_types() -> impl Strategy<Value = Vec<Value>> {
    let pool = vec![
        (0x0013, "BridgedNode"),
        (0x0100, "OnOffLight"),
        (0x0101, "DimmableLight"),
        (0x0510, "ElectricalSensor"),
    ];
    (subsequence(pool, 0..=3), 2u16..4).prop_map(|(types, revision)| {
        types.into_iter().map(|(id, name)| json!({"id": id, "name": name, "revision": revision})).collect()
    })
}

fn clusters() -> impl Strategy<Value = Vec<Value>> {
    let pool = vec![(3, "Identify"), (6, "OnOff"), (8, "LevelControl")];
    let one = (
        subsequence(vec!["LT", "DF", "OO"], 0..=3),
        subsequence(vec!["Off", "On", "Toggle", "a/b~c"], 0..=4),
        subsequence(
            vec![
                ("OnOff", json!(false)),
                ("MinLevel", json!(1)),
                ("OnTime", json!(null)),
                ("a/b~c", json!("x")),
            ],
            0..=4,
        ),
        (5u16..7, 0u8..3),
    );
    (subsequence(pool, 0..=3), vec(one, 3)).prop_map(|(pool, insides)| {
        let cluster = |((id, name), inside): ((u32, &str), _)| {
            let (features, commands, attributes, (revision, value)): (
                Vec<&str>,
                Vec<&str>,
                Vec<(&str, Value)>,
                _,
            ) = inside;
            let mut fields = serde_json::Map::new();
            for (name, usual) in attributes {
                fields.insert(name.to_owned(), if value == 0 { json!(2) } else { usual });
            }
            json!({"id": id, "name": name, "revision": revision, "features": features, "attributes": fields,
                   "commands": commands})
        };
        pool.into_iter().zip(insides).map(cluster).collect()
    })
}

fn links() -> impl Strategy<Value = Vec<Value>> {
    let ends = select(vec![
        ("switching", "OnOff", "command", "On", "to-bus"),
        ("switching", "OnOff", "command", "Off", "to-bus"),
        ("switching", "OnOff", "attribute", "OnOff", "from-bus"),
        ("brightness", "LevelControl", "attribute", "MinLevel", "to-bus"),
        ("brightness", "OnOff", "command", "On", "to-bus"),
        ("press", "Switch", "event", "InitialPress", "from-bus"),
    ]);
    let conversions = vec![
        json!([]),
        json!([{"step": "not"}]),
        json!([{"step": "scale", "from": [0.0, 100.0], "to": [0.5, 254.0]}, {"step": "round", "to": 1.0}]),
    ];
    let link = (
        ends,
        select(vec!["main", "garden"]),
        select(vec!["1/1/1", "257", "1/1/2", "1/1/3", "1/2/1", "2/1/1", "2/1/2", "none"]),
        select(vec!["1.001", "5.001"]),
        select(conversions),
        (any::<bool>(), select(vec!["", "reported", "requested"]), 0u8..3),
    );
    let link = link.prop_map(|((point, cluster, kind, end, way), bus, group, dpt, conversion, (read, shown, time))| {
        let mut link = json!({"point": point, "cluster": cluster, "direction": way, "bus": bus, "group": group, "dpt": dpt,
            "conversion": conversion});
        link[kind] = json!(end);
        if read {
            link["read"] = json!(true);
        }
        if !shown.is_empty() {
            link["shown"] = json!(shown);
        }
        if time == 2 {
            link["joint"] = json!({"first-of": [3, 0]});
        }
        if time > 0 {
            link["timing"] = json!({"travelTime": u32::from(time) * 1000});
        }
        link
    });
    vec(link, 0..6)
}
