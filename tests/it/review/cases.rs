//! Named changes of a small house, each with the text that a person reads of it in `expected/NAME.txt`.
//!
//! `SNAPSHOTS=overwrite cargo test --test it review` writes what is seen; read it in the diff like prose.

use super::house::{House, bridge, dimmer, lamp, meter};
use housewright::review::forms::{self, Detail, TextOptions};
use housewright::review::{Build, Kind, Review, review};
use serde_json::json;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/review/expected")
}

/// Holds a text against its file.
pub(crate) fn check(name: &str, text: &str) {
    let expected = snapbox::Data::read_from(&folder().join(name), Some(snapbox::data::DataFormat::Text));
    snapbox::Assert::new().action_env("SNAPSHOTS").eq(text.to_owned(), expected.raw());
}

/// Two bridges that exchanged their keys: everything behind them is as it was.
#[test]
fn exchanged_keys_of_two_bridges_are_two_changes_with_the_way_back() {
    let two = |keys: [&str; 2]| {
        let mut house = House::new().0;
        let mut lamp = lamp((2, "gate-lamp", "Gate lamp", "Yard", "ground"), "1/1/40", "1/4/40");
        lamp.unique_id = "uid-gate".to_owned();
        house.push(bridge("yard", "Yard", vec![lamp]));
        for (bridge, key) in house.iter_mut().zip(keys) {
            bridge.bridge.key = key.to_owned();
        }
        house
    };
    let review = review(&Build::of(&two(["wharf", "yard"])), &Build::of(&two(["yard", "wharf"])));
    let kinds: Vec<Kind> = review.changes.iter().map(|change| change.kind).collect();
    assert_eq!(kinds, [Kind::BridgeRekeyed, Kind::BridgeRekeyed, Kind::BridgeRenamed, Kind::BridgeRenamed]);
    let told = forms::text(&review, &TextOptions::default());
    assert!(told.contains("Call it `yard` again") && told.contains("Call it `wharf` again"), "{told}");
}

fn reviewed(change: impl Fn(&mut House)) -> Review {
    let (old, mut new) = (House::new(), House::new());
    change(&mut new);
    review(&Build::of(&old.0), &Build::of(&new.0))
}

pub(crate) type Named = (&'static str, &'static [Kind], fn(&mut House));

/// Each case: its name, the kinds of change it must give, and what is done to the house.
pub(crate) static CASES: &[Named] = &[
    ("bridge-added", &[Kind::BridgeAdded, Kind::Added], |house| {
        let lamp = lamp((2, "gate-lamp", "Gate lamp", "Yard", "ground"), "1/1/40", "1/4/40");
        house.0.push(bridge("yard", "Yard", vec![lamp]));
    }),
    ("bridge-changed", &[Kind::BridgeChanged, Kind::BridgeAdded], |house| {
        let mut lamp = house.take("chart-lamp");
        lamp.number = 2;
        house.0.push(bridge("yard", "Yard", vec![lamp]));
    }),
    ("bridge-changed-with-its-key", &[Kind::BridgeChanged, Kind::BridgeAdded], |house| {
        let mut lamp = house.take("chart-lamp");
        (lamp.key, lamp.number, lamp.unique_id) = ("map-lamp".to_owned(), 2, "uid-99".to_owned());
        house.0.push(bridge("yard", "Yard", vec![lamp]));
    }),
    ("bridge-rekeyed", &[Kind::BridgeRekeyed], |house| house.0[0].bridge.key = "quay".to_owned()),
    ("bridge-rekeyed-less-one", &[Kind::BridgeRekeyed, Kind::Removed], |house| {
        house.0[0].bridge.key = "quay".to_owned();
        house.take("larder-light");
        // Another key of an appliance behind it says nothing of the bridge.
        house.at("bench-lamp").key = "bench-light".to_owned();
        house.at("bench-light").unique_id = "another".to_owned();
    }),
    ("bridge-and-key", &[Kind::BridgeAdded, Kind::BridgeChanged], |house| {
        let mut lamp = house.take("chart-lamp");
        (lamp.number, lamp.key, lamp.unique_id) = (2, "map-lamp".to_owned(), "another".to_owned());
        house.0.push(bridge("yard", "Yard", vec![lamp]));
    }),
    ("replaced-by-another", &[Kind::ClassChanged], |house| {
        let mut lamp = house.take("bench-lamp");
        (lamp.number, lamp.key, lamp.unique_id) = (13, "wine-socket".to_owned(), "another".to_owned());
        (lamp.node_label, lamp.room) = ("Wine cabinet".to_owned(), "Cellar".to_owned());
        for one in lamp.device_types.iter_mut().filter(|one| one.name == "OnOffLight") {
            (one.id, one.name) = (266, "OnOffPlugInUnit".to_owned());
        }
        house.put(lamp);
    }),
    ("bridge-removed", &[Kind::BridgeRemoved], |house| {
        // Its appliances are told one by one; here there are none.
        house.0.clear();
    }),
    ("bridge-renamed", &[Kind::BridgeRenamed, Kind::HouseRenamed], |house| {
        house.0[0].bridge.name = "Old Wharf".to_owned();
        house.0[0].house.name = "Heron Quay".to_owned();
    }),
    ("class-changed", &[Kind::ClassChanged], |house| {
        house.take("bench-lamp");
        let name = (13, "bench-lamp", "Bench lamp", "Boat workshop", "ground");
        house.put(dimmer(name, ["1/1/20", "1/4/20", "1/2/20", "1/5/20"]));
    }),
    ("class-changed-in-place", &[Kind::ClassChanged, Kind::Relabelled], |house| {
        let name = (6, "bench-lamp", "Bench spot", "Boat workshop", "ground");
        let other = dimmer(name, ["1/1/20", "1/4/20", "1/2/20", "1/5/20"]);
        *house.at("bench-lamp") = other;
    }),
    ("class-changed-with-its-key", &[Kind::ClassChanged], |house| {
        house.take("bench-lamp");
        let name = (13, "bench-spot", "Bench lamp", "Boat workshop", "ground");
        house.put(dimmer(name, ["1/1/20", "1/4/20", "1/2/20", "1/5/20"]));
    }),
    ("conversion", &[Kind::ConversionChanged], |house| {
        let link = &mut house.at("lantern").links[4];
        link.dpt = "5.004".to_owned();
        link.conversion =
            serde_json::from_value(json!([{"step": "scale", "from": [0.0, 255.0], "to": [0.0, 254.0]},
            {"step": "round", "to": 1.0}]))
            .unwrap();
    }),
    ("conversion-scaled", &[Kind::OtherEffect], |house| {
        let half = json!([{"step": "field", "name": "Level"}, {"step": "scale", "from": [0.0, 254.0], "to": [0.0, 50.0]}]);
        let whole =
            json!([{"step": "scale", "from": [0.0, 50.0], "to": [0.0, 254.0]}, {"step": "round", "to": 1.0}]);
        for link in &mut house.at("lantern").links {
            match (&link.attribute, &link.command) {
                (Some(attribute), _) if attribute == "CurrentLevel" => {
                    link.conversion = serde_json::from_value(whole.clone()).unwrap();
                }
                (_, Some(command)) if command == "MoveToLevel" => {
                    link.conversion = serde_json::from_value(half.clone()).unwrap();
                }
                _ => {}
            }
        }
    }),
    ("conversion-shown", &[Kind::ShownOtherwise], |house| {
        house.at("lantern").links[4].conversion =
            serde_json::from_value(json!([{"step": "scale", "from": [0.0, 50.0], "to": [0.0, 254.0]},
            {"step": "round", "to": 1.0}, {"step": "clamp", "min": 0.0, "max": 254.0}]))
            .unwrap();
    }),
    ("feedback-is-command", &[Kind::StatusSource], |house| {
        let links = &mut house.at("larder-light").links;
        let command = links.iter().find(|link| link.command.is_some()).unwrap().group.clone();
        links.iter_mut().filter(|link| link.read).for_each(|link| link.group.clone_from(&command));
    }),
    ("feedback-lost", &[Kind::StatusSource], |house| {
        let lamp = house.at("larder-light");
        lamp.links.pop();
        for link in &mut lamp.links {
            link.shown = serde_json::from_value(json!("requested")).unwrap();
        }
    }),
    ("feature-removed", &[Kind::FunctionRemoved], |house| {
        let covering = &mut house.at("slip-shutter").clusters[0];
        covering.features.pop();
        covering.attributes.shift_remove("CurrentPositionLiftPercent100ths");
    }),
    ("first-value", &[Kind::FirstValueChanged, Kind::ValuesChanged], |house| {
        house.at("lantern").clusters[1].attributes.insert("CurrentLevel".to_owned(), json!(128));
        house.at("slip-shutter").clusters[0].attributes.insert("Type".to_owned(), json!(6));
    }),
    ("formerly", &[Kind::Rekeyed], |house| house.at("larder-light").key = "pantry-light".to_owned()),
    ("function-reduced", &[Kind::FunctionReduced], |house| {
        // Any level above 0 only switches the lantern on.
        let lantern = house.at("lantern");
        let mut switching = lantern.links[0].clone();
        (switching.cluster, switching.command) = ("LevelControl".to_owned(), Some("MoveToLevel".to_owned()));
        switching.conversion = serde_json::from_value(
            json!([{"step": "field", "name": "Level"}, {"step": "above", "limit": 0.0}]),
        )
        .unwrap();
        lantern.links[3] = switching;
    }),
    ("function-removed", &[Kind::FunctionRemoved], |house| {
        let lantern = house.at("lantern");
        lantern.clusters.pop();
        lantern.links.truncate(3);
    }),
    ("function-wired", &[Kind::FunctionWired], |house| {
        let lamp = house.at("bench-lamp");
        let mut toggle = lamp.links[0].clone();
        toggle.command = Some("Toggle".to_owned());
        lamp.links.push(toggle);
    }),
    ("interface", &[Kind::InterfaceChanged], |house| {
        let lamp = house.at("chart-lamp");
        lamp.device_types[1].revision = 4;
        lamp.clusters[0].revision = 7;
        lamp.clusters[0].features.push("DF".to_owned());
        lamp.clusters[0].attributes.insert("StartUpOnOff".to_owned(), json!(null));
    }),
    ("limits", &[Kind::LimitsChanged], |house| {
        house.at("workshop-heating").clusters[0]
            .attributes
            .insert("MaxHeatSetpointLimit".to_owned(), json!(2600));
        let cut_off = json!([{"step": "clamp", "min": 7.0, "max": 26.0}, {"step": "scale", "from": [0.0, 1.0], "to": [0.0, 100.0]}]);
        house.at("workshop-heating").links[2].conversion = serde_json::from_value(cut_off).unwrap();
    }),
    ("key-taken", &[Kind::KeyTaken], |house| {
        let reading = house.take("reading-lamp");
        let lamp = house.at("chart-lamp");
        lamp.node_label = reading.node_label;
        lamp.links.splice(..3, reading.links.into_iter().take(3));
    }),
    ("keys-exchanged", &[Kind::KeysExchanged], |house| house.turn(&["chart-lamp", "reading-lamp"])),
    ("keys-in-a-ring", &[Kind::KeysExchanged], |house| {
        house.turn(&["chart-lamp", "reading-lamp", "bench-lamp", "lathe-lamp"]);
    }),
    ("ledger-left-out", &[Kind::NewIdentity], |house| {
        for (number, endpoint) in (40u16..).zip(&mut house.0[0].endpoints) {
            (endpoint.number, endpoint.unique_id) = (number, format!("uid-{number}"));
        }
    }),
    ("line-renumbered", &[Kind::BlockMoved], |house| {
        for (key, last) in
            [("island-pendant", 10), ("larder-light", 11), ("bench-lamp", 20), ("lathe-lamp", 21)]
        {
            for middle in [1, 2, 4, 5] {
                let (old, new) = (format!("1/{middle}/{last}"), format!("6/{middle}/{last}"));
                let links = &house.at(key).links;
                if links.iter().any(|link| link.group == old) {
                    house.rewire(key, &old, &new);
                }
            }
        }
    }),
    ("matter-edition", &[Kind::MatterEdition], |house| {
        house.0[0].matter.specification = "1.7.0".to_owned();
        house.0[0].matter.data_model_revision = 22;
    }),
    ("merged", &[Kind::Merged], |house| {
        house.take("chart-lamp");
        house.take("reading-lamp");
        let name = (13, "desk-lights", "Desk lights", "Lantern room", "first");
        house.put(dimmer(name, ["1/1/30", "1/4/30", "1/1/31", "1/4/31"]));
    }),
    ("merged-into", &[Kind::MergedInto, Kind::WiresAdded], |house| {
        let gone = house.take("reading-lamp");
        house.at("chart-lamp").links.extend(gone.links);
    }),
    ("new-appliance", &[Kind::Added], |house| {
        house.put(lamp((13, "stair-lamp", "Stair lamp", "Hall", "first"), "1/1/33", "1/4/33"));
    }),
    ("new-identity", &[Kind::NewIdentity], |house| {
        let mut lamp = house.take("chart-lamp");
        lamp.number = 13;
        house.put(lamp);
    }),
    ("notation", &[Kind::NotationChanged], |house| {
        for link in house.0[0].endpoints.iter_mut().flat_map(|endpoint| &mut endpoint.links) {
            let parts: Vec<u16> = link.group.split('/').map(|part| part.parse().unwrap()).collect();
            link.group = format!("{}/{}", parts[0], parts[1] * 256 + parts[2]);
        }
    }),
    ("number-reused", &[Kind::NumberReused, Kind::Removed], |house| {
        house.take("chart-lamp");
        let mut hatch = lamp((10, "hatch-lamp", "Hatch lamp", "Hold", "ground"), "1/1/50", "1/4/50");
        hatch.unique_id = "uid-20".to_owned();
        house.put(hatch);
    }),
    ("other-unique-id", &[Kind::NewIdentity], |house| house.at("chart-lamp").unique_id = "uid-99".to_owned()),
    ("part-added", &[Kind::PartAdded], |house| {
        let lamp = house.at("bench-lamp").clone();
        house.put(meter(13, &lamp, "1/6/20"));
    }),
    ("part-removed", &[Kind::PartRemoved], |house| {
        house.take("kettle-socket/meter");
    }),
    ("probable-rename", &[Kind::ProbableRename], |house| {
        let mut lamp = house.take("larder-light");
        (lamp.key, lamp.number, lamp.unique_id) = ("pantry-light".to_owned(), 13, "uid-13".to_owned());
        house.put(lamp);
    }),
    ("relabelled", &[Kind::Relabelled], |house| {
        house.at("larder-light").node_label = "Pantry light".to_owned()
    }),
    ("removed", &[Kind::Removed], |house| {
        house.take("reading-lamp");
    }),
    ("removed-with-its-meter", &[Kind::Removed], |house| {
        house.take("kettle-socket");
        house.take("kettle-socket/meter");
    }),
    ("reversed", &[Kind::Reversed], |house| {
        for at in 0..2 {
            let steps = json!([{"step": "constant", "value": at == 1}, {"step": "not"}]);
            house.at("slip-shutter").links[at].conversion = serde_json::from_value(steps).unwrap();
        }
        let lantern = house.at("lantern");
        lantern.links[2].conversion = serde_json::from_value(json!([{"step": "not"}])).unwrap();
        lantern.links[4].conversion =
            serde_json::from_value(json!([{"step": "scale", "from": [0.0, 100.0], "to": [254.0, 0.0]},
            {"step": "round", "to": 1.0}]))
            .unwrap();
    }),
    ("rewired", &[Kind::Rewired], |house| house.rewire("island-pendant", "1/1/10", "1/1/14")),
    ("rewired-thrice", &[Kind::Rewired], |house| {
        house.rewire("island-pendant", "1/1/10", "1/1/14");
        house.rewire("island-pendant", "1/4/10", "1/4/15");
        house.at("island-pendant").links[3].bus = "annex".to_owned();
    }),
    ("ring", &[Kind::Swap], |house| {
        let keys = ["bench-lamp", "lathe-lamp", "reading-lamp"];
        let links: Vec<_> = keys.iter().map(|key| house.at(key).links.clone()).collect();
        for (at, key) in keys.iter().enumerate() {
            house.at(key).links = links[(at + 1) % 3].clone();
        }
    }),
    ("room-changed", &[Kind::RoomChanged], |house| {
        let lamp = house.at("bench-lamp");
        (lamp.room, lamp.floor) = ("Lantern room".to_owned(), Some("first".to_owned()));
    }),
    ("room-renamed", &[Kind::RoomChanged], |house| {
        for endpoint in house.0[0].endpoints.iter_mut().filter(|one| one.room == "Boat workshop") {
            endpoint.room = "Boat shed".to_owned();
        }
    }),
    ("split", &[Kind::Split], |house| {
        house.take("lantern");
        house.put(lamp((13, "lantern-east", "Lantern east", "Lantern room", "first"), "1/1/32", "1/4/32"));
        house.put(lamp((14, "lantern-west", "Lantern west", "Lantern room", "first"), "1/2/32", "1/5/32"));
    }),
    ("split-off", &[Kind::SplitOff, Kind::FunctionUnwired], |house| {
        house.at("lantern").links.truncate(3);
        house.put(lamp((13, "lantern-west", "Lantern west", "Lantern room", "first"), "1/2/32", "1/5/32"));
    }),
    ("status-unwired", &[Kind::FunctionUnwired], |house| {
        house.at("workshop-heating").links.remove(0);
    }),
    ("swap", &[Kind::Swap], |house| {
        let (chart, reading) = (house.at("chart-lamp").links.clone(), house.at("reading-lamp").links.clone());
        house.at("reading-lamp").links = chart[..3].to_vec();
        house.at("chart-lamp").links = [reading, chart[3..].to_vec()].concat();
    }),
    ("telegram-order", &[Kind::TelegramOrder], |house| {
        // Stopping sends two telegrams; now the other one goes first.
        house.at("slip-shutter").links.swap(2, 3);
    }),
    ("telegram-size", &[Kind::TelegramSize], |house| {
        let heating = house.at("workshop-heating");
        heating.links.iter_mut().for_each(|link| link.dpt = "14.068".to_owned());
    }),
    ("unwired", &[Kind::FunctionUnwired], |house| {
        house.at("slip-shutter").links.truncate(2);
    }),
    ("wires", &[Kind::WiresAdded, Kind::WiresRemoved, Kind::TimingChanged], |house| {
        let lamp = house.at("bench-lamp");
        let mut central = lamp.links[2].clone();
        (central.group, central.read) = ("1/0/1".to_owned(), false);
        lamp.links.push(central);
        let shutter = house.at("slip-shutter");
        shutter.links[0].timing.insert("travelTime".to_owned(), json!(26000));
        let chart = house.at("chart-lamp");
        chart.links.pop();
        chart.links[2].read = false;
    }),
    ("wording", &[Kind::Wording], |house| {
        house.at("chart-lamp").device_types[1].name = "OnOffLamp".to_owned();
        house.at("reading-lamp").links[0].point = "switch".to_owned();
    }),
];

#[test]
fn each_case_reads_as_expected() {
    for (name, kinds, change) in CASES {
        let review = reviewed(change);
        let found: BTreeSet<Kind> = review.changes.iter().map(|one| one.kind).collect();
        let text = forms::text(&review, &TextOptions { detail: Detail::Lines, ..TextOptions::default() });
        for kind in *kinds {
            assert!(found.contains(kind), "{name}: no {} in\n{text}", kind.name());
        }
        check(&format!("{name}.txt"), &text);
    }
}

#[test]
fn every_kind_has_a_case() {
    // Those that no single change of this house gives, with the test that has them.
    let unshown = [Kind::ShownAgain, Kind::NoLongerShown, Kind::PlaceLost];
    let elsewhere = [Kind::HouseId, Kind::Regrouped];
    let shown: BTreeSet<Kind> = CASES.iter().flat_map(|(_, kinds, _)| kinds.iter().copied()).collect();
    for row in housewright::review::judgements() {
        let is_elsewhere = elsewhere.contains(&row.kind) || unshown.contains(&row.kind);
        assert!(shown.contains(&row.kind) || is_elsewhere, "{} has no case", row.name);
    }
}

#[test]
fn every_expected_file_has_its_case() {
    let known: BTreeSet<String> = CASES.iter().map(|(name, ..)| format!("{name}.txt")).collect();
    for entry in std::fs::read_dir(folder()).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(known.contains(&name) || name.starts_with("spring."), "no case makes {name}");
    }
}
