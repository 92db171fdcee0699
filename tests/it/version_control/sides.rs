//! A review says in every form what it compared.

use super::repository::{Lamp, Repository};
use housewright::emit::Digest;

const LAMPS: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];
const OTHERS: [Lamp; 2] = [("bench-lamp", "Vise lamp", 1), LAMPS[1]];

/// The review of two sides, in each form, must hold these; marks of a form and broken lines apart.
fn check(repository: &Repository, sides: &[&str], holds: &[&str]) {
    let texts = ["text", "markdown", "html"].map(|form| {
        let arguments: Vec<&str> =
            ["review"].iter().chain(sides).copied().chain(["--format", form]).collect();
        flat(&repository.housewright(&arguments).1)
    });
    for text in texts {
        for what in holds {
            assert!(text.contains(what), "no `{what}` in\n{text}");
        }
    }
}

/// Text without the marks of a form, in one line, with small letters.
fn flat(text: &str) -> String {
    let text =
        text.replace("<code>", "").replace("</code>", "").replace(['`', '\\'], "").replace("&#x2f;", "/");
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

fn digest(repository: &Repository, name: &str) -> String {
    Digest::of(repository.read(name).as_bytes()).to_string()
}

fn compared(text: &str) -> serde_json::Value {
    serde_json::from_str::<serde_json::Value>(text).unwrap()["compared"].clone()
}

/// A built house that was changed since its commit, with the commit's hash and date.
fn changed() -> (Repository, String, String) {
    let repository = Repository::with(&LAMPS);
    repository.git(&["tag", "-a", "v1", "-m", "First"]);
    let commit = repository.git(&["show", "-s", "--format=%H %cd", "--date=short", "HEAD"]);
    let (hash, date) = commit.trim().split_once(' ').unwrap();
    let (hash, date) = (hash.to_owned(), date.to_owned());
    repository.house(&OTHERS);
    (repository, hash, date)
}

#[test]
fn a_review_says_in_every_form_what_it_compared() {
    let (repository, hash, date) = changed();
    let manifest = digest(&repository, "build/manifest.json");
    let made = format!("housewright {}", env!("CARGO_PKG_VERSION"));
    let commit = format!("commit {} of {date}", &hash[..12]);
    check(
        &repository,
        &["v1:.", "house.yaml"],
        &[&format!("old: house v1:. ({commit})"), "new: house house.yaml"],
    );
    let told = format!("old: build folder HEAD:build ({commit}, {made}, manifest {})", &manifest[..12]);
    check(&repository, &["HEAD:build", "."], &[&told.to_lowercase(), "new: house ."]);
    let told = format!("old: build folder ./build ({made}, manifest {})", &manifest[..12]);
    check(&repository, &["."], &[&told, "new: house ."]);
    let file = digest(&repository, "build/hut.bridge.json");
    let told = format!("new: bridge json build/hut.bridge.json (sha-256 {})", &file[..12]);
    check(&repository, &["v9:house.yaml", "build/hut.bridge.json"], &["old: revision v9:house.yaml", &told]);

    let (_, text) = repository.housewright(&["review", "HEAD:build", ".", "--format", "json"]);
    let old = serde_json::json!({
        "kind": "build-folder", "given": "HEAD:build", "program": made, "sha256": manifest,
        "commit": { "hash": hash, "date": date },
    });
    assert_eq!(compared(&text), serde_json::json!({ "old": old, "new": { "kind": "house", "given": "." } }));
}

#[test]
fn the_review_of_a_build_names_the_one_it_replaces_and_no_path() {
    let (repository, ..) = changed();
    let manifest = digest(&repository, "build/manifest.json");
    let absolute = repository.folder().join("build").display().to_string();
    let (code, told) = repository.housewright(&["build", ".", "--out", &absolute]);
    assert_eq!(code, 0, "{told}");
    let last =
        format!("last build (housewright {}, manifest {})", env!("CARGO_PKG_VERSION"), &manifest[..12]);
    for text in [&told, &repository.read("build/review.md"), &repository.read("build/review.html")] {
        let text = flat(text);
        assert!(text.contains(&last) && text.contains("new: this build"), "{text}");
        assert!(!text.contains(&absolute.to_lowercase()), "{text}");
    }
    let compared = compared(&repository.read("build/review.json"));
    assert_eq!(compared["old"]["sha256"], manifest.as_str());
    assert!(compared["old"].get("given").is_none() && compared["new"]["kind"] == "this-build", "{compared}");
}
