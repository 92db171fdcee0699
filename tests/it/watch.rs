//! `check --watch`: every way of saving a file is seen, and said once.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// Far more than a check takes, also on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);
/// Long enough for a check that should not come.
const SHORT: Duration = Duration::from_millis(400);

const ROOT: &str = "\
housewright: 1
house: { id: hut, name: Hut }
buses: { main: {} }
bridges: { hut: { name: Hut, capacity: 10 } }
include: [rooms/*.yaml]
";

fn room(key: &str, class: &str) -> String {
    format!(
        "rooms:\n  {key}:\n    name: {key}\n    appliances:\n      {key}-lamp:\n        name: {key} lamp\n        class: {class}\n        \
         points:\n          switching: {{ command: 1/1/{0}, feedback: 1/4/{0} }}\n",
        key.len()
    )
}

/// A program that watches, and what it prints: `out: …` and `err: …`, a line each.
struct Watching {
    child: Child,
    lines: Receiver<String>,
}

impl Watching {
    fn new(house: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_housewright"))
            .args(["check", "--watch", "--format", "lines"])
            .arg(house)
            .env_clear()
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (send, lines) = channel();
        let pass_on = |stream: Box<dyn std::io::Read + Send>, name: &'static str| {
            let send = send.clone();
            std::thread::spawn(move || {
                for line in BufReader::new(stream).lines().map_while(Result::ok) {
                    let _ = send.send(format!("{name}: {line}"));
                }
            });
        };
        pass_on(Box::new(child.stdout.take().unwrap()), "out");
        pass_on(Box::new(child.stderr.take().unwrap()), "err");
        let watching = Self { child, lines };
        watching.until(&["err: watching"]);
        watching
    }

    /// Waits for lines that hold these texts, and gives all up to the last of them. What is found and what is said of it
    /// come on two streams, in either order.
    fn until(&self, texts: &[&str]) -> Vec<String> {
        let mut seen: Vec<String> = Vec::new();
        while !texts.iter().all(|text| seen.iter().any(|line| line.contains(text))) {
            match self.lines.recv_timeout(PATIENCE) {
                Ok(line) => seen.push(line),
                Err(error) => panic!("not all of {texts:?} ({error}) but {seen:#?}"),
            }
        }
        seen
    }

    /// Takes what is still on its way.
    fn drain(&self) {
        while self.lines.recv_timeout(SHORT).is_ok() {}
    }

    fn is_silent(&self) {
        let line = self.lines.recv_timeout(SHORT);
        assert!(line.is_err(), "{line:?}");
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// As editors save: a new file, renamed over the old one.
fn rename_over(path: &Path, text: &str) {
    let new = path.with_extension("yaml~");
    std::fs::write(&new, text).unwrap();
    std::fs::rename(&new, path).unwrap();
}

#[test]
fn every_way_of_saving_is_seen() {
    let temporary = tempfile::tempdir().unwrap();
    let house = temporary.path();
    std::fs::write(house.join("house.yaml"), ROOT).unwrap();
    std::fs::create_dir(house.join("rooms")).unwrap();
    let hall = house.join("rooms/hall.yaml");
    std::fs::write(&hall, room("hall", "on-off-light")).unwrap();
    let watching = Watching::new(house);

    // Written in place, and with as many bytes as before.
    std::fs::write(&hall, room("hall", "on-off-lihgt")).unwrap();
    let found = "/rooms/hall.yaml:7:16: error[unknown-class]";
    // On a busy machine a file may be saved while it is read: then it is seen without its name.
    let mut all = watching.until(&["checked again", found]);

    rename_over(&hall, &room("hall", "on-off-light"));
    let seen = watching.until(&["checked again"]);
    assert!(!seen.iter().any(|line| line.contains("error[")), "{seen:#?}");
    all.extend(seen);
    rename_over(&hall, &room("hall", "on-of-light"));
    all.extend(watching.until(&["checked again", found]));
    assert!(all.iter().any(|line| line.contains("`rooms/hall.yaml` changed: checked again")), "{all:#?}");

    // A save that changes nothing that is found.
    rename_over(&hall, &(room("hall", "on-of-light") + "# seen\n"));
    watching.until(&["the same findings"]);

    // A file that an include meets comes, and goes.
    std::fs::write(house.join("rooms/attic.yaml"), room("attic", "on-of-light")).unwrap();
    watching.until(&["checked again", "/rooms/attic.yaml:7:16: error[unknown-class]"]);
    std::fs::remove_file(house.join("rooms/attic.yaml")).unwrap();
    watching.until(&["checked again", "/rooms/hall.yaml:7:16: error["]);

    // What has nothing to do with the house is not spoken of.
    watching.drain();
    std::fs::write(house.join("notes.txt"), "milk").unwrap();
    watching.is_silent();
}

#[test]
fn a_file_is_seen_as_deep_as_it_is_read() {
    let temporary = tempfile::tempdir().unwrap();
    let house = temporary.path();
    std::fs::write(house.join("house.yaml"), ROOT.replace("rooms/*.yaml", "'**/*.yaml'")).unwrap();
    let deep = house.join(vec!["d"; 20].join("/"));
    std::fs::create_dir_all(&deep).unwrap();
    std::fs::write(house.join("hall.yaml"), room("hall", "on-off-light")).unwrap();
    let watching = Watching::new(house);
    std::fs::write(deep.join("attic.yaml"), room("attic", "on-of-light")).unwrap();
    watching.until(&["checked again", "/attic.yaml:7:16: error[unknown-class]"]);
}

#[test]
fn a_house_that_is_gone_for_a_moment_is_found_again() {
    let temporary = tempfile::tempdir().unwrap();
    let root = temporary.path().join("house.yaml");
    std::fs::write(&root, ROOT).unwrap();
    let watching = Watching::new(temporary.path());
    std::fs::remove_file(&root).unwrap();
    watching.until(&["holds no `house.yaml`"]);
    std::fs::write(&root, ROOT.replace("house: {", "hose: {")).unwrap();
    watching.until(&["/house.yaml:2:1: error[unknown-key]"]);
}

/// Memory of one look stays for the next: a fifth of the time that a large house takes.
#[test]
#[cfg(target_os = "linux")]
fn memory_is_kept_from_look_to_look() {
    let temporary = tempfile::tempdir().unwrap();
    std::fs::write(temporary.path().join("house.yaml"), ROOT).unwrap();
    let watching = Watching::new(temporary.path());
    let environment = std::fs::read_to_string(format!("/proc/{}/environ", watching.child.id())).unwrap();
    assert_eq!(environment, "MIMALLOC_PURGE_DELAY=-1\0");
}
