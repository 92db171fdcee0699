//! What a build leaves in the file system, and what it refuses to touch.

#![allow(clippy::indexing_slicing, reason = "a test may fail where the program may not")]

mod definition;
mod edits;
mod folder;
mod locking;
mod manifest;

use housewright::emit::{
    Build, Content, Digest, EmitError, LedgerText, Outcome, Output, Patience, Role, SourceFile, Target,
};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// A folder with a house and its output folder.
struct Place(tempfile::TempDir);

/// What a build of the tests is made of.
#[derive(Clone, Default)]
struct Parts<'a> {
    house: Option<&'a str>,
    source: &'a str,
    outputs: &'a [(&'a str, &'a str)],
    review: &'a str,
    ledger: Option<&'a str>,
}

impl Place {
    fn new() -> Self {
        Self(tempfile::tempdir().expect("a folder for the test"))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn out(&self) -> PathBuf {
        self.path("out")
    }

    fn write(&self, name: &str, text: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("it is in the folder")).expect("the folder is ours");
        let mut file = File::create(path).expect("the folder is ours");
        file.write_all(text.as_bytes()).expect("the folder is ours");
    }

    fn read(&self, name: &str) -> String {
        read(&self.path(name))
    }

    /// Every file below the folder, by name.
    fn files(&self) -> Vec<String> {
        let mut names = Vec::new();
        collect(self.0.path(), self.0.path(), &mut names);
        names.sort();
        names
    }

    fn build(&self, parts: &Parts<'_>) -> Result<Outcome, EmitError> {
        let ledger_path = self.path("ledger.yaml");
        let as_read = ledger_path.exists().then(|| self.read("ledger.yaml"));
        let target = Target::open(&self.out(), parts.house.unwrap_or("heron-wharf"), Patience::Refuse)?;
        let made = parts.outputs.iter().map(|(name, text)| Output {
            name: (*name).to_owned(),
            role: Role::Made,
            content: Content::Written(Box::new(|file| file.write_all(text.as_bytes()))),
        });
        let review = Output {
            name: "review.md".to_owned(),
            role: Role::Review,
            content: Content::Bytes(parts.review.as_bytes().to_owned()),
        };
        target.put(&Build {
            formats: BTreeMap::from([("housewright-bridge".to_owned(), 1)]),
            sources: vec![SourceFile {
                path: "house.yaml".to_owned(),
                sha256: Digest::of(parts.source.as_bytes()),
            }],
            ledger: LedgerText {
                path: &ledger_path,
                name: "ledger.yaml",
                as_read: as_read.as_deref().map(str::as_bytes),
                next: parts.ledger,
            },
            outputs: made.chain([review]).collect(),
            numbers: BTreeMap::new(),
            unshown: Vec::new(),
        })
    }
}

const FIRST: Parts<'static> = Parts {
    house: None,
    source: "one",
    outputs: &[("wharf.bridge.json", "{\"one\":1}"), ("papers/kitchen.html", "<p>one")],
    review: "new",
    ledger: Some("housewright-ledger: 1\n"),
};

const SECOND: Parts<'static> =
    Parts { source: "two", outputs: &[("wharf.bridge.json", "{\"two\":2}")], review: "changed", ..FIRST };

fn read(path: &Path) -> String {
    let mut text = String::new();
    File::open(path).and_then(|mut file| file.read_to_string(&mut text)).expect("it is there, and text");
    text
}

fn collect(top: &Path, folder: &Path, names: &mut Vec<String>) {
    for entry in fs::read_dir(folder).expect("the folder is ours") {
        let path = entry.expect("the folder is ours").path();
        let name = path.strip_prefix(top).expect("it is below").to_string_lossy().into_owned();
        if path.is_dir() && !path.is_symlink() {
            collect(top, &path, names);
        } else {
            names.push(name);
        }
    }
}
