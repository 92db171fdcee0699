//! Every file that the program writes keeps to its schema.

use super::{faults, root, validator};
use serde_json::Value;
use std::path::Path;
use std::process::Command;

/// Copies a house, without its builds.
fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().flatten() {
        let (source, target) = (entry.path(), to.join(entry.file_name()));
        if source.is_dir() {
            copy(&source, &target);
        } else {
            std::fs::copy(&source, &target).unwrap();
        }
    }
}

fn run(folder: &Path, words: &[&str]) -> String {
    let (code, text) = run_to_the_end(folder, words);
    assert!(code < 2, "{words:?}: {text}");
    text
}

/// The exit code, and what stands on standard output.
fn run_to_the_end(folder: &Path, words: &[&str]) -> (i32, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_housewright"))
        .args(words)
        .current_dir(folder)
        .env_clear()
        .output()
        .unwrap();
    (output.status.code().unwrap(), String::from_utf8(output.stdout).unwrap())
}

/// Which schema a file of a build keeps to.
fn format_of(name: &str) -> Option<&'static str> {
    match name {
        "manifest.json" => Some("manifest"),
        "review.json" => Some("review"),
        _ if name.ends_with(".bridge.json") => Some("bridge"),
        _ => None,
    }
}

#[test]
fn every_file_of_a_build_keeps_to_its_schema() {
    let temporary = tempfile::tempdir().unwrap();
    let folder = temporary.path();
    copy(&root().join("examples/heron-wharf"), &folder.join("house"));
    run(folder, &["build", "house", "--out", "out"]);
    // The next season: a build with a review in it.
    std::fs::remove_dir_all(folder.join("house/floors")).unwrap();
    copy(&root().join("examples/heron-wharf-spring"), &folder.join("house"));
    run(folder, &["build", "house", "--out", "out"]);
    let mut seen = Vec::new();
    for entry in std::fs::read_dir(folder.join("out")).unwrap().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let Some(format) = format_of(&name) else { continue };
        let document: Value = serde_json::from_str(&std::fs::read_to_string(entry.path()).unwrap()).unwrap();
        assert_eq!(faults(&validator(format), &document), Vec::<String>::new(), "{name}");
        seen.push(format);
    }
    seen.sort_unstable();
    seen.dedup();
    assert_eq!(seen, ["bridge", "manifest", "review"]);
}

#[test]
fn findings_keep_to_their_schema() {
    let validator = validator("findings");
    let mut findings = 0;
    for entry in std::fs::read_dir(root().join("tests/cases/check")).unwrap().flatten() {
        let text = run(&entry.path(), &["check", ".", "--format", "json"]);
        let document: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(faults(&validator, &document), Vec::<String>::new(), "{}", entry.path().display());
        findings += document["findings"].as_array().unwrap().len();
    }
    assert!(findings >= 12, "{findings}");
    let cases = root().join("tests/cases/check");
    let text = run(&cases, &["check", "tab", "boat-shed", "--format", "json"]);
    let mut document: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(faults(&validator, &document), Vec::<String>::new(), "of several houses");
    document["houses"][1]["findings"] = "none".into();
    assert!(!validator.is_valid(&document));
    let (code, text) = run_to_the_end(&cases, &["check", "tab", "no-such-house", "--format", "json"]);
    assert_eq!(code, 2);
    let mut document: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(faults(&validator, &document), Vec::<String>::new(), "of a house that is not there");
    assert_eq!(document["failed"][0]["house"], "no-such-house");
    document["failed"][0]["reason"] = 1.into();
    assert!(!validator.is_valid(&document));
    let text = run(&cases, &["build", "tab", "--format", "json"]);
    let document: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(faults(&validator, &document), Vec::<String>::new(), "of a build");
}

#[test]
fn sarif_of_several_houses_tells_them_apart_and_where_they_are() {
    let text = run(&root().join("tests/cases/check"), &["check", "tab", "./boat-shed", "--format", "sarif"]);
    let document: Value = serde_json::from_str(&text).unwrap();
    for (run, house) in document["runs"].as_array().unwrap().iter().zip(["tab", "boat-shed"]) {
        assert_eq!(run["automationDetails"]["id"], format!("housewright/{house}/"));
        let file = &run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
        assert!(file.as_str().unwrap().starts_with(&format!("{house}/")), "{file}");
    }
}

#[test]
fn a_spoiled_definition_is_refused() {
    let path = root().join("tests/cases/build/dimmable-light/expected/hut.bridge.json");
    let mut document: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let validator = validator("bridge");
    assert!(validator.is_valid(&document));
    for (key, wrong) in [("endpoints", Value::Null), ("version", "one".into()), ("bridge", 1.into())] {
        let right = std::mem::replace(&mut document[key], wrong);
        assert!(!validator.is_valid(&document), "{key}");
        document[key] = right;
    }
}
