//! The JSON Schemas: pinned in `schema/`, each field described, and of one verdict with the readers.

mod emitted;
mod opinion;

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// What `housewright` prints for these words.
fn printed(words: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_housewright")).args(words).env_clear().output().unwrap();
    assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Every format that has a schema, by the word that `housewright schema` takes.
fn formats() -> Vec<String> {
    let help = printed(&["schema", "--help"]);
    let words = help.lines().filter_map(|line| line.trim().strip_prefix("- "));
    words
        .filter_map(|line| Some(line.split_once(':')?.0.to_owned()))
        .filter(|word| COLOURS.iter().all(|colour| colour != word))
        .collect()
}

/// The words of `--colour`, which stand in every help.
const COLOURS: [&str; 3] = ["auto", "always", "never"];

fn path(format: &str) -> PathBuf {
    root().join("schema").join(format!("{format}.schema.json"))
}

/// A schema as it is committed.
fn committed(format: &str) -> Value {
    serde_json::from_str(&std::fs::read_to_string(path(format)).unwrap()).unwrap()
}

/// A validator of a committed schema. Its draft is named in it.
fn validator(format: &str) -> jsonschema::Validator {
    jsonschema::validator_for(&committed(format)).unwrap_or_else(|error| panic!("{format}: {error}"))
}

/// What a validator refuses, with the pointer to it.
fn faults(validator: &jsonschema::Validator, document: &Value) -> Vec<String> {
    validator.iter_errors(document).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

/// What the types of a format say.
fn of_types(format: &str) -> Value {
    use housewright::{bridge, classes, emit, findings, house, ledger, resolve, review, rules};
    let library = classes::ClassLibrary::built_in();
    match format {
        "house" => {
            let rules: Vec<&str> = rules::all().iter().map(|rule| rule.card.name).collect();
            house::schema(&library, &rules)
        }
        "class" => classes::schema(),
        "words" => resolve::words_schema(&library),
        "ledger" => ledger::schema(),
        "bridge" => bridge::definition::schema(),
        "manifest" => emit::schema(),
        "review" => review::schema(),
        "accept" => review::accept_schema(),
        "findings" => findings::json::schema(),
        other => panic!("no types for {other}"),
    }
}

#[test]
fn the_program_prints_the_committed_schemas() {
    for format in formats() {
        assert_eq!(
            printed(&["schema", &format]),
            std::fs::read_to_string(path(&format)).unwrap(),
            "{format}: build it anew"
        );
    }
}

#[test]
fn the_committed_schemas_are_what_the_types_say() {
    let formats = formats();
    assert!(formats.len() >= 9, "{formats:?}");
    let mut stale = Vec::new();
    for format in &formats {
        let now = format!("{:#}\n", of_types(format));
        if std::fs::read_to_string(path(format)).unwrap_or_default() == now {
            continue;
        }
        if std::env::var("SNAPSHOTS").is_ok_and(|wish| wish == "overwrite") {
            std::fs::write(path(format), &now).unwrap();
        } else {
            stale.push(format!("schema/{format}.schema.json"));
        }
    }
    assert!(
        stale.is_empty(),
        "{stale:?} differ; `SNAPSHOTS=overwrite cargo test --test it schemas` makes them anew"
    );
    let known: Vec<PathBuf> = formats.iter().map(|format| path(format)).collect();
    for entry in std::fs::read_dir(root().join("schema")).unwrap().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        assert!(
            !name.ends_with(".schema.json") || known.contains(&entry.path()),
            "nothing prints schema/{name}"
        );
    }
}

/// Calls `look` with the pointer and schema of every property of every object in a schema.
fn properties(schema: &Value, at: &str, look: &mut impl FnMut(&str, &Value)) {
    match schema {
        Value::Object(object) => {
            // A variant with one property is described as a whole.
            let is_variant = object.contains_key("description")
                && object
                    .get("properties")
                    .is_some_and(|all| all.as_object().is_some_and(|all| all.len() == 1));
            for (key, value) in object {
                // What stands by class says which keys there are; the keys themselves are described once, in `Appliance`.
                if key == "if" || key == "const" || key == "enum" {
                    continue;
                }
                let below = format!("{at}/{key}");
                if key == "properties" && !at.ends_with("/then") && !is_variant {
                    for (name, property) in value.as_object().into_iter().flatten() {
                        look(&format!("{below}/{name}"), property);
                    }
                }
                properties(value, &below, look);
            }
        }
        Value::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                properties(item, &format!("{at}/{index}"), look);
            }
        }
        _ => {}
    }
}

#[test]
fn every_field_of_every_format_is_described() {
    let mut mute = Vec::new();
    let mut count = 0;
    for format in formats() {
        properties(&committed(&format), "", &mut |at, property| {
            count += 1;
            // The word that tells variants apart needs no description: the variant has one.
            let described = property.get("description").is_some_and(|text| text.as_str() != Some(""));
            if !described && property.get("const").is_none() {
                mute.push(format!("{format}{at}"));
            }
        });
    }
    assert!(count > 300, "{count} fields");
    assert!(mute.is_empty(), "{count} fields, without a description: {mute:#?}");
}

/// A YAML file as JSON, as an editor loads it.
fn yaml(path: &Path) -> Value {
    let text = std::fs::read_to_string(path).unwrap();
    let file = housewright::source::FileId(0);
    let (tree, problems) = housewright::source::parse(&text, file, &housewright::source::Limits::default());
    assert!(problems.is_empty(), "{}: {problems:?}", path.display());
    tree.unwrap().root(file, &text).to_json()
}

/// Files of a folder with an ending, and of the folders in it.
fn below(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            below(&path, ending, found);
        } else if path.to_string_lossy().ends_with(ending) {
            found.push(path);
        }
    }
    found.sort();
}

/// Checks files against a schema; at least so many must be there.
fn check(format: &str, files: &[PathBuf], least: usize) {
    let validator = validator(format);
    let mut said = Vec::new();
    for file in files {
        let faults = faults(&validator, &yaml(file));
        said.extend(faults.into_iter().map(|fault| format!("{}: {fault}", file.display())));
    }
    assert!(said.is_empty(), "{said:#?}");
    assert!(files.len() >= least, "{} files of {format}", files.len());
}

#[test]
fn every_example_keeps_to_the_schema_of_a_house() {
    let mut files = Vec::new();
    for house in ["heron-wharf", "heron-wharf-spring"] {
        below(&root().join("examples").join(house), ".yaml", &mut files);
    }
    files.retain(|file| {
        !file.ends_with("ledger.yaml") && !file.components().any(|part| part.as_os_str() == "classes")
    });
    below(&root().join("templates/new"), ".yaml", &mut files);
    check("house", &files, 30);
}

#[test]
fn every_ledger_keeps_to_its_schema() {
    let mut files = Vec::new();
    below(&root().join("examples"), "ledger.yaml", &mut files);
    below(&root().join("tests/cases"), "ledger.yaml", &mut files);
    // Broken on purpose.
    let broken =
        ["ledger-with-a-key-twice", "ledger-with-a-tab", "ledger-of-tomorrow", "ledger-of-no-version"];
    files.retain(|file| !broken.iter().any(|case| file.ends_with(format!("{case}/ledger.yaml"))));
    files.push(root().join("tests/it/ledger/version-1.yaml"));
    check("ledger", &files, 3);
}

#[test]
fn every_word_list_keeps_to_its_schema() {
    let mut files = Vec::new();
    below(&root().join("schema/words"), ".yaml", &mut files);
    check("words", &files, 2);
}

#[test]
fn every_class_keeps_to_its_schema() {
    let mut files = Vec::new();
    below(&root().join("templates/classes"), ".yaml", &mut files);
    check("class", &files, 60);
}

/// Every command that runs on or goes a step may stand without a link, and a gateway has to know what to do then.
#[test]
fn the_bridge_tells_what_becomes_of_each_command_without_a_link() {
    let head = committed("bridge")["description"].as_str().unwrap().to_owned();
    let mut seen = 0;
    for cluster in ["LevelControl", "ColorControl"] {
        for command in &housewright::matter::cluster(cluster).unwrap().commands {
            let name = &command.name;
            let relative =
                name.starts_with("Step") || name.starts_with("Move") && !name.starts_with("MoveTo");
            if relative && !name.contains("Frequency") {
                assert!(head.contains(&format!("`{name}`")), "{cluster}.{name} is told nothing of");
                seen += 1;
            }
        }
    }
    assert!(seen >= 12, "{seen}");
}

/// A time without its unit is a stop that comes a thousand times too late.
#[test]
fn the_times_of_a_link_have_their_unit_where_an_author_looks() {
    let schema = committed("bridge");
    let timing = schema["$defs"]["Link"]["properties"]["timing"]["description"].as_str().unwrap();
    assert!(timing.contains("in milliseconds") && timing.contains("not sent"), "{timing}");
}
