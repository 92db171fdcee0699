//! `housewright ledger rename` on a ledger in a folder.

use super::{build, lamps, numbers, sound};
use housewright::ledger::{FILE_NAME, Ledger, write};
use std::fs::File;
use std::io::{Read, Write};
use std::process::Command;

const HOUSE: &str = "\
housewright: 1
house: { id: heron-wharf, name: Heron Wharf }
bridges: { wharf: { name: Heron Wharf, capacity: 10 } }
rooms:
  loft:
    name: Loft
    appliances:
      b: { name: Beam, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      z: { name: Sill, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
";

/// Renames in a house that had `a` and `b` and has `b` and `z` now; what the command says and what is in the ledger.
fn check(arguments: [&str; 2], succeeds: bool, says: &str, expected: &[&str]) {
    assert_eq!(checked(HOUSE, arguments, succeeds, says), expected);
}

fn checked(house: &str, arguments: [&str; 2], succeeds: bool, says: &str) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = folder.path().join(FILE_NAME);
    let before = build(&Ledger::new("heron-wharf"), &lamps(["a", "b"])).next;
    let text = write(&build(&before, &lamps(["b", "z"])).next);
    File::create(&path).and_then(|mut file| file.write_all(text.as_bytes())).expect("the folder is ours");
    File::create(folder.path().join("house.yaml"))
        .and_then(|mut file| file.write_all(house.as_bytes()))
        .expect("the folder is ours");
    let output = Command::new(env!("CARGO_BIN_EXE_housewright"))
        .args(["ledger", "rename"])
        .args(arguments)
        .current_dir(folder.path())
        .env_clear()
        .output()
        .expect("the program is built");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!((output.status.success(), said.contains(says)), (succeeds, true), "{said}");
    let mut text = String::new();
    File::open(&path).and_then(|mut file| file.read_to_string(&mut text)).expect("it is there");
    numbers(&sound(&text))
}

#[test]
fn a_rename_told_too_late_is_told_by_a_command() {
    check(["a", "z"], true, "`z` has what `a` had", &["b/light wharf 3", "z/light wharf 2"]);
    check(["b", "z"], false, "write `formerly: b`", &["b/light wharf 3", "z/light wharf 4"]);
    check(["a", "y"], false, "the house has no appliance `y`", &["b/light wharf 3", "z/light wharf 4"]);
    check(["c", "z"], false, "remembers nothing of `c`", &["b/light wharf 3", "z/light wharf 4"]);
}

#[test]
fn a_misspelt_house_is_not_the_folder_that_the_program_runs_in() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = folder.path().join(FILE_NAME);
    let text =
        write(&build(&Ledger::new("heron-wharf"), &lamps(["a", "b"])).next).replace("wharf 3", "wharf 2");
    File::create(&path).and_then(|mut file| file.write_all(text.as_bytes())).expect("the folder is ours");
    let output = Command::new(env!("CARGO_BIN_EXE_housewright"))
        .args(["ledger", "resolve", "heron-whaf"])
        .current_dir(folder.path())
        .env_clear()
        .output()
        .expect("the program is built");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(!output.status.success() && said.contains("there is no house at `heron-whaf`"), "{said}");
    let mut left = String::new();
    File::open(&path).and_then(|mut file| file.read_to_string(&mut left)).expect("it is there");
    assert_eq!(left, text, "the ledger of the folder is as it was");
}

/// A house whose beam was built as an outlet by mistake, and is a light again.
#[test]
fn a_class_changed_by_mistake_is_taken_back_by_a_command() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let run = |arguments: &[&str]| {
        let program = Command::new(env!("CARGO_BIN_EXE_housewright"));
        let output = { program }.args(arguments).current_dir(folder.path()).env_clear().output();
        let output = output.expect("the program is built");
        (output.status.success(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let write = |text: &str| {
        let file = File::create(folder.path().join("house.yaml"));
        file.and_then(|mut file| file.write_all(text.as_bytes())).expect("the folder is ours");
    };
    let living = || {
        let mut text = String::new();
        let file = File::open(folder.path().join(FILE_NAME));
        file.and_then(|mut file| file.read_to_string(&mut text)).expect("it is there");
        numbers(&sound(&text))
    };
    write(HOUSE);
    assert!(run(&["build"]).0);
    write(&HOUSE.replacen("on-off-light", "on-off-outlet", 1));
    assert!(run(&["build"]).0);
    assert_eq!(living(), ["b/main wharf 4", "z/main wharf 3"]);
    let (done, said) = run(&["ledger", "rename", "b", "b"]);
    assert!(!done && said.contains("`b` has an endpoint of its device type already"), "{said}");
    write(HOUSE);
    let (done, said) = run(&["ledger", "rename", "b", "b"]);
    assert!(done && said.contains("`b` has again what it had before"), "{said}");
    assert!(run(&["build"]).0);
    assert_eq!(living(), ["b/main wharf 2", "z/main wharf 3"]);
}

/// Across a class change a rename would bring nothing back, and what the new key has would be lost with it.
#[test]
fn a_rename_to_another_kind_of_device_is_refused() {
    let house = |class: &str| HOUSE.replacen("on-off-light", class, 1);
    checked(
        &house("on-off-outlet"),
        ["a", "b"],
        false,
        "nothing that `a` had is of the bridge and device types of `b`",
    );
    checked(&house("on-of-light"), ["a", "z"], false, "the house has errors, so it is not known what `z` is");
}
