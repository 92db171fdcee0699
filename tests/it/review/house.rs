//! A small house as definitions, and the ways in which an integrator changes it.

use housewright::bridge::definition::{BridgeDefinition, Endpoint};
use serde_json::{Value, json};

/// A build of the house, to be changed.
#[derive(Clone)]
pub(crate) struct House(pub(crate) Vec<BridgeDefinition>);

fn read<T: serde::de::DeserializeOwned>(value: Value) -> T {
    serde_json::from_value(value).expect("it keeps to the format")
}

/// An appliance: number, key, name, room, floor.
type Name<'a> = (u16, &'a str, &'a str, &'a str, &'a str);

fn endpoint(
    (number, key, label, room, floor): Name,
    types: &[(u32, &str, u16)],
    clusters: Value,
    links: Value,
) -> Endpoint {
    let mut device_types = vec![json!({"id": 19, "name": "BridgedNode", "revision": 3})];
    device_types.extend(
        types.iter().map(|(id, name, revision)| json!({"id": id, "name": name, "revision": revision})),
    );
    read(json!({
        "number": number, "parent": 1, "key": key, "uniqueId": format!("uid-{number}"), "nodeLabel": label,
        "room": room, "floor": floor, "deviceTypes": device_types, "clusters": clusters, "links": links}))
}

fn on_off_cluster() -> Value {
    json!({"id": 6, "name": "OnOff", "revision": 6, "features": ["LT"], "attributes": {"OnOff": false, "OnTime": 0},
           "commands": ["Off", "On", "Toggle"]})
}

fn switching(command: &str, feedback: &str) -> Vec<Value> {
    let to = |name: &str, value: bool| {
        json!({"point": "switching", "cluster": "OnOff", "command": name, "direction": "to-bus", "bus": "main",
               "group": command, "dpt": "1.001", "conversion": [{"step": "constant", "value": value}]})
    };
    let from = json!({"point": "switching", "cluster": "OnOff", "attribute": "OnOff", "direction": "from-bus",
        "bus": "main", "group": feedback, "dpt": "1.001", "read": true, "shown": "reported", "conversion": []});
    vec![to("On", true), to("Off", false), from]
}

/// A lamp that is switched.
pub(crate) fn lamp(name: Name, command: &str, feedback: &str) -> Endpoint {
    endpoint(name, &[(256, "OnOffLight", 3)], json!([on_off_cluster()]), json!(switching(command, feedback)))
}

/// A lamp that is dimmed: addresses of switching, its feedback, brightness, its feedback.
pub(crate) fn dimmer(name: Name, addresses: [&str; 4]) -> Endpoint {
    let level = json!({"id": 8, "name": "LevelControl", "revision": 7, "features": ["OO", "LT"],
        "attributes": {"CurrentLevel": 254, "MinLevel": 1, "MaxLevel": 254}, "commands": ["MoveToLevel"]});
    let mut links = switching(addresses[0], addresses[1]);
    let to_percent = json!([{"step": "field", "name": "Level"}, {"step": "scale", "from": [0.0, 254.0], "to": [0.0, 100.0]}]);
    links.push(json!({"point": "brightness", "cluster": "LevelControl", "command": "MoveToLevel", "direction": "to-bus",
        "bus": "main", "group": addresses[2], "dpt": "5.001", "conversion": to_percent}));
    let to_level =
        json!([{"step": "scale", "from": [0.0, 100.0], "to": [0.0, 254.0]}, {"step": "round", "to": 1.0}]);
    links.push(json!({"point": "brightness", "cluster": "LevelControl", "attribute": "CurrentLevel",
        "direction": "from-bus", "bus": "main", "group": addresses[3], "dpt": "5.001", "read": true,
        "shown": "reported", "conversion": to_level}));
    endpoint(name, &[(257, "DimmableLight", 3)], json!([on_off_cluster(), level]), json!(links))
}

/// A roller shutter without feedback: addresses of moving, stopping and stepping.
pub(crate) fn shutter(name: Name, moving: &str, stopping: &str, stepping: &str) -> Endpoint {
    let covering = json!({"id": 258, "name": "WindowCovering", "revision": 5, "features": ["LF", "PA_LF"],
        "attributes": {"Type": 0, "CurrentPositionLiftPercent100ths": null},
        "commands": ["UpOrOpen", "DownOrClose", "StopMotion"]});
    let to = |point: &str, command: &str, group: &str, value: bool| {
        json!({"point": point, "cluster": "WindowCovering", "command": command, "direction": "to-bus", "bus": "main",
               "group": group, "dpt": "1.008", "shown": "estimated", "timing": {"travelTime": 24000},
               "conversion": [{"step": "constant", "value": value}]})
    };
    let links = json!([
        to("move", "UpOrOpen", moving, false),
        to("move", "DownOrClose", moving, true),
        to("stop", "StopMotion", stopping, true),
        to("step-stop", "StopMotion", stepping, true)
    ]);
    endpoint(name, &[(514, "WindowCovering", 6)], json!([covering]), links)
}

/// A thermostat: addresses of the temperature, the setpoint and its feedback.
pub(crate) fn thermostat(name: Name, temperature: &str, setpoint: &str, feedback: &str) -> Endpoint {
    let cluster = json!({"id": 513, "name": "Thermostat", "revision": 10, "features": ["HEAT"],
        "attributes": {"LocalTemperature": null, "MinHeatSetpointLimit": 700, "MaxHeatSetpointLimit": 3000,
                       "OccupiedHeatingSetpoint": 2000, "ControlSequenceOfOperation": 2},
        "commands": ["SetpointRaiseLower"]});
    let link = |point: &str, attribute: &str, direction: &str, group: &str, read: bool| {
        let mut link = json!({"point": point, "cluster": "Thermostat", "attribute": attribute, "direction": direction,
            "bus": "main", "group": group, "dpt": "9.001", "conversion": [{"step": "scale", "from": [0.0, 1.0], "to": [0.0, 100.0]}]});
        if read {
            link["read"] = json!(true);
        }
        link
    };
    let links = json!([
        link("temperature", "LocalTemperature", "from-bus", temperature, true),
        link("setpoint", "OccupiedHeatingSetpoint", "to-bus", setpoint, false),
        link("setpoint", "OccupiedHeatingSetpoint", "from-bus", feedback, true)
    ]);
    endpoint(name, &[(769, "Thermostat", 6)], json!([cluster]), links)
}

/// A meter below an outlet.
pub(crate) fn meter(number: u16, of: &Endpoint, group: &str) -> Endpoint {
    let power = json!({"id": 144, "name": "ElectricalPowerMeasurement", "revision": 3, "features": ["ALTC"],
        "attributes": {"ActivePower": null}, "commands": []});
    let links = json!([{"point": "power", "cluster": "ElectricalPowerMeasurement", "attribute": "ActivePower",
        "direction": "from-bus", "bus": "main", "group": group, "dpt": "14.056", "read": true, "shown": "reported",
        "conversion": [{"step": "scale", "from": [0.0, 1.0], "to": [0.0, 1000.0]}]}]);
    let key = format!("{}/meter", of.key);
    let name =
        (number, key.as_str(), of.node_label.as_str(), of.room.as_str(), of.floor.as_deref().unwrap_or(""));
    Endpoint {
        parent: of.number,
        device_types: vec![read(json!({"id": 1296, "name": "ElectricalSensor", "revision": 1}))],
        ..endpoint(name, &[], json!([power]), links)
    }
}

impl House {
    /// The house before any change.
    pub(crate) fn new() -> Self {
        let kitchen = |number, key, label| (number, key, label, "Kitchen", "ground");
        let workshop = |number, key, label| (number, key, label, "Boat workshop", "ground");
        let lantern = |number, key, label| (number, key, label, "Lantern room", "first");
        let kettle = lamp(kitchen(4, "kettle-socket", "Kettle"), "1/1/12", "1/4/12");
        let meter = meter(5, &kettle, "1/6/12");
        let mut chart = lamp(lantern(10, "chart-lamp", "Chart lamp"), "1/1/30", "1/4/30");
        let mut central = chart.links[2].clone();
        (central.group, central.read) = ("1/0/1".to_owned(), false);
        chart.links.push(central);
        let endpoints = vec![
            dimmer(kitchen(2, "island-pendant", "Island pendant"), ["1/1/10", "1/4/10", "1/2/10", "1/5/10"]),
            lamp(kitchen(3, "larder-light", "Larder light"), "1/1/11", "1/4/11"),
            kettle,
            meter,
            lamp(workshop(6, "bench-lamp", "Bench lamp"), "1/1/20", "1/4/20"),
            lamp(workshop(7, "lathe-lamp", "Lathe lamp"), "1/1/21", "1/4/21"),
            shutter(workshop(8, "slip-shutter", "Slipway shutter"), "2/1/20", "2/2/20", "2/3/20"),
            thermostat(workshop(9, "workshop-heating", "Workshop heating"), "3/1/20", "3/2/20", "3/3/20"),
            chart,
            lamp(lantern(11, "reading-lamp", "Reading lamp"), "1/1/31", "1/4/31"),
            dimmer(lantern(12, "lantern", "Lantern"), ["1/1/32", "1/4/32", "1/2/32", "1/5/32"]),
        ];
        Self(vec![bridge("wharf", "Wharf", endpoints)])
    }

    /// An endpoint by the appliance's key.
    pub(crate) fn at(&mut self, key: &str) -> &mut Endpoint {
        let found = self.0.iter_mut().flat_map(|bridge| &mut bridge.endpoints).find(|one| one.key == key);
        found.unwrap_or_else(|| panic!("no {key}"))
    }

    /// Gives each of these lamps the key of the one before it. The central function stays where it is.
    pub(crate) fn turn(&mut self, keys: &[&str]) {
        let lamps: Vec<Endpoint> = keys.iter().map(|key| self.at(key).clone()).collect();
        for (key, other) in keys.iter().zip(lamps.iter().cycle().skip(1)) {
            let lamp = self.at(key);
            lamp.node_label.clone_from(&other.node_label);
            (lamp.room, lamp.floor) = (other.room.clone(), other.floor.clone());
            lamp.links.splice(..3, other.links.iter().take(3).cloned());
        }
    }

    /// Takes an endpoint out.
    pub(crate) fn take(&mut self, key: &str) -> Endpoint {
        let endpoint = self.at(key).clone();
        for bridge in &mut self.0 {
            bridge.endpoints.retain(|one| one.key != key);
        }
        endpoint
    }

    /// Puts an endpoint into the first bridge.
    pub(crate) fn put(&mut self, endpoint: Endpoint) {
        self.0[0].endpoints.push(endpoint);
        self.0[0].endpoints.sort_by_key(|one| one.number);
    }

    /// Writes another address for one, wherever it stands in an appliance.
    pub(crate) fn rewire(&mut self, key: &str, old: &str, new: &str) {
        let links = &mut self.at(key).links;
        let mut moved = 0;
        for link in links.iter_mut().filter(|link| link.group == old) {
            link.group = new.to_owned();
            moved += 1;
        }
        assert!(moved > 0, "{key} has no {old}");
    }
}

/// A bridge with its endpoints.
pub(crate) fn bridge(key: &str, name: &str, endpoints: Vec<Endpoint>) -> BridgeDefinition {
    let head = json!({
        "format": "housewright-bridge", "version": 1, "house": {"id": "heron-wharf", "name": "Heron Wharf"},
        "bridge": {"key": key, "name": name}, "matter": {"specification": "1.6.0", "dataModelRevision": 21},
        "endpoints": []});
    BridgeDefinition { endpoints, ..read(head) }
}
