//! Every crate the program is made of is used, and has its reason in DEVELOPERS.md.

use std::collections::BTreeSet;
use std::path::Path;

fn text(path: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

/// The crates under a heading of Cargo.toml that ends in `ending`, by the names they are used under.
fn crates(ending: &str) -> BTreeSet<String> {
    let mut inside = false;
    let mut found = BTreeSet::new();
    for line in text("Cargo.toml").lines() {
        if let Some(heading) = line.strip_prefix('[') {
            inside = heading.trim_end_matches(']').split('.').next_back() == Some(ending);
        } else if let (true, Some((name, _))) = (inside, line.split_once(" = ")) {
            found.insert(name.to_owned());
        }
    }
    found
}

/// The crates that the table in DEVELOPERS.md gives a reason for.
fn reasons() -> BTreeSet<String> {
    let page = text("DEVELOPERS.md");
    let section = page.split("\n## Dependencies\n").nth(1).unwrap().split("\n## ").next().unwrap();
    let rows = section.lines().filter_map(|line| line.strip_prefix("| ")?.split(" | ").next());
    rows.skip(2)
        .flat_map(|names| names.split(", "))
        .map(|name| name.split(" (").next().unwrap().to_owned())
        .collect()
}

fn sources(folder: &Path, all: &mut String) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, all);
        } else {
            all.push_str(&std::fs::read_to_string(path).unwrap());
        }
    }
}

#[test]
fn each_dependency_has_a_reason_and_each_reason_a_dependency() {
    let crates = crates("dependencies");
    assert!(crates.len() > 15, "{crates:?}");
    assert_eq!(crates, reasons());
}

#[test]
fn each_dependency_is_used() {
    let mut all = String::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut all);
    for name in crates("dependencies") {
        let path = format!("{}::", name.replace('-', "_"));
        assert!(all.contains(&path), "nothing in src uses `{name}`");
    }
}
