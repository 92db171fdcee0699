//! A ledger that went back, or that somebody edited, beside a build that knows better.

use super::repository::{Lamp, Repository};

const LAMPS: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];
const OVEN: Lamp = ("oven-lamp", "Oven lamp", 5);
const MIXER: Lamp = ("mixer-lamp", "Mixer lamp", 7);

/// Whether the ledger has this endpoint number under this key.
fn has(repository: &Repository, key: &str, number: u16) -> bool {
    let ledger = repository.read("ledger.yaml");
    ledger.contains(&format!("  {key}:\n    main: hut {number} "))
        || ledger.contains(&format!("  {key}:\n  - main: hut {number} "))
}

fn edit(repository: &Repository, from: &str, to: &str) {
    let ledger = repository.read("ledger.yaml");
    assert!(ledger.contains(from), "{from} in {ledger}");
    repository.write("ledger.yaml", &ledger.replace(from, to));
}

/// A house whose oven lamp was built, and is gone from the description and the ledger by a revert.
fn reverted() -> Repository {
    let repository = Repository::new();
    repository.write(".gitignore", "build/\n");
    repository.house(&LAMPS);
    repository.build();
    repository.commit("Build");
    repository.house(&[LAMPS[0], LAMPS[1], OVEN]);
    repository.build();
    repository.commit("Add the oven lamp");
    repository.git(&["revert", "--no-edit", "HEAD"]);
    assert!(!repository.read("ledger.yaml").contains("oven"));
    repository
}

#[test]
fn a_reverted_ledger_gives_no_number_twice() {
    let repository = reverted();
    let (code, said) = repository.housewright(&["check", "."]);
    assert!(
        code == 0 && said.contains("`ledger.yaml` has forgotten endpoint 4 of `hut`, `oven-lamp`"),
        "{said}"
    );
    assert!(said.contains("below `retired:`"), "{said}");
    assert_eq!(repository.housewright(&["check", ".", "--strict"]).0, 1);
    assert!(repository.build().contains("has forgotten endpoint 4"));
    assert!(has(&repository, "oven-lamp", 4), "{}", repository.read("ledger.yaml"));
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(!said.contains("forgotten"), "{said}");
    repository.house(&[LAMPS[0], LAMPS[1], MIXER]);
    repository.build();
    assert!(has(&repository, "mixer-lamp", 5), "{}", repository.read("ledger.yaml"));
}

#[test]
fn an_appliance_whose_ledger_alone_was_reverted_has_its_number_back() {
    let repository = reverted();
    let before = repository.git(&["show", "HEAD~1:ledger.yaml"]);
    repository.house(&[LAMPS[0], LAMPS[1], MIXER, OVEN]);
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains("a build gives it back to `oven-lamp`"), "{said}");
    // The review before the build says what the build does.
    let (code, said) = repository.housewright(&["review", ".", "--stop-at", "regained"]);
    assert!(code == 0 && said.contains("endpoint 5"), "{said}");
    repository.build();
    let line = before.lines().find(|line| line.contains("hut 4 ")).expect("it was built");
    assert!(repository.read("ledger.yaml").contains(line), "{}", repository.read("ledger.yaml"));
    assert!(has(&repository, "mixer-lamp", 5));
}

#[test]
fn a_number_whose_line_was_taken_out_by_hand_is_not_given_again() {
    let repository = reverted();
    repository.build();
    let ledger = repository.read("ledger.yaml");
    repository.write("ledger.yaml", ledger.split_once("retired:").expect("the oven lamp is").0);
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(said.contains("`ledger.yaml` knows of `hut` none above 3, and endpoint 4 was given"), "{said}");
    assert!(repository.build().contains("endpoint 4 was given"));
    // It is told once, and holds for ever.
    assert_eq!(repository.build(), "no change\n");
    repository.house(&[LAMPS[0], LAMPS[1], MIXER]);
    repository.build();
    assert!(has(&repository, "mixer-lamp", 5), "{}", repository.read("ledger.yaml"));
}

#[test]
fn what_a_hand_changed_is_as_it_was_built_again() {
    let repository = Repository::with(&LAMPS);
    let sound = repository.read("ledger.yaml");
    for (from, to, says) in [
        ("hut 2 0x", "hut 20 0x", "has the number 2 instead of 20"),
        ("hut 2 0x", "hat 2 0x", "has the bridge `hut` instead of `hat`"),
        ("hut 2 0x0100", "hut 2 0x0101", "has the device type 0x0100 instead of 0x0101"),
    ] {
        repository.write("ledger.yaml", &sound);
        edit(&repository, from, to);
        let (_, said) = repository.housewright(&["check", "."]);
        assert!(said.contains(says) && said.contains("was changed in `ledger.yaml` by hand"), "{said}");
        let (code, said) = repository.housewright(&["review", ".", "--stop-at", "unseen"]);
        assert_eq!(code, 0, "{said}");
        assert!(repository.build().contains(says));
        let living = sound.split_once("appliances:").expect("it has some").1;
        assert!(repository.read("ledger.yaml").contains(living), "{}", repository.read("ledger.yaml"));
    }
}

#[test]
fn a_unique_id_that_a_hand_changed_is_as_it_was_built_again() {
    let repository = Repository::with(&LAMPS);
    let sound = repository.read("ledger.yaml");
    let line = sound.lines().find(|line| line.contains("hut 2 ")).expect("it was built");
    let id = line.rsplit(' ').next().expect("it ends with one");
    edit(&repository, id, "00112233445566778899aabbccddeeff");
    assert!(repository.build().contains("has another unique id"));
    assert_eq!(repository.read("ledger.yaml"), sound);
}

#[test]
fn a_key_that_a_hand_changed_is_told() {
    let repository = Repository::with(&LAMPS);
    edit(&repository, "  bench-lamp:", "  bunch-lamp:");
    let (_, said) = repository.housewright(&["check", "."]);
    assert!(
        said.contains("stands under `bunch-lamp` in `ledger.yaml`, and no appliance has that key"),
        "{said}"
    );
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert!(code == 1 && said.contains("take `ledger.yaml` back from version control"), "{said}");
}

#[test]
fn a_number_that_a_merge_gave_to_another_appliance_stays_there() {
    let repository = reverted();
    // Another branch gave 4 to the mixer lamp, and was built elsewhere.
    repository.house(&[LAMPS[0], LAMPS[1], MIXER]);
    let (code, said) = repository.housewright(&["build", ".", "--out", "elsewhere"]);
    assert_eq!(code, 0, "{said}");
    assert!(has(&repository, "mixer-lamp", 4));
    let ledger = repository.read("ledger.yaml");
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert!(code == 1 && said.contains("number-reused"), "{said}");
    assert_eq!(repository.read("ledger.yaml"), ledger);
}

#[test]
fn a_build_that_cannot_be_read_is_not_replaced_by_a_ledger_that_went_back() {
    let repository = reverted();
    let json = repository.read("build/hut.bridge.json");
    repository.write("build/hut.bridge.json", &json.replace("Stove", "Stave"));
    let (code, said) = repository.housewright(&["build", "."]);
    assert_eq!(code, 2, "{said}");
    assert!(
        said.contains("is not as the build in `./build` left it, and that build cannot be read"),
        "{said}"
    );
    assert!(said.contains("take `./build` back from version control or the gateway"), "{said}");
}
