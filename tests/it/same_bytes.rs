//! The same house on two machines that differ in everything but the house gives the same bytes: every file of the build,
//! the ledger, the review, and all that is printed.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A machine: what it sets before a command, and how it checks texts out.
struct Machine {
    folder: &'static str,
    environment: &'static [(&'static str, &'static str)],
    umask: &'static str,
    threads: &'static str,
    line_end: &'static str,
    reversed: bool,
}

const PLAIN: Machine = Machine {
    folder: "house",
    environment: &[],
    umask: "022",
    threads: "1",
    line_end: "\n",
    reversed: false,
};

const OTHER: Machine = Machine {
    folder: "Häuser am Fluss/another place",
    environment: &[
        ("LANG", "tr_TR.UTF-8"),
        ("LC_ALL", "de_AT@euro"),
        ("LANGUAGE", "ja"),
        ("TZ", "Pacific/Chatham"),
        ("HOME", "/nonexistent"),
        ("USER", "nobody"),
        ("HOSTNAME", "elsewhere"),
        ("SOURCE_DATE_EPOCH", "1"),
        ("RUST_BACKTRACE", "full"),
    ],
    umask: "077",
    threads: "7",
    line_end: "\r\n",
    reversed: true,
};

fn files(folder: &Path, within: &str, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder.join(within)).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        let path = if within.is_empty() { name } else { format!("{within}/{name}") };
        if entry.path().is_dir() {
            files(folder, &path, found);
        } else {
            found.push(path);
        }
    }
    found.sort();
}

/// Lays an example out as a machine would check it out.
fn lay(example: &str, machine: &Machine, house: &Path) {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(example);
    let mut paths = Vec::new();
    files(&from, "", &mut paths);
    paths.retain(|path| !path.starts_with("build/"));
    if machine.reversed {
        paths.reverse();
    }
    for path in paths {
        let text = std::fs::read_to_string(from.join(&path)).unwrap().replace("\r\n", "\n");
        let to = house.join(&path);
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::write(to, text.replace('\n', machine.line_end)).unwrap();
    }
}

/// Runs a command of the program on a machine, in the folder that holds the house; gives what it prints.
fn run(machine: &Machine, place: &Path, words: &str) -> String {
    let umask = format!("umask {}; exec \"$0\" \"$@\"", machine.umask);
    let output = Command::new("/bin/sh")
        .args(["-c", &umask, env!("CARGO_BIN_EXE_housewright")])
        .args(words.split(' '))
        .args(["--threads", machine.threads])
        .current_dir(place)
        .env_clear()
        .envs(machine.environment.iter().copied())
        .output()
        .unwrap();
    assert!(output.status.code().is_some_and(|code| code < 2), "{words}: {output:?}");
    String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap()
}

/// All that comes out of the two states of the example, by name.
fn outcome(machine: &Machine) -> BTreeMap<String, String> {
    let temporary = tempfile::tempdir().unwrap();
    let place: PathBuf = temporary.path().join(machine.folder);
    let house = place.join("house");
    let mut found = BTreeMap::new();
    for example in ["heron-wharf", "heron-wharf-spring"] {
        lay(example, machine, &house);
        for words in [
            "check house",
            "check house --format json",
            "check house --format sarif",
            "check house --format markdown",
            "check house --format lines",
            "build house --out out",
            "build house --out out",
            "review out house",
        ] {
            let key = format!("{example}: {words} ({})", found.len());
            found.insert(key, run(machine, &place, words));
        }
        let mut made = Vec::new();
        files(&place, "out", &mut made);
        assert!(made.len() >= 2, "{made:?}");
        made.push("house/ledger.yaml".to_owned());
        for path in made {
            let text = std::fs::read_to_string(place.join(&path)).unwrap();
            // The ledger is checked out like the sources where nothing had to be added to it.
            let text = if path.ends_with("ledger.yaml") { text.replace("\r\n", "\n") } else { text };
            found.insert(format!("{example}: {path}"), text);
        }
    }
    found
}

#[test]
fn two_machines_that_differ_in_everything_give_the_same_bytes() {
    let (here, there) = (outcome(&PLAIN), outcome(&OTHER));
    assert!(here.len() > 20, "{:?}", here.keys());
    assert_eq!(here.keys().collect::<Vec<_>>(), there.keys().collect::<Vec<_>>());
    for (name, text) in &here {
        let other = &there[name];
        let at = text.bytes().zip(other.bytes()).take_while(|(a, b)| a == b).count();
        assert!(
            text == other,
            "{name} differs at byte {at}: {:?} and {:?}",
            text.get(at.saturating_sub(40)..text.len().min(at + 80)),
            other.get(at.saturating_sub(40)..other.len().min(at + 80)),
        );
    }
}
