//! A build where no last build is: a fresh checkout, in which the ledger alone knows what the family has.

use super::repository::{Lamp, Repository};

const LAMPS: [Lamp; 2] = [("bench-lamp", "Bench lamp", 1), ("stove-lamp", "Stove lamp", 3)];
const LOSS: [Lamp; 2] = [LAMPS[0], ("range-lamp", "Range lamp", 3)];
const ALONE: &str = "against `ledger.yaml` alone";

/// A house whose ledger is committed, and whose build is not.
fn checkout() -> Repository {
    let repository = Repository::with(&LAMPS);
    repository.git(&["rm", "-rq", "build"]);
    repository
}

#[test]
fn a_checkout_without_a_loss_is_a_first_build() {
    let (code, said) = checkout().housewright(&["build", ".", "--out", "out", "--stop-at", "unseen"]);
    assert_eq!((code, said.as_str()), (0, "first build: 2 appliances with 2 points in `out`\n"));
}

#[test]
fn a_loss_that_the_ledger_shows_stops_a_build_with_a_limit() {
    let repository = checkout();
    let ledger = repository.read("ledger.yaml");
    repository.house(&LOSS);
    let (code, said) = repository.housewright(&["build", ".", "--out", "out", "--stop-at", "lost"]);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("stove-lamp is gone (removed: stove-lamp)") && said.contains(ALONE), "{said}");
    assert!(said.contains("stopped: 1 of 2 changes is at or over the limit"), "{said}");
    assert!(!said.contains("first build") && !repository.folder().join("out").exists(), "{said}");
    assert_eq!(repository.read("ledger.yaml"), ledger);
}

#[test]
fn a_loss_that_the_ledger_shows_is_told_by_a_build_without_a_limit() {
    let repository = checkout();
    repository.house(&LOSS);
    let (code, said) = repository.housewright(&["build", ".", "--out", "out"]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("first build: 2 appliances") && said.contains(ALONE), "{said}");
    assert!(said.contains("lost      stove-lamp is gone (removed: stove-lamp)"), "{said}");
    assert!(!repository.folder().join("out/review.md").exists());
}

#[test]
fn another_device_type_is_a_loss_that_the_ledger_shows() {
    let repository = checkout();
    let house = repository.read("house.yaml");
    repository.write("house.yaml", &house.replacen("on-off-light", "on-off-outlet", 1));
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert!(code == 1 && said.contains("class-changed: bench-lamp"), "{said}");
}

#[test]
fn what_the_owner_agreed_to_lets_a_checkout_be_built() {
    let repository = checkout();
    repository.house(&LOSS);
    let agreed = "housewright-accept: 1\nappliances:\n  stove-lamp:\n    removed: the stove is gone\n  \
                  bench-lamp:\n    relabelled: this the ledger cannot show\n";
    repository.write("agreed.yaml", agreed);
    let (code, said) =
        repository.housewright(&["build", ".", "--stop-at", "lost", "--accept", "agreed.yaml"]);
    assert!(code == 0 && said.contains("removed: stove-lamp"), "{said}");
}

#[test]
fn a_damaged_last_build_leaves_the_ledger_to_judge_by() {
    let repository = Repository::with(&LAMPS);
    let json = repository.read("build/hut.bridge.json");
    repository.write("build/hut.bridge.json", &json.replace("Stove", "Stave"));
    repository.house(&LOSS);
    let (code, said) = repository.housewright(&["build", ".", "--stop-at", "lost"]);
    assert!(code == 2 && said.contains("removed: stove-lamp"), "{said}");
    assert!(said.contains("take `./build` back from version control or the gateway"), "{said}");
    let (code, said) = repository.housewright(&["build", "."]);
    assert!(code == 0 && said.contains("removed: stove-lamp"), "{said}");
}

#[test]
fn a_manifest_that_is_damaged_or_gone_is_to_be_taken_back() {
    let repository = Repository::with(&LAMPS);
    let whole = repository.read("build/manifest.json");
    repository.write("build/manifest.json", &whole[..whole.len() / 2]);
    let (code, said) = repository.housewright(&["build", "."]);
    assert!(code == 2 && said.contains("`manifest.json` is cut off"), "{said}");
    assert!(said.contains("take `./build` back from version control or the gateway"), "{said}");
    std::fs::remove_file(repository.folder().join("build/manifest.json")).expect("it is ours");
    let (code, said) = repository.housewright(&["build", "."]);
    assert!(code == 2 && said.contains("holds `hut.bridge.json`, and no `manifest.json`"), "{said}");
    assert!(said.contains("take `./build` back from version control or the gateway"), "{said}");
}
