//! Ledgers in real git merges.

use super::{House, build, lamps, numbers, sound};
use housewright::ledger::{Built, FILE_NAME, Keeps, Ledger, resolve_text, write};
use std::fs::File;
use std::io::{Read, Write};
use std::path::Path;
use std::process::Command;

const PROGRAM: &str = env!("CARGO_BIN_EXE_housewright");

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

    fn write(&self, name: &str, text: &str) {
        let mut file = File::create(self.0.path().join(name)).expect("the folder is ours");
        file.write_all(text.as_bytes()).expect("the folder is ours");
    }

    fn commit(&self, ledger: &str) {
        self.write(FILE_NAME, ledger);
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
        let built = built.living().map(|(_, _, it)| (it.unique_id, (it.bridge.to_string(), it.number.get())));
        let resolved = resolve_text(&left, Built::Ours, Keeps::Built(&built.collect()));
        let resolved = resolved.expect("git left two ledgers");
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
fn the_program_is_a_merge_driver() {
    let repository = Repository::new(&lamps(["a", "z"]), &lamps(["a", "m", "z"]), &lamps(["a", "n", "z"]));
    repository.write(".git/info/attributes", "ledger.yaml merge=ledger\n");
    let driver = format!("merge.ledger.driver={PROGRAM} ledger merge %O %A %B");
    assert!(repository.git(&["-c", &driver, "merge", "-q", "--no-edit", "attic"]));
    let ledger = sound(&repository.read(FILE_NAME));
    assert_eq!(
        numbers(&ledger),
        ["a/light wharf 2", "m/light wharf 4", "n/light wharf 5", "z/light wharf 3"]
    );
}

#[test]
fn a_rebase_takes_what_it_rebases_onto_for_built() {
    let repository = Repository::new(&lamps(["a", "z"]), &lamps(["a", "m", "z"]), &lamps(["a", "n", "z"]));
    repository.write(".git/info/attributes", "ledger.yaml merge=ledger\n");
    let driver = format!("merge.ledger.driver={PROGRAM} ledger merge %O %A %B");
    assert!(repository.git(&["-c", &driver, "rebase", "-q", "main", "attic"]));
    let ledger = sound(&repository.read(FILE_NAME));
    assert_eq!(
        numbers(&ledger),
        ["a/light wharf 2", "m/light wharf 4", "n/light wharf 5", "z/light wharf 3"]
    );
}

#[test]
fn a_ledger_that_cannot_be_read_stays_a_conflict() {
    let repository = Repository::new(&lamps(["a", "z"]), &lamps(["a", "m", "z"]), &lamps(["a", "n", "z"]));
    repository.write(FILE_NAME, &repository.read(FILE_NAME).replace("wharf 4", "wharf four"));
    assert!(repository.git(&["commit", "-q", "-a", "-m", "Break the ledger"]));
    let before = repository.read(FILE_NAME);
    repository.write(".git/info/attributes", "ledger.yaml merge=ledger\n");
    let driver = format!("merge.ledger.driver={PROGRAM} ledger merge %O %A %B");
    assert!(!repository.git(&["-c", &driver, "merge", "-q", "--no-edit", "attic"]));
    assert_eq!(repository.read(FILE_NAME), before);
}

#[test]
fn a_conflict_is_resolved_by_the_command() {
    let repository = Repository::new(&lamps(["a", "z"]), &lamps(["a", "m", "z"]), &lamps(["a", "n", "z"]));
    assert!(!repository.git(&["merge", "-q", "attic"]));
    let resolved = Command::new(PROGRAM)
        .args(["ledger", "resolve", ".", "--built", "theirs"])
        .current_dir(repository.0.path())
        .env_clear()
        .output()
        .expect("the program is built");
    assert!(resolved.status.success(), "{resolved:?}");
    let said = String::from_utf8_lossy(&resolved.stderr).into_owned();
    assert_eq!(said, "`m` (light) has endpoint 5 of `wharf` instead of 4\n");
    let ledger = sound(&repository.read(FILE_NAME));
    assert_eq!(
        numbers(&ledger),
        ["a/light wharf 2", "m/light wharf 5", "n/light wharf 4", "z/light wharf 3"]
    );
}
