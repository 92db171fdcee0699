//! A pipe that nobody reads changes no exit code.

use std::process::Command;

/// Runs a command whose output nobody reads; its exit code.
fn check(words: &[&str], expected: i32) {
    let (reader, writer) = std::io::pipe().expect("the system has pipes");
    drop(reader);
    let output = Command::new(env!("CARGO_BIN_EXE_housewright"))
        .args(words)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env_clear()
        .stdout(writer)
        .output()
        .expect("the program is built");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!((output.status.code(), said.contains("error")), (Some(expected), false), "{words:?}: {said}");
}

#[test]
fn the_exit_code_is_that_of_the_findings() {
    check(&["check", "tests/cases/check/tab"], 1);
    check(&["check", "tests/cases/check/tab", "examples/heron-wharf", "--format", "json"], 1);
    check(&["check", "examples/heron-wharf"], 0);
    check(&["list", "rules"], 0);
    check(&["--help"], 0);
}

#[cfg(target_os = "linux")]
#[test]
fn a_help_that_cannot_be_printed_says_why() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").expect("Linux has it");
    let mut program = Command::new(env!("CARGO_BIN_EXE_housewright"));
    let output =
        program.args(["check", "--help"]).env_clear().stdout(full).output().expect("the program is built");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.code() == Some(2) && said.contains("cannot use standard output"), "{said}");
}

/// A build that is done is done, whether or not somebody could be told.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_the_output_does_not_hide_that_a_build_is_in_place() {
    let place = tempfile::tempdir().expect("there is room");
    let house = "housewright: 1\nhouse: { id: hut, name: Hut }\nbuses: { main: {} }\n\
        bridges: { hut: { name: Hut, capacity: 4 } }\nrooms: { hut: { name: Hut, appliances: { lamp: { name: Lamp, \
        class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } } } } }\n";
    std::fs::write(place.path().join("house.yaml"), house).expect("the folder is ours");
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").expect("Linux has it");
    let output = Command::new(env!("CARGO_BIN_EXE_housewright"))
        .args(["build", "."])
        .current_dir(place.path())
        .env_clear()
        .stdout(full)
        .output()
        .expect("the program is built");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.code() == Some(2) && said.contains("in place all the same"), "{said}");
    assert!(place.path().join("build/manifest.json").exists());
}
