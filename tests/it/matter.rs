//! The Matter facts: whole, in order, and meaning what the program takes them to mean.

use housewright::matter::{
    Cluster, ElementKind, Kind, Requirement, ValueFault, check_value, cluster, cluster_names, device_type,
    device_type_names, edition, first_value, kind, number_range, tag,
};
use serde_json::{Value, json};

fn clusters() -> Vec<&'static Cluster> {
    cluster_names().map(|name| cluster(name).expect(name)).collect()
}

#[test]
fn every_file_is_read_and_named_as_what_it_holds() {
    assert_eq!(clusters().len(), 53);
    for name in cluster_names() {
        assert_eq!(cluster(name).expect(name).name, name);
    }
    assert_eq!(device_type_names().count(), 45);
    for name in device_type_names() {
        assert_eq!(device_type(name).expect(name).name, name);
    }
    assert_eq!(cluster("Lamp").map(|cluster| &cluster.name), None);
    assert_eq!((edition().specification.as_str(), edition().data_model_revision), ("1.6.0", 21));
}

#[test]
fn ids_ascend_and_names_are_unique() {
    for cluster in clusters() {
        let name = &cluster.name;
        assert!(cluster.features.is_sorted_by(|a, b| a.bit < b.bit), "{name} features");
        assert!(cluster.commands.is_sorted_by(|a, b| a.id < b.id), "{name} commands");
        assert!(cluster.events.is_sorted_by(|a, b| a.id < b.id), "{name} events");
        assert!(cluster.attributes.is_sorted_by(|a, b| a.id < b.id), "{name} attributes");
        let mut names: Vec<_> = cluster.attributes.iter().map(|attribute| &attribute.name).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), cluster.attributes.len(), "{name} attribute names");
    }
    let mut ids: Vec<_> = clusters().iter().map(|cluster| cluster.id).collect();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), 53);
}

#[test]
fn every_attribute_has_a_type_an_access_and_a_conformance() {
    for cluster in clusters() {
        for attribute in &cluster.attributes {
            let name = format!("{}.{}", cluster.name, attribute.name);
            if name == "ScenesManagement.DoNotUse" {
                continue;
            }
            let mut datatype = attribute.datatype.as_str();
            while let Some(Kind::List(entry)) = kind(cluster, datatype) {
                datatype = entry;
            }
            assert!(kind(cluster, datatype).is_some(), "{name}: type {datatype}");
            assert!(attribute.access.starts_with('R'), "{name}: access {}", attribute.access);
            assert!(attribute.conformance.is_some(), "{name}: conformance");
        }
    }
}

/// A device type must not ask for what the facts do not know.
#[test]
fn device_types_name_clusters_and_elements_that_there_are() {
    for name in device_type_names() {
        let device_type = device_type(name).expect(name);
        for need in &device_type.clusters {
            let Some(cluster) = cluster(&need.name) else {
                let said = need.conformance.as_ref();
                let said = said.map(|said| said.requirement(&|_| false, &|_| None, device_type.revision));
                // An ElectricalMeter may have CommodityMetering, which is provisional.
                let spared = name == "ElectricalMeter" && need.name == "CommodityMetering";
                assert!(said != Some(Requirement::Mandatory) || spared, "{name} needs {}", need.name);
                continue;
            };
            for element in &need.elements {
                let there = match element.kind {
                    ElementKind::Feature => cluster.feature(&element.name).is_some(),
                    ElementKind::Attribute => cluster.attribute(&element.name).is_some(),
                    ElementKind::Command => cluster.command(&element.name).is_some(),
                    ElementKind::Event => cluster.event(&element.name).is_some(),
                };
                assert!(there, "{name}: {}.{}", need.name, element.name);
            }
        }
        for component in &device_type.components {
            assert!(component.conformance.is_some(), "{name}: {}", component.name);
        }
    }
}

#[test]
fn first_values_are_values_of_their_attributes() {
    let text = include_str!("../../schema/matter/first-values.json");
    let file: Value = serde_json::from_str(text).expect("JSON");
    for (name, attributes) in file["values"].as_object().expect("values") {
        let cluster = cluster(name).expect(name);
        for (name, value) in attributes.as_object().expect("attributes") {
            let attribute = cluster.attribute(name).expect(name);
            let fault = check(cluster, name, value);
            assert_eq!(fault, Ok(()), "{}.{}", cluster.name, attribute.name);
            assert_eq!(first_value(&cluster.name, name), Some(value));
        }
    }
}

fn check(cluster: &Cluster, attribute: &str, value: &Value) -> Result<(), ValueFault> {
    let attribute = cluster.attribute(attribute).expect(attribute);
    let constraint = attribute.constraint.as_ref();
    let lookup = |name: &str| matches!(name, "MinLevel").then_some(1.0);
    check_value(
        cluster,
        &attribute.datatype,
        attribute.nullable,
        constraint,
        value,
        &|code| code == "HEAT",
        &lookup,
    )
}

/// Values just within and just outside of types and constraints.
#[test]
fn values_are_held_to_type_and_constraint() {
    let range = |allowed: &str| Err(ValueFault::Range { path: String::new(), allowed: allowed.into() });
    let kind =
        |path: &str, expected: &str| Err(ValueFault::Kind { path: path.into(), expected: expected.into() });
    let try_it = |name: &str, value: Value| {
        let (of, attribute) = name.split_once('.').expect(name);
        check(cluster(of).expect(of), attribute, &value)
    };
    assert_eq!(try_it("OnOff.OnOff", json!(true)), Ok(()));
    assert_eq!(try_it("OnOff.OnOff", json!(1)), kind("", "bool"));
    assert_eq!(try_it("OnOff.OnOff", json!(null)), kind("", "bool"));
    assert_eq!(try_it("LevelControl.CurrentLevel", json!(null)), Ok(()));
    assert_eq!(try_it("LevelControl.CurrentLevel", json!(254)), Ok(()));
    assert_eq!(try_it("LevelControl.CurrentLevel", json!(255)), range("uint8"));
    assert_eq!(try_it("LevelControl.CurrentLevel", json!(0)), range("minLevel to maxLevel"));
    assert_eq!(try_it("LevelControl.CurrentLevel", json!(1.5)), kind("", "uint8"));
    assert_eq!(try_it("WindowCovering.CurrentPositionLiftPercent100ths", json!(10000)), Ok(()));
    assert_eq!(
        try_it("WindowCovering.TargetPositionLiftPercent100ths", json!(10001)),
        range("percent100ths")
    );
    assert_eq!(try_it("WindowCovering.OperationalStatus", json!(63)), Ok(()));
    assert_eq!(try_it("WindowCovering.OperationalStatus", json!(64)), range("max 63"));
    assert_eq!(try_it("TemperatureMeasurement.MinMeasuredValue", json!(-27315)), Ok(()));
    assert_eq!(
        try_it("TemperatureMeasurement.MinMeasuredValue", json!(-27316)),
        range("-27315 to maxMeasuredValue - 1")
    );
    assert_eq!(try_it("Thermostat.MinSetpointDeadBand", json!(127)), Ok(()));
    assert_eq!(try_it("Thermostat.MinSetpointDeadBand", json!(-1)), range("0 to 12.7°C"));
    assert_eq!(try_it("Thermostat.SystemMode", json!(4)), Ok(()));
    assert!(matches!(try_it("Thermostat.SystemMode", json!(3)), Err(ValueFault::Member { .. })));
    assert_eq!(try_it("BridgedDeviceBasicInformation.NodeLabel", json!("ÄÖÜäöüßéÄÖÜäöüßé")), Ok(()));
    assert_eq!(
        try_it("BridgedDeviceBasicInformation.NodeLabel", json!("ÄÖÜäöüßéÄÖÜäöüßé.")),
        range("max 32")
    );
}

#[test]
fn structures_and_lists_are_looked_into() {
    let energy = cluster("ElectricalEnergyMeasurement").expect("cluster");
    let accuracy = json!({
        "MeasurementType": 14, "Measured": true, "MinMeasuredValue": 0, "MaxMeasuredValue": 1000,
        "AccuracyRanges": [{"RangeMin": 0, "RangeMax": 1000, "PercentMax": 100}]
    });
    assert_eq!(check(energy, "Accuracy", &accuracy), Ok(()));
    let mut broken = accuracy.clone();
    broken["AccuracyRanges"][0]["PercentMax"] = json!("much");
    let path = "AccuracyRanges[0].PercentMax".to_owned();
    let fault = Err(ValueFault::Kind { path, expected: "percent100ths".into() });
    assert_eq!(check(energy, "Accuracy", &broken), fault);
    let mut broken = accuracy.clone();
    broken["Colour"] = json!(1);
    let fault = Err(ValueFault::Field { path: String::new(), name: "Colour".into(), missing: false });
    assert_eq!(check(energy, "Accuracy", &broken), fault);
    let mut broken = accuracy;
    broken.as_object_mut().expect("object").remove("Measured");
    let fault = Err(ValueFault::Field { path: String::new(), name: "Measured".into(), missing: true });
    assert_eq!(check(energy, "Accuracy", &broken), fault);
}

#[test]
fn numbers_know_how_far_they_go() {
    let range = |of: &str, name: &str| {
        let cluster = cluster(of).expect(of);
        let attribute = cluster.attribute(name).expect(name);
        number_range(cluster, &attribute.datatype, attribute.nullable, attribute.constraint.as_ref(), &|_| {
            None
        })
    };
    assert_eq!(range("LevelControl", "CurrentLevel"), Some((0.0, 254.0)));
    assert_eq!(range("TemperatureMeasurement", "MeasuredValue"), Some((-32767.0, 32767.0)));
    assert_eq!(range("WindowCovering", "CurrentPositionLiftPercent100ths"), Some((0.0, 10000.0)));
    assert_eq!(range("FanControl", "PercentCurrent"), Some((0.0, 100.0)));
    assert_eq!(range("ColorControl", "CurrentX"), Some((0.0, 65279.0)));
    assert_eq!(range("OnOff", "OnOff"), None);
}

#[test]
fn tags_have_the_numbers_of_their_namespace() {
    let number = |namespace: &str, name: &str| tag(namespace, name).map(|tag| (tag.namespace, tag.tag));
    assert_eq!(number("Closure", "GarageDoor"), Some((0x44, 5)));
    assert_eq!(number("CommonNumber", "Two"), Some((7, 2)));
    assert_eq!(number("Closure", "Portcullis"), None);
}
