//! An appliance that is not shown: its place stays, or its loss is told before it happens.

use super::repository::{Lamp, Repository};

const LAMPS: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];

/// A house in which the bench lamp is not shown, built and committed.
fn hidden() -> Repository {
    let repository = Repository::with(&LAMPS);
    repository.write(".gitignore", "build/\n");
    let name = "        name: Bench lamp\n";
    let text = repository.read("house.yaml").replace(name, &format!("{name}        bridged: false\n"));
    repository.write("house.yaml", &text);
    let (_, said) = repository.housewright(&["review", ".", "--since", "HEAD"]);
    assert!(said.contains("Bench lamp is no longer shown, and keeps its place"), "{said}");
    repository.build();
    repository.commit("The bench lamp is not shown");
    repository
}

#[test]
fn another_key_of_what_is_not_shown_is_told_and_stops_a_build() {
    let repository = hidden();
    let text = repository.read("house.yaml").replace("      bench-lamp:\n", "      bench-light:\n");
    repository.write("house.yaml", &text);
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains("[kept-place-left]: `bench-light` is not shown and new"), "{said}");
    for review in [&["review", "."][..], &["review", ".", "--since", "HEAD"], &["review", "HEAD:.", "."]] {
        let (_, said) = repository.housewright(review);
        assert!(said.contains("Write `formerly: bench-lamp` under `bench-light`"), "{said}");
    }
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert!(code == 1 && said.contains("(place-lost: bench-light)"), "{said}");

    let name = "        name: Bench lamp\n";
    repository.write("house.yaml", &text.replace(name, &format!("{name}        formerly: bench-lamp\n")));
    let (code, said) = repository.housewright(&["check", ".", "--strict"]);
    assert_eq!(code, 0, "{said}");
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "unseen"]);
    assert!(
        code == 0 && repository.read("ledger.yaml").contains("  bench-light:\n    main: hut 2 "),
        "{said}"
    );
}

#[test]
fn a_kept_place_that_a_ledger_has_forgotten_comes_back_from_the_build() {
    let repository = hidden();
    let ledger = repository.read("ledger.yaml");
    let at = ledger.find("  bench-lamp:\n").expect("it keeps its place");
    let end = ledger.find("  stove-lamp:\n").expect("it is there");
    repository.write("ledger.yaml", &format!("{}{}", &ledger[..at], &ledger[end..]));
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains("a build gives it back to `bench-lamp`"), "{said}");
    repository.build();
    assert_eq!(repository.read("ledger.yaml"), ledger);
}

/// Two builds know what the sources know.
#[test]
fn a_review_of_two_builds_tells_of_a_kept_place_as_the_build_did() {
    let repository = hidden();
    let text = repository.read("house.yaml").replace("      bench-lamp:\n", "      bench-light:\n");
    repository.write("house.yaml", &text);
    std::fs::rename(repository.folder().join("build"), repository.folder().join("before")).unwrap();
    repository.build();
    let (_, said) = repository.housewright(&["review", "before", "build"]);
    assert!(said.contains("Write `formerly: bench-lamp` under `bench-light`"), "{said}");
}
