//! Sides of a review that cannot be read: which, why, what is compared all the same, and the exit code 2.

use super::repository::{Lamp, Repository};
use std::process::Command;

const LAMPS: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];
const OTHERS: [Lamp; 2] = [("bench-lamp", "Vise lamp", 1), LAMPS[1]];

/// The review of two sides must end with 2, say all of these, and never that nothing changed.
fn unread(repository: &Repository, sides: &[&str], says: &[&str]) {
    for form in ["text", "markdown", "json", "html"] {
        let arguments: Vec<&str> =
            ["review"].iter().chain(sides).copied().chain(["--format", form]).collect();
        let (code, text) = repository.housewright(&arguments);
        assert_eq!(code, 2, "{text}");
        assert!(!text.to_lowercase().contains("no change"), "{text}");
        // Lines are broken, and marks are escaped, in some of the forms.
        let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        for what in says.iter().filter(|_| form == "text") {
            assert!(flat(&text).contains(&flat(what)), "no `{what}` in\n{text}");
        }
    }
}

fn built() -> Repository {
    let repository = Repository::with(&LAMPS);
    repository.git(&["mv", "build", "first"]);
    repository.house(&OTHERS);
    repository.build();
    repository
}

fn spoil(repository: &Repository, name: &str, from: &str, to: &str) {
    let text = repository.read(name);
    assert!(text.contains(from), "{name} has no `{from}`");
    repository.write(name, &text.replacen(from, to, 1));
}

#[test]
fn a_build_of_a_newer_format_is_named() {
    let repository = built();
    spoil(&repository, "first/hut.bridge.json", "\"version\":1", "\"version\":9");
    let file = "first/hut.bridge.json";
    unread(
        &repository,
        &[file, "build"],
        &["old `hut.bridge.json`: it is of format version 9; this program reads version 1"],
    );
    unread(&repository, &["build", file], &["new `hut.bridge.json`: it is of format version 9"]);
}

#[test]
fn a_format_that_there_never_was_is_named() {
    let repository = built();
    spoil(&repository, "first/hut.bridge.json", "\"version\":1", "\"version\":0");
    unread(
        &repository,
        &["first/hut.bridge.json", "build"],
        &["its format version is 0, which there never was"],
    );
}

#[test]
fn a_truncated_file_is_named_with_its_place() {
    let repository = built();
    let whole = repository.read("first/hut.bridge.json");
    repository.write("first/hut.bridge.json", &whole[..whole.len() / 2]);
    unread(&repository, &["first/hut.bridge.json", "build"], &["it ends in the middle, at line 2, column"]);
}

#[test]
fn a_manifest_that_does_not_fit_its_files_names_the_file() {
    let repository = built();
    spoil(&repository, "first/hut.bridge.json", "Stove lamp", "Stave lamp");
    unread(
        &repository,
        &["first", "build"],
        &["old `first`: `hut.bridge.json` is not as it was built", "take `first` back from version control"],
    );
    std::fs::remove_file(repository.folder().join("first/hut.bridge.json")).expect("it is ours");
    unread(&repository, &["first", "build"], &["old `first`: `hut.bridge.json` is missing"]);
}

#[test]
fn what_still_fits_its_manifest_is_compared() {
    let repository = Repository::new();
    let house = |label: &str| {
        let lamp = |name: &str, at: u8| {
            format!(
                "{{ name: {name}, class: on-off-light, points: {{ switching: {{ command: 1/1/{at}, feedback: 1/4/{at} }} }} "
            )
        };
        format!(
            "housewright: 1\nhouse: {{ id: lock-hut, name: Lock hut }}\nbridges:\n  hut: {{ name: Hut, capacity: 9 }}\n  quay: \
             {{ name: Quay, capacity: 9 }}\nrooms:\n  hut:\n    name: Hut\n    appliances:\n      stove-lamp: {}, bridge: hut }}\n      \
             crane-lamp: {}, bridge: quay }}\n",
            lamp("Stove lamp", 1),
            lamp(label, 2)
        )
    };
    repository.write("house.yaml", &house("Crane lamp"));
    repository.build();
    std::fs::rename(repository.folder().join("build"), repository.folder().join("first"))
        .expect("it is ours");
    repository.write("house.yaml", &house("Jib lamp"));
    repository.build();
    spoil(&repository, "first/hut.bridge.json", "Stove lamp", "Stave lamp");
    let says = [
        "1 change in what could be compared",
        "Crane lamp is now called Jib lamp",
        "`hut.bridge.json` is not as it was built",
    ];
    unread(&repository, &["first", "build"], &says);
}

#[test]
fn a_folder_of_houses_is_told_by_the_house_in_it() {
    let repository = Repository::with(&LAMPS);
    std::fs::create_dir_all(repository.folder().join("huts/one")).expect("it is ours");
    repository.write("huts/one/house.yaml", &repository.read("house.yaml"));
    repository.git(&["add", "huts"]);
    repository.git(&["commit", "-q", "-m", "moved"]);
    let says =
        "it is neither a build nor a house, but holds the house `huts/one` help: name the house itself";
    unread(&repository, &["huts", "build"], &[&format!("old `huts`: {says}")]);
    unread(
        &repository,
        &["HEAD:huts", "build"],
        &[&format!("old `HEAD:huts`: {}", says.replace("huts/one", "one"))],
    );
}

#[test]
fn what_could_not_be_read_stands_on_the_page_with_its_code_marked() {
    let repository = built();
    std::fs::remove_file(repository.folder().join("first/manifest.json")).expect("it is ours");
    let (_, page) = repository.housewright(&["review", "first", "build", "--format", "html"]);
    assert!(page.contains("<h2 id=\"unread\">What could not be compared</h2>"), "{page}");
    assert!(page.contains("<code>first</code>: there is no <code>manifest.json</code>;"), "{page}");
}

#[test]
fn a_build_without_a_manifest_is_compared_by_what_is_there() {
    let repository = built();
    std::fs::remove_file(repository.folder().join("first/manifest.json")).expect("it is ours");
    unread(
        &repository,
        &["first", "build"],
        &["old `first`: there is no `manifest.json`", "Bench lamp is now called Vise lamp"],
    );
    repository.write("first/manifest.json", "{\"format\": \"housewright-manifest\", \"version\": 1");
    unread(
        &repository,
        &["first", "build"],
        &["old `first`: `manifest.json` is cut off", "Bench lamp is now called Vise lamp"],
    );
}

#[test]
fn a_damaged_last_build_stops_only_a_build_with_a_limit() {
    let repository = Repository::with(&LAMPS);
    spoil(&repository, "build/hut.bridge.json", "Stove lamp", "Stave lamp");
    let (code, text) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert_eq!(code, 2, "{text}");
    assert!(
        text.contains("stopped: not everything could be compared") && text.contains("nothing was built"),
        "{text}"
    );
    let (code, text) = repository.housewright(&["build", "."]);
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("note: not everything could be compared"), "{text}");
    assert!(!text.contains("no change"), "{text}");
    assert_eq!(repository.build(), "no change\n");
}

#[test]
fn a_revision_in_which_the_house_does_not_compile_names_its_first_error() {
    let repository = Repository::with(&LAMPS);
    spoil(&repository, "house.yaml", "on-off-light", "on-of-light");
    repository.commit("Mistype a class");
    repository.house(&OTHERS);
    let says = ["old `HEAD:.`: the house has 1 error at house.yaml:", "on-of-light"];
    unread(&repository, &[".", "--since", "HEAD"], &says);
    unread(&repository, &["HEAD:", "."], &says);
    unread(&repository, &["HEAD:", "build"], &says);
}

#[test]
fn a_revision_that_there_is_not_and_a_house_that_was_not_in_one_are_named() {
    let repository = Repository::with(&LAMPS);
    unread(
        &repository,
        &[".", "--since", "v9"],
        &["old `v9:.`: the repository has no revision `v9`", "`git log`"],
    );
    unread(&repository, &["HEAD:house.yml", "."], &["old `HEAD:house.yml`: there is no `house.yml`"]);
    unread(
        &repository,
        &["HEAD:attic", "."],
        &[
            "nothing could be compared",
            "old `HEAD:attic`: `HEAD` has no folder `attic`",
            "`HEAD:.` is the house there",
        ],
    );
    std::fs::create_dir(repository.folder().join("notes")).expect("the folder is ours");
    repository.write("notes/owner.txt", "The lamp over the stove flickers.\n");
    repository.commit("Note what the owner says");
    let says = "old `HEAD:notes`: this folder holds no `house.yaml`";
    unread(&repository, &["HEAD:notes", "."], &[says]);
    unread(&repository, &[".", "--since=--help"], &["the repository has no revision `--help`"]);
}

#[test]
fn a_house_in_no_repository_is_named() {
    let repository = Repository::with(&LAMPS);
    std::fs::rename(repository.folder().join(".git"), repository.folder().join("hidden"))
        .expect("it is ours");
    unread(
        &repository,
        &[".", "--since", "HEAD"],
        &["old `HEAD:.`: `.` is in no git repository", "give two folders instead"],
    );
}

#[test]
fn without_git_the_review_says_so() {
    let repository = Repository::with(&LAMPS);
    let output = Command::new(env!("CARGO_BIN_EXE_housewright"))
        .args(["review", ".", "--since", "HEAD"])
        .current_dir(repository.folder())
        .env_clear()
        .env("PATH", "")
        .output()
        .expect("it is built");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(output.status.code(), Some(2), "{text}");
    assert!(text.contains("`git` cannot be run") && text.contains("install git"), "{text}");
}

#[test]
fn sides_of_every_kind_are_compared_in_any_mix() {
    let repository = built();
    let before = ["first", "first/hut.bridge.json", "HEAD:", "HEAD:.", "HEAD:house.yaml", "HEAD:./"];
    let after = ["build", "build/hut.bridge.json", ".", "house.yaml"];
    for (old, new) in before.iter().flat_map(|old| after.iter().map(move |new| (old, new))) {
        let (code, text) = repository.housewright(&["review", old, new, "--brief"]);
        assert_eq!(code, 0, "{old} {new}: {text}");
        assert!(text.contains("1 change between two builds of 2 appliances"), "{old} {new}: {text}");
    }
    let (code, text) = repository.housewright(&["review"]);
    assert!(
        code == 0 && text.starts_with("Lock hut: no change between two builds of 2 appliances\n"),
        "{text}"
    );
}

#[test]
fn a_file_that_is_none_of_the_houses_hinders_no_review_whatever_its_name() {
    let repository = Repository::with(&LAMPS);
    // No build could have an output of these names.
    for name in ["Offer: hut?.txt", "manifest.json", "plan. "] {
        repository.write(name, "{}");
    }
    repository.commit("Papers");
    let (code, text) = repository.housewright(&["review", ".", "--since", "HEAD"]);
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("no change"), "{text}");
}

#[test]
fn what_a_revision_has_in_a_submodule_is_not_taken_for_nothing() {
    let repository = Repository::new();
    repository.house(&LAMPS);
    let root = repository.read("house.yaml");
    repository.write("house.yaml", &format!("{root}include: [floors/*/*.yaml]\n"));
    std::fs::create_dir_all(repository.folder().join("floors/upper")).expect("nothing is there");
    repository.write("floors/upper/rooms.yaml", "rooms: { attic: { name: Attic, appliances: {} } }\n");
    let module = |path: &str| format!("160000,{},{path}", "5".repeat(40));
    repository.write(".gitignore", "floors/\n");
    repository.git(&["add", "."]);
    // One that no pattern leads to is nothing to the house.
    repository.git(&["update-index", "--add", "--cacheinfo", &module("photos")]);
    repository.git(&["commit", "-q", "-m", "House"]);
    let (code, said) = repository.housewright(&["review", "HEAD:.", "HEAD:."]);
    assert!(code == 2 && !said.contains("submodule"), "{said}");
    repository.write("house.yaml", &root);
    repository.git(&["commit", "-q", "-a", "-m", "Without floors"]);
    let (code, said) = repository.housewright(&["review", ".", "--since", "HEAD"]);
    assert!(code == 0, "{said}");
    repository.git(&["update-index", "--add", "--cacheinfo", &module("floors/upper")]);
    repository.write("house.yaml", &format!("{root}include: [floors/*/*.yaml]\n"));
    repository.git(&["commit", "-q", "-a", "-m", "A submodule"]);
    let says = "`floors/upper` is a submodule, and nothing in it was read";
    unread(&repository, &[".", "--since", "HEAD"], &[says, "check the revision out with its submodules"]);
}
