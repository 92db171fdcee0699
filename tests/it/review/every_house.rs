//! What holds of every house of the cases and examples that builds.

use super::pointer::patched;
use housewright::bridge::definition::BridgeDefinition;
use housewright::bridge::lower;
use housewright::review::{Build, BuildFile, apply, json_patch, read_both, read_bridge_json, review, same};
use housewright::runs::definitions::written;
use housewright::source::{Limits, load};
use rayon::prelude::*;
use serde_json::Value;
use std::path::{Path, PathBuf};

type Files = Vec<(String, Vec<u8>)>;

/// Every folder below a folder that has a root file.
fn houses(folder: &Path, found: &mut Vec<PathBuf>) {
    if folder.join("house.yaml").is_file() {
        found.push(folder.to_owned());
    }
    let mut folders: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().flatten().map(|entry| entry.path()).collect();
    folders.sort();
    folders.iter().filter(|path| path.is_dir()).for_each(|path| houses(path, found));
}

/// What a house builds, and what it builds right after that; nothing where it has errors.
fn built(house: &Path) -> Option<(Files, Files)> {
    let limits = Limits::default();
    let mut inspection = housewright::inspect(load(house, &limits).unwrap(), &limits);
    let checked = inspection.judged.checked.take()?;
    let first = lower(&checked, &inspection.ledger).ok()?;
    let again = lower(&checked, &first.ledger).ok()?;
    assert_eq!(first.ledger, again.ledger, "{}: the second build changes the ledger", house.display());
    Some((written(&first), written(&again)))
}

fn all() -> Vec<(PathBuf, Files)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    ["examples", "tests/cases"].iter().for_each(|folder| houses(&root.join(folder), &mut found));
    let all: Vec<(PathBuf, Files)> = found
        .into_par_iter()
        .filter_map(|house| {
            let (files, again) = built(&house)?;
            assert!(files == again, "{}: another build has other bytes", house.display());
            Some((house, files))
        })
        .collect();
    assert!(all.len() > 15, "only {} houses build", all.len());
    all
}

fn files(texts: &Files) -> Vec<BuildFile<'_>> {
    texts.iter().map(|(name, bytes)| BuildFile::of(name, bytes.clone())).collect()
}

fn definitions(house: &Path, texts: &Files) -> Vec<BridgeDefinition> {
    let read = |(name, bytes): &(String, Vec<u8>)| {
        read_bridge_json(bytes).unwrap_or_else(|error| panic!("{}: {name}: {error}", house.display()))
    };
    texts.iter().map(read).collect()
}

#[test]
fn what_is_built_reads_back_and_does_not_differ_from_itself() {
    for (house, texts) in all() {
        let read = definitions(&house, &texts);
        for (definition, (name, bytes)) in read.iter().zip(&texts) {
            let mut again = Vec::new();
            housewright::emit::write_definition(&mut again, definition).unwrap();
            assert!(again == *bytes, "{}: {name} reads back as something else", house.display());
        }
        let (old, new) = read_both(files(&texts), files(&texts));
        assert!(review(&old, &new).is_empty(), "{}", house.display());
        assert!(review(&Build::of(&read), &Build::read(files(&texts))).is_empty(), "{}", house.display());
    }
}

#[test]
fn the_review_of_any_two_houses_makes_the_second_of_the_first() {
    let all = all();
    let whole = |build: &[BridgeDefinition]| -> Value {
        build.iter().map(|one| (one.bridge.key.clone(), serde_json::to_value(one).unwrap())).collect()
    };
    all.par_iter().zip(all.par_iter().skip(1)).for_each(|((old_house, old), (new_house, new))| {
        let (before, after) = (definitions(old_house, old), definitions(new_house, new));
        for (before, after) in [(&before, &after), (&after, &before)] {
            let review = review(&Build::of(before), &Build::of(after));
            let reached = apply(&review, before).unwrap();
            assert!(same(&reached, after), "{} {}", old_house.display(), new_house.display());
            let patch = json_patch(&review, before).unwrap();
            assert_eq!(patched(whole(before), &patch), whole(&reached), "{}", old_house.display());
        }
    });
}
