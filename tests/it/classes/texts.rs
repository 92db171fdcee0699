//! What is said of classes: explanations, the list, the schema of the format, the table of `templates/README.md`.

use super::{classes, library};
use housewright::classes::{ClassLibrary, Exposure, choices, explain, list, schema};
use housewright::findings::Severity;
use housewright::inspect;
use housewright::source::{Limits, Sources};
use std::fmt::Write as _;

#[test]
fn every_explanation_is_whole_and_fits_80_columns() {
    for class in classes() {
        let text = explain(&class, 80);
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{}: {line}", class.name);
        }
        for name in class
            .points
            .iter()
            .map(|point| &point.name)
            .chain(class.settings.iter().map(|setting| &setting.name))
        {
            assert!(text.contains(name.as_str()), "{} does not tell of {name}", class.name);
        }
        let first = class.summary.split_whitespace().take(4).collect::<Vec<_>>().join(" ");
        assert!(text.contains(&first), "{}", class.name);
        assert!(text.contains(&format!("class: {}", class.name)), "{} has no example", class.name);
        check_example(&class.name, &text);
    }
}

/// Whoever copies an example begins with a house that checks, but for who confirmed what.
fn check_example(class: &str, text: &str) {
    let (_, example) = text.split_once("For example:\n\n").expect("an example");
    if example.contains("confirmed:") {
        return;
    }
    let house = format!(
        "housewright: 1\nhouse: {{ id: a-house, name: A house }}\nbuses: {{ main: {{}} }}\n\
        bridges: {{ main: {{ name: A house, capacity: 20 }} }}\n\
        rooms:\n  hall:\n    name: Hall\n    appliances:\n{}",
        example.lines().fold(String::new(), |all, line| all + "  " + line + "\n")
    );
    let inspection = inspect(Sources::from_texts(&[("house.yaml", &house)]), &Limits::default());
    let errors = inspection.judged.findings.iter().filter(|finding| finding.severity == Severity::Error);
    let errors: Vec<&str> = errors.map(|finding| finding.message.as_str()).collect();
    assert!(errors.is_empty(), "{class}: {errors:?}\n{house}");
}

#[test]
fn the_list_names_every_class_once_and_can_be_searched() {
    let all = list(&library(), None, 80);
    for name in library().names() {
        let lines = all.lines().filter(|line| line.trim_start().split("  ").next() == Some(name));
        assert_eq!(lines.count(), 1, "{name}");
    }
    for line in all.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    let some = list(&library(), Some("Scene"), 80);
    assert!(some.contains("scene-selector") && !some.contains("on-off-outlet"), "{some}");
    assert_eq!(list(&library(), Some("zeppelin"), 80), "");
}

/// Every built-in template, read by a second reader, keeps to the schema; the schema refuses what the format does not know.
#[test]
fn the_schema_takes_every_template() {
    let validator = jsonschema::validator_for(&schema()).expect("a schema");
    for name in library().names() {
        let path = format!("{}/templates/classes/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).expect("there");
        let value: serde_json::Value = serde_yaml::from_str(&text).expect("YAML");
        let faults: Vec<_> =
            validator.iter_errors(&value).map(|fault| format!("{} {fault}", fault.instance_path())).collect();
        assert!(faults.is_empty(), "{name}: {faults:#?}");
        let mut spoilt = value;
        spoilt["colour"] = "red".into();
        assert!(!validator.is_valid(&spoilt), "{name}");
    }
}

/// `templates/README.md` holds the table of all classes. `SNAPSHOTS=overwrite cargo test --test it classes` makes it anew.
#[test]
fn the_table_of_classes_is_up_to_date() {
    let page = table(&library());
    assert!(!page.contains("| never |"), "a class was never commissioned:\n{page}");
    let path = format!("{}/templates/README.md", env!("CARGO_MANIFEST_DIR"));
    snapbox::assert_data_eq!(page, snapbox::Data::read_from(path.as_ref(), None).raw());
}

fn table(library: &ClassLibrary) -> String {
    let mut page = String::from(
        "# Device classes\n\n\
         Made by `SNAPSHOTS=overwrite cargo test --test it classes`, do not edit. Each class is the file of its name in \
         `classes`; what it says of Matter is checked against the facts in `schema/matter`, and every choice that it leaves is \
         built and commissioned by the outside judge (`tests/outside/matter`): the last column says how many different ones it saw \
         without a fault. Clusters are those of an appliance that has every point; Bridged Node and its basic information are on \
         every one.\n\n\
         | class | device types (id, revision) | clusters | seen commissioned |\n| --- | --- | --- | --- |\n",
    );
    let seen: serde_json::Value =
        serde_json::from_str(include_str!("../../outside/matter/commissioned.json")).expect("JSON");
    for name in library.names() {
        let Some(class) = library.get(name) else { continue };
        if let Exposure::NotBridged { why } = &class.exposure {
            let _ = writeln!(page, "| {name} | not shown to controllers | {why} | |");
            continue;
        }
        let Some(chosen) = choices(&class, 1).into_iter().next() else { continue };
        let Ok(shape) = class.shape(&chosen) else { continue };
        for (index, part) in shape.parts.iter().enumerate() {
            let types = part.device_types.iter().filter(|used| used.name != "BridgedNode");
            let types: Vec<_> =
                types.map(|used| format!("{} (0x{:04X}, {})", used.name, used.id, used.revision)).collect();
            let clusters =
                part.clusters.iter().filter(|cluster| cluster.name != "BridgedDeviceBasicInformation");
            let clusters: Vec<_> = clusters
                .map(|cluster| match cluster.features.as_slice() {
                    [] => cluster.name.clone(),
                    features => format!("{} [{}]", cluster.name, features.join(" ")),
                })
                .collect();
            let label = if index == 0 { name.to_owned() } else { format!("{name}/{}", part.name) };
            let seen = match seen["classes"][name].as_u64() {
                Some(count) if index == 0 => count.to_string(),
                Some(_) => "with it".to_owned(),
                None => "never".to_owned(),
            };
            let _ = writeln!(page, "| {label} | {} | {} | {seen} |", types.join(", "), clusters.join(", "));
        }
    }
    page
}

/// The proof of what conversions lose stands in the text: every byte of a brightness, a step of one 255th apart.
#[test]
fn what_is_lost_is_told_in_figures() {
    let class = library().get("dimmable-light").expect("there");
    let text = explain(&class, 80);
    for figure in ["values looked at    256 of 256", "off by 0.39216 % at most"] {
        assert!(text.contains(figure), "no {figure:?} in:\n{text}");
    }
}
