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

/// A house that was built in one commit, and has a lamp more and no ledger in the next.
fn without_ledger() -> Repository {
    let repository = Repository::new();
    repository.write(".gitignore", "build/\n");
    repository.house(&LAMPS);
    repository.build();
    repository.commit("Build");
    repository.house(&[LAMPS[0], LAMPS[1], ("attic-lamp", "Attic lamp", 5)]);
    repository.git(&["rm", "-q", "ledger.yaml"]);
    repository.commit("Add the attic lamp");
    repository
}

#[test]
fn a_ledger_that_is_gone_is_told_first_and_never_taken_for_an_unchanged_one() {
    let repository = without_ledger();
    let (code, said) = repository.housewright(&["review", ".", "--since", "HEAD~1", "--stop-at", "lost"]);
    assert_eq!(code, 2, "{said}");
    let told = flat(&said);
    assert!(told.contains("ledger.yaml is gone, and head~1:. has one"), "{said}");
    assert!(told.contains("take it back from version control"), "{said}");
    let (code, said) = repository.housewright(&["review", "."]);
    assert_eq!(code, 2, "{said}");
    let told = flat(&said);
    assert!(told.contains("./ledger.yaml is gone, and ./build holds a build of this house"), "{said}");
    assert!(!told.contains("no change"), "{said}");
}

#[test]
fn a_number_that_the_new_ledger_has_forgotten_is_told() {
    let repository = Repository::new();
    repository.write(".gitignore", "build/\n");
    repository.house(&LAMPS);
    repository.build();
    repository.commit("Build");
    repository.house(&[LAMPS[0], LAMPS[1], ("attic-lamp", "Attic lamp", 5)]);
    repository.build();
    repository.commit("Add the attic lamp");
    repository.git(&["revert", "--no-edit", "HEAD"]);
    let since = ["review", ".", "--since", "HEAD~1", "--brief"];
    let (code, said) = repository.housewright(&since);
    assert_eq!(code, 2, "{said}");
    let forgotten = "endpoint 4 of hut, which attic-lamp (main) had in head~1:., is forgotten";
    assert!(flat(&said).contains(&format!("{forgotten}: its number could be given again")), "{said}");
    // The next build knows from the last one that it was given, and not what it was.
    let ledger = repository.read("ledger.yaml");
    repository.write(
        "ledger.yaml",
        &format!("{ledger}retired:\n  (unknown):\n  - endpoint: hut 5 - 00112233445566778899aabbccddeeff\n"),
    );
    let (code, said) = repository.housewright(&since);
    assert_eq!(code, 2, "{said}");
    assert!(flat(&said).contains(&format!("{forgotten}: it could not be brought back")), "{said}");
    repository.write("ledger.yaml", &ledger);
    repository.house(&[LAMPS[0], LAMPS[1], ("cellar-lamp", "Cellar lamp", 7)]);
    repository.git(&["checkout", "-q", "HEAD~1", "ledger.yaml"]);
    assert_eq!(repository.housewright(&since).0, 0);
    repository.housewright(&["build", "."]);
    repository.commit("Take the line back");
    assert!(repository.read("ledger.yaml").contains("  - main: hut 4 "));
    // Somebody tidies up what is retired.
    let ledger = repository.read("ledger.yaml");
    repository.write(
        "ledger.yaml",
        &ledger.split("retired:").next().unwrap_or_default().replace("hut 5 ", "hut 4 "),
    );
    let (code, said) = repository.housewright(&["review", ".", "--since", "HEAD", "--brief"]);
    assert_eq!(code, 2, "{said}");
    assert!(flat(&said).contains("is cellar-lamp now: its number was given again"), "{said}");
}

#[test]
fn a_revision_that_was_not_built_has_lost_nothing() {
    let repository = Repository::new();
    repository.write(".gitignore", "build/\n");
    repository.house(&LAMPS);
    repository.commit("The description");
    repository.house(&[("attic-lamp", "Attic lamp", 5), OTHERS[0], LAMPS[1]]);
    repository.build();
    repository.commit("Build");
    let (code, said) = repository.housewright(&["review", ".", "--since", "HEAD~1", "--stop-at", "lost"]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("added") && said.contains("relabelled"), "{said}");
    check(&repository, &[".", "--since", "HEAD~1"], &["it was not built (it has no ledger.yaml)"]);
}
