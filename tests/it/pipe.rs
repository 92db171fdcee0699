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
}
