//! What a build step is told where files cannot be read, and where a house lies elsewhere.

use std::path::Path;
use std::process::{Command, Output};

const HEAD: &str = "housewright: 1\nhouse: { id: hut, name: Hut }\nbuses: { main: {} }\n\
    bridges: { hut: { name: Hut, capacity: 4 } }\n";
const LAMP: &str = "rooms: { hut: { name: Hut, appliances: { lamp: { name: Lamp, class: on-off-light, points: { switching: \
    { command: 1/1/1, feedback: 1/4/1 } } } } } }\n";

/// Writes a house into a new folder.
fn house(folder: &Path, rest: &str) {
    std::fs::create_dir(folder).expect("the folder is ours");
    std::fs::write(folder.join("house.yaml"), format!("{HEAD}{rest}")).expect("the folder is ours");
}

fn run(folder: &Path, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_housewright"));
    command.args(words).current_dir(folder).env_clear();
    command.output().expect("the program is built")
}

/// A link to itself cannot be read by anybody.
#[cfg(unix)]
#[test]
fn a_file_that_cannot_be_read_is_2_also_among_several_houses() {
    let place = tempfile::tempdir().expect("there is room");
    house(&place.path().join("sound"), LAMP);
    house(&place.path().join("lacking"), &format!("{LAMP}include: attic.yaml\n"));
    let link = place.path().join("lacking/attic.yaml");
    std::os::unix::fs::symlink("attic.yaml", link).expect("the folder is ours");
    let check = |words: &[&str], expected| {
        let output = run(place.path(), words);
        let told = String::from_utf8_lossy(&output.stdout).into_owned();
        assert_eq!((output.status.code(), told.contains("unreadable-file")), expected, "{words:?}: {told}");
    };
    check(&["check", "sound"], (Some(0), false));
    check(&["check", "lacking"], (Some(2), true));
    check(&["check", "sound", "lacking"], (Some(2), true));
    check(&["check", "lacking", "sound"], (Some(2), true));
    check(&["build", "lacking", "--out", "out", "--format", "lines"], (Some(2), true));
}

/// A house that was built, and its ledger.
fn built_hut() -> (tempfile::TempDir, std::path::PathBuf) {
    let place = tempfile::tempdir().expect("there is room");
    house(&place.path().join("hut"), LAMP);
    assert_eq!(run(place.path(), &["build", "hut"]).status.code(), Some(0));
    let ledger = place.path().join("hut/ledger.yaml");
    (place, ledger)
}

/// What is there and is no ledger is told as what it is, and not as gone.
#[test]
fn a_ledger_that_is_a_folder_or_far_too_large_is_told_once() {
    let (place, ledger) = built_hut();
    let check = |what: &str| {
        for command in ["check", "build"] {
            let output = run(place.path(), &[command, "hut", "--format", "lines"]);
            let told = [output.stdout, output.stderr].concat();
            let told = String::from_utf8_lossy(&told);
            assert!(told.contains(what) && told.contains("put the file of the last build back"), "{told}");
            assert!(told.matches("error").count() == 1 && !told.contains("is gone"), "{told}");
        }
    };
    std::fs::remove_file(&ledger).and_then(|()| std::fs::create_dir(&ledger)).expect("the folder is ours");
    check("no file");
    std::fs::remove_dir(&ledger).expect("the folder is ours");
    let large = std::fs::File::create(&ledger).and_then(|file| file.set_len(1 << 27));
    large.expect("it takes no room on the disk");
    check("more than 67108864 bytes");
}

/// What cannot be read has forgotten nothing. Who may read everything has no such ledger.
#[cfg(unix)]
#[test]
fn a_ledger_without_permission_is_told_once() {
    use std::os::unix::fs::PermissionsExt as _;
    let (place, ledger) = built_hut();
    std::fs::set_permissions(&ledger, std::fs::Permissions::from_mode(0o0)).expect("the folder is ours");
    let output = run(place.path(), &["check", "hut"]);
    let told = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = if std::fs::read(&ledger).is_ok() { "no findings" } else { "1 error" };
    assert!(told.contains(&format!("{errors} in 1 appliance")), "{told}");
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

/// A path with `..` in it is none that a platform finds in its repository.
#[test]
fn a_log_of_a_house_that_lies_elsewhere_has_paths_within_the_house() {
    let place = tempfile::tempdir().expect("there is room");
    house(&place.path().join("hut"), "rooms: { hut: { name: Hut } }\n");
    std::fs::create_dir(place.path().join("here")).expect("the folder is ours");
    let artifact = |folder: &str, given: &str| {
        let output = run(&place.path().join(folder), &["check", given, "--format", "sarif"]);
        let log: serde_json::Value = serde_json::from_slice(&output.stdout).expect("it is JSON");
        let location = &log["runs"][0]["results"][0]["locations"][0]["physicalLocation"];
        location["artifactLocation"].to_string()
    };
    assert_eq!(artifact("here", "../hut"), r#"{"uri":"house.yaml","uriBaseId":"HOUSE"}"#);
    assert_eq!(artifact(".", "hut"), r#"{"uri":"hut/house.yaml","uriBaseId":"RUN"}"#);
}

/// As many bytes as a line may have are not more than it may have.
#[test]
fn a_line_of_telegrams_has_64_kib_at_most() {
    let place = tempfile::tempdir().expect("there is room");
    let decode = |bytes: usize| {
        let (file, telegram) = (place.path().join("line"), "1.001 01");
        let line = telegram.to_owned() + &" ".repeat(bytes - telegram.len() - 1) + "\n";
        std::fs::write(&file, line).expect("the folder is ours");
        let mut command = Command::new(env!("CARGO_BIN_EXE_housewright"));
        command.arg("decode").env_clear().stdin(std::fs::File::open(file).expect("it was written"));
        command.output().expect("the program is built").status.code()
    };
    assert_eq!([65_535, 65_536, 65_537].map(decode), [Some(0), Some(0), Some(2)]);
}
