//! Pairs of builds that are as hard to compare as can be, of any size: for the test of cost and for the measurement.

use housewright::bridge::definition::{BridgeDefinition, Endpoint, Link};
use serde_json::json;

/// Appliances on one bridge, whose endpoint numbers end at 65534.
const A_BRIDGE: usize = 50_000;

/// An old build and a new one.
pub(super) type Pair = (Vec<BridgeDefinition>, Vec<BridgeDefinition>);

/// Makes a pair of so many appliances.
pub(super) type Maker = fn(usize) -> Pair;

/// Each pair: its name, and how it is made of so many appliances.
pub(super) const PAIRS: [(&str, Maker); 11] = [
    ("nothing changed", |size| made(size, |_, _| {})),
    ("all keys renamed", |size| made(size, renamed)),
    ("all keys and names renamed", |size| {
        made(size, |at, one| {
            renamed(at, one);
            one.node_label = format!("Light {at}");
        })
    }),
    ("all addresses moved together", |size| made(size, |at, one| rewire(one, at + 9))),
    ("all addresses moved anyhow", |size| made(size, |at, one| rewire(one, at * 7919 % 60_013 + 1))),
    ("all took the next one's addresses", |size| made(size, |at, one| rewire(one, (at + 1) % size))),
    ("each two took each other's addresses", |size| made(size, |at, one| rewire(one, at ^ 1))),
    ("all alike in one room, keys renamed", |size| {
        let alike = |_: usize, one: &mut Endpoint| {
            rewire(one, 1);
            (one.node_label, one.room) = ("Lamp".to_owned(), "Hall".to_owned());
        };
        both(size, alike, |at, one| {
            alike(at, one);
            renamed(at, one);
        })
    }),
    ("all gone, others came", |size| {
        made(size, |at, one| {
            renamed(at, one);
            rewire(one, at + 30_000);
            one.node_label = format!("Light {at}");
        })
    }),
    ("each became two", |size| divided(size)),
    ("each two became one", |size| {
        let (old, new) = divided(size);
        (new, old)
    }),
];

fn made(size: usize, change: impl Fn(usize, &mut Endpoint)) -> Pair {
    both(size, |_, _| {}, change)
}

fn both(size: usize, before: impl Fn(usize, &mut Endpoint), after: impl Fn(usize, &mut Endpoint)) -> Pair {
    let build = |change: &dyn Fn(usize, &mut Endpoint)| {
        let endpoints = (0..size).map(|at| {
            let mut one = lamp(at);
            change(at, &mut one);
            one
        });
        bridges(endpoints.collect())
    };
    (build(&before), build(&after))
}

/// Half as many appliances, and what each became: two with a half of the wires each.
fn divided(size: usize) -> Pair {
    let old: Vec<Endpoint> = (0..size / 2).map(lamp).collect();
    let mut new = Vec::new();
    for (at, one) in old.iter().enumerate() {
        for (part, links) in one.links.chunks(2).enumerate() {
            let mut half = Endpoint { links: links.to_vec(), ..one.clone() };
            renamed(2 * at + part, &mut half);
            half.node_label = format!("Half {at} {part}");
            new.push(half);
        }
    }
    (bridges(old), bridges(new))
}

fn bridges(endpoints: Vec<Endpoint>) -> Vec<BridgeDefinition> {
    let head = |at: usize| -> BridgeDefinition {
        read(json!({
            "format": "housewright-bridge", "version": 1, "house": {"id": "heron-wharf", "name": "Heron Wharf"},
            "bridge": {"key": format!("bridge-{at}"), "name": "Wharf"},
            "matter": {"specification": "1.6.0", "dataModelRevision": 21}, "endpoints": []}))
    };
    let mut made: Vec<BridgeDefinition> = Vec::new();
    for (at, one) in endpoints.into_iter().enumerate() {
        if at % A_BRIDGE == 0 {
            made.push(head(at / A_BRIDGE));
        }
        if let Some(bridge) = made.last_mut() {
            bridge.endpoints.push(one);
        }
    }
    made
}

fn read<T: serde::de::DeserializeOwned>(value: serde_json::Value) -> T {
    serde_json::from_value(value).expect("it keeps to the format")
}

fn lamp(at: usize) -> Endpoint {
    let mut one: Endpoint = read(json!({
        "number": number(at), "parent": 1, "key": format!("lamp-{at}"), "uniqueId": format!("uid-{at}"),
        "nodeLabel": format!("Lamp {at}"), "room": format!("Room {}", at / 20),
        "deviceTypes": [{"id": 257, "name": "DimmableLight", "revision": 3}], "clusters": [], "links": []}));
    for (point, command) in
        [("switching", true), ("switching", false), ("brightness", true), ("brightness", false)]
    {
        let (end, direction) = if command { ("command", "to-bus") } else { ("attribute", "from-bus") };
        one.links.push(read::<Link>(json!({
            "point": point, "cluster": "OnOff", end: point, "direction": direction, "bus": "main", "group": "",
            "dpt": "1.001", "read": !command, "conversion": []})));
    }
    rewire(&mut one, at);
    one
}

fn number(at: usize) -> u16 {
    u16::try_from(at % A_BRIDGE + 2).unwrap_or(u16::MAX)
}

/// Another identity, as a key without `formerly` gets it.
fn renamed(at: usize, one: &mut Endpoint) {
    one.number = number(at);
    (one.key, one.unique_id) = (format!("light-{at}"), format!("other-{at}"));
}

/// Addresses that only the `to`th appliance has. There are more buses than any house has, as there are more appliances.
fn rewire(one: &mut Endpoint, to: usize) {
    for (at, link) in one.links.iter_mut().enumerate() {
        let raw = to % 16_000 * 4 + at + 1;
        link.group = format!("{}/{}/{}", raw >> 11, raw >> 8 & 7, raw & 255);
        link.bus = format!("bus-{}", to / 16_000);
    }
}
