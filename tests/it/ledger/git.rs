//! Ledgers in real git merges.

use super::{House, build, lamps, numbers, sound};
use housewright::ledger::{Built, FILE_NAME, Ledger, merge_texts, resolve_text, write};
use std::fs::File;
use std::io::{Read, Write};
use std::path::Path;
use std::process::Command;

/// A repository with the ledger of one house on three commits: `base`, and the branches `main` and `attic`.
struct Repository(tempfile::TempDir);

impl Repository {
    fn new(base: &House, main: &House, attic: &House) -> Self {
        let repository = Self(tempfile::tempdir().expect("a folder for the test"));
        repository.git(&["init", "-q", "-b", "main"]);
        let base = build(&Ledger::new("heron-wharf"), base).next;
        repository.commit(&write(&base));
        repository.git(&["checkout", "-q", "-b", "attic"]);
        repository.commit(&write(&build(&base, attic).next));
        repository.git(&["checkout", "-q", "main"]);
        repository.commit(&write(&build(&base, main).next));
        repository
    }

    fn git(&self, arguments: &[&str]) -> bool {
        let output = Command::new("git")
            .args(["-c", "user.name=Ada", "-c", "user.email=ada@example.org"])
            .args(arguments)
            .current_dir(self.0.path())
            .env_clear()
            .env("PATH", "/usr/local/bin:/usr/bin:/bin")
            .env("HOME", self.0.path())
            .output()
            .expect("git is installed");
        output.status.success()
    }

    fn commit(&self, ledger: &str) {
        let mut file = File::create(self.0.path().join(FILE_NAME)).expect("the folder is ours");
        file.write_all(ledger.as_bytes()).expect("the folder is ours");
        assert!(self.git(&["add", "-A"]) && self.git(&["commit", "-q", "-m", "Build"]));
    }

    fn read(&self, name: impl AsRef<Path>) -> String {
        let mut text = String::new();
        let mut file = File::open(self.0.path().join(name)).expect("git wrote it");
        file.read_to_string(&mut text).expect("git wrote text");
        text
    }
}

/// Merges `attic` into `main` without a driver, and says what resolving what git left gives.
fn check(base: &House, main: &House, attic: &House, expected: &[&str]) {
    for style in ["merge", "diff3", "zdiff3"] {
        let repository = Repository::new(base, main, attic);
        let clean = repository.git(&["-c", &format!("merge.conflictStyle={style}"), "merge", "-q", "attic"]);
        let left = repository.read(FILE_NAME);
        assert_eq!(left.contains("<<<<<<<"), !clean);
        let before = build(&Ledger::new("heron-wharf"), base).next;
        let built = build(&before, main).next;
        let is_built = |it: &housewright::ledger::Identity| built.living().any(|(_, _, other)| other == it);
        let resolved = resolve_text(&left, Built::Ours, is_built).expect("git left two ledgers");
        assert_eq!(numbers(&sound(&resolved.text)), expected, "{style}: {left}");
    }
}

#[test]
fn lines_that_git_merged_are_resolved() {
    let base = lamps(["a", "h", "p", "y"]);
    let main = lamps(["a", "b", "h", "p", "y"]);
    let attic = lamps(["a", "h", "p", "x", "y"]);
    check(
        &base,
        &main,
        &attic,
        &[
            "a/light wharf 2",
            "b/light wharf 6",
            "h/light wharf 3",
            "p/light wharf 4",
            "x/light wharf 7",
            "y/light wharf 5",
        ],
    );
}

#[test]
fn lines_that_git_could_not_merge_are_resolved() {
    check(
        &lamps(["a", "z"]),
        &lamps(["a", "m", "z"]),
        &lamps(["a", "n", "z"]),
        &["a/light wharf 2", "m/light wharf 4", "n/light wharf 5", "z/light wharf 3"],
    );
}

#[test]
fn a_merge_driver_gets_what_it_needs_from_git() {
    let (main, attic) = (lamps(["a", "m", "z"]), lamps(["a", "n", "z"]));
    let repository = Repository::new(&lamps(["a", "z"]), &main, &attic);
    // The driver keeps what git hands it and calls the merge failed; what the program then makes of it is told here.
    let mut attributes =
        File::create(repository.0.path().join(".git/info/attributes")).expect("git made the folder");
    attributes.write_all(b"ledger.yaml merge=housewright-ledger\n").expect("the folder is ours");
    let driver =
        "merge.housewright-ledger.driver=cp %O .git/base; cp %A .git/ours; cp %B .git/theirs; exit 1";
    assert!(!repository.git(&["-c", driver, "merge", "-q", "attic"]));
    let read = |name| repository.read(format!(".git/{name}"));
    let merged =
        merge_texts(&read("base"), &read("ours"), &read("theirs"), Built::Ours).expect("three sound ledgers");
    let expected = ["a/light wharf 2", "m/light wharf 4", "n/light wharf 5", "z/light wharf 3"];
    assert_eq!(numbers(&sound(&merged.text)), expected);
    assert_eq!(merged.changes.len(), 1);
}
